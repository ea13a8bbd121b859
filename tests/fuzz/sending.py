"""Bodies of requests, written by hand: test clients refuse to write what attackers send."""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from urllib.parse import quote_from_bytes

from . import noise

URLENCODED = "application/x-www-form-urlencoded"
TYPES = (
    URLENCODED, f"{URLENCODED}; charset=utf-16", f"{URLENCODED}; charset=nonsense", "",
    "application/json", "text/plain", "multipart/form-data", "multipart/form-data; boundary=",
    "multipart/form-data; boundary=\u00e9", "multipart/form-data; boundary=" + "b" * 300,
    "multipart/form-data; boundary=cut; charset=utf-7", "multipart/mixed; boundary=cut",
    "application/xml", ";;;", "a/b; c=\"", "application/octet-stream", "x" * 3000,
    "multipart/form-data, boundary=cut",
)  # fmt: skip
# Charsets that are not read here, that are none, or that are no charset at all.
CHARSETS = (
    "utf-16", "utf-7", "utf-32-be", "latin-1", "hex", "rot13", "zlib", "undefined", "idna",
    "punycode", "unicode_escape", "nonsense", "\x00", "x" * 5000, "../../x", "aliases", "\u00e9",
    "", "\"", "utf-8; charset=utf-7",
)  # fmt: skip
_BOUNDARIES = (
    "cut", "cut", "\"cut\"", "other", "", "--", "c" * 200, "b" * 5000, "\u00e9", "cut\x00", " ",
)  # fmt: skip
_BASES = (URLENCODED, URLENCODED, "text/plain", "application/json", "multipart/mixed", "", "/")
# Parts of a header that contradict each other (RFC 2231), and that are many.
_MORE = (
    "a*=u; a*0=v", "charset*=nonsense'en'x", "charset*0*=hex''u; charset*1=v", "a*9999999999=x",
    "a" * 8000, "a=b; " * 2000, "charset=utf-8", "charset=UTF_8",
)  # fmt: skip


@dataclass(frozen=True)
class Upload:
    """A file in a form."""

    name: str
    data: bytes
    kind: str = "application/octet-stream"


Pair = tuple[str, "str | Upload"]


def raw(text: str) -> bytes:
    """UTF-8, with lone surrogates as the bytes that stand for them."""
    return text.encode("utf-8", "surrogatepass")


def quoted(text: str) -> str:
    """A part of an address."""
    return quote_from_bytes(raw(text), safe="")


def query(pairs: Sequence[tuple[str, str]]) -> str:
    """A query string."""
    return "&".join(f"{quoted(name)}={quoted(value)}" for name, value in pairs)


def body(pairs: Sequence[Pair], as_parts: bool) -> tuple[bytes, str]:
    """A body and its type. Without parts, a file is sent as its name, as browsers do."""
    if not as_parts:
        plain = [(n, v.name if isinstance(v, Upload) else v) for n, v in pairs]
        return query(plain).encode(), URLENCODED
    out = bytearray()
    for name, sent in pairs:
        result = _header(name)
        out += b'--cut\r\nContent-Disposition: form-data; name="' + result + b'"'
        if isinstance(sent, Upload):
            out += b'; filename="' + _header(sent.name) + b'"\r\nContent-Type: '
            out += sent.kind.encode("latin-1", "replace") + b"\r\n\r\n" + sent.data
        else:
            out += b"\r\n\r\n" + raw(sent)
        out += b"\r\n"
    return bytes(out + b"--cut--\r\n"), "multipart/form-data; boundary=cut"


def _header(text: str) -> bytes:
    return raw(text).replace(b"\r", b"%0D").replace(b"\n", b"%0A").replace(b'"', b"%22")


def spoiled(random: Random, sent: bytes, kind: str) -> tuple[bytes, str]:
    """A body and its type, no longer fitting each other or themselves."""
    way = random.randrange(7)
    if way == 0:
        return sent, random.choice(TYPES)
    if way == 1:
        return noise.data(random, sent), kind
    if way == 2:
        return sent[: random.randrange(len(sent) + 1)], kind
    if way == 3:
        return random.randbytes(random.randrange(2000)), random.choice((kind, *TYPES))
    if way == 4:
        return sent.replace(b"\r\n", random.choice((b"\n", b"\r", b"\r\n\r\n", b""))), kind
    if way == 5:
        part = b"Content-Transfer-Encoding: base64\r\nContent-Disposition: form-data"
        return sent.replace(b"Content-Disposition: form-data", part), kind
    return sent + b"\xff\xfe&\xc3\x28=%ff%&%=%zz&&==" + sent[:200], kind


def odd_type(random: Random) -> str:
    """A type of content put together from what stands in such a header, right or wrong."""
    if random.random() < 0.5:
        kind = f"multipart/form-data; boundary={random.choice(_BOUNDARIES)}"
    else:
        kind = random.choice(_BASES)
    if random.random() < 0.7:
        kind += f"; charset={random.choice(CHARSETS)}"
    if random.random() < 0.3:
        kind += f"; {random.choice(_MORE)}"
    return kind


def odd_parts(random: Random, sent: bytes) -> bytes:
    """A body whose parts have headers that are none."""
    more = random.choice(_MORE).encode()
    given = random.choice(
        (b"; " + more, b"\r\nX: " + b"z" * 20_000, b"\r\nContent-Type: a/b;" + more)
    )
    return sent.replace(b"form-data", b"form-data" + given)
