"""Files that are on the disk when they are said to be, or not there at all.

``replacing`` writes beside the target, syncs file and folder, and takes away what a killed run
left, known by its lock. The storage of uploads syncs each before its row is committed.
"""

import contextlib
import fcntl
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from django.core.files.storage import FileSystemStorage


def sync_folder(folder: Path) -> None:
    """Have the disk keep which files a folder holds, which it does apart from the files."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextlib.contextmanager
def replacing(target: Path, *, prefix: str, mode: int | None = None) -> Iterator[IO[bytes]]:
    """A file that stands at the target only when it is complete and on the disk.

    It is written under another name first, which begins with ``prefix``. What an earlier run
    left there when it was killed is taken away. Raises OSError, and then leaves nothing.
    """
    _sweep(target.parent, prefix)
    handle, unfinished = tempfile.mkstemp(dir=target.parent, prefix=prefix)
    try:
        with os.fdopen(handle, "w+b") as stream:
            # Held as long as this run lives, and by that told from what a dead one left.
            fcntl.flock(stream, fcntl.LOCK_EX)
            yield stream
            stream.flush()
            if mode is not None:
                os.fchmod(stream.fileno(), mode)
            os.fsync(stream.fileno())
            os.replace(unfinished, target)
        sync_folder(target.parent)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(unfinished)
        raise


def _sweep(folder: Path, prefix: str) -> None:
    for left in folder.glob(f"{prefix}*"):
        with contextlib.suppress(OSError), open(left, "rb") as stream:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
            left.unlink()


class DurableStorage(FileSystemStorage):
    """Keeps an uploaded file on the disk before the row that names it is committed.

    A power cut after the commit must not take the photo whose row the database kept. A file
    that could not be written whole is taken away again.
    """

    def _save(self, name: str, content: Any) -> str:
        try:
            kept: str = super()._save(name, content)  # type: ignore[misc]  # no stub of it
            self._sync(kept)
        except BaseException:
            # The name was free a moment ago and is made of chance, so it is nobody else's.
            with contextlib.suppress(OSError):
                os.unlink(self.path(name))
            raise
        return kept

    def _sync(self, name: str) -> None:
        path = Path(self.path(name))
        with open(path, "rb") as stream:
            os.fsync(stream.fileno())
        top = Path(self.location)
        for folder in path.parents:
            sync_folder(folder)
            if folder == top:
                break
