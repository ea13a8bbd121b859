"""Taking in photos: what may come in, what is kept of it, and writing it.

A picture is decoded and drawn anew before it is kept: what is stored are pixels, never the
bytes that were sent, so nothing hidden in a file lives on. Numbers such as 5.2.6 are
requirements of OWASP ASVS 5.0.0.
"""

import io
import re
import secrets
import warnings
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from PIL import ExifTags, Image, UnidentifiedImageError

from ..models import Build, Photo
from ..queries.photos import (
    PhotoRecord,
    count_pile,
    list_of_pile,
    list_photos,
    name_record,
    one_of,
    owner_field,
)
from .acts import as_one
from .errors import LedgerError
from .history import remove_record, save_values, write_record
from .ledger import lock_build

MAX_BYTES = 15 * 1024 * 1024
MAX_PIXELS = 50_000_000
MAX_PHOTOS = 40
# Each is decoded while the request waits.
MAX_AT_ONCE = 10
# What waits to be sorted, and how much of it comes at once: a day's worth.
MAX_OF_PILE = 200
MAX_OF_PILE_AT_ONCE = 30
LONGEST_SIDE = 2400
LONGEST_SIDE_SMALL = 320
QUALITY = 85

# A JPEG may draw its picture over and over, each time at full size; cameras do so 10 times.
MAX_SCANS = 100
_SCAN = b"\xff\xda"

FORMATS = ("JPEG", "PNG", "WEBP")
# Pillow's own guard, beside ours: some decoders make room as soon as they are opened.
Image.MAX_IMAGE_PIXELS = MAX_PIXELS
warnings.simplefilter("error", Image.DecompressionBombWarning)

# EXIF 2.32, 4.6.4 A, tag 0x0112: how the stored rows and columns are to be turned.
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True)
class Picture:
    """A picture ready to be kept: JPEG bytes in two sizes, and the size of the large one."""

    image: bytes
    thumbnail: bytes
    width: int
    height: int


def add_photos(
    *,
    actor: User,
    build: Build,
    record: PhotoRecord | None,
    files: "Sequence[UploadedFile[bytes]]" = (),
    pictures: Sequence[Picture] = (),
    caption: str = "",
) -> list[Photo]:
    """Keep pictures of a purchase, conversion or new price: all of them, or none.

    ``record`` None: they wait in the pile. ``pictures`` were read before. Raises LedgerError for a
    file that is refused, or when there would be too many.
    """
    several = len(files) + len(pictures)
    if not several:
        raise LedgerError("Take or choose a photo first.")
    if record is not None and several > MAX_AT_ONCE:
        raise LedgerError(f"At most {MAX_AT_ONCE} photos at a time: leave some out.")
    _refuse_too_many(build, record, several)
    # Decoded before anything is locked: it takes a while.
    pictures = [*pictures, *map(read_picture, files)]
    kept: list[str] = []
    try:
        with transaction.atomic():
            lock_build(build)
            _refuse_too_many(build, record, several)
            return [_keep(actor, build, record, picture, caption, kept) for picture in pictures]
    except BaseException:
        for name in kept:
            # Leaving a file behind is the smaller fault than hiding what went wrong.
            with suppress(OSError):
                default_storage.delete(name)
        raise


def add_to_pile(
    *, actor: User, build: Build, files: "Sequence[UploadedFile[bytes]]", caption: str = ""
) -> tuple[list[Photo], list[str]]:
    """Keep photos that are sorted later; gives them, and a sentence for each that cannot be.

    Whoever empties a phone in the evening does not begin again for one that is broken. Raises
    LedgerError where none can be kept, or there would be too many.
    """
    if len(files) > MAX_OF_PILE_AT_ONCE:
        raise LedgerError(f"At most {MAX_OF_PILE_AT_ONCE} photos at a time: leave some out.")
    pictures, refused = [], []
    for file in files:
        try:
            pictures.append(read_picture(file))
        except LedgerError as error:
            refused.append(str(error))
    if refused and not pictures:
        raise LedgerError(" ".join(refused))
    several = f"{len(pictures)} photos" if len(pictures) > 1 else "a photo"
    with as_one(actor=actor, build=build, summary=f"Pile: {several} to sort"):
        kept = add_photos(actor=actor, build=build, record=None, pictures=pictures, caption=caption)
    return kept, refused


def sort_photos(
    *, actor: User, build: Build, record: PhotoRecord, photos: Sequence[Photo]
) -> list[Photo]:
    """Move photos from the pile to a record. Raises LedgerError when one waits there no more."""
    with as_one(actor=actor, build=build, summary=f"{name_record(record)}: photos sorted"):
        lock_build(build)
        waiting = list_of_pile(build, [photo.pk for photo in photos])
        if len(waiting) < len(photos):
            raise LedgerError(
                "A photo of the pile was sorted or deleted meanwhile. The others are still chosen."
            )
        _refuse_too_many(build, record, len(waiting))
        for photo in waiting:
            save_values(
                actor=actor, build=build, record=photo, values={owner_field(record): record}
            )
    return waiting


def save_caption(*, actor: User, build: Build, photo: Photo, caption: str) -> Photo:
    """Change what is written under a photo."""
    with transaction.atomic():
        lock_build(build)
        save_values(actor=actor, build=build, record=photo, values={"caption": caption})
    return photo


@transaction.atomic
def remove_photo(*, actor: User, build: Build, photo: Photo) -> None:
    """Take a photo away. Its files stay, so that the history can bring it back."""
    lock_build(build)
    remove_record(actor=actor, build=build, record=photo)


def _refuse_too_many(build: Build, record: PhotoRecord | None, more: int) -> None:
    if record is None:
        if (there := count_pile(build)) + more > MAX_OF_PILE:
            raise LedgerError(
                f"The pile holds at most {MAX_OF_PILE} photos, and {there} wait there: sort or"
                " delete some first."
            )
        return
    there = list_photos(record).count()
    if there + more > MAX_PHOTOS:
        raise LedgerError(
            f"{one_of(record)} holds at most {MAX_PHOTOS} photos, and this one has {there}:"
            " leave some out, or delete some first."
        )


def _keep(
    actor: User,
    build: Build,
    record: PhotoRecord | None,
    picture: Picture,
    caption: str,
    kept: list[str],
) -> Photo:
    """Write one photo with its files; names of files written are added to ``kept``."""
    photo = Photo(
        build=build,
        caption=caption,
        width=picture.width,
        height=picture.height,
        added_by=actor,
        **({owner_field(record): record} if record is not None else {}),
    )
    # 5.3.2: a path is made of the build's number and chance, never of what somebody typed.
    stem = secrets.token_hex(16)

    def write() -> None:
        photo.image.save(f"{stem}.jpg", ContentFile(picture.image), save=False)
        kept.append(str(photo.image.name))
        photo.thumbnail.save(f"{stem}-small.jpg", ContentFile(picture.thumbnail), save=False)
        kept.append(str(photo.thumbnail.name))
        photo.save()

    write_record(actor=actor, build=build, record=photo, write=write)
    return photo


def read_picture(file: "UploadedFile[bytes]") -> Picture:
    """Check a file by its content and draw it anew. Raises LedgerError saying what is wrong.

    The file's name is only ever quoted in that sentence; its stated type is not looked at.
    """
    name = _quoted(file.name)
    # 5.2.1: before a byte of it is read.
    if not file.size:
        raise LedgerError(f"{name} is empty: choose the photo itself.")
    if file.size > MAX_BYTES:
        raise LedgerError(f"{name} is over 15 MB: send a smaller picture.")
    file.seek(0)
    data = file.read()
    try:
        _verify(data)
        return _redraw(data)
    except UnidentifiedImageError:
        text = "is not a picture we can read: send JPEG, PNG or WebP."
    except (_TooManyPixels, Image.DecompressionBombError, Image.DecompressionBombWarning):
        text = "has more than 50 million pixels: make it smaller first."
    except Exception:
        # What decoders raise over hostile or torn bytes is listed nowhere.
        text = "is broken or incomplete: take it or send it again."
    raise LedgerError(f"{name} {text}")


# ISO/IEC 10918-1, table B.1, from memory: what a picture written here is made of. SOF0, DHT, SOS,
# DQT, DRI, and APP0, which JFIF makes its head; comments and other APPn hold what is no pixel.
_PIXELS = frozenset((0xC0, 0xC4, 0xDA, 0xDB, 0xDD, 0xE0))


def holds_pixels_alone(data: bytes) -> bool:
    """Whether a JPEG holds what ``_jpeg`` writes and nothing before, between or after it."""
    if not (data.startswith(b"\xff\xd8") and data.endswith(b"\xff\xd9")):
        return False
    at, marker = 2, 0
    while marker != 0xDA:
        if len(data) < at + 4 or data[at] != 0xFF:
            return False
        marker, size = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        # A head of JFIF is 16 bytes without a small picture of its own.
        if marker not in _PIXELS or size < 2 or (marker == 0xE0 and size != 16):
            return False
        at += 2 + size
    # One scan up to the end: within it only a stuffed zero or a restart follows 0xFF.
    return re.search(rb"\xff[^\x00\xd0-\xd7]", data[at:-2]) is None


class _TooManyPixels(ValueError):
    """A picture too large to be decoded."""


def _open(data: bytes) -> Image.Image:
    """Read the header only, and refuse by it (5.2.2: the content decides; 5.2.6)."""
    image = Image.open(io.BytesIO(data), formats=FORMATS)
    if image.width * image.height > MAX_PIXELS:
        raise _TooManyPixels
    if image.format in ("JPEG", "MPO") and data.count(_SCAN) > MAX_SCANS:
        raise ValueError("a picture drawn this often is meant to keep the server busy")
    return image


def _verify(data: bytes) -> None:
    # The picture cannot be used after this: it is opened again.
    _open(data).verify()


def _redraw(data: bytes) -> Picture:
    image = _open(data)
    # A camera's JPEG is decoded at the smallest scale that is still large enough.
    image.draft(None, (LONGEST_SIDE, LONGEST_SIDE))
    # Of a file with several frames this is the first.
    image.load()
    turn = _TURNS.get(_orientation(image))
    flat = _flatten(image, LONGEST_SIDE)
    if turn is not None:
        flat = flat.transpose(turn)
    small = flat.copy()
    small.thumbnail((LONGEST_SIDE_SMALL, LONGEST_SIDE_SMALL))
    return Picture(_jpeg(flat), _jpeg(small), flat.width, flat.height)


def _orientation(image: Image.Image) -> int:
    """How the picture is to be turned; 1 (not at all) when that cannot be read."""
    try:
        turn: int = image.getexif().get(ExifTags.Base.Orientation, 1)
    except Exception:
        return 1
    return turn


def _flatten(image: Image.Image, longest: int) -> Image.Image:
    """The pixels alone, no larger than ``longest``, on white.

    A new picture is drawn on, because Pillow hands on what an old one knows beside its pixels:
    place, camera, comment (14.2.8).
    """
    if image.mode.startswith("I;16"):
        # Sixteen bits of grey would be cut off at white, not scaled.
        image = image.convert("I").point(lambda value: value / 256).convert("L")
    mode = "RGBA" if image.has_transparency_data else "RGB"
    if image.mode != mode:
        # Not otherwise: it would be copied, and it may be large.
        image = image.convert(mode)
    image.thumbnail((longest, longest), reducing_gap=3)
    drawn = Image.new("RGB", image.size, "white")
    drawn.paste(image, mask=image if image.mode == "RGBA" else None)
    return drawn


def _jpeg(image: Image.Image) -> bytes:
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=QUALITY, optimize=True)
    return stream.getvalue()


def _quoted(name: str | None) -> str:
    """A file's name for a sentence, no longer than a sentence bears."""
    name = name or "That file"
    return f"“{name if len(name) <= 60 else name[:40] + '…' + name[-12:]}”"
