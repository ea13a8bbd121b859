"""What the ledger knows of boards of a component: those there are, and what lengths cost."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils import timezone

from ...calc.contents import Contents, ratio_between
from ...calc.measures import QuantityError
from ...calc.money import round_half_up
from ...calc.quantities import convert, format_quantity
from ...calc.units import UNITS, Dimension
from ...choices import State
from ...models import Component, PurchaseLine, RetailPrice
from ...queries.on_hand import entries_on_hand
from ...queries.quantities import base_unit, contents_of, parsed
from ...queries.transfers import position_of
from ..calc.reading import write_length
from .starting_sheets import comes_in_sheets, sheet_rows

MOST_ROWS = 12
MOST_LINES = 200
_FT = UNITS["ft"]
Boards = dict[Fraction, int]


def starting_rows(component: Component) -> dict[str, Any]:
    """Rows to begin a plan with: ``hand``, ``buy``, and ``notes``, sentences about them."""
    lines = _lines(component)
    if comes_in_sheets(component):
        rows = sheet_rows(component, lines)
        return rows | {"notes": _unmeasured(rows["skipped"], "size")}
    hand: Boards = {}
    skipped = _gather(
        hand, (entry.quantity_text for entry in entries_on_hand(component)), component
    )
    notes = _unmeasured(skipped, "length")
    if not hand and not skipped:
        received = [line for line in lines if line.purchase.state == State.RECEIVED]
        _gather(hand, (line.quantity_text for line in received), component)
        if hand:
            usable = position_of(component, timezone.localdate()).usable_on_site
            hand = _no_more_than(usable, hand, component)
            amount = format_quantity(max(Fraction(0), usable), base_unit(component), 3)
            notes.append(
                "Nothing is on hand. These came in with purchases, as whole boards of the"
                f" {amount} that count as built in now. Take out what is built in for "
                "good or used up. Taking the plan lowers what counts as built in."
            )
    prices = _prices(lines, component, hand)
    return {
        "hand": [
            {"length_text": write_length(size, _FT), "count": count}
            for size, count in _longest_first(hand)
        ],
        "buy": [
            {"length_text": write_length(size, _FT), "price": price}
            for size, price in _longest_first(prices)
        ],
        "notes": notes,
    }


def _lines(component: Component) -> list[PurchaseLine]:
    return list(
        PurchaseLine.objects.filter(component=component)
        .exclude(purchase__state=State.DECLINED)
        .select_related("purchase")
        .order_by("-purchase__bought_on", "-pk")[:MOST_LINES]
    )


def _unmeasured(skipped: list[str], what: str) -> list[str]:
    if not skipped:
        return []
    return [
        f"On hand, but not as pieces of one {what}: {', '.join(skipped)}. Measure them and add"
        " them as rows."
    ]


def _no_more_than(usable: Fraction, boards: Boards, component: Component) -> Boards:
    """Whole boards of a usable quantity in the base unit, the longest first."""
    unit, contents = base_unit(component), contents_of(component)
    kept: Boards = {}
    for size, count in sorted(boards.items(), reverse=True):
        try:
            one = convert(size / _FT.factor, _FT, unit, contents)
        except QuantityError:
            # Pieces that are counted, whatever they measure.
            one = Fraction(1)
        number = min(count, max(0, usable // one))
        usable -= number * one
        if number:
            kept[size] = number
    return kept


def may_be_cut(component: Component) -> bool:
    """Whether a component comes in lengths or sheets: counted, or measured by length or area."""
    return base_unit(component).dimension in (
        Dimension.COUNT, Dimension.PACK, Dimension.LENGTH, Dimension.AREA
    )  # fmt: skip


def _longest_first(found: dict[Fraction, Any]) -> list[tuple[Fraction, Any]]:
    return sorted(found.items(), reverse=True)[:MOST_ROWS]


def _gather(boards: Boards, texts: Iterable[str], component: Component) -> list[str]:
    """Count boards by length in metres; returns the texts that say no length of one."""
    skipped = []
    for text in texts:
        found = boards_of(text, component)
        if found is None:
            skipped.append(text)
        elif found[1]:
            boards[found[0]] = boards.get(found[0], 0) + found[1]
    return skipped


def boards_of(text: str, component: Component) -> tuple[Fraction, int] | None:
    """The length of one piece in metres and how many whole ones a quantity is; None: not said."""
    try:
        quantity = parsed(text)
        if quantity.unit.dimension is not Dimension.COUNT:
            return None
        size = _length_of_one(quantity.size) or _length_of_one(contents_of(component))
    except QuantityError:
        return None
    if size is None:
        return None
    return size, int(quantity.count * quantity.unit.factor)


def _length_of_one(contents: Contents) -> Fraction | None:
    ratio = ratio_between(UNITS["piece"], _FT, contents)
    return None if ratio is None else ratio * _FT.factor


def _prices(
    lines: Iterable[PurchaseLine], component: Component, hand: Boards
) -> dict[Fraction, Decimal]:
    """What one board costs by its length, before charges and tax: new, else as last bought."""
    prices: dict[Fraction, Decimal] = {}
    unit, contents = base_unit(component), contents_of(component)
    newest = RetailPrice.objects.filter(component=component).order_by("-priced_on", "-pk").first()
    if newest is not None:
        one = Fraction(newest.price) / Fraction(newest.per_qty)
        size = _length_of_one(contents)
        for each in sorted({size} if size is not None else set(hand)):
            try:
                prices[each] = _four(one * convert(each / _FT.factor, _FT, unit, contents))
            except QuantityError:
                continue
    for line in lines:
        found = boards_of(line.quantity_text, component)
        if found and found[1] and line.price_amount is not None and found[0] not in prices:
            prices[found[0]] = _four(Fraction(line.price_amount) / found[1])
    return prices


def _four(amount: Fraction) -> Decimal:
    return round_half_up(amount, 4)
