"""Geometry of the pictures: where bars stand and how they are divided (steps: ``over_time.py``).

Across, a place is in thousandths of the picture's width and is written in per cent; down, it
is in tenths of the text's size and is written in em. So a picture fills a phone and a wide
page alike, and grows with the reader's own size of text. Nothing here is a figure to be read
off: each shape comes with the text that says it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

WIDTH = 1000
# Tenths of the text's size: a line of text, a bar, the space below it.
LABEL, BAR, GAP = 14, 10, 9
# Thousandths that one letter at the end of a bar takes on a phone, and the most it may take.
LETTER, LETTERS = 27, 450
# A budget ends here on a strip, so that what passes it has room to be seen.
STRIP_FRAME = 800
ZERO = Fraction(0)


def across(place: int) -> str:
    """A place across as SVG reads it."""
    return f"{place // 10}.{place % 10}%"


def down(place: int) -> str:
    """A place down as SVG reads it."""
    return f"{place // 10}.{place % 10}em"


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar; ``kind`` chooses its pattern."""

    kind: str
    x: int
    y: int
    width: int
    height: int

    @property
    def left(self) -> str:
        return across(self.x)

    @property
    def top(self) -> str:
        return down(self.y)

    @property
    def wide(self) -> str:
        return across(self.width)

    @property
    def tall(self) -> str:
        return down(self.height)


@dataclass(frozen=True, slots=True)
class Measure:
    """What a row shows: ``pieces`` end to end against a ``frame``, and what stands ``beside``.

    What passes the frame is drawn as over it; without a frame nothing is over. ``text`` is
    written at the end of the bar, ``words`` say the row to those who do not see it.
    """

    label: str
    pieces: tuple[tuple[str, Fraction], ...]
    frame: Fraction | None
    text: str
    words: str
    beside: Fraction = ZERO

    @property
    def reach(self) -> Fraction:
        """How far the row reaches."""
        laid = sum((max(value, ZERO) for _, value in self.pieces), ZERO)
        return max(laid, self.frame or ZERO) + max(self.beside, ZERO)


@dataclass(frozen=True, slots=True)
class Row:
    """A labelled row of bars with the text at its end."""

    label: str
    bars: tuple[Bar, ...]
    y: int
    end: int
    text: str

    @property
    def label_base(self) -> str:
        return down(self.y + LABEL - 4)

    @property
    def text_left(self) -> str:
        return across(self.end + 15)

    @property
    def text_base(self) -> str:
        return down(self.y + LABEL + BAR - 1)


@dataclass(frozen=True, slots=True)
class BarPicture:
    """Rows of bars from a common zero."""

    rows: tuple[Row, ...]
    height: int
    words: tuple[str, ...]

    @property
    def tall(self) -> str:
        return down(self.height)


def length(value: Fraction, largest: Fraction, room: int) -> int:
    """Length of a bar: 0 for nothing, at least 1 for something, never below 0 or over."""
    if value <= 0 or largest <= 0:
        return 0
    return min(room, max(1, int(value / largest * room)))


def shorten(label: str, most: int = 36) -> str:
    """A label that fits a phone."""
    return label if len(label) <= most else label[: most - 1].rstrip() + "…"


def measured(rows: Sequence[Measure], split_above: int = 6) -> tuple[BarPicture, ...]:
    """Rows at one scale, in two pictures side by side when there are many."""
    largest = max((row.reach for row in rows), default=ZERO)
    if largest <= 0:
        return ()
    letters = max(len(row.text) for row in rows)
    room = WIDTH - min(LETTERS, letters * LETTER + 30)

    def scale(value: Fraction) -> int:
        return length(value, largest, room)

    half = len(rows) if len(rows) <= split_above else -(-len(rows) // 2)
    return tuple(_picture(rows[start : start + half], scale) for start in range(0, len(rows), half))


def _picture(rows: Sequence[Measure], scale: Callable[[Fraction], int]) -> BarPicture:
    made, y = [], 0
    for row in rows:
        bars = bars_of(row, scale, y + LABEL)
        end = max((bar.x + bar.width for bar in bars), default=0)
        made.append(Row(shorten(row.label), bars, y, end, row.text))
        y += LABEL + BAR + GAP
    return BarPicture(tuple(made), y - GAP + 2, tuple(row.words for row in rows))


def bars_of(row: Measure, scale: Callable[[Fraction], int], y: int) -> tuple[Bar, ...]:
    """The bars of one row: pieces within the frame, what passes it, the frame, what is beside."""
    frame = None if row.frame is None else scale(row.frame)
    bars, laid, x = [], ZERO, 0
    for kind, value in row.pieces:
        if value <= 0:
            continue
        laid += value
        end = max(scale(laid), x)
        inside = end if frame is None else min(end, frame)
        if inside > x:
            bars.append(Bar(kind, x, y + 2, inside - x, BAR - 4))
        if frame is not None and end > max(frame, x):
            bars.append(Bar("over", max(frame, x), y + 2, end - max(frame, x), BAR - 4))
        x = end
    if frame:
        bars.append(Bar("frame", 0, y, frame, BAR))
    if row.beside > 0:
        whole = max(laid, row.frame or ZERO)
        start = max(x, frame or 0)
        width = max(1, scale(whole + row.beside) - scale(whole) - 6)
        bars.append(Bar("beside", start + 6, y + 2, width, BAR - 4))
    return tuple(bars)


def strips(rows: Sequence[Measure]) -> tuple[tuple[Bar, ...], ...]:
    """Bars of rows at one scale, each on a strip of its own, for a column of a table."""
    largest = max((row.reach for row in rows), default=ZERO)
    return tuple(
        bars_of(row, lambda value: length(value, largest, WIDTH), 0) if largest > 0 else ()
        for row in rows
    )


def strip(pieces: Sequence[tuple[str, Fraction]], frame: Fraction | None) -> tuple[Bar, ...] | None:
    """One row's bars on a strip where the frame always ends alike; None without a frame."""
    if not frame or frame < 0:
        return None
    largest = frame * WIDTH / STRIP_FRAME
    row = Measure("", tuple(pieces), frame, "", "")
    return bars_of(row, lambda value: length(value, largest, WIDTH), 0)


@dataclass(frozen=True, slots=True)
class Share:
    """One piece of a bar that is divided up; ``text`` is "" where it would not fit."""

    bar: Bar
    text: str

    @property
    def middle(self) -> str:
        """Where the middle of the piece is."""
        return across(self.bar.x + self.bar.width // 2)


@dataclass(frozen=True, slots=True)
class ShareRow:
    """A bar divided up, with its label."""

    label: str
    shares: tuple[Share, ...]
    y: int

    @property
    def label_base(self) -> str:
        return down(self.y + LABEL - 4)

    @property
    def text_base(self) -> str:
        """Base line of the texts below the bar."""
        return down(self.y + LABEL + 2 * BAR + 13)


@dataclass(frozen=True, slots=True)
class SharePicture:
    """Bars of one length, each divided by its own whole."""

    rows: tuple[ShareRow, ...]
    height: int
    words: tuple[str, ...]

    @property
    def tall(self) -> str:
        return down(self.height)


def shares(
    parts: Sequence[tuple[str, Fraction, str]], y: int = 0, room: int = WIDTH
) -> tuple[Share, ...]:
    """Divide a bar among (kind, value, text); the widths sum to the whole."""
    whole = sum((value for _, value, _ in parts if value > 0), ZERO)
    made, so_far, x = [], ZERO, 0
    for kind, value, text in parts:
        if value <= 0:
            continue
        so_far += value
        end = int(so_far / whole * room)
        fits = end - x >= len(text) * LETTER
        made.append(Share(Bar(kind, x, y, end - x, 2 * BAR), text if fits else ""))
        x = end
    return tuple(made)


def divided(
    rows: Sequence[tuple[str, Sequence[tuple[str, Fraction, str]], str]],
) -> SharePicture | None:
    """A picture of (label, parts, words) rows; rows without any value are left out."""
    made, words, y = [], [], 0
    for label, parts, said in rows:
        pieces = shares(parts, y + LABEL)
        if pieces:
            made.append(ShareRow(label, pieces, y))
            words.append(said)
            y += LABEL + 2 * BAR + 13 + GAP
    return SharePicture(tuple(made), y - GAP + 4, tuple(words)) if made else None
