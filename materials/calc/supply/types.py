"""What a plan of getting and making is asked of and what it answers: plain values, exact.

Money is in the currency itself (``Fraction`` or ``Decimal``), quantities in base units of their
component, hours in hours. What can be bought comes in whole steps: a lot, a line, a pack, a piece.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from ..shopping import serving
from ..types import ChargeInput, Key, Number

ZERO = Fraction(0)
HAULAGE = "haulage"
# Steps are kept to a millionth; what they leave over by that nobody measures.
TRACE = Fraction(1, 10**4)


@dataclass(frozen=True, slots=True)
class New:
    """New material, always to be had: one step does the work of ``covers`` base units.

    ``price``: of one step with tax, not rounded. ``size`` ``unit``: what one step is in the shop.
    """

    covers: Fraction
    price: Fraction
    unit: str
    size: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class Need:
    """A component: still needed (0 for what only serves to make others).

    ``spare``: on hand beyond what the build needs, to be worked up. ``new`` None: no new price,
    or it would not be bought new.
    """

    component: Key
    name: str
    unit: str
    quantity: Fraction
    new: New | None = None
    spare: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Part:
    """What can be taken by itself of an offer: a lot, a line, or so many steps of a line.

    ``brings``: usable quantity of each component in one step. ``tiers``: from how many steps on
    a price holds, for all of them, the first from 1; a price is for one of ``units`` a step
    holds. ``most``: steps there are.
    """

    key: Key
    brings: tuple[tuple[Key, Fraction], ...]
    tiers: tuple[tuple[int, Fraction], ...]
    units: Fraction = Fraction(1)
    most: int = 1

    def price_of(self, steps: int) -> Fraction:
        """The price that holds for so many steps."""
        return [price for start, price in self.tiers if start <= max(1, steps)][-1]


@dataclass(frozen=True, slots=True)
class Offer:
    """An open offer: ``charges`` in listed order fall due once anything of it is taken.

    ``hours``: what it takes however much of it is taken. Offers of one ``supplier`` share a trip.
    """

    key: Key
    parts: tuple[Part, ...]
    charges: tuple[ChargeInput, ...] = ()
    hours: Fraction = ZERO
    supplier: Key | None = None


@dataclass(frozen=True, slots=True)
class Made:
    """What one step of a recipe makes; ``is_counted``: only whole ones serve."""

    component: Key
    quantity: Fraction
    is_counted: bool = False

    def of(self, steps: Fraction | int) -> Fraction:
        """What serves of so many steps together."""
        return serving(self.quantity * steps, self.is_counted)


@dataclass(frozen=True, slots=True)
class Recipe:
    """A way to make as a plan takes it: one step uses ``uses`` base units of ``source``."""

    key: Key
    source: Key
    uses: Fraction
    makes: tuple[Made, ...]
    extra: Fraction = ZERO
    hours: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Problem:
    """Needs, and the ways to meet them. ``places``: decimals of the currency's minor unit."""

    places: int
    needs: tuple[Need, ...]
    offers: tuple[Offer, ...] = ()
    recipes: tuple[Recipe, ...] = ()

    def more_than_needed(
        self, supply: Mapping[Key, Fraction], made: Mapping[Key, int]
    ) -> dict[Key, Fraction]:
        """What comes in beyond each need, where anything does; what is on hand goes first.

        ``supply``: of each component what comes in, less what is worked up; ``made``: how often
        by each recipe.
        """
        used = dict.fromkeys((need.component for need in self.needs), ZERO)
        for recipe in self.recipes:
            used[recipe.source] += recipe.uses * made.get(recipe.key, 0)
        found = {
            need.component: supply[need.component]
            + min(used[need.component], need.spare - need.quantity)
            for need in self.needs
        }
        return {key: quantity for key, quantity in found.items() if quantity > 0}


class Aim(StrEnum):
    """What is to be as little as can be."""

    MONEY = "money"
    BOTH = "both"
    HOURS = "hours"


@dataclass(frozen=True, slots=True)
class Question:
    """``rate``: money for an hour where both are weighed. Limits: None is none."""

    aim: Aim = Aim.MONEY
    rate: Number = 0
    most_money: Number | None = None
    most_hours: Number | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """What to take, buy and make. Steps by key; what is not in a mapping is not taken.

    ``objective``: what was made as little as can be, in money (hours where hours were asked for);
    ``bound``: no plan's is less, None where nothing is proved. ``over``: more than needed.
    """

    money: Fraction
    hours: Fraction
    objective: Fraction
    bound: Fraction | None
    takes: Mapping[Key, int] = field(default_factory=dict)
    new: Mapping[Key, int] = field(default_factory=dict)
    made: Mapping[Key, int] = field(default_factory=dict)
    over: Mapping[Key, Fraction] = field(default_factory=dict)

    @property
    def is_proved(self) -> bool:
        """Whether it is proved that no plan is better."""
        return self.bound is not None and self.bound >= self.objective

    @property
    def gap(self) -> Fraction | None:
        """By how much a better plan could be better at most; None where nothing is proved."""
        return None if self.bound is None else max(ZERO, self.objective - self.bound)
