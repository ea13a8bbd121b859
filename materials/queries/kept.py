"""What is worked out of a whole build, held by the process's cache until the build changes.

For pages that ask for it far more often than anything changes: the home, the cost sheet with its
figures, and what is looked over while one types. The key holds the newest entry of the history,
without which nothing changes, and how far imports are, which write one entry for many rows: what
is older than either is never found again. What leaves the app (workbook, commands, shared sheets)
is worked out each time.
"""

from collections.abc import Callable
from datetime import date
from typing import TypeVar

from django.core.cache import cache
from django.db.models import OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from ..calc.reports import CostSheet
from ..models import Build, Change, ImportJob
from .reports import get_cost_sheet

KEPT = 24 * 60 * 60
Kept = TypeVar("Kept")


def stamp_of(build: Build) -> str:
    """What differs whenever something of a build may; one query."""
    newest = Change.objects.filter(build=OuterRef("pk")).order_by("-pk")
    jobs = ImportJob.objects.filter(build=OuterRef("pk")).order_by().values("build")
    pk, at, done = (
        Build.objects.filter(pk=build.pk)
        .values_list(
            Subquery(newest.values("pk")[:1]),
            Subquery(newest.values("at")[:1]),
            Coalesce(Subquery(jobs.annotate(done=Sum("done_count")).values("done")), 0),
        )
        .get()
    )
    return f"{build.pk}:{pk or 0}:{at.timestamp() if at else 0}:{done}"


def keep(name: str, stamp: str, on: date, make: Callable[[], Kept]) -> Kept:
    """What ``make`` gives, or gave before of the same build, unchanged since, on that day."""
    key = f"{name}:{stamp}:{on.isoformat()}"
    kept: Kept | None = cache.get(key)
    if kept is None:
        kept = make()
        cache.set(key, kept, timeout=KEPT)
    return kept


def get_kept_sheet(build: Build, on: date) -> CostSheet:
    """The cost sheet of what is saved; one query where nothing has changed."""
    return keep("sheet", stamp_of(build), on, lambda: get_cost_sheet(build, on))
