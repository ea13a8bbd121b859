"""Set up, load the demo build and serve it on this machine.

It has a ledger of its own, whatever is configured: see ``buildledger.demo_settings``.
"""

import json
from datetime import date
from decimal import Decimal
from ipaddress import ip_address
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils import timezone

from ...access import list_builds
from ...cutting.calc.store import to_data
from ...cutting.queries.plans import order_of, work_out
from ...cutting.services import save_plan
from ...exchange.importer import check_book
from ...exchange.reader import read_workbook
from ...models import Build, CuttingPlan, Takeoff
from ...queries.components import find_component, list_components
from ...services.accounts import ensure_user
from ...services.imports import import_plan
from ...takeoffs.services import UseMode, save_takeoff, use_for_component
from ._builds import stop
from ._demo_lifecycle import add_life_choice
from ._demo_next import add_next

FOLDER = Path(__file__).resolve().parent.parent.parent / "demo"
LAST_DAY = date(2026, 9, 18)
USER, PASSWORD = "demo", "sorted-boards"


# A cutting plan, for a workbook does not carry one.
BOARDS, PIECES = "2x8, 10 ft", "Window buck piece"
HAND = (("10 ft", 5, ""), ("7' 4\"", 2, "2 in"))
BUY = (("10 ft", "17.20"), ("12 ft", "20.60"))
NEEDS = (("4' 2\"", 14), ("3' 1 1/2\"", 10))


class Command(BaseCommand):
    """``demo [--no-serve] [--bind ADDRESS] [--port PORT]``; run again it leaves it as it is."""

    help = "Set up a ledger of its own, load the demo build, and serve it on this machine."
    requires_migrations_checks = False

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--no-serve", action="store_true", help="set up and load only")
        parser.add_argument("--port", type=int, default=8000, help="port to serve on (8000)")
        parser.add_argument(
            "--bind", default="127.0.0.1", help="address of this machine alone (127.0.0.1)"
        )

    def handle(self, **options: Any) -> None:
        if not getattr(settings, "IS_DEMO", False):
            stop(self, "The demo has a ledger of its own: run it as manage.py demo.")
        if not 1 <= options["port"] <= 65535:
            stop(self, "A port is a number from 1 to 65535.")
        host = own_host(options["bind"])
        if host is None:
            stop(
                self,
                "Everybody can read the demo's password in this program: it is served on"
                " 127.0.0.1, ::1 or localhost alone.",
            )
        call_command("migrate", verbosity=0, interactive=False)
        try:
            self.stdout.write(load())
        except LoadError as error:
            stop(self, error)
        self.stdout.write(f"Look at http://{host}:{options['port']}/")
        self.stdout.write(f"Sign in as “{USER}” with the password “{PASSWORD}”.")
        if not options["no_serve"]:
            self.stdout.write("Stop with Ctrl+C.")
            self.stdout.flush()
            call_command("runserver", f"{host}:{options['port']}", use_reloader=False)


def own_host(text: str) -> str | None:
    """An address that only this machine reaches, as an address of a page has it; else None."""
    if text == "localhost":
        return text
    try:
        address = ip_address(text.removeprefix("[").removesuffix("]"))
    except ValueError:
        return None
    if not address.is_loopback:
        return None
    return f"[{address}]" if address.version == 6 else str(address)


class LoadError(Exception):
    """The demo's own workbook is at fault: one sentence a line."""


def load() -> str:
    """Load the demo build, unless it is there, and say which. Raises LoadError."""
    user, _ = ensure_user(username=USER, password=PASSWORD)
    # The demo's days have come, whatever this machine's clock says.
    today = max(timezone.localdate(), LAST_DAY)
    checked = check_book(read_workbook(FOLDER), today=today)
    if checked.plan is None:
        raise LoadError("\n".join(str(fault) for fault in checked.faults))
    name = checked.plan.build.values["name"]
    if list_builds(user).filter(name=name).exists():
        return f"The demo build “{name}” is already there and was left as it is."
    build = import_plan(actor=user, plan=checked.plan, owner=user)
    _take_off(user, build)
    add_life_choice(user, build)
    add_next(user, build)
    _plan_cuts(user, build)
    return f"The demo build “{name}” is loaded."


def _take_off(user: Any, build: Build) -> None:
    """Where some of the requirements came from, beside what the workbook holds."""
    rows = json.loads((FOLDER / "takeoffs.json").read_text(encoding="utf-8"))
    for row in rows:
        record = Takeoff(shape=row["shape"])
        values = {name: row[name] for name in ("name", "note", "inputs")}
        save_takeoff(actor=user, build=build, takeoff=record, values=values)
        for figure, component in row["uses"].items():
            use_for_component(
                actor=user,
                build=build,
                takeoff=record,
                figure=figure,
                component=list_components(build).get(name=component),
                how=UseMode.KEEP,
            )


def _plan_cuts(user: Any, build: Build) -> None:
    """Keep a plan of boards that are cut for window frames."""
    source, made = (find_component(build, name) for name in (BOARDS, PIECES))
    rows = {
        "hand": [
            {"length_text": length, "count": count, "trim_text": trim}
            for length, count, trim in HAND
        ],
        "buy": [
            {"length_text": length, "price": Decimal(price), "most": None, "trim_text": ""}
            for length, price in BUY
        ],
        "needs": [
            {"length_text": length, "count": count, "component": made} for length, count in NEEDS
        ],
    }
    typed = {name: [SimpleNamespace(**row) for row in part] for name, part in rows.items()}
    order, _ = order_of("1/8 in", **typed)
    save_plan(
        actor=user,
        build=build,
        plan=CuttingPlan(),
        values={
            "name": "Window bucks",
            "component": source,
            "planned_on": date(2026, 6, 2),
            "kerf_text": "1/8 in",
            "keep_text": "2 ft",
            "note": "Sides and heads of seven windows, from boards that are there.",
        },
        result=to_data(work_out(order)),
        **rows,
    )
