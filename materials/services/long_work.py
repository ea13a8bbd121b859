"""Work that takes longer than somebody waits: done beside the request that began it.

A page asks for it by a key, waits two seconds, and else says how far it is; whoever asks again
within an hour, from whatever worker of the server, finds it going on or done. Nothing is queued
and no process of its own runs: the work is a thread of the worker that was asked, with a
connection of its own, and it only reads.

Each piece has a folder, named by its key, below one for temporary files that is this server's
alone, or below WORK_ROOT, where several machines that serve one ledger share it: ``lock`` is held
as long as the thread lives, so that work a killed server left is told from work that goes on;
``far`` says how far it is; ``result`` stands there when it is whole.
Where there is no such folder, and where settings say LONG_WORK_BESIDE = False (in tests, whose
transaction no other connection sees), the work is done while the page waits.
"""

import contextlib
import fcntl
import hashlib
import hmac
import io
import json
import logging
import os
import pickle
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.db import connections
from django.utils.crypto import salted_hmac

# How far it is: steps done, and of how many.
Tell = Callable[[int, int], None]
Make = Callable[[IO[bytes], Tell], object]


def told_nobody(done: int, of: int) -> None:
    """For work that nobody looks at meanwhile."""


# Seconds a page waits for the work it began, and for its turn.
WAIT = 2
KEPT = 60 * 60
# Pieces of work at once in one worker, and results kept of one person and kind.
AT_ONCE, MOST_KEPT = 2, 4
TRIES = 5
# A result up to this size is held in memory where there is no folder.
SMALL = 4 * 1024 * 1024
# How far it is, is written this often at most.
TOLD_EVERY = 300 * 10**6
_slots = threading.BoundedSemaphore(AT_ONCE)
log = logging.getLogger("materials.long_work")


@dataclass(frozen=True)
class Work:
    """How far a piece of work is.

    ``state``: "new" (nobody began it), "waiting" (others' work comes first), "going", "stopped"
    (it failed, or its server ended) or "done". ``result`` is open for reading where it was asked
    for, and its reader closes it. ``seconds`` since it began; ``done`` of ``of`` steps, 0 where
    it tells none.
    """

    state: str
    result: IO[bytes] | None = None
    seconds: int = 0
    done: int = 0
    of: int = 0

    @property
    def is_going(self) -> bool:
        """Whether it is worth looking again."""
        return self.state in ("waiting", "going")


def key_of(user: Any, kind: str, *of: object) -> str:
    """Names a piece of work: who asks for what kind, and all that its result depends on."""
    about = f"{user.pk}:{kind}"
    return "-".join(_digest(text) for text in (about, f"{about}:{of!r}"))


def _digest(text: str) -> str:
    return salted_hmac("materials.long_work", text, algorithm="sha256").hexdigest()[:32]


def look(key: str) -> Work:
    """How far it is. Begins nothing."""
    folder = _folder(key)
    return Work("new") if folder is None or not folder.is_dir() else _look(folder)


def do(key: str, make: Make, wait: int = WAIT) -> Work:
    """Begin it, unless it was begun, and wait for some seconds.

    ``make`` writes the result into a stream and tells how far it is. What is done while the page
    waits is not kept, and what ``make`` raises till then is raised here.
    """
    folder = _folder(key)
    if folder is None:
        return _at_once(make)
    found = look(key)
    if found.state in ("done", "going"):
        return _opened(folder, found)
    if not _slots.acquire(timeout=wait):
        return Work("waiting")
    try:
        lock = _claim(folder)
    except OSError:
        _slots.release()
        return _at_once(make)
    if lock is None:
        _slots.release()
        return _opened(folder, _look(folder))
    return _begin(_Thread(folder, lock, make), wait)


def _begin(thread: "_Thread", wait: int) -> Work:
    thread.start()
    thread.join(wait)
    if thread.is_alive():
        thread.is_left = True
        return _opened(thread.folder, _look(thread.folder))
    work = _opened(thread.folder, _look(thread.folder))
    _remove(thread.folder)
    if thread.error is not None:
        raise thread.error
    return work


def forget(key: str) -> None:
    """Take away what is kept of work that does not go on, so that it can begin anew."""
    folder = _folder(key)
    if folder is not None and folder.is_dir():
        _remove(folder)


def do_value(key: str, make: Callable[[], Any], wait: int = WAIT) -> tuple[Work, Any]:
    """The same for a value instead of a stream; it is None until the work is done."""

    def write(stream: IO[bytes], tell: Tell) -> None:
        data = pickle.dumps(make())
        stream.write(_seal(data) + data)

    work = do(key, write, wait)
    if work.result is None:
        return work, None
    with work.result as stream:
        seal, data = stream.read(32), stream.read()
    if not hmac.compare_digest(seal, _seal(data)):
        # Not written by this server: it is not opened.
        forget(key)
        return Work("stopped"), None
    return work, pickle.loads(data)


def _seal(data: bytes) -> bytes:
    return salted_hmac("materials.long_work.value", data, algorithm="sha256").digest()


def _at_once(make: Make) -> Work:
    stream = tempfile.SpooledTemporaryFile(SMALL)  # noqa: SIM115 (its reader closes it)
    try:
        make(stream, told_nobody)
        is_small = stream.tell() < SMALL
        stream.seek(0)
        small = io.BytesIO(stream.read()) if is_small else None
    except BaseException:
        stream.close()
        raise
    if small is None:
        return Work("done", stream)
    stream.close()
    return Work("done", small)


class _Thread(threading.Thread):
    """Does the work and holds the lock meanwhile; ends with the process, whatever it is at."""

    def __init__(self, folder: Path, lock: IO[bytes], make: Make):
        super().__init__(daemon=True)
        self.folder, self.lock, self.make = folder, lock, make
        self.error: Exception | None = None
        self.is_left = False

    def run(self) -> None:
        try:
            unfinished = self.folder / "unfinished"
            with open(unfinished, "w+b") as stream:
                self.make(stream, _Teller(self.folder))
            os.replace(unfinished, self.folder / "result")
        except Exception as error:
            self.error = error
            if self.is_left:
                log.exception("Work beside a request failed.")
        finally:
            connections.close_all()
            self.lock.close()
            _slots.release()


class _Teller:
    """Writes down how far it is, not too often."""

    def __init__(self, folder: Path):
        self.folder, self.last = folder, 0

    def __call__(self, done: int, of: int) -> None:
        now = time.monotonic_ns()
        if now - self.last < TOLD_EVERY:
            return
        self.last = now
        fresh = self.folder / "telling"
        fresh.write_text(json.dumps([done, of]), encoding="ascii")
        os.replace(fresh, self.folder / "far")


def _claim(folder: Path) -> IO[bytes] | None:
    """The lock of work to begin; None where somebody else has just begun it. Raises OSError."""
    _sweep(folder)
    folder.mkdir(mode=0o700, exist_ok=True)
    lock = open(folder / "lock", "wb")  # noqa: SIM115 (held by the thread)
    for _ in range(TRIES):
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            # Who looks whether it is held holds it for a moment, too.
            time.sleep(0.05)
        else:
            for name in ("result", "far"):
                (folder / name).unlink(missing_ok=True)
            os.utime(folder / "lock")
            return lock
    lock.close()
    return None


def _look(folder: Path) -> Work:
    # In this order: work that ends between the two is found done.
    is_held = _is_held(folder)
    with contextlib.suppress(OSError):
        if _age(folder / "result") <= KEPT:
            return Work("done")
    seconds = KEPT + 1
    with contextlib.suppress(OSError):
        seconds = _age(folder / "lock")
    if not is_held:
        return Work("new" if seconds > KEPT else "stopped")
    done = of = 0
    with contextlib.suppress(OSError, ValueError):
        done, of = json.loads((folder / "far").read_text(encoding="ascii"))
    return Work("going", None, min(seconds, KEPT), done, of)


def _opened(folder: Path, work: Work) -> Work:
    """The same with its result, where it is done."""
    if work.state != "done":
        return work
    try:
        return Work("done", open(folder / "result", "rb"))
    except OSError:
        return Work("stopped")


def _age(path: Path) -> int:
    return max(0, (time.time_ns() - path.stat().st_mtime_ns) // 10**9)


def _is_held(folder: Path) -> bool:
    try:
        with open(folder / "lock", "rb") as lock:
            fcntl.flock(lock, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:
        pass
    return False


def _sweep(folder: Path) -> None:
    """Take away what is older than it is kept, and what one person has too much of."""
    mine = []
    for other in _others(folder):
        with contextlib.suppress(OSError):
            age = _age(other)
            if age > KEPT:
                _remove(other)
            elif other.name[:32] == folder.name[:32]:
                mine.append((age, other))
    for _, other in sorted(mine)[MOST_KEPT - 1 :]:
        _remove(other)


def _others(folder: Path) -> Iterator[Path]:
    return (other for other in folder.parent.iterdir() if other.name != folder.name)


def _remove(folder: Path) -> None:
    if not _is_held(folder):
        shutil.rmtree(folder, ignore_errors=True)


def _folder(key: str) -> Path | None:
    root = _root(settings.SECRET_KEY) if settings.LONG_WORK_BESIDE else None
    return None if root is None else root / key


@cache
def _root(secret: str) -> Path | None:
    """A folder that nobody else can look into; None where there can be none."""
    mark = hashlib.sha256(f"long work:{secret}".encode()).hexdigest()[:16]
    above = Path(settings.WORK_ROOT or tempfile.gettempdir())
    root = above / f"buildledger-{os.getuid()}-{mark}"
    try:
        root.mkdir(mode=0o700, parents=bool(settings.WORK_ROOT), exist_ok=True)
        found = root.lstat()
    except OSError:
        return None
    is_ours = root.is_dir() and not root.is_symlink() and found.st_uid == os.getuid()
    return root if is_ours and not found.st_mode & 0o077 else None
