"""Pictures for tests, sound and unsound, and sending them."""

import io
import struct
import zlib
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

# Four corners to tell the ways a picture can lie: top left, top right, bottom left, bottom right.
CORNERS = ((255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 255))


def encoded(image: Image.Image, form: str = "JPEG", **options: Any) -> bytes:
    """A picture as the bytes of a file."""
    stream = io.BytesIO()
    image.save(stream, form, **options)
    return stream.getvalue()


def drawn(size: tuple[int, int] = (60, 40)) -> Image.Image:
    """A picture with a colour in each corner."""
    image = Image.new("RGB", size)
    wide, high = size[0] // 2, size[1] // 2
    for n, colour in enumerate(CORNERS):
        left, top = (n % 2) * wide, (n // 2) * high
        image.paste(colour, (left, top, left + wide, top + high))
    return image


def jpeg(size: tuple[int, int] = (60, 40), **options: Any) -> bytes:
    """A sound JPEG."""
    return encoded(drawn(size), "JPEG", quality=95, **options)


def png(width: int, height: int, pixels: bytes = b"") -> bytes:
    """A PNG whose header states a size, whatever pixels follow."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(pixels))
        + chunk(b"IEND", b"")
    )


def sent(data: bytes, name: str = "photo.jpg", kind: str = "image/jpeg") -> SimpleUploadedFile:
    """A file as it comes in."""
    return SimpleUploadedFile(name, data, kind)


def form_body(field: str, name: bytes, data: bytes) -> tuple[bytes, str]:
    """A form with one file under any name at all, and its type."""
    head = b'Content-Disposition: form-data; name="%s"; filename="%s"' % (field.encode(), name)
    body = b"--cut\r\n" + head + b"\r\nContent-Type: image/jpeg\r\n\r\n" + data + b"\r\n--cut--\r\n"
    return body, "multipart/form-data; boundary=cut"
