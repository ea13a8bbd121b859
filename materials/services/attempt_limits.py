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


UNKNOWN_LINKS = Limit("unknown link", 20, timedelta(minutes=15))
NEW_ACCOUNTS = Limit("new account", 10, timedelta(hours=1))
PASSWORDS = Limit("password", 10, timedelta(minutes=15))
# Wrong passwords for whatever names from one address, which a household or an office shares.
SIGN_INS = Limit("sign-in", 20, timedelta(minutes=15))
# Codes typed after a right password: each is one of a million, and three are right at a time.
CODES = Limit("code", 8, timedelta(minutes=15))
CODES_OF = Limit("code of", 60, timedelta(days=1))
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


def forget_attempts(*, limit: Limit, who: str) -> None:
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
