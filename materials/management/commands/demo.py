"""Set up, load the demo build and serve it on this machine.

It has a ledger of its own, whatever is configured: see ``buildledger.demo_settings``.
"""

from datetime import date
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils import timezone

from ...access import list_builds
from ...exchange.importer import check_book
from ...exchange.reader import read_workbook
from ...services.accounts import ensure_user
from ...services.imports import ImportPlan, import_plan
from ._builds import stop
from ._demo_boat_shed import add_boat_shed
from ._demo_lifecycle import add_life_choice
from ._demo_next import add_next
from ._demo_plans import add_cutting_plans, add_takeoffs

FOLDER = Path(__file__).resolve().parent.parent.parent / "demo"
BOAT_SHED = FOLDER / "boat_shed"
LAST_DAY = date(2026, 9, 18)
USER, PASSWORD = "demo", "sorted-boards"


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
    """Load the demo builds, unless the first is there, and say which. Raises LoadError."""
    user, _ = ensure_user(username=USER, password=PASSWORD)
    plan, shed = _read(FOLDER), _read(BOAT_SHED)
    name = plan.build.values["name"]
    if list_builds(user).filter(name=name).exists():
        return f"The demo build “{name}” is already there and was left as it is."
    build = import_plan(actor=user, plan=plan, owner=user)
    add_takeoffs(user, build, FOLDER)
    add_life_choice(user, build)
    add_next(user, build)
    add_cutting_plans(user, build, FOLDER)
    add_boat_shed(user, shed, BOAT_SHED, build)
    return f"The demo build “{name}” is loaded."


def _read(folder: Path) -> ImportPlan:
    """What the workbook of a build holds. Raises LoadError."""
    # The demo's days have come, whatever this machine's clock says.
    today = max(timezone.localdate(), LAST_DAY)
    checked = check_book(read_workbook(folder), today=today)
    if checked.plan is None:
        raise LoadError("\n".join(str(fault) for fault in checked.faults))
    return checked.plan
