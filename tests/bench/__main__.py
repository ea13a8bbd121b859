"""``python -m tests.bench [--lines N] [--runs N] [--json]``: ratios, never absolute times alone.

Each case runs in turn with its reference, so that what else the machine does falls on both.
"""

import argparse
import json
import os
import statistics
import sys
import time
from collections.abc import Callable
from datetime import date

ON = date(2026, 6, 1)


def ratios(case: Callable[[], object], reference: Callable[[], object], runs: int) -> list[tuple]:
    """(case seconds, reference seconds) of so many runs, taken in turn after one warm-up."""
    case(), reference()
    pairs = []
    for _ in range(runs):
        started = time.perf_counter()
        case()
        middle = time.perf_counter()
        reference()
        pairs.append((middle - started, time.perf_counter() - middle))
    return pairs


def summary(name: str, pairs: list[tuple], limit: float | None) -> dict:
    """Median ratio with its spread, beside its limit (None: reported only)."""
    each = sorted(case / reference for case, reference in pairs)
    return {
        "case": name,
        "ratio": round(statistics.median(each), 2),
        "lowest": round(each[0], 2),
        "highest": round(each[-1], 2),
        "limit": limit,
        "case_ms": round(1000 * statistics.median(case for case, _ in pairs), 2),
        "reference_ms": round(1000 * statistics.median(reference for _, reference in pairs), 2),
    }


def run(lines: int, runs: int) -> list[dict]:
    """All cases on one generated build, in a database of their own."""
    from django.contrib.auth import get_user_model
    from django.db.models import Sum
    from django.test import Client

    from materials.choices import Role
    from materials.models import Member, PurchaseLine
    from materials.queries.reports import get_cost_sheet

    from .generate import make_build

    build = make_build(f"Bench {lines}", lines)
    user = get_user_model().objects.create_user("bench")
    Member.objects.create(build=build, user=user, role=Role.OWNER)
    client = Client()
    client.force_login(user)

    def bare() -> object:
        rows = PurchaseLine.objects.filter(purchase__build=build)
        return rows.aggregate(total=Sum("landed_amount"))

    def sheet() -> object:
        return get_cost_sheet(build, ON)

    def page() -> object:
        answer = client.get(f"/builds/{build.pk}/")
        assert answer.status_code == 200
        return answer

    return [
        summary(f"cost sheet of {lines:,} lines / bare aggregate", ratios(sheet, bare, runs), 10),
        summary("the same as a rendered page / bare aggregate", ratios(page, bare, runs), None),
    ]


def main() -> None:
    """Set up a scratch database, run, print, clean up."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--lines", type=int, default=10_000)
    parser.add_argument("--runs", type=int, default=15)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.db import connection
    from django.test.utils import setup_test_environment, teardown_test_environment

    setup_test_environment()
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        results = run(options.lines, options.runs)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
        teardown_test_environment()
    if options.json:
        json.dump(results, sys.stdout, indent=2)
        return
    for row in results:
        limit = row["limit"]
        mark = ""
        if limit is not None:
            mark = f"{'within' if row['ratio'] <= limit else 'OVER'} {limit}"
        sys.stdout.write(
            f"{row['case']:<50} {row['ratio']:>7} ({row['lowest']} to {row['highest']})"
            f"  {mark:<10} [{row['case_ms']} ms / {row['reference_ms']} ms]\n"
        )


if __name__ == "__main__":
    main()
