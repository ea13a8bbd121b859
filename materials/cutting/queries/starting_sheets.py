"""What the ledger knows of sheets of a component, and pieces that another page asks for."""

import re
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from ...calc.measures import QuantityError
from ...calc.money import round_half_up
from ...calc.units import UNITS, Dimension, Unit
from ...models import Component, PurchaseLine
from ...queries.on_hand import entries_on_hand
from ...queries.quantities import parsed
from ..calc.reading import read_length, write_length
from .uses import measures_area

_MOST_PIECES = 40
_MOST_ROWS = 12
_BY = re.compile(r"\s*[x×]\s*")
# Longer side first, in metres.
Size = tuple[Fraction, Fraction]


def comes_in_sheets(component: Component) -> bool:
    """Whether what there is of a component is said in two sides."""
    if not measures_area(component):
        return False
    texts = [entry.quantity_text for entry in entries_on_hand(component)]
    lines = PurchaseLine.objects.filter(component=component).order_by("-pk")
    texts += lines.values_list("quantity_text", flat=True)[:_MOST_ROWS]
    return any(size_of(text) is not None for text in texts)


def sheet_rows(component: Component, lines: Iterable[PurchaseLine]) -> dict[str, Any]:
    """Rows to begin a plan of sheets with: ``hand``, ``buy``, and texts that say no size."""
    hand: dict[tuple[Size, Unit], int] = {}
    skipped = []
    for entry in entries_on_hand(component):
        found = size_of(entry.quantity_text)
        if found is None:
            skipped.append(entry.quantity_text)
        elif found[1]:
            hand[found[0], found[2]] = hand.get((found[0], found[2]), 0) + found[1]
    prices: dict[tuple[Size, Unit], Decimal] = {}
    for line in lines:
        found = size_of(line.quantity_text)
        if found and found[1] and line.price_amount is not None:
            price = round_half_up(Fraction(line.price_amount) / found[1], 4)
            prices.setdefault((found[0], found[2]), price)
    return {
        "hand": [_row(size, unit, count=n) for (size, unit), n in _largest_first(hand)],
        "buy": [_row(size, unit, price=price) for (size, unit), price in _largest_first(prices)],
        "skipped": skipped,
    }


def _row(size: Size, unit: Unit, **values: Any) -> dict[str, Any]:
    return {
        "length_text": write_length(size[0], unit), "width_text": write_length(size[1], unit)
    } | values  # fmt: skip


def _largest_first(found: dict[tuple[Size, Unit], Any]) -> list[tuple[tuple[Size, Unit], Any]]:
    return sorted(found.items(), key=lambda one: [-side for side in one[0][0]])[:_MOST_ROWS]


def size_of(text: str) -> tuple[Size, int, Unit] | None:
    """Both sides of one and how many whole ones "3 @ 8 ft x 4 ft" is; None where it says neither.

    Of "4x8", feet are meant.
    """
    sides = _BY.split(text.partition("@")[2].strip().removesuffix("sheets").strip())
    if len(sides) != 2:
        return None
    try:
        quantity = parsed(text)
        read = [read_length(side) for side in sides]
    except QuantityError:
        return None
    unit = read[1][1] or read[0][1] or UNITS["ft"]
    whole = [value if had else value * unit.factor for value, had in read]
    if quantity.unit.dimension not in (Dimension.COUNT, Dimension.PACK) or min(whole) <= 0:
        return None
    count = int(quantity.count * quantity.unit.factor)
    return (max(whole), min(whole)), count, unit


def starting_pieces(texts: Iterable[str]) -> list[dict[str, Any]]:
    """Triangles that a page asks for, each "length|width|count|third corner"; others are left out.

    They stand in the form as they are typed, and are checked there.
    """
    rows = []
    for text in list(texts)[:_MOST_PIECES]:
        parts = [part.strip()[:40] for part in text.split("|")]
        if len(parts) == 4 and parts[2].isdecimal() and len(parts[2]) < 6:
            rows.append(
                {
                    "length_text": parts[0],
                    "width_text": parts[1],
                    "count": int(parts[2]),
                    "corner_text": parts[3],
                    "is_triangle": True,
                    "may_turn": True,
                }
            )
    return rows
