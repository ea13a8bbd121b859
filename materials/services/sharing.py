"""Making, changing, revoking and counting openings of share links."""

import secrets
from contextlib import suppress
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import InternalError, OperationalError, transaction
from django.db.models import F, Q
from django.utils import timezone

from ..models import Alerts, Build, ShareLink, hash_token
from ..queries.exchange import name_key
from .attempt_limits import UNKNOWN_SHARES, check_limit, count_attempt
from .clock import within
from .errors import LedgerError
from .history import note_change, save_values, take_snapshot
from .ledger import lock_build

TOKEN_BYTES = 32
DEFAULT_DAYS = 90
# Openings closer together than this are one: a reader who reloads writes nothing.
OPENING = timedelta(minutes=1)


@transaction.atomic
def make_link(*, actor: User, build: Build, values: dict[str, Any]) -> tuple[ShareLink, str]:
    """Make a share link and its token, which nobody can ever read again: only its hash is kept.

    Raises LedgerError for a last day in the past and for a label that an open link has.
    """
    lock_build(build)
    _check(build, values, None)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = ShareLink(build=build, created_by=actor, token_hash=hash_token(token))
    save_values(actor=actor, build=build, record=link, values=values)
    return link, token


@transaction.atomic
def save_link(*, actor: User, build: Build, link: ShareLink, values: dict[str, Any]) -> ShareLink:
    """Change whom a link is for, what it shows, and until when; its address stays.

    Raises LedgerError when it is revoked, and as ``make_link`` does.
    """
    lock_build(build)
    link.refresh_from_db()
    if link.revoked_at is not None:
        raise LedgerError("This link is revoked for good. Make a new one instead.")
    _check(build, values, link)
    save_values(actor=actor, build=build, record=link, values=values)
    return link


@transaction.atomic
def revoke_link(*, actor: User, build: Build, link: ShareLink) -> None:
    """Close a link for good; nothing happens when it is closed already."""
    lock_build(build)
    link.refresh_from_db()
    if link.revoked_at is not None:
        return
    before = take_snapshot(link)
    link.revoked_at = timezone.now()
    link.save(update_fields=["revoked_at"])
    note_change(
        actor=actor,
        build=build,
        record=link,
        before=before,
        after=take_snapshot(link),
        action="revoked",
    )


def _check(build: Build, values: dict[str, Any], link: ShareLink | None) -> None:
    today: date = timezone.localdate()
    ends = values.get("expires_on")
    if ends is not None and ends < today and (link is None or link.expires_on != ends):
        raise LedgerError("That day is past. Choose today or later.", "expires_on")
    others = ShareLink.objects.filter(build=build, revoked_at=None)
    others = others.exclude(Q(expires_on__lt=today) | Q(pk=link.pk if link else None))
    label = name_key(values["label"])
    # Sending the form twice must not leave a link about that nobody was ever shown.
    if any(name_key(other) == label for other in others.values_list("label", flat=True)):
        raise LedgerError(
            "This link exists already. Its address cannot be shown again. If it is lost, "
            "revoke that link first, or enter another name here.",
            "label",
        )


def note_opened(link: ShareLink | Alerts, now: datetime) -> None:
    """Remember that a link or calendar address was opened, at most once a minute, many or few.

    A reader need not wait for an import to finish, nor fail because of it: when the database
    is busy the opening goes uncounted.
    """
    recent = within("last_opened_at", OPENING, now)
    if link.last_opened_at is not None and abs(now - link.last_opened_at) < OPENING:
        return
    due = Q(last_opened_at=None) | ~recent
    # PostgreSQL calls a database that may only be read an internal error.
    with suppress(OperationalError, InternalError):
        type(link)._default_manager.filter(due, pk=link.pk).update(
            last_opened_at=now, opened_count=F("opened_count") + 1
        )


def count_wrong_token(*, address: str, at: datetime) -> None:
    """Count a wrong token from a network address, together with all other processes.

    Raises TooMany when it is one too many. Where the database is busy with an import, it goes
    uncounted: nobody who mistypes an address need wait for that.
    """
    with suppress(OperationalError, InternalError):
        # A scanner that was stopped already writes nothing more.
        check_limit(limit=UNKNOWN_SHARES, who=address, at=at)
        count_attempt(limit=UNKNOWN_SHARES, who=address, at=at)
