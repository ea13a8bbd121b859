"""What an estimate of the next build is made of and what it says: plain exact values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from ...calc.exact import add_up
from ...calc.geometry import Extent
from ...calc.reports import CostSheet
from ...calc.types import Key
from .how_far import HowFar

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Spread:
    """Lowest, likely and highest of an amount, in this order."""

    low: Fraction = ZERO
    likely: Fraction = ZERO
    high: Fraction = ZERO

    def times(self, number: Fraction) -> "Spread":
        """All three, so many times."""
        return Spread(self.low * number, self.likely * number, self.high * number)


def sum_spreads(amounts: list[Spread]) -> Spread:
    """Each end summed by itself."""
    return Spread(
        add_up(one.low for one in amounts),
        add_up(one.likely for one in amounts),
        add_up(one.high for one in amounts),
    )


@dataclass(frozen=True, slots=True)
class PastBuild:
    """One earlier build.

    ``area``: its measured area in the unit of the new build's; ``factor``: what prices of its
    time are brought to today's with; ``spread``: for a component, the lowest and the highest
    landed cost of one unit as shares of the average; ``element_of``: element of each task;
    ``how_far``: what of it can be learned from; ``extents``: measures of its shapes.
    """

    sheet: CostSheet
    area: Fraction
    factor: Fraction
    spread: Mapping[Key, tuple[Fraction, Fraction]]
    element_of: Mapping[Key, Key | None]
    how_far: HowFar = field(default_factory=HowFar)
    extents: tuple[Extent, ...] = ()

    @property
    def codes(self) -> dict[Key, str]:
        """Code of each element."""
        return {element.key: element.code for element in self.sheet.build.elements}


@dataclass(frozen=True, slots=True)
class Scale:
    """A measure of shapes that something grows by: ``new`` of the build to come, ``past`` of the
    earlier ones together, in ``unit``."""

    label: str
    new: Fraction
    past: Fraction
    unit: str


@dataclass(frozen=True, slots=True)
class StatedPart:
    """A component the new build states a quantity of, waste included.

    ``new_cost``: what one costs new with tax, None where no new price is known.
    ``is_borrowed``: nobody measured it for this build; it came from another or an estimate.
    """

    name: str
    unit: str
    code: str
    quantity: Fraction
    new_cost: Fraction | None = None
    is_borrowed: bool = False


@dataclass(frozen=True, slots=True)
class EstimatedPart:
    """One component: its quantity, and what that costs.

    ``is_stated``: the quantity is stated for the new build; ``is_borrowed``: it stands in the
    new build, taken over from elsewhere; neither: it is calculated by ``scale``, or by area
    where that is None.
    ``of_one``: cost of one in today's prices; ``builds``: how many earlier builds tell it (0: the
    new price).
    """

    name: str
    unit: str
    code: str
    contents_of: Key
    quantity: Fraction
    of_one: Spread
    is_stated: bool
    builds: int
    is_borrowed: bool = False
    scale: Scale | None = None

    @property
    def cost(self) -> Spread:
        """Quantity × cost of one."""
        return self.of_one.times(self.quantity)


@dataclass(frozen=True, slots=True)
class EstimatedElement:
    """An element's material and hours. ``stated``: likely money that rests on stated quantities.

    ``hours``: None where no earlier build logged any on a task of the element.
    ``builds``: how many of the earlier builds had the element. ``scale``: what its hours grow by,
    None by area.
    """

    code: str
    name: str
    cost: Spread
    stated: Fraction
    hours: Spread | None
    builds: int
    scale: Scale | None = None


class ElementSums:
    """Sums over the elements of an estimate, as it is made and as it was kept."""

    __slots__ = ()
    elements: tuple[Any, ...]
    paid_labour: Spread
    hours_apart: Spread

    @property
    def material(self) -> Spread:
        return sum_spreads([row.cost for row in self.elements])

    @property
    def total(self) -> Spread:
        """Material and paid labour."""
        return sum_spreads([self.material, self.paid_labour])

    @property
    def hours(self) -> Spread:
        return sum_spreads([*(row.hours for row in self.elements if row.hours), self.hours_apart])

    @property
    def defined(self) -> Fraction | None:
        """Share of the likely material money that rests on stated quantities; None of nothing."""
        whole = self.material.likely
        return add_up(row.stated for row in self.elements) / whole if whole else None


@dataclass(frozen=True, slots=True)
class NextBuild(ElementSums):
    """The estimate. Amounts are exact, in today's prices.

    ``hours_apart``: hours on no element, by area. ``unknown``: components stated in the new
    build of which no price is known; ``left_out``: names of components of earlier builds whose
    cost is not wholly known; ``untaught``: code and name of elements that earlier builds have
    begun and none has finished. None of them adds anything. ``is_labour_partial``: no earlier
    build is finished, so that paid labour is that of finished elements alone, and nothing is known
    of hours on no element.
    """

    elements: tuple[EstimatedElement, ...]
    parts: tuple[EstimatedPart, ...]
    paid_labour: Spread
    hours_apart: Spread
    unknown: tuple[StatedPart, ...]
    left_out: tuple[str, ...] = ()
    untaught: tuple[tuple[str, str], ...] = ()
    is_labour_partial: bool = False
