"""Files of photos: what is refused, and what is kept of a picture.

Numbers in comments are requirements of OWASP ASVS 5.0.0, read in the primary text.
"""

import io
import random
import struct

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image, ImageFile, ImageOps, PngImagePlugin

from materials.services import photos as service
from materials.services.errors import LedgerError
from materials.services.photos import read_picture
from tests.photo_files import drawn, encoded, jpeg, png, sent


def redrawn(data: bytes, **named) -> Image.Image:
    return Image.open(io.BytesIO(read_picture(sent(data, **named)).image))


def near(colour: tuple[int, ...], other: tuple[int, ...]) -> bool:
    return all(abs(a - b) < 24 for a, b in zip(colour, other, strict=True))


def corners(image: Image.Image) -> list[tuple[int, ...]]:
    wide, high = image.size
    at = [(x, y) for y in (4, high - 5) for x in (4, wide - 5)]
    return [image.convert("RGB").getpixel(point) for point in at]


def refusal(data: bytes, **named) -> str:
    with pytest.raises(LedgerError) as caught:
        read_picture(sent(data, **named))
    return str(caught.value)


# What is taken.


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.html", "a.php", "a"])
def test_the_content_decides_and_not_the_name(form, name):
    """5.2.2, by rewriting the picture: its name and stated type are not looked at."""
    kept = redrawn(encoded(drawn(), form), name=name, kind="text/html")
    assert (kept.format, kept.size) == ("JPEG", (60, 40))
    assert all(near(*pair) for pair in zip(corners(kept), corners(drawn()), strict=True))


def test_a_picture_is_kept_in_two_sizes_no_larger_than_needed():
    kept = read_picture(sent(jpeg((3000, 1500))))
    assert (kept.width, kept.height) == (2400, 1200)
    assert Image.open(io.BytesIO(kept.image)).size == (2400, 1200)
    assert Image.open(io.BytesIO(kept.thumbnail)).size == (320, 160)


def test_a_small_picture_is_not_blown_up_and_a_thin_one_stays():
    assert Image.open(io.BytesIO(read_picture(sent(jpeg((30, 20)))).thumbnail)).size == (30, 20)
    thin = read_picture(sent(encoded(Image.new("L", (9000, 1)), "PNG")))
    assert (thin.width, thin.height) == (2400, 1)


def test_what_is_clear_becomes_white():
    clear = Image.new("RGBA", (60, 40), (255, 0, 0, 0))
    palette = clear.convert("P")
    palette.info["transparency"] = palette.getpixel((0, 0))
    for data in (
        encoded(clear, "PNG"),
        encoded(clear, "WEBP", lossless=True),
        encoded(palette, "PNG", transparency=palette.getpixel((0, 0))),
        encoded(Image.new("LA", (60, 40), (0, 0)), "PNG"),
    ):
        assert near(redrawn(data).getpixel((30, 20)), (255, 255, 255))


def test_every_way_to_hold_colour_is_read():
    grey = Image.new("I;16", (60, 40), 32768)
    assert near(redrawn(encoded(grey, "PNG")).getpixel((30, 20)), (128, 128, 128))
    assert redrawn(encoded(drawn().convert("CMYK"), "JPEG")).mode == "RGB"
    assert redrawn(encoded(drawn().convert("1"), "PNG")).mode == "RGB"
    assert redrawn(encoded(drawn().convert("L"), "JPEG")).mode == "RGB"


@pytest.mark.parametrize("form", ["PNG", "WEBP", "MPO"])
def test_of_several_frames_the_first_is_kept(form):
    frames = [Image.new("RGB", (60, 40), "blue")] * 3
    data = encoded(Image.new("RGB", (60, 40), "red"), form, save_all=True, append_images=frames)
    kept = redrawn(data)
    assert getattr(kept, "n_frames", 1) == 1
    assert near(kept.getpixel((30, 20)), (255, 0, 0))
    assert len(read_picture(sent(data)).image) < 5000


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_kept_upright(turn, form):
    """All eight ways of EXIF 2.32 tag 0x0112, beside what the library's own turning gives."""
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = turn
    data = encoded(drawn(), form, exif=exif)
    upright = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    kept = redrawn(data)
    assert kept.size == upright.size == ((40, 60) if turn > 4 else (60, 40))
    assert all(near(*pair) for pair in zip(corners(kept), corners(upright), strict=True))


@pytest.mark.filterwarnings("ignore:Corrupt EXIF data")
def test_an_unreadable_note_on_turning_does_not_matter():
    assert redrawn(jpeg(exif=b"Exif\0\0II*\0\xff\xff\xff\xff")).size == (60, 40)


# What is left behind.


def located() -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "SpyCam"
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef] = "N"
    gps[ExifTags.GPS.GPSLatitude] = (46.0, 12.0, 7.5)
    gps[ExifTags.GPS.GPSLongitudeRef] = "E"
    gps[ExifTags.GPS.GPSLongitude] = (7.0, 5.0, 9.0)
    return exif


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_place_camera_and_comments_are_removed(form):
    """14.2.8."""
    marked = {"exif": located(), "icc_profile": b"SpyCam" * 30, "xmp": b"<x>SpyCam</x>"}
    if form == "JPEG":
        marked["comment"] = b"SpyCam"
    if form == "PNG":
        text = PngImagePlugin.PngInfo()
        text.add_text("Where", "SpyCam")
        marked["pnginfo"] = text
    data = encoded(drawn(), form, **marked)
    came = Image.open(io.BytesIO(data))
    assert came.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    assert b"SpyCam" in data
    picture = read_picture(sent(data))
    for kept in (picture.image, picture.thumbnail):
        image = Image.open(io.BytesIO(kept))
        assert not image.getexif()
        assert not image.getexif().get_ifd(ExifTags.IFD.GPSInfo)
        assert {key for key in image.info if "jfif" not in key} == set()
        assert b"SpyCam" not in kept
        assert b"Exif" not in kept
        assert {name for name, _ in image.applist} == {"APP0"}


def test_what_else_a_file_is_does_not_come_in():
    """A file that is a picture and something else as well is drawn anew, as a picture only."""
    script = b"<script>alert(1)</script><?php system($_GET[0]); ?>"
    data = jpeg(comment=script) + b"PK\x03\x04" + script
    assert data.count(script) == 2
    picture = read_picture(sent(data, name="x.php"))
    for kept in (picture.image, picture.thumbnail):
        assert b"script" not in kept
        assert b"php" not in kept
        assert b"PK\x03\x04" not in kept


# What is refused.


NOT_PICTURES = {
    "text": b"only words",
    "html": b"<!doctype html><script>alert(1)</script>",
    "svg": b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "pdf": b"%PDF-1.7\n%\xe2\xe3",
    "zip": b"PK\x03\x04" + bytes(60),
    "first bytes only": b"\xff\xd8\xff\xe0",
    "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
    "gif": encoded(drawn(), "GIF"),
    "bmp": encoded(drawn(), "BMP"),
    "tiff": encoded(drawn(), "TIFF"),
    "icon": encoded(drawn(), "ICO"),
    "gif and javascript": b"GIF89a/*" + encoded(drawn(), "GIF")[8:] + b"*/=1;alert(1)",
}


@pytest.mark.parametrize("kind", NOT_PICTURES)
def test_what_is_no_such_picture_is_refused_under_any_name(kind):
    """5.2.2: the right name and the right stated type do not help."""
    result = refusal(NOT_PICTURES[kind], name="receipt.jpg")
    assert result == ("“receipt.jpg” is not a picture we can read: send JPEG, PNG or WebP.")


def test_an_empty_file_and_one_too_large_are_refused_unread(monkeypatch):
    """5.2.1."""
    assert refusal(b"") == "“photo.jpg” is empty: choose the photo itself."
    file = sent(jpeg())
    file.size = service.MAX_BYTES + 1
    monkeypatch.setattr(SimpleUploadedFile, "read", lambda self: pytest.fail("was read"))
    with pytest.raises(LedgerError, match="is over 15 MB: send a smaller picture"):
        read_picture(file)


def huge_jpeg() -> bytes:
    data = jpeg()
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", 65500, 65500) + data[at + 4 :]


def huge_webp() -> bytes:
    data = encoded(drawn(), "WEBP", exif=located())
    assert data[12:16] == b"VP8X"
    side = struct.pack("<I", 16382)[:3]
    return data[:24] + side + side + data[30:]


FLOODS = {
    "beyond measure": png(60_000, 60_000),
    "above the cap": png(8_000, 8_000),
    "just above the cap": png(50_001, 1_000),
    "one line": png(2**31 - 1, 1),
    "jpeg": huge_jpeg(),
    "webp": huge_webp(),
}


@pytest.mark.parametrize("kind", FLOODS)
def test_a_flood_of_pixels_is_refused_by_its_header(kind, monkeypatch):
    """5.2.6: the file is tiny, and no pixel of it is decoded."""
    monkeypatch.setattr(ImageFile.ImageFile, "load", lambda self: pytest.fail("was decoded"))
    assert len(FLOODS[kind]) < 3000
    assert refusal(FLOODS[kind]) == (
        "“photo.jpg” has more than 50 million pixels: make it smaller first."
    )


def test_a_jpeg_that_draws_its_picture_without_end_is_refused(monkeypatch):
    """5.2.1: a small file that takes long."""
    data = jpeg(progressive=True)
    assert 5 < data.count(b"\xff\xda") < 20
    assert read_picture(sent(data)).width == 60
    monkeypatch.setattr(ImageFile.ImageFile, "load", lambda self: pytest.fail("was decoded"))
    scan = data[data.rindex(b"\xff\xda") : -2]
    assert "is broken" in refusal(data[:-2] + scan * 200 + data[-2:])


def torn() -> dict[str, bytes]:
    noise = Image.frombytes("RGB", (200, 200), random.Random(1).randbytes(120_000))
    whole = {form: encoded(noise, form) for form in ("JPEG", "PNG", "WEBP")}
    half = {f"half a {form}": data[: len(data) // 2] for form, data in whole.items()}
    bad = bytearray(whole["PNG"])
    bad[len(bad) // 2] ^= 255
    return half | {
        "a flipped bit": bytes(bad),
        "less than its header says": png(400, 400, b"\0\0\0\0"),
        "no width": png(0, 40),
    }


TORN = torn()


@pytest.mark.parametrize("kind", TORN)
def test_a_torn_picture_is_refused(kind):
    result = refusal(TORN[kind])
    assert result in (
        "“photo.jpg” is broken or incomplete: take it or send it again.",
        "“photo.jpg” is not a picture we can read: send JPEG, PNG or WebP.",
    )
    # What begins as a picture is called broken; without a width it does not even begin as one.
    assert "broken" in result or kind in ("no width", "half a WEBP")


def test_chance_bytes_are_refused_in_plain_words():
    chance = random.Random(7)
    for start in (b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"RIFF\x20\0\0\0WEBPVP8X", b""):
        for _ in range(20):
            assert refusal(start + chance.randbytes(chance.randrange(200))).endswith(".")


def test_a_damaged_picture_is_taken_or_refused_and_never_an_error():
    chance, refused = random.Random(3), []
    for form in ("JPEG", "PNG", "WEBP"):
        whole = encoded(drawn(), form, exif=located())
        for _ in range(40):
            data = bytearray(whole)
            for _ in range(3):
                data[chance.randrange(len(data))] = chance.randrange(256)
            try:
                read_picture(sent(bytes(data)))
            except LedgerError as error:
                refused.append(str(error))
    assert refused
    assert all(result.startswith("“photo.jpg” ") for result in refused)


def test_a_long_name_is_quoted_in_part():
    result = refusal(b"x", name="r" * 90 + ".jpg")
    assert result.startswith("“" + "r" * 40 + "…" + "r" * 8 + ".jpg” is not")
