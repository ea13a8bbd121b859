"""Archives spoiled in their parts, their XML or their directory, and put together again."""

import io
import re
import struct
import zipfile
from random import Random
from xml.sax.saxutils import escape

from . import noise

BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">'
    b'<!ENTITY c "&b;&b;&b;&b;&b;&b;"><!ENTITY d SYSTEM "file:///etc/passwd">]><a>&c;&d;</a>'
)


def zipped(parts: dict[str, bytes], stored: bool = False) -> bytes:
    stream = io.BytesIO()
    kind = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(stream, "w", kind) as target:
        for name, part in parts.items():
            target.writestr(name, part)
    return stream.getvalue()


def parts_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as source:
        return {name: source.read(name) for name in source.namelist()}


def spoil_xml(random: Random, part: bytes) -> bytes:
    """XML with other texts, numbers and attributes in it, mostly well-formed still."""
    way = random.randrange(8)
    if way == 0:
        return noise.data(random, part)
    if way == 1:
        return BOMB if random.random() < 0.5 else part.replace(b"<", BOMB[21:200] + b"<", 1)
    texts = list(re.finditer(rb">([^<>]+)<", part))
    lines = list(re.finditer(rb'="([^"]*)"', part))
    found = random.choice((texts, texts, lines)) or texts or lines
    for _ in range(random.choice((1, 1, 3, 12))):
        if not found:
            break
        at = random.choice(found)
        old = at[1].decode("utf-8", "replace")
        value = noise.bent(random, old)[:3000] if way == 2 else noise.value(random)[:3000]
        if way == 3:
            value = random.choice(
                ("A1:XFD1048576", "XFD1048576", "A0", "-1", "4294967295", "9" * 20, "ZZZZ1")
            )
        new = re.sub(
            r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff]", "", escape(value, {'"': "&quot;"})
        )
        edges = part[at.start() : at.start(1)], part[at.end(1) : at.end()]
        piece = edges[0] + (value if way == 7 else new).encode("utf-8", "replace") + edges[1]
        part = part.replace(at[0], piece, random.choice((1, 1, -1)))
        if len(part) > 4_000_000:
            break
    return part


def spoil_zip(random: Random, data: bytes) -> bytes:
    """A zip archive with spoiled parts, or with a spoiled directory."""
    way = random.randrange(10)
    if way == 0:
        return noise.data(random, data)
    if way == 1:
        return _claims(random, data)
    parts = parts_of(data)
    name = random.choice(list(parts))
    if way == 2:
        del parts[name]
    elif way == 3:
        parts[
            random.choice(
                (name.upper(), "../x", "/abs", name + "/", "xl/vbaProject.bin", "x" * 300)
            )
        ] = b"x"
    elif way == 4:
        parts[name] = parts[random.choice(list(parts))]
    elif way == 5:
        parts[name] = bytes(random.choice((10_000, 30_000_000 if random.random() < 0.05 else 1000)))
    else:
        known = [n for n in parts if "sheet" in n.lower() or "content" in n or "workbook" in n]
        for _ in range(random.choice((1, 1, 2, 4))):
            name = random.choice(known or list(parts))
            parts[name] = spoil_xml(random, parts[name])
    return zipped(parts, stored=random.random() < 0.2)


def _claims(random: Random, data: bytes) -> bytes:
    """Other sizes, offsets and flags in the directory."""
    out = bytearray(data)
    for found in list(re.finditer(rb"PK\x01\x02", data)):
        if random.random() < 0.4:
            at = found.start() + random.choice((8, 10, 16, 20, 24, 28, 30, 32, 42))
            out[at : at + 4] = struct.pack(
                "<I", random.choice((0, 1, 0xFFFFFFFF, 0x7FFFFFFF, random.getrandbits(32)))
            )
    return bytes(out)
