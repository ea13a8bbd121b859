"""A ledger made beside the one in use, which takes its place in one step, or not at all.

SQLite: a file beside the other, put in its place by one rename. PostgreSQL: a schema beside the
other, whose tables change places with the old ones in one transaction. Either way the program must
be stopped: whoever still had the old ledger open would go on writing into what was put aside.

What was replaced is kept under a name with its date until it is asked to go. One restore works at
a time, so that what an earlier one left when it was killed can be told and taken away.
"""

import copy
import fcntl
import os
import re
import sqlite3
import time
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Any

from django.db import DEFAULT_DB_ALIAS, Error, ProgrammingError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from .errors import LedgerError
from .files import sync_folder

# In seconds: a process that was just stopped needs a moment until nothing of it is left.
PATIENCE = 5.0
STEP = 0.1
_AGAIN = "Stop the program first, then try again. Nothing was changed."
IN_USE = f"Something else has this ledger open. {_AGAIN}"
AT_WORK = "Another restore is at work on this ledger. Wait until it ends."


class Place(ABC):
    """Where ledgers lie beside each other."""

    def __init__(self, usual: BaseDatabaseWrapper):
        self.usual = usual

    @abstractmethod
    def hold(self) -> Any:
        """A context in which no other restore works here. Raises LedgerError with a sentence."""

    @abstractmethod
    def refuse_in_use(self) -> None:
        """Raises LedgerError when anybody else has the ledger open."""

    @abstractmethod
    def sweep(self) -> None:
        """Take away an unfinished ledger."""

    @abstractmethod
    def begin(self) -> dict[str, Any]:
        """Make room for a fresh one; gives the settings of a connection to it."""

    @abstractmethod
    def take(self, name: str | None, *, keep: bool) -> str | None:
        """Put the fresh ledger, or one kept under a name, in place of the one in use.

        Gives the name under which that one is kept then.
        """

    @abstractmethod
    def list_kept(self) -> list[str]:
        """Names of ledgers that were replaced, the newest last."""

    @abstractmethod
    def drop(self, name: str) -> None:
        """Delete a ledger that was kept."""


class Fresh:
    """A ledger on its way."""

    def __init__(self, place: Place):
        self.place = place

    @contextmanager
    def opened(self) -> Iterator[None]:
        """Inside, whatever asks for the database gets the fresh one."""
        usual = connections[DEFAULT_DB_ALIAS]
        other = type(usual)(self.place.begin(), DEFAULT_DB_ALIAS)
        connections[DEFAULT_DB_ALIAS] = other
        try:
            yield
        finally:
            connections[DEFAULT_DB_ALIAS] = usual
            other.close()

    def take(self, *, keep: bool) -> str | None:
        """Have it take the place of the one in use, kept under the name given, or deleted."""
        return self.place.take(None, keep=keep)


@contextmanager
def fresh_ledger() -> Iterator[Fresh]:
    """Room for a ledger beside the one in use; what was not taken is gone afterwards.

    Raises LedgerError with a sentence when there is no room, or somebody else is at work.
    """
    with _place() as place:
        place.refuse_in_use()
        place.sweep()
        try:
            yield Fresh(place)
        finally:
            place.sweep()


def list_kept() -> list[str]:
    """Names of ledgers that restores replaced, the newest last."""
    with _place() as place:
        return place.list_kept()


def drop_kept() -> list[str]:
    """Delete every ledger that restores replaced; gives their names."""
    with _place() as place:
        names = place.list_kept()
        for name in names:
            place.drop(name)
        return names


def bring_back() -> tuple[str, str]:
    """Put the ledger that was replaced last back; gives its name and that of the one replaced now.

    Raises LedgerError when none is kept.
    """
    with _place() as place:
        kept = place.list_kept()
        if not kept:
            raise LedgerError("No restore has replaced a ledger here, so there is none to undo.")
        place.refuse_in_use()
        return kept[-1], place.take(kept[-1], keep=True) or ""


@contextmanager
def _place() -> Iterator[Place]:
    usual = connections[DEFAULT_DB_ALIAS]
    place = (_Schema if usual.vendor == "postgresql" else _File)(usual)
    with place.hold():
        yield place


def _free(stem: str, is_taken: Callable[[str], bool]) -> str:
    """A name with the date and time, which none has yet."""
    stamp = datetime.now().astimezone().strftime("%Y%m%d_%H%M%S")
    names = (f"{stem}{stamp}{f'_{n}' if n > 1 else ''}" for n in count(1))
    return next(name for name in names if not is_taken(name))


def _wait_for(is_so: Callable[[], bool]) -> bool:
    until = time.monotonic() + PATIENCE
    while not is_so():
        if time.monotonic() > until:
            return False
        time.sleep(STEP)
    return True


_STAMP = r"\d{8}_\d{6}(_\d+)?"


class _File(Place):
    """SQLite: files of one folder."""

    def __init__(self, usual: BaseDatabaseWrapper):
        super().__init__(usual)
        # A link stays a link: what it leads to is replaced.
        self.file = Path(os.path.realpath(usual.settings_dict["NAME"]))
        self.fresh = self.file.with_name(f".{self.file.name}-unfinished-restore")

    @contextmanager
    def hold(self) -> Iterator[None]:
        if not os.access(self.file.parent, os.W_OK):
            raise LedgerError(
                "Nothing can be written to the folder of the database: allow that first."
            )
        handle = os.open(self.file.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise LedgerError(AT_WORK) from None
            yield
        finally:
            os.close(handle)

    def refuse_in_use(self) -> None:
        if self.file.exists():
            with self._alone():
                pass

    @contextmanager
    def _alone(self) -> Iterator[sqlite3.Connection]:
        """The ledger, with nobody else in it, now or later, and all of it in the one file.

        Leaving the write-ahead log does both, and SQLite refuses it while anybody has it open.
        """
        self.usual.close()
        with closing(sqlite3.connect(self.file, timeout=0, isolation_level=None)) as held:

            def left_the_log() -> bool:
                with suppress(sqlite3.OperationalError):
                    if held.execute("PRAGMA journal_mode=DELETE").fetchone() != ("delete",):
                        return False
                    held.execute("PRAGMA locking_mode=EXCLUSIVE")
                    held.execute("BEGIN EXCLUSIVE")
                    # The lock outlives the transaction, which a copy must not be made within.
                    held.execute("COMMIT")
                    return True
                return False

            if not _wait_for(left_the_log):
                raise LedgerError(IN_USE)
            yield held

    def sweep(self) -> None:
        for path in self.file.parent.glob(f"{self.fresh.name}*"):
            path.unlink()

    def begin(self) -> dict[str, Any]:
        settings = copy.deepcopy(self.usual.settings_dict)
        settings["NAME"] = str(self.fresh)
        # What is killed on the way is made anew from the backup: it goes to the disk at the end.
        command = "PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF;"
        settings["OPTIONS"] = {**settings["OPTIONS"], "init_command": command}
        self.fresh.touch(mode=0o600)
        return settings

    def take(self, name: str | None, *, keep: bool) -> str | None:
        source = self.file.with_name(name) if name else self.fresh
        kept = None
        with self._alone() as held:
            if keep:
                try:
                    kept = self._keep(held)
                except sqlite3.Error as error:
                    raise LedgerError(
                        f"There is no keeping the old ledger beside the new one ({error}), so"
                        " nothing was changed. Make room on the disk."
                    ) from None
            self._like_the_old_one(source)
            os.replace(source, self.file)
            sync_folder(self.file.parent)
        return kept

    def _keep(self, held: sqlite3.Connection) -> str:
        """A copy, made by SQLite: to open the file beside it would give up its lock."""
        name = _free(f"{self.file.name}.before_", lambda one: self.file.with_name(one).exists())
        unfinished = self.file.with_name(f"{self.fresh.name}-kept")
        with closing(sqlite3.connect(unfinished)) as target:
            held.backup(target)
        self._like_the_old_one(unfinished)
        os.replace(unfinished, self.file.with_name(name))
        sync_folder(self.file.parent)
        return name

    def _like_the_old_one(self, path: Path) -> None:
        """The same rights and owner, a write-ahead log as in use, and on the disk.

        Else the first two processes to open it would each change to the log, and SQLite refuses
        one of them at once.
        """
        with closing(sqlite3.connect(path)) as made:
            made.execute("PRAGMA journal_mode=WAL")
        old = self.file.stat()
        with open(path, "rb") as stream:
            os.fchmod(stream.fileno(), old.st_mode & 0o777)
            with suppress(PermissionError):
                os.fchown(stream.fileno(), old.st_uid, old.st_gid)
            os.fsync(stream.fileno())

    def list_kept(self) -> list[str]:
        pattern = re.compile(rf"{re.escape(self.file.name)}\.before_{_STAMP}")
        return sorted(p.name for p in self.file.parent.iterdir() if pattern.fullmatch(p.name))

    def drop(self, name: str) -> None:
        self.file.with_name(name).unlink()


# Tables that belong to an extension stay where they are.
_TABLES = """
SELECT c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE n.nspname = %s AND c.relkind IN ('r', 'p') AND NOT EXISTS (
    SELECT 1 FROM pg_depend d
    WHERE d.classid = 'pg_class'::regclass AND d.objid = c.oid AND d.deptype = 'e')
"""
_OTHERS = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()
AND backend_type = 'client backend'
"""
# Any number, the same for every restore.
_LOCK = 7_302_611_954


class _Schema(Place):
    """PostgreSQL: schemas of one database."""

    def __init__(self, usual: BaseDatabaseWrapper):
        super().__init__(usual)
        self.schema = str(self._one("SELECT coalesce(current_schema(), 'public')"))
        self.fresh = f"{self.schema}_unfinished_restore"

    def _one(self, sql: str, *values: str | int) -> Any:
        with self.usual.cursor() as cursor:
            cursor.execute(sql, values)
            row = cursor.fetchone()
        return row[0] if row else None

    def _do(self, sql: str, *names: str) -> None:
        """A statement with names in it, in their quotes."""
        quoted = ['"{}"'.format(name.replace('"', '""')) for name in names]
        with self.usual.cursor() as cursor:
            cursor.execute(sql.format(*quoted))

    def _all(self, sql: str, *values: str | int) -> list[str]:
        with self.usual.cursor() as cursor:
            cursor.execute(sql, values)
            return [row[0] for row in cursor.fetchall()]

    @contextmanager
    def hold(self) -> Iterator[None]:
        if not self._one("SELECT pg_try_advisory_lock(%s)", _LOCK):
            raise LedgerError(AT_WORK)
        try:
            yield
        finally:
            with suppress(Error):
                self._one("SELECT pg_advisory_unlock(%s)", _LOCK)

    def refuse_in_use(self) -> None:
        if not _wait_for(lambda: not self._one(_OTHERS)):
            raise LedgerError(IN_USE)

    def sweep(self) -> None:
        self.drop(self.fresh)

    def begin(self) -> dict[str, Any]:
        with self._as_owner():
            self._do("CREATE SCHEMA {}", self.fresh)
        settings = copy.deepcopy(self.usual.settings_dict)
        options = settings.setdefault("OPTIONS", {})
        words = [options.get("options", ""), f"-c search_path={self.fresh}"]
        options["options"] = " ".join(filter(None, words))
        return settings

    @contextmanager
    def _as_owner(self) -> Iterator[None]:
        """A database that belongs to somebody else is said in a sentence."""
        try:
            yield
        except ProgrammingError as error:
            if getattr(error.__cause__, "sqlstate", "") != "42501":
                raise
            raise LedgerError(
                "This user may not make a schema in the database. Let the database belong to it"
                " (ALTER DATABASE … OWNER TO …), then try again. Nothing was changed."
            ) from None

    def take(self, name: str | None, *, keep: bool) -> str | None:
        self.refuse_in_use()
        source = name or self.fresh
        taken = set(self._all("SELECT nspname FROM pg_namespace"))
        kept = _free(f"{self.schema}_before_", taken.__contains__)
        with self._as_owner(), transaction.atomic():
            self._do("CREATE SCHEMA {}", kept)
            self._move(self.schema, kept)
            self._move(source, self.schema)
            self._do("DROP SCHEMA {}", source)
            if not keep:
                self.drop(kept)
        return kept if keep else None

    def _move(self, source: str, target: str) -> None:
        """Every table with its indexes and counters; links between them follow."""
        for table in self._all(_TABLES, source):
            self._do("ALTER TABLE {}.{} SET SCHEMA {}", source, table, target)

    def list_kept(self) -> list[str]:
        pattern = rf"^{re.escape(self.schema)}_before_{_STAMP}$"
        return self._all(
            "SELECT nspname FROM pg_namespace WHERE nspname ~ %s ORDER BY nspname", pattern
        )

    def drop(self, name: str) -> None:
        self._do("DROP SCHEMA IF EXISTS {} CASCADE", name)
