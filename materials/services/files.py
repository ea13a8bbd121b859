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

    A power cut after the commit must not take the photo whose row the database kept. Nor may a
    file stand under its name before it is whole: one that a killed process had begun would be
    in each backup, and would be refused there as damaged.
    """

    def _save(self, name: str, content: Any) -> str:
        folder, last = os.path.split(name)
        # Called as no photo and no table may be (stored_files.is_ours).
        unfinished = os.path.join(folder, f".{last}.unfinished")
        try:
            unfinished = super()._save(unfinished, content)  # type: ignore[misc]  # no stub of it
            with open(self.path(unfinished), "rb") as stream:
                os.fsync(stream.fileno())
            os.replace(self.path(unfinished), self.path(name))
            self._sync_folders(Path(self.path(name)))
        except BaseException:
            # Both names were free a moment ago and are made of chance: they are nobody else's.
            for begun in (unfinished, name):
                with contextlib.suppress(OSError):
                    os.unlink(self.path(begun))
            raise
        return name

    def _sync_folders(self, path: Path) -> None:
        top = Path(self.location)
        for folder in path.parents:
            sync_folder(folder)
            if folder == top:
                break
