"""What an explained figure is made of, and the sums that several figures share."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..exact import add_up
from ..labour import own_hours_by_person
from ..names import join_names
from ..reports import CostSheet

ZERO = Fraction(0)
MOVED_OUT = "Moved to other builds, at the value fixed then"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a figure. ``link`` names the rows it sums; ``kind`` how it is written."""

    sign: str
    label: str
    amount: Fraction | None
    link: str | None = None
    kind: str = "money"


@dataclass(frozen=True, slots=True)
class Trace:
    """A figure with its parts."""

    name: str
    label: str
    sentence: str
    amount: Fraction | None
    parts: tuple[Part, ...] = ()
    left_out: tuple[str, ...] = ()
    kind: str = "money"


def sum_positions(sheet: CostSheet, what: Callable[..., Fraction | None]) -> Fraction:
    """Sum of one thing over all components, what is not known left out."""
    return add_up(what(row.position) or ZERO for row in sheet.components)


def extra_cost(sheet: CostSheet) -> Fraction:
    """Extra cost of all conversions."""
    return add_up(conversion.extra_cost for conversion in sheet.build.conversions)


def landed_received(sheet: CostSheet) -> Fraction:
    """Known landed cost of everything received."""
    return sum_positions(sheet, lambda position: position.component.received_cost)


def proceeds(sheet: CostSheet) -> Fraction:
    """Proceeds of all sales."""
    return sum_positions(sheet, lambda position: position.component.proceeds)


def nameless_hours(sheet: CostSheet) -> Fraction:
    """Own hours that belong to no named person: those of conversions."""
    named = sum(own_hours_by_person(sheet.build.labour).values(), ZERO)
    return sheet.hours.own - named


def unknown_cost(sheet: CostSheet) -> tuple[str, ...]:
    """A sentence when received lines have no known price."""
    moved = (
        (f"Moved in at a cost that is not known, left out: {sheet.unknown_transfers}.",)
        if sheet.unknown_transfers
        else ()
    )
    if not sheet.unknown_lines:
        return moved
    names = join_names(row.position.component.name for row in sheet.cost_unknown)
    lines = (
        "1 received line has"
        if sheet.unknown_lines == 1
        else (f"{sheet.unknown_lines} received lines have")
    )
    return (f"{lines} no known price and is left out, not counted as free: {names}.", *moved)


def unpriced(sheet: CostSheet) -> tuple[str, ...]:
    """Sentences on what a comparison with new leaves out."""
    texts = unknown_cost(sheet)
    if sheet.unpriced:
        names = join_names(row.position.component.name for row in sheet.unpriced)
        texts += (f"No new price is known for: {names}. They are left out of both sides.",)
    if sheet.priced_as_bought:
        names = join_names(row.position.component.name for row in sheet.priced_as_bought)
        texts += (f"No new price is known, so what you paid for it new counts: {names}.",)
    if sheet.not_bought_new:
        names = join_names(row.position.component.name for row in sheet.not_bought_new)
        texts += (f"Would not buy new, so the retail equivalent is 0: {names}.",)
    return texts


def in_percent(share: Fraction | None) -> Fraction | None:
    """A share of one in per cent."""
    return None if share is None else share * 100
