"""Replacement cost new: what the material in the building costs at new prices on a day.

It holds material and retail tax only. What labour would cost is not known to the ledger; the
hours it took stand beside it, as hours.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from ..exact import add_up
from ..reports import ComponentRow, CostSheet
from ..types import ElementInput, Key

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Priced:
    """When a new price was read, and where ("" where nobody noted it)."""

    on: date
    at: str


@dataclass(frozen=True, slots=True)
class ReplacementRow:
    """One component at its new price, or, ``priced`` None, at what was paid for it new."""

    part: ComponentRow
    priced: Priced | None
    amount: Fraction | None


@dataclass(frozen=True, slots=True)
class ReplacementElement:
    """An element (None: components without one) with its rows and their sum."""

    element: ElementInput | None
    rows: tuple[ReplacementRow, ...]

    @property
    def amount(self) -> Fraction:
        """Sum of what is priced."""
        return add_up(row.amount or ZERO for row in self.rows)

    @property
    def oldest(self) -> date | None:
        """Day of the oldest price used."""
        return min((row.priced.on for row in self.rows if row.priced), default=None)


@dataclass(frozen=True, slots=True)
class Replacement:
    """The sheet: priced components by element; what has no new price; what is not bought new."""

    on: date
    elements: tuple[ReplacementElement, ...]
    without_price: tuple[ComponentRow, ...]
    not_bought_new: tuple[ComponentRow, ...]

    @property
    def amount(self) -> Fraction | None:
        """Sum over all elements; None where nothing is priced."""
        return add_up(row.amount for row in self.elements) if self.elements else None

    @property
    def as_bought(self) -> Fraction:
        """What of it has no price that was read, only what was paid for it new."""
        rows = (row for element in self.elements for row in element.rows)
        return add_up(row.amount or ZERO for row in rows if row.priced is None)

    @property
    def oldest(self) -> date | None:
        """Day of the oldest price used."""
        days = [row.oldest for row in self.elements if row.oldest is not None]
        return min(days, default=None)


def make_replacement(sheet: CostSheet, prices: Mapping[Key, Priced], on: date) -> Replacement:
    """Price what is in the building; ``prices`` by component, the same that priced the sheet."""
    groups: dict[Key | None, list[ReplacementRow]] = defaultdict(list)
    for row in sheet.components:
        part = row.position.component
        if not row.position.in_building or not part.would_buy_new:
            continue
        if row.retail_equivalent is not None:
            groups[part.element].append(
                ReplacementRow(row, prices.get(part.key), row.retail_equivalent)
            )
    listed = [
        ReplacementElement(element, tuple(groups[element.key]))
        for element in sheet.build.elements
        if element.key in groups
    ]
    if None in groups:
        listed.append(ReplacementElement(None, tuple(groups[None])))
    inside = [row for row in sheet.components if row.position.in_building]
    return Replacement(
        on,
        tuple(listed),
        tuple(
            row
            for row in inside
            if row.retail_equivalent is None and row.position.component.would_buy_new
        ),
        tuple(row for row in inside if not row.position.component.would_buy_new),
    )
