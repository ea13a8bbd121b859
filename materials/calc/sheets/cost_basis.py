"""Cost basis: what was paid for the building, for the builder's tax professional to judge.

Own hours are never in it, whatever rate is stated: a person's own labour, and that of unpaid
helpers, is no cost to them (IRS Publication 523, as quoted; Publication 551 not read). Material
on hand is not in the building yet. Paid upkeep stands apart, since repair is not building.
"""

from dataclasses import dataclass
from fractions import Fraction

from ..exact import add_up
from ..reports import CostSheet, ElementRow
from ..types import LabourKind

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class CostBasis:
    """The sheet. Amounts are exact.

    ``rows``: material in the building by element, as far as its cost is known;
    ``paid_labour`` without upkeep, ``paid_upkeep`` apart and not in the total;
    ``own_distance``: what the haulage charges of received purchases come to that are a distance
    at the builder's own rate, for which there is no receipt; it is in ``material`` as far as the
    material is in the building. ``on_hand``: value that waits outside the building.
    """

    rows: tuple[ElementRow, ...]
    material: Fraction
    paid_labour: Fraction
    paid_upkeep: Fraction
    own_hours: Fraction
    own_distance: Fraction
    on_hand: Fraction
    unknown_lines: int
    unknown_transfers: int

    @property
    def total(self) -> Fraction:
        """Material in the building and paid labour that is not upkeep."""
        return self.material + self.paid_labour


def make_cost_basis(sheet: CostSheet, own_distance: Fraction) -> CostBasis:
    """Take the paid part out of a cost sheet."""
    upkeep = add_up(entry.paid for entry in sheet.build.labour if entry.kind is LabourKind.UPKEEP)
    return CostBasis(
        rows=tuple(row for row in sheet.elements if row.figures.cost or row.figures.unknown),
        material=sheet.total.cost,
        paid_labour=sheet.hours.paid_labour - upkeep,
        paid_upkeep=upkeep,
        own_hours=sheet.hours.own,
        own_distance=own_distance,
        on_hand=add_up(
            row.position.component.on_hand * row.position.known_average for row in sheet.components
        ),
        unknown_lines=sheet.unknown_lines,
        unknown_transfers=sheet.unknown_transfers,
    )
