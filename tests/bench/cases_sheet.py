"""Cases a, c and g: the cost sheet of long ledgers, beside many others, and in a spreadsheet."""

import io
import statistics
import tempfile
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.cache import cache
from django.core.management.color import no_style
from django.db import connection
from django.db.models import Sum
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.exchange.writer import write_workbook
from materials.models import Build, PurchaseLine
from materials.queries.reports import get_cost_sheet
from tests.exchange.recalculate import LibreOffice

from .cases_lists import fetch
from .generate import make_build
from .measure import Pairs, Row, figure_row, in_turn, ratio_row, seconds
from .multiply import multiply_build
from .world import World, copied_database, settle

# A page of some milliseconds is measured this often more than what takes seconds.
RUNS = 3
# Times a bare aggregate, by the place in ``World.sizes``, for a page that is opened again; how
# often the aggregate is run to take as long.
LIMITS, OFTEN = {0: 15, 2: 2.5}, (8, 4, 1)


def bare_aggregate(build: Build) -> None:
    """One bare aggregate over a build's lines."""
    rows = PurchaseLine.objects.filter(purchase__build=build).order_by()
    rows.aggregate(total=Sum("landed_amount"))


def fetch_anew(client: Client, url: str) -> None:
    """Ask for a page of which nothing is kept, as after a change of the build."""
    cache.clear()
    fetch(client, url)


def run_sheet(world: World) -> Iterator[Row]:
    """The page of a cost sheet, of three sizes, against one bare aggregate over the same lines.

    As it is opened again, and as it is opened first after something of the build was changed.
    """
    times: list[float] = []
    for place, size in enumerate(world.sizes):
        build = world.build(size)
        url = reverse("cost_sheet", args=[build.pk])
        for how, work in (("", fetch), (" after a change", fetch_anew)):
            pairs = in_turn(
                partial(work, world.client, url),
                partial(bare_aggregate, build),
                RUNS * world.runs,
                often=OFTEN[place],
            )
            is_limited = work is fetch and place in LIMITS
            limit = world.limit(LIMITS[place]) if is_limited else None
            what = f"cost sheet{how}, page of {size:,} lines / bare aggregate"
            yield ratio_row("sheet", what, pairs, limit)
        times.append(statistics.median(case for case, _ in pairs))
    more = world.sizes[-1] / world.sizes[0]
    grown = [times[-1] / times[0]]
    yield figure_row("sheet", f"growth of the page for {more:g} times the lines", grown, "x", more)


def clear_builds() -> None:
    """Take every build out of the database, whatever protects what; accounts stay, signed out."""
    tables = [model._meta.db_table for model in apps.get_app_config("materials").get_models()]
    flush = connection.ops.sql_flush(no_style(), tables, allow_cascade=True)
    connection.ops.execute_sql_flush(flush)


def run_many(world: World) -> Iterator[Row]:
    """The same cost sheet in a database with many builds and in one with that build alone."""
    lines = 500
    with copied_database() as turned, turned():
        # In the copy, so that the other cases keep a database of their own.
        from django.db import connections

        clear_builds()
        build = make_build("Bench, one of many", lines)
        user = get_user_model().objects.get(username="bench")
        build.members.create(user=user, role="owner")
        # The open sessions went with the tables.
        world.client.force_login(user)
        settle()
        url = reverse("cost_sheet", args=[build.pk])
        with copied_database() as other:
            connections["default"].ensure_connection()
            multiply_build(build, world.many - 1)
            settle()
            held = PurchaseLine.objects.count()

            def alone() -> None:
                with other():
                    fetch_anew(world.client, url)

            pairs = in_turn(partial(fetch_anew, world.client, url), alone, RUNS * world.runs)
            what = f"cost sheet among {world.many:,} builds, {held:,} lines / in a database alone"
            yield ratio_row("many", what, pairs, world.limit(1.2))


def run_office(world: World) -> Iterator[Row]:
    """A spreadsheet program working the exported cost sheet out, against the program itself.

    The time of an empty run of the spreadsheet program, which is its start, is taken off.
    """
    build, on = world.build(world.sizes[1]), timezone.localdate()
    nothing = make_build("Bench, nearly empty", 1)
    books = {}
    for name, which in (("full", build), ("empty", nothing)):
        stream = io.BytesIO()
        write_workbook(which, stream, on)
        books[name] = stream.getvalue()

    def recalculated(name: str) -> float:
        with tempfile.TemporaryDirectory(prefix="bench-office-") as folder:
            office = LibreOffice(Path(folder))
            office.add(name, books[name])
            started = time.perf_counter()
            office.cost_sheets()
            return time.perf_counter() - started

    pairs: Pairs = []
    get_cost_sheet(build, on)
    for _ in range(1 if world.is_quick else min(world.runs, 3)):
        net = max(recalculated("full") - recalculated("empty"), 0.001)
        pairs.append((net, seconds(lambda: get_cost_sheet(build, on))))
    what = f"cost sheet of {world.sizes[1]:,} lines by LibreOffice / by the program"
    yield ratio_row(
        "office", what, pairs, note="start of LibreOffice and reading of an empty book taken off"
    )
