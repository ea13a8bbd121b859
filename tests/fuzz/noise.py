"""Values that break programs, drawn from a random source that the case's number seeds."""

from random import Random

MARK = """<fuzz"'>"""

NUMBERS = (
    "0", "-0", "-1", "1e3", "1E-7", "1e400000", "-1e400000", "1e-400000", "9" * 19, "9" * 30,
    "9" * 400, "9" * 5000, "0." + "0" * 300 + "1", "0.1" * 3, "NaN", "sNaN", "-NaN1", "nan",
    "Infinity", "-inf", "+inf", "1_000", "0x10", "0b1", "1,250", "1.250,00", "1 250", "1'250",
    "½", "²", "١٢٣", "१२", "１２", "−5", "‒5", "1/0", "0/0", "1/3", "1-1/2", "3 1/2",
    "1/" + "9" * 60,
    ".", "-", "+", ",", "1..2", "--1", "2147483648", "9223372036854775807", "9223372036854775808",
    "-9223372036854775809", "99999999999.9999", "0.00001", "1e", "e5", "1e+", "100.0000001",
)  # fmt: skip
DAYS = (
    "0000-00-00", "0001-01-01", "9999-12-31", "10000-01-01", "2026-02-30", "2026-13-01",
    "2026-05-04T00:00", "2026-05-04 25:61", "04/05/2026", "-0001-01-01", "２０２６-05-04",
    "2026-5-4", "20260504", "1e5-01-01", "today", "1900-01-01", "2026-W19-1",
)  # fmt: skip
QUANTITIES = (
    "35", "35 bananas", "1 piece", "16 @ 2x8x12", "7' 6\"", "7'6", "2.5 squares", "0,5 m³",
    "1e400000 ft", "9" * 40 + " ft", "1 ft 1 ft 1 ft", "1 piece = 1 piece", "1 piece = 0 ft",
    "@", "@@", "@ 2x8x12", "2x", "x6", "2x6x" * 500, "1 @ " * 500, "1/0 ft",
    "1/" + "9" * 300 + " ft",
    "(" * 400, "1 ft = " * 100, "20 gal;" * 300, "1 piece = 2x8x12; 1 bag = 3 lb",
    "1 ft; DROP", "4 ft x 8 ft x", "1 board foot", "bf", "%", "10%", "1 sq", "1²", "ft", "0 ft",
    "-0 ft", "1e-9 in", "1 mi", "12 @ 2x4x8 + 3", "12 @ 0x0x0", "1 thou", "10 ea 10", "1 1 1 1 1",
    "8/sheet", "45 obo", "1.20 each", "3 for 5", "2:30", "25:61", "2h", "90 min", "1d",
    "1 h 90 min",
)  # fmt: skip
WORDS = (
    MARK, f"{MARK}<script>alert(1)</script>", "a\x00b", "\x00", "a\x07b", "\x1b[2J",
    "a\r\nSet-Cookie: a=b",
    "\r\n\r\n<html>", "\n", "\ttab", " ", "\u00a0", "\u2028", "\u2029", "\u202eevil\u202c",
    "\u200b",
    "\u200d\u200d", "\ufeffx", "\ufffe", "\uffff", "\ud800", "a\udfffb", "\U0001f6e0\ufe0f" * 9,
    "e\u0301" * 40, "Z\u0351\u036b\u0343" * 60, "שלום", "مرحبا", "İ", "ß", "ǆ", "ﬁ", "\u1e9e", "ŉ",
    "K", "=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "-2+3", "{{ 7*7 }}", "{% debug %}", "%s%n%x",
    "%",
    "%%%", "${jndi:x}", "' OR 1=1 --", "\"; DROP TABLE x; --", "../../etc/passwd", "..\\..\\x",
    "file:///etc/passwd", "//evil.example", "https://evil.example/", "javascript:alert(1)",
    "None", "null", "true", "undefined", "[]", "{}", "[object Object]", "on", "off", "__all__",
    "id", "pk", "__class__", "x" * 121, "x" * 2001, "a,b;c\td|e", "\"", "'", "\\", "`", "&amp;",
    "&#0;",
    "<!--", "]]>", "<![CDATA[", "\u0000\u0001\u0002", "con", "NUL", ".", "..", "/", "?", "#",
)  # fmt: skip
ALPHABET = (
    "abcXYZ0123456789 .,;:-_/'\"<>&=@%#()[]{}\\|~^$!?*+\t\r\n\x00\x7f\x85"
    "éßøЖ中あ한\u0301\u202e\u200b\u200f\ufeff½²³°×÷−–’″′\U0001f6e0\ud800"
)


def text(random: Random, most: int = 60) -> str:
    """Any signs at all."""
    return "".join(random.choice(ALPHABET) for _ in range(random.randrange(most + 1)))


def value(random: Random) -> str:
    """Something hostile for a field of any kind."""
    pool = random.choices((NUMBERS, DAYS, QUANTITIES, WORDS, None), weights=(25, 10, 20, 35, 10))[0]
    found = text(random) if pool is None else random.choice(pool)
    if random.random() < 0.1:
        found += random.choice(pool or WORDS)
    if random.random() < 0.004:
        found = (found or "x") * (1_000_000 // max(1, len(found)))
    return found


def bent(random: Random, typed: str) -> str:
    """A value that stood there, a little changed: what passes the first checks goes deeper."""
    if not typed:
        return value(random)
    at = random.randrange(len(typed) + 1)
    way = random.randrange(8)
    if way == 0:
        return typed[:at] + random.choice(ALPHABET) + typed[at:]
    if way == 1:
        return typed[:at]
    if way == 2:
        return typed + typed
    if way == 3:
        return typed[::-1]
    if way == 4:
        return typed[:at] + value(random)[:2000] + typed[at:]
    if way == 5:
        return typed.swapcase()
    if way == 6:
        return typed.translate({48 + n: 0xFF10 + n for n in range(10)})
    return f" {typed}\u00a0"


def data(random: Random, source: bytes, most: int = 12) -> bytes:
    """Bytes of a sound file, spoiled: flipped, cut, doubled, overwritten, filled with zeros."""
    out = bytearray(source)
    for _ in range(random.randrange(1, most)):
        if not out:
            break
        at, way = random.randrange(len(out)), random.randrange(9)
        size = min(random.choice((1, 2, 4, 8, 64, 1000)), len(out) - at)
        if way <= 2:
            out[at] = random.randrange(256)
        elif way == 3:
            out[at] ^= 1 << random.randrange(8)
        elif way == 4:
            del out[at : at + size]
        elif way == 5:
            out[at:at] = out[at : at + size]
        elif way == 6:
            out[at : at + size] = random.choice((b"\0", b"\xff", b"\x7f")) * size
        elif way == 7:
            out[at:at] = random.randbytes(size)
        elif random.random() < 0.3:
            del out[at:]
    return bytes(out)
