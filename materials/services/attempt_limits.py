"""How often somebody may try something.

Attempts are rows of the database, so that two processes, or a restart, count together. Each
attempt is written before it is counted: of two at the same moment both are seen, and at worst
the last one allowed is refused. Addresses are kept as keyed digests, an IPv6 address by its first
half. Sign-in is counted by django-axes for name and address together, and here for the address
alone, whatever names were tried from it; whatever POST brings files is counted by
``views.attempt_limits`` (a new address for tables goes into its ``TABLE_ROUTES``).
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.crypto import salted_hmac

from ..models import Attempt
from .clock import within


@dataclass(frozen=True)
class Limit:
    """So many attempts within a time, counted for each address (or name) apart."""

    what: str
    most: int
    within: timedelta


@dataclass(frozen=True)
class Growing:
    """After some free attempts a wait after each, twice as long each time, up to ``most``.

    What lies longer back than ``within`` no longer counts.
    """

    what: str
    free: int
    first: timedelta
    most: timedelta
    within: timedelta


UNKNOWN_LINKS = Limit("unknown link", 20, timedelta(minutes=15))
NEW_ACCOUNTS = Limit("new account", 10, timedelta(hours=1))
PASSWORDS = Limit("password", 10, timedelta(minutes=15))
# Wrong passwords for whatever names from one address, which a household or an office shares.
SIGN_INS = Limit("sign-in", 20, timedelta(minutes=15))
# Second steps of whatever kind that failed, for one account from one address.
CODES = Limit("code", 8, timedelta(minutes=15))
# Six digits that were wrong after a right password, for an account: see ``services.second_step``.
WRONG_CODES = Growing("wrong code", 6, timedelta(minutes=1), timedelta(days=1), timedelta(days=30))
RESETS = Limit("reset", 5, timedelta(hours=1))
# No token can be guessed at any pace: this keeps a scanner cheap. A right token is never stopped.
UNKNOWN_SHARES = Limit("unknown share", 30, timedelta(minutes=1))
# Far above what hands can do in an hour, far below what fills a disk or keeps a server busy.
# An address counts for all who share it: a household, an office.
PHOTOS = Limit("photos", 200, timedelta(hours=1))
PHOTOS_FROM = Limit("photos from", 600, timedelta(hours=1))
TABLES = Limit("files", 60, timedelta(hours=1))
TABLES_FROM = Limit("files from", 180, timedelta(hours=1))


class TooMany(Exception):
    """The limit is reached; ``until`` is when one may try again."""

    def __init__(self, until: datetime):
        super().__init__(until)
        self.until = until


def count_attempt(*, limit: Limit, who: str, at: datetime) -> Attempt:
    """Count one attempt. Raises TooMany when it is one too many; that one is not kept.

    What it returns is for ``forget_attempt``, where only failures count.
    """
    with transaction.atomic():
        made = Attempt.objects.create(what=limit.what, who=_key(who), at=at)
        counts = within("at", limit.within, at)
        Attempt.objects.filter(what=limit.what).exclude(counts).delete()
        until = _until(limit, who, at, limit.most)
        if until is not None:
            made.delete()
    if until is not None:
        raise TooMany(until)
    return made


def count_growing(*, limit: Growing, who: str, at: datetime) -> Attempt:
    """Count one attempt. Raises TooMany while the wait after the one before lasts.

    As of ``count_attempt``, one that is refused is not kept, and one may be forgotten. Of those
    that lie ahead, since the clock was set back, none makes a wait longer than twice.
    """
    made = Attempt.objects.create(what=limit.what, who=_key(who), at=at)
    Attempt.objects.filter(what=limit.what).exclude(within("at", limit.within, at)).delete()
    rows = Attempt.objects.filter(what=limit.what, who=made.who, at__lt=at + limit.most)
    earlier = list(rows.exclude(pk=made.pk).order_by("-at").values_list("at", flat=True))
    until = max(earlier, default=at) + _wait(limit, len(earlier))
    if until > at:
        made.delete()
        raise TooMany(until)
    return made


def _wait(limit: Growing, count: int) -> timedelta:
    """How long to wait after that many attempts."""
    doublings = count - limit.free
    if doublings < 0:
        return timedelta(0)
    # Past thirty the wait is longer than any, and its number would be too.
    doubled: timedelta = limit.first * 2 ** min(doublings, 30)
    return min(doubled, limit.most)


def forget_attempt(made: Attempt) -> None:
    """Take one attempt back: it was no failure."""
    made.delete()


def check_limit(*, limit: Limit, who: str, at: datetime) -> None:
    """Raises TooMany when no attempt is left; counts none."""
    until = _until(limit, who, at, limit.most - 1)
    if until is not None:
        raise TooMany(until)


def count_upload(*, user: int, address: str, is_table: bool, at: datetime) -> None:
    """Count one sending of files by its account (a user's key) and by its address.

    ``is_table`` tells workbooks, tables and files of builds from photos. Raises TooMany when
    either has sent too many; the account, which is told first, is then not counted.
    """
    own, there = (TABLES, TABLES_FROM) if is_table else (PHOTOS, PHOTOS_FROM)
    check_limit(limit=there, who=address, at=at)
    count_attempt(limit=own, who=f"user {user}", at=at)
    count_attempt(limit=there, who=address, at=at)


def forget_attempts(*, limit: Limit | Growing, who: str) -> None:
    """Begin to count anew."""
    Attempt.objects.filter(what=limit.what, who=_key(who)).delete()


def _until(limit: Limit, who: str, at: datetime, most: int) -> datetime | None:
    """When one attempt more fits in, if more than ``most`` are there."""
    recent = list(
        Attempt.objects.filter(within("at", limit.within, at), what=limit.what, who=_key(who))
        .order_by("-at", "-pk")
        .values_list("at", flat=True)[: most + 1]
    )
    if len(recent) <= most:
        return None
    return recent[-1] + limit.within


def _key(who: str) -> str:
    """What is kept of an address: enough to know it again, not enough to read it."""
    return salted_hmac("materials.limits", who, algorithm="sha256").hexdigest()
