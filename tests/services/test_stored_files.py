"""Files of a backup, placed under their own names: checked as what is sent, all or none."""

from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import Image

from materials.services import stored_files
from materials.services.errors import LedgerError
from materials.services.photos import holds_pixels_alone, read_picture
from materials.services.stored_files import is_ours, placing
from tests.photo_files import encoded, jpeg, sent

NAME = "builds/7/0123456789abcdef.jpg"
BOMB = encoded(Image.new("1", (9000, 9000)), "PNG")


@pytest.fixture(autouse=True)
def media(settings, tmp_path) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


def put(name: str, data: bytes) -> None:
    with placing() as place:
        place(name, lambda most: data[:most])


def files(media: Path) -> list[Path]:
    return [path for path in media.parent.rglob("*") if path.is_file()]


@pytest.fixture(scope="module")
def drawn() -> bytes:
    """A photo as it is stored."""
    return read_picture(sent(jpeg())).image


def test_a_photo_of_ours_is_kept_byte_for_byte(drawn, media):
    put(NAME, drawn)
    assert (media / NAME).read_bytes() == drawn
    put("builds/7/tables/0a1b", b"What,Price")
    assert (media / "builds/7/tables/0a1b").read_bytes() == b"What,Price"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"<html><script>alert(1)</script>", "is not a picture we can read."),
        (jpeg()[:200], "is broken or incomplete."),
        (b"", "is empty."),
        (BOMB, "has more than 50 million pixels."),
        (b"\0" * (15 * 1024 * 1024 + 1), "is over 15 MB."),
    ],
    ids=["a page", "cut", "empty", "a bomb", "large"],
)
def test_a_photo_that_would_be_refused_is_refused(data, says, media):
    with pytest.raises(LedgerError) as refused:
        put(NAME, data)
    assert str(refused.value) == f"In the backup, “0123456789abcdef.jpg” {says}"
    assert files(media) == []


def test_a_table_too_large_is_refused(media, monkeypatch):
    monkeypatch.setattr(stored_files, "MAX_TABLE_BYTES", 9)
    with pytest.raises(LedgerError, match="is too large"):
        put("builds/7/tables/0a1b", b"What,Price")
    assert files(media) == []


@pytest.mark.parametrize(
    "name",
    ["../../outside.jpg", "builds/1/../../../outside.jpg", "/outside.jpg", "builds/1/page.html",
     "builds/0/a.jpg", "builds/1/tables/../a", "builds/1/tables/.a", "outside", "builds/1/a\n.jpg",
     "builds/1/a.jpg\n", "builds/1/ä.jpg", ""],
)  # fmt: skip
def test_a_name_that_is_none_of_ours_is_refused(name, drawn, media):
    assert not is_ours(name)
    with pytest.raises(LedgerError, match="is no photo of this program"):
        put(name, drawn)
    assert files(media) == []


def test_after_an_error_no_file_is_new_and_none_is_another(drawn, media):
    default_storage.save(NAME, ContentFile(b"damaged"))

    class Stopped(BaseException):
        pass

    def stop() -> None:
        with placing() as place:
            place("builds/7/new.jpg", lambda most: drawn)
            place(NAME, lambda most: drawn)
            assert (media / NAME).read_bytes() == drawn
            raise Stopped

    with pytest.raises(Stopped):
        stop()
    assert files(media) == [media / NAME]
    assert (media / NAME).read_bytes() == b"damaged"


def test_what_stands_there_already_is_not_written_again(drawn, media, monkeypatch):
    put(NAME, drawn)
    monkeypatch.setattr(stored_files, "_save", None)
    put(NAME, drawn)
    with pytest.raises(TypeError):
        put(NAME, read_picture(sent(jpeg((30, 30)))).image)


def test_what_hides_in_a_photo_is_not_kept(drawn, media):
    put(NAME, drawn + b"PK and a page <script>")
    kept = (media / NAME).read_bytes()
    assert b"script" not in kept
    assert holds_pixels_alone(kept)


def test_what_holds_pixels_alone(drawn):
    assert holds_pixels_alone(drawn)
    assert holds_pixels_alone(read_picture(sent(jpeg())).thumbnail)
    for other in (
        drawn + b"x", b"x" + drawn, drawn[:-2], drawn[:300], b"", b"\xff\xd8\xff\xd9",
        drawn[:2] + b"\xff\xfe\x00\x04hi" + drawn[2:],
        drawn[:2] + b"\xff\xe1\x00\x04hi" + drawn[2:],
        drawn[:-2] + b"\xff\xfe\x00\x04hi" + drawn[-2:],
        drawn[:-2] + b"\xff\xda" + drawn[-2:], drawn[:-2] + b"\xff\xd9more" + drawn[-2:],
    ):  # fmt: skip
        assert not holds_pixels_alone(other)
    plain = Image.new("RGB", (99, 99))
    assert holds_pixels_alone(encoded(plain, "JPEG"))
    assert not holds_pixels_alone(encoded(plain, "PNG"))
    assert not holds_pixels_alone(encoded(plain, "JPEG", comment=b"hi"))
    assert not holds_pixels_alone(encoded(plain, "JPEG", progressive=True))
