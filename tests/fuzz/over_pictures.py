"""Cases that send pictures: spoiled, larger than they say, or something else altogether."""

import struct
import zlib
from collections.abc import Callable
from random import Random

from PIL import Image

from tests.photo_files import drawn, encoded, jpeg, png

from . import noise
from .asking import form_of, judge_post, post, who
from .filling import filled
from .judging import Watch
from .over_files import NAMES
from .sending import Upload
from .spoiling import zipped


def _picture(random: Random) -> bytes:
    way = random.randrange(12)
    sizes = ((60, 40), (1, 1), (1, 700), (300, 200))
    if way == 0:
        return png(
            random.choice((0, 1, 7000, 50_000, 2**31 - 1)),
            random.choice((0, 1, 7200, 2**31 - 1)),
            bytes(99),
        )
    if way == 1:
        return jpeg() + random.choice(
            (b"<script>alert(1)</script>", zipped({"a": b"b"}), bytes(9000))
        )
    if way == 2:
        return random.choice(
            (
                b"GIF89a" + bytes(99),
                b"<svg onload=alert(1)>",
                b"BM" + bytes(99),
                b"II*\0" + bytes(99),
                b"RIFF\xff\xff\xff\xffWEBPVP8X" + bytes(40),
                b"%PDF-1.7",
                b"",
            )
        )
    if way == 3:
        size = random.randrange(1, 0xFFFF)
        bomb = jpeg().replace(
            b"\xff\xc0\x00\x11\x08\x00\x28\x00\x3c",
            b"\xff\xc0\x00\x11\x08" + struct.pack(">HH", size, 0xFFFF),
        )
        return bomb
    if way == 4:
        exif = Image.Exif()
        exif[0x0112] = random.choice((99, 6, 0, 65535))
        return noise.data(random, jpeg(exif=exif.tobytes()))
    if way == 5:
        extra = (
            b"\x00\x00\x00\x0dacTL"
            + struct.pack(">IIB", 2**31, 0, 0)
            + struct.pack(">I", zlib.crc32(b"x"))
        )
        sound = encoded(drawn(), "PNG")
        return sound[:33] + extra + sound[33:]
    mode = random.choice(("RGB", "L", "P", "RGBA", "1", "CMYK", "LA", "I;16"))
    form = random.choice(("JPEG", "PNG", "WEBP"))
    image = drawn(random.choice(sizes))
    try:
        data = encoded(image.convert(mode), form)
    except (OSError, ValueError):
        data = encoded(image, form)
    return noise.data(random, data, 6) if random.random() < 0.85 else data


def picture_case(watch: Watch, random: Random, route: str) -> None:
    """Pictures that are none, or more than they say."""
    form, part = form_of(watch, random, route), who(random, route)
    name = random.choice((*NAMES, "a.jpg", "a.jpg"))
    pairs = filled(random, form, Upload(name, _picture(random), "image/jpeg"))
    judge_post(watch, random, route, part, post(watch, part, form.action, pairs, True))


CASES: dict[str, Callable[[Watch, Random, str], None]] = {"picture": picture_case}
