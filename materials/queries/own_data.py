"""Everything that is tied to one account, for its owner to take along.

Of builds only those that the account may still see; of other people nothing but what stands in
the account's own entries.
"""

from collections.abc import Iterator
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Max, QuerySet

from ..access import list_builds
from ..models import (
    AccountEvent,
    Change,
    ImportJob,
    Invitation,
    Member,
    OpenSession,
    Passkey,
    Photo,
    ShareLink,
    Timer,
)
from .account_log import count_recovery_codes, find_second_step


def own_profile(user: User) -> dict[str, Any]:
    """What the account says of itself, without passwords, keys and codes."""
    step = find_second_step(user)
    return {
        "username": user.get_username(),
        "shown_name": user.first_name,
        "email": user.email,
        "joined_at": user.date_joined,
        "last_signed_in_at": user.last_login,
        "second_step_since": step.made_at if step else None,
        "recovery_codes_left": count_recovery_codes(user),
        "passkeys": list(Passkey.objects.filter(user=user).values("name", "made_at", "used_at")),
    }


def own_memberships(user: User) -> list[dict[str, Any]]:
    """Builds with the account's part in them, and how it is told of deadlines there."""
    rows = Member.objects.filter(user=user).select_related("build", "person", "alerts")
    return [
        {
            "build": row.build.name,
            "role": row.role,
            "name_in_records": row.person.name if row.person else None,
            "since": row.joined_at,
            "deadlines_by_mail": hasattr(row, "alerts") and row.alerts.wants_mail,
            "calendar_address_since": row.alerts.made_at if hasattr(row, "alerts") else None,
        }
        for row in rows.order_by("build__name", "pk")
    ]


def own_lists(user: User) -> dict[str, list[dict[str, Any]]]:
    """Sessions, log, running timers, and what the account made in builds beside entries."""
    seen = list_builds(user).values("pk")
    of_build = {"build__in": seen}
    made = {"created_by": user, **of_build}
    return {
        "sessions": _rows(
            OpenSession.objects.filter(user=user).order_by("started_at", "pk"),
            "device address started_at used_at expire_date",
        ),
        "log": _rows(AccountEvent.objects.filter(user=user), "at what about device address"),
        "timers": _rows(Timer.objects.filter(user=user), "build__name kind started_at"),
        "imports": _rows(
            ImportJob.objects.filter(user=user, **of_build), "build__name file_name started_at"
        ),
        "invitations": _rows(
            Invitation.objects.filter(**made),
            "build__name role note created_at expires_at used_at revoked_at",
        ),
        "invitations_used": _rows(
            Invitation.objects.filter(used_by=user, **of_build), "build__name role used_at"
        ),
        "share_links": _rows(
            ShareLink.objects.filter(**made), "build__name label created_at expires_on revoked_at"
        ),
    }


def own_entries(user: User) -> Iterator[dict[str, Any]]:
    """Every line of history that the account wrote, with the record before and after."""
    rows = Change.objects.filter(actor=user, build__in=list_builds(user).values("pk"))
    named = "build__name at action record_type record_id summary before after"
    return _renamed(rows.order_by("pk").values(*named.split()).iterator(500))


def own_photos(user: User) -> QuerySet[Photo]:
    """Photos that the account added, the oldest first."""
    rows = Photo.objects.filter(added_by=user, build__in=list_builds(user).values("pk"))
    return rows.select_related("build").order_by("pk")


def stamp_of_own(user: User) -> str:
    """What differs once something new is tied to the account."""
    newest = [
        rows.aggregate(newest=Max("pk"))["newest"]
        for rows in (Change.objects.filter(actor=user), AccountEvent.objects.filter(user=user))
    ]
    return f"{newest} {user.first_name} {user.email} {list(list_builds(user).values_list('pk'))}"


def _rows(rows: QuerySet[Any], names: str) -> list[dict[str, Any]]:
    return list(_renamed(rows.values(*names.split())))


def _renamed(rows: Any) -> Iterator[dict[str, Any]]:
    for row in rows:
        yield {name.removesuffix("__name"): value for name, value in row.items()}
