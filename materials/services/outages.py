"""Telling what is the matter when the database or the disk refuses, and what helps.

A full disk, a ledger that may only be read, a lock that never came and a database out of reach are
told from faults of the program by SQLite's and PostgreSQL's own codes. ``views.outages`` answers
507 or 503 with what was typed and a button that sends it again; it asks the database nothing,
offers nothing before the form's mark was checked, and never repeats a password. Anything else is a
500 with its number. A ledger in a closed folder is opened as immutable: restart the server when
writing is allowed again.
"""

import errno
from enum import Enum

import psycopg
from django.db import DatabaseError, InterfaceError

# How long to wait before trying again, in seconds.
SOON, LATER = 5, 30


class Outage(Enum):
    """A cause outside the program that somebody can do something about."""

    FULL = "full"
    READ_ONLY = "read only"
    BUSY = "busy"
    AWAY = "away"

    @property
    def sentence(self) -> str:
        """What is the matter and what to do, for whoever reads it on a command line."""
        return {
            Outage.FULL: (
                "The disk is full, so nothing was saved. Make room on the disk, then try again."
            ),
            Outage.READ_ONLY: (
                "The ledger cannot be written to, so nothing was saved. Allow writing to the "
                "database and its folder, then try again."
            ),
            Outage.BUSY: "Others were saving for so long that yours was not saved. Try again.",
            Outage.AWAY: (
                "The database does not answer. Check that it is running and its disk is "
                "sound, then try again."
            ),
        }[self]

    @property
    def status(self) -> int:
        """RFC 4918 11.5 has a status of its own for storage that is full."""
        return 507 if self is Outage.FULL else 503

    @property
    def seconds(self) -> int:
        """For Retry-After."""
        return SOON if self is Outage.BUSY else LATER


_OF_ERRNO = {
    errno.ENOSPC: Outage.FULL,
    errno.EDQUOT: Outage.FULL,
    errno.EFBIG: Outage.FULL,
    errno.EROFS: Outage.READ_ONLY,
    errno.EACCES: Outage.READ_ONLY,
    errno.EPERM: Outage.READ_ONLY,
    errno.EIO: Outage.AWAY,
}
# The first part of SQLite's names of its result codes, https://www.sqlite.org/rescode.html.
_OF_SQLITE = {
    "SQLITE_FULL": Outage.FULL,
    "SQLITE_READONLY": Outage.READ_ONLY,
    "SQLITE_BUSY": Outage.BUSY,
    "SQLITE_LOCKED": Outage.BUSY,
    "SQLITE_CANTOPEN": Outage.AWAY,
    # No room for the index of the write-ahead log, which even reading needs.
    "SQLITE_IOERR_SHMSIZE": Outage.FULL,
    "SQLITE_IOERR": Outage.AWAY,
    "SQLITE_PROTOCOL": Outage.BUSY,
}
# PostgreSQL's codes, https://www.postgresql.org/docs/15/errcodes-appendix.html, and classes.
_OF_STATE = {
    "25006": Outage.READ_ONLY,
    "40001": Outage.BUSY,
    "40P01": Outage.BUSY,
    "53100": Outage.FULL,
    "53300": Outage.BUSY,
    "55P03": Outage.BUSY,
    "57014": Outage.BUSY,
}
_OF_CLASS = {"08": Outage.AWAY, "53": Outage.AWAY, "57": Outage.AWAY, "58": Outage.AWAY}


def outage_of(error: BaseException | None) -> Outage | None:
    """The trouble behind an error; None for one that is a fault of the program."""
    if isinstance(error, OSError):
        return _OF_ERRNO.get(error.errno or 0)
    if not isinstance(error, (DatabaseError, InterfaceError)):
        return None
    cause = error.__cause__
    if isinstance(cause, psycopg.Error):
        return _of_postgresql(cause)
    name = getattr(cause, "sqlite_errorname", "") or ""
    return next((outage for start, outage in _OF_SQLITE.items() if name.startswith(start)), None)


def _of_postgresql(cause: psycopg.Error) -> Outage | None:
    state = cause.sqlstate
    if state is None:
        # No answer at all: the connection could not be made, or broke.
        is_lost = isinstance(cause, (psycopg.OperationalError, psycopg.InterfaceError))
        return Outage.AWAY if is_lost else None
    return _OF_STATE.get(state) or _OF_CLASS.get(state[:2])
