"""``python -m tests.bench``: every figure as a ratio to a bare reference taken in the same run.

Each case runs in turn with its reference, so that what else the machine does falls on both. On
SQLite, or where DATABASE_URL says PostgreSQL, there. Ends with 1 when a limit is exceeded.
"""

import argparse
import json
import os
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

FULL, QUICK = 100_000, 400
MANY = 2000


def parse(arguments: list[str] | None) -> argparse.Namespace:
    """The options."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--case", action="append", metavar="NAME", help="only this one; repeatable")
    parser.add_argument("--lines", type=int, default=0, help="of the largest build (100 000)")
    parser.add_argument("--builds", type=int, default=0, help="in the database with many (2 000)")
    parser.add_argument("--runs", type=int, default=0, help="of each case and its reference (7)")
    parser.add_argument("--quick", action="store_true", help="small sizes, no limits: a trial")
    parser.add_argument("--json", metavar="FILE", help="write machine and rows to a file as well")
    return parser.parse_args(arguments)


def cases() -> dict[str, Callable[[Any], Iterator[Any]]]:
    """Every case by its name, in the order in which they run."""
    from . import (
        cases_carry,
        cases_files,
        cases_find,
        cases_lists,
        cases_load,
        cases_purchase,
        cases_sheet,
    )

    return {
        "sheet": cases_sheet.run_sheet,
        "lists": cases_lists.run_lists,
        "find": cases_find.run_find,
        "many": cases_sheet.run_many,
        "export": cases_files.run_export,
        "import": cases_files.run_import,
        "purchase": cases_purchase.run_purchase,
        "load": cases_load.run_load,
        "carry": cases_carry.run_carry,
        "office": cases_sheet.run_office,
    }


def run(options: argparse.Namespace, say: Callable[[str], object]) -> dict[str, Any]:
    """Run the cases in the database that is set up; gives machine and rows."""
    from .world import World, machine

    chosen = cases()
    if options.case:
        unknown = set(options.case) - set(chosen)
        if unknown:
            raise SystemExit(f"No case is called {unknown.pop()}: choose of {', '.join(chosen)}.")
        chosen = {name: chosen[name] for name in options.case}
    result = machine()
    for name, value in result.items():
        say(f"{name}: {value}")
    largest = options.lines or (QUICK if options.quick else FULL)
    rows = []
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        world = World(
            folder=Path(folder),
            sizes=(max(1, largest // 100), max(1, largest // 10), largest),
            runs=options.runs or (1 if options.quick else 7),
            many=options.builds or (3 if options.quick else MANY),
            is_quick=options.quick,
        )
        for name, case in chosen.items():
            started = time.perf_counter()
            for row in case(world):
                rows.append(row)
                say(row.as_line())
            say(f"{name:<9} took {time.perf_counter() - started:.0f} s")
    return {"machine": result, "rows": [row.as_json() for row in rows]}


def main(arguments: list[str] | None = None) -> int:
    """Set up a scratch database, run, print, clean up."""
    options = parse(arguments)
    warnings.filterwarnings("ignore", message="No directory at")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.bench.settings")
    import django

    django.setup()
    from django.db import connection

    def say(text: str) -> None:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()

    before = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        results = run(options, say)
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)
    if options.json:
        Path(options.json).write_text(json.dumps(results, indent=2), encoding="utf-8")
    over = [row for row in results["rows"] if row["is_over"]]
    for row in over:
        say(f"OVER: {row['what']}: {row['value']} {row['unit']}, at most {row['limit']}.")
    return 1 if over else 0


if __name__ == "__main__":
    raise SystemExit(main())
