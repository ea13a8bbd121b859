"""Putting stored files of a backup back under their own names, checked as what is uploaded.

What a backup holds may have been changed on the way. A photo is decoded as one that is sent, and
kept byte for byte only when it holds pixels and nothing else, as every photo that was drawn here;
else it is drawn anew. A table is only ever read again as one that is sent is read.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from tempfile import TemporaryFile
from typing import IO

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile

from .errors import LedgerError
from .photos import MAX_BYTES, holds_pixels_alone, read_picture

Place = Callable[[str, Callable[[int], bytes]], None]
_PHOTO = re.compile(r"builds/[1-9]\d*/[\w.-]+\.jpg", re.ASCII)
_TABLE = re.compile(r"builds/[1-9]\d*/tables/[\w-]+", re.ASCII)
# A workbook of 60 MB, or the rows of its largest sheet as lines beside it.
MAX_TABLE_BYTES = 400_000_000


def is_ours(name: str) -> bool:
    """Whether a file is called as those that are stored here, and not one that strayed in."""
    return bool(_PHOTO.fullmatch(name) or _TABLE.fullmatch(name))


@contextmanager
def placing() -> Iterator[Place]:
    """What puts a file back: name, and what reads so many bytes of it. After an error, none is.

    It raises LedgerError for a file that would be refused if it were sent.
    """
    new: list[str] = []
    replaced: list[tuple[str, IO[bytes]]] = []

    def place(name: str, read: Callable[[int], bytes]) -> None:
        data = _as_it_may_be_kept(name, read)
        if data is None:
            return
        if default_storage.exists(name):
            replaced.append((name, _copy(name)))
            default_storage.delete(name)
        else:
            new.append(name)
        _save(name, ContentFile(data))

    try:
        yield place
    except BaseException:
        for name in new:
            # Leaving a file behind is the smaller fault than hiding what went wrong.
            with suppress(OSError):
                default_storage.delete(name)
        for name, earlier in replaced:
            with suppress(OSError, LedgerError):
                default_storage.delete(name)
                _save(name, File(earlier))
        raise
    finally:
        for _, earlier in replaced:
            earlier.close()


def _as_it_may_be_kept(name: str, read: Callable[[int], bytes]) -> bytes | None:
    """The bytes to write; None where they stand already. Raises LedgerError."""
    is_photo = bool(_PHOTO.fullmatch(name))
    if not is_ours(name):
        raise LedgerError(f"“{name[:80]}” in the backup is no photo of this program.")
    most = MAX_BYTES if is_photo else MAX_TABLE_BYTES
    data = read(most + 1)
    if default_storage.exists(name) and default_storage.size(name) == len(data):
        with default_storage.open(name) as stored:
            if stored.read() == data:
                return None
    if not is_photo:
        if len(data) > most:
            raise LedgerError(f"The table “{name[:80]}” in the backup is too large.")
        return data
    try:
        picture = read_picture(SimpleUploadedFile(name.rpartition("/")[2], data))
    except LedgerError as error:
        raise LedgerError(f"In the backup, {str(error).partition(':')[0]}.") from None
    return data if holds_pixels_alone(data) else picture.image


def _copy(name: str) -> IO[bytes]:
    copy = TemporaryFile()  # noqa: SIM115  # closed when all is done
    with default_storage.open(name) as stored:
        for chunk in stored.chunks():
            copy.write(chunk)
    copy.seek(0)
    return copy


def _save(name: str, content: "File[bytes]") -> None:
    kept = default_storage.save(name, content)
    if kept != name:
        default_storage.delete(kept)
        raise LedgerError(f"The file “{name[:80]}” could not be put back under its name.")
