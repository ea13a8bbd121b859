"""What is worked out of a whole build, held by the process's cache until the build changes.

For pages that ask for it far more often than anything changes: the home, the cost sheet with its
figures, and what is looked over while one types. The key holds the newest entries of the history,
without which nothing changes, and how far imports are, which write one entry for many rows: what
is older than either is never found again. What leaves the app (workbook, commands, shared sheets)
is worked out each time.
"""

import hashlib
from collections.abc import Callable
from datetime import date
from typing import TypeVar

from django.core.cache import cache
from django.db.models import Subquery, Sum

from ..calc.reports import CostSheet
from ..models import Build, Change, ImportJob
from .reports import get_cost_sheet

KEPT = 24 * 60 * 60
# So many entries of the history are looked at: of two people writing at once, the entry with the
# lower key may be the later one to be seen.
AT_ONCE = 20
Kept = TypeVar("Kept")


def stamp_of(build: Build) -> str:
    """What differs whenever something of a build may; one query."""
    jobs = ImportJob.objects.filter(build=build.pk).order_by().values("build")
    rows = (
        Change.objects.filter(build=build)
        .order_by("-pk")
        .values_list("pk", "at", Subquery(jobs.annotate(done=Sum("done_count")).values("done")))
    )
    newest = repr(list(rows[:AT_ONCE]))
    return f"{build.pk}:{hashlib.sha256(newest.encode()).hexdigest()}"


def keep(name: str, stamp: str, on: date, make: Callable[[], Kept]) -> Kept:
    """What ``make`` gives, or gave before of the same build, unchanged since, on that day."""
    key = f"{name}:{stamp}:{on.isoformat()}"
    kept: Kept | None = cache.get(key)
    if kept is None:
        kept = make()
        cache.set(key, kept, timeout=KEPT)
    return kept


def get_kept_sheet(build: Build, on: date, stamp: str = "") -> CostSheet:
    """The cost sheet of what is saved; one query where nothing has changed.

    ``stamp``: what ``stamp_of`` gave for the same page already.
    """
    return keep("sheet", stamp or stamp_of(build), on, lambda: get_cost_sheet(build, on))
