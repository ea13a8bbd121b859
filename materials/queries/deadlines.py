"""What is due: offers that end and orders to be fetched, and who wants to be told."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db.models import Count, Max, QuerySet

from ..calc.deadlines import Due, is_near
from ..choices import State
from ..models import Alerts, Build, Change, Member, Purchase, Reminder

# What passed longer ago than this is listed no more: whoever wanted it has dealt with it.
PASSED = timedelta(days=30)
MOST = 200


def with_deadline(build: Build, now: datetime) -> QuerySet[Purchase]:
    """Offers and orders with a deadline, the first one first, long passed ones left out."""
    rows = Purchase.objects.filter(build=build, due_at__gte=now - PASSED)
    return rows.select_related("supplier").order_by("due_at", "pk")


def list_due(build: Build, now: datetime) -> QuerySet[Purchase]:
    """The same with what is in them, as many as a page shows."""
    return with_deadline(build, now).prefetch_related("lines__component")[:MOST]


def in_order(rows: Iterable[Purchase], now: datetime) -> list[Purchase]:
    """What should have been fetched, what is to come, and offers that ended, the latest first."""
    listed = [row for row in rows if row.due_at is not None]
    coming = [row for row in listed if _due(row) >= now]
    passed = [row for row in reversed(listed) if _due(row) < now]
    overdue = [row for row in passed if row.state == State.ORDERED]
    return [*overdue, *coming, *(row for row in passed if row.state != State.ORDERED)]


def _due(row: Purchase) -> datetime:
    assert row.due_at is not None
    return row.due_at


@dataclass(frozen=True)
class Event:
    """One deadline as a calendar takes it; ``changes`` counts what was changed since it began."""

    kind: Due
    purchase: Purchase
    lines: tuple[str, ...]
    changes: int
    changed_at: datetime


def list_events(build: Build, now: datetime) -> list[Event]:
    """The deadlines of a build as events, in two queries and those of their lines."""
    rows = list(list_due(build, now))
    changes: dict[int | None, tuple[int, datetime]] = {
        row["record_id"]: (row["count"], row["newest"])
        for row in Change.objects.filter(
            build=build, record_type="purchase", record_id__in=[row.pk for row in rows]
        )
        .order_by()
        .values("record_id")
        .annotate(count=Count("pk"), newest=Max("at"))
    }
    events = []
    for row in rows:
        if row.deadline is None:
            continue
        count, newest = changes.get(row.pk, (1, build.created_at))
        lines = tuple(str(line) for line in row.lines.all())
        newest = newest.astimezone(UTC).replace(microsecond=0)
        events.append(Event(row.deadline[0], row, lines, count - 1, newest))
    return events


def get_alerts(member: Member | None) -> Alerts:
    """How a member is told; nothing yet for one who asked for none, or is no member."""
    found = Alerts.objects.filter(member=member).first() if member is not None else None
    return found or Alerts()


def list_wanting_mail() -> QuerySet[Alerts]:
    """Who wants a mail before deadlines and can get one."""
    return (
        Alerts.objects.filter(wants_mail=True, member__user__is_active=True)
        .exclude(member__user__email="")
        .select_related("member__user", "member__build")
        .order_by("pk")
    )


def list_to_tell(member: Member, now: datetime) -> list[Purchase]:
    """What is due today or tomorrow by the build's clocks and no mail told the member of."""
    build = member.build
    told = set(
        Reminder.objects.filter(member=member, sent_at__isnull=False).values_list(
            "purchase", "due_at"
        )
    )
    return [
        row
        for row in list_due(build, now)
        if is_near(_due(row), now, build.zone) and (row.pk, row.due_at) not in told
    ]
