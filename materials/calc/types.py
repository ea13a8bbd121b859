"""Inputs of the costing engine: plain values, no database.

Amounts, prices and quantities are ``Fraction`` or ``Decimal``; ``None`` always means
"not known" and never zero. Quantities are in the component's base unit. Keys are any
hashable the caller uses to find its rows again.
"""

from collections.abc import Hashable
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

Key = Hashable
Number = int | Decimal | Fraction


class Basis(StrEnum):
    """What a lot price or a charge is divided by."""

    PRICE = "price"
    RETAIL_VALUE = "retail value"
    QUANTITY = "quantity"
    WEIGHT = "weight"
    EQUAL = "equal"


class PercentOn(StrEnum):
    """What a percentage charge is taken on."""

    PRICE = "price"
    PRICE_AND_CHARGES = "price and charges"


class LabourKind(StrEnum):
    """What an hour was spent on."""

    SOURCING = "sourcing"
    PREPARING = "preparing"
    INSTALLING = "installing"
    REWORKING = "reworking"
    UPKEEP = "upkeep"


@dataclass(frozen=True, slots=True)
class LineInput:
    """One purchase line.

    ``unit_price`` is for one of ``priced_units`` (20 gal at 4.00 a gallon: 4.00 and 20).
    ``retail_price`` is what new material doing the work of one base unit costs before tax;
    ``would_buy_new`` False makes it worth nothing against new, though it still splits a lot.
    ``bought_new`` is what one came to when it was bought new, with its tax: what judges an offer
    where no new price is noted. It splits nothing.
    """

    key: Key
    base_qty: Fraction
    usable_share: Fraction = Fraction(1)
    unit_price: Number | None = None
    priced_units: Fraction = Fraction(0)
    line_price: Number | None = None
    lot_weight: Number | None = None
    retail_price: Fraction | None = None
    would_buy_new: bool = True
    bought_new: Fraction | None = None

    @property
    def usable_qty(self) -> Fraction:
        """Base quantity that can be used."""
        return self.base_qty * self.usable_share

    @property
    def retail_value(self) -> Fraction | None:
        """What the usable part would cost new before tax, or None when there is no price."""
        return None if self.retail_price is None else self.usable_qty * self.retail_price

    @property
    def has_own_price(self) -> bool:
        """Whether the line is priced by itself, outside any lot."""
        return self.unit_price is not None or self.line_price is not None


@dataclass(frozen=True, slots=True)
class ChargeInput:
    """One cost on top of the price: exactly one of amount, percent or distance is given."""

    key: Key
    kind: str
    amount: Number | None = None
    percent: Number | None = None
    percent_on: PercentOn = PercentOn.PRICE
    distance: Number | None = None
    distance_rate: Number | None = None
    spread_by: Basis = Basis.PRICE


@dataclass(frozen=True, slots=True)
class PurchaseInput:
    """One purchase: lines and charges in their listed order."""

    places: int
    lines: tuple[LineInput, ...]
    charges: tuple[ChargeInput, ...] = ()
    lot_price: Number | None = None
    lot_split: Basis | None = None


@dataclass(frozen=True, slots=True)
class ComponentInput:
    """What SQL summed up for one component.

    ``retail_price``: new price of one base unit before tax. ``bought_new``: landed cost of one
    that was received from retail, which stands for it where none is known. ``new_per_one``:
    quantity of new material that does the work of one. ``contents``: what one holds, as typed.
    ``unknown_lines``: received lines without a known price.
    ``unknown_transfers``: quantities moved in without a known cost. ``moved`` is what left for
    another build at the average; ``moved_out`` left at a value that stands fixed in both builds.
    """

    key: Key
    name: str
    unit: str = "piece"
    element: Key | None = None
    required: Fraction | None = None
    waste_share: Fraction = Fraction(0)
    new_per_one: Fraction = Fraction(1)
    retail_price: Fraction | None = None
    bought_new: Fraction | None = None
    would_buy_new: bool = True
    received: Fraction = Fraction(0)
    received_cost: Fraction = Fraction(0)
    unknown_lines: int = 0
    ordered: Fraction = Fraction(0)
    ordered_cost: Fraction = Fraction(0)
    moved_in: Fraction = Fraction(0)
    moved_in_cost: Fraction = Fraction(0)
    unknown_transfers: int = 0
    on_hand: Fraction = Fraction(0)
    scrapped: Fraction = Fraction(0)
    given_away: Fraction = Fraction(0)
    sold: Fraction = Fraction(0)
    moved: Fraction = Fraction(0)
    moved_out: Fraction = Fraction(0)

    @property
    def wanted(self) -> Fraction | None:
        """Required with its waste; None where nothing is stated."""
        return None if self.required is None else self.required * (1 + self.waste_share)

    @property
    def is_priced_as_bought(self) -> bool:
        """Whether its new price is only what was paid for it new."""
        is_bought = self.retail_price is None and self.bought_new is not None
        return is_bought and self.would_buy_new

    moved_out_cost: Fraction = Fraction(0)
    proceeds: Fraction = Fraction(0)
    contents: str = ""


# Those of its fields that hold what did not go into the building, in the order they are told in.
FATES = ("on_hand", "scrapped", "given_away", "sold", "moved")


@dataclass(frozen=True, slots=True)
class OutputInput:
    """What a conversion made; ``retail_value`` None when the component has no new price."""

    component: Key
    made: Fraction
    retail_value: Fraction | None = None


@dataclass(frozen=True, slots=True)
class ConversionInput:
    """Material worked into other material. Several alike may be summed into one."""

    source: Key
    used: Fraction
    outputs: tuple[OutputInput, ...]
    extra_cost: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class LabourInput:
    """Hours of one task, person and kind; own hours are those nothing was paid for."""

    kind: LabourKind
    own_hours: Fraction = Fraction(0)
    paid_hours: Fraction = Fraction(0)
    paid: Fraction = Fraction(0)
    task: Key | None = None
    person: Key | None = None


@dataclass(frozen=True, slots=True)
class SourceInput:
    """Received from one source of one component."""

    source: str
    component: Key
    usable: Fraction
    cost: Fraction


@dataclass(frozen=True, slots=True)
class ElementInput:
    """An element of the build with its budget."""

    key: Key
    code: str
    name: str
    budget: Fraction | None = None


@dataclass(frozen=True, slots=True)
class TaskInput:
    """A task with its planned hours."""

    key: Key
    name: str
    planned_hours: Fraction | None = None


@dataclass(frozen=True, slots=True)
class PersonInput:
    """A person with what they paid for received purchases; ``paid_for`` counts those purchases.

    ``weight``: stated share, in any measure; None when none is stated for this person.
    ``payments_made`` by and ``payments_received`` this person: money between the people of the
    build.
    """

    key: Key
    name: str
    paid_out: Fraction = Fraction(0)
    paid_for: int = 0
    weight: Fraction | None = None
    payments_made: Fraction = Fraction(0)
    payments_received: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Payerless:
    """Received purchases that name no payer, how many and their known landed cost."""

    purchases: int = 0
    cost: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class AreaInput:
    """A measured area, in its own unit."""

    key: str
    label: str
    area: Fraction | None
    unit: str | None


@dataclass(frozen=True, slots=True)
class BuildInput:
    """Everything a cost sheet is made of."""

    name: str
    currency: str
    places: int
    components: tuple[ComponentInput, ...] = ()
    conversions: tuple[ConversionInput, ...] = ()
    labour: tuple[LabourInput, ...] = ()
    sources: tuple[SourceInput, ...] = ()
    elements: tuple[ElementInput, ...] = ()
    tasks: tuple[TaskInput, ...] = ()
    persons: tuple[PersonInput, ...] = ()
    areas: tuple[AreaInput, ...] = ()
    budget: Fraction | None = None
    contingency_share: Fraction | None = None
    retail_tax_share: Fraction = Fraction(0)
    own_labour_rate: Fraction | None = None
    own_hours_count: bool = False
    payerless: Payerless = Payerless()
    unknown_ordered_lines: int = 0
    notes: tuple[str, ...] = field(default=())
