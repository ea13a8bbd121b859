"""What an import will write: frozen, checked, free of database rows.

Components, elements, suppliers, persons and tasks are named by their keys
(``queries.exchange.name_key``); those that exist already are named but not listed.
"""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class PlannedBuild:
    """The build's own figures."""

    name: str
    currency: str = "USD"
    budget_amount: Decimal | None = None
    contingency_percent: Decimal | None = None
    retail_tax_percent: Decimal = Decimal(0)
    own_labour_rate: Decimal | None = None
    own_hours_count: bool = False
    distance_unit: str = "mi"
    areas: tuple[tuple[str, Decimal, str], ...] = ()
    rates: tuple[tuple[date | None, Decimal], ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedElement:
    """An element of the build."""

    code: str
    name: str
    budget_amount: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PlannedSupplier:
    """A supplier, often only a name."""

    name: str
    place: str = ""
    contact: str = ""
    note: str = ""
    is_gone: bool = False


@dataclass(frozen=True, slots=True)
class PlannedComponent:
    """Also serves wherever only a component's unit and contents matter."""

    name: str
    unit: str
    contents: str = ""
    element: str | None = None
    required_text: str = ""
    required_qty: Decimal | None = None
    waste_percent: Decimal = Decimal(0)
    new_qty_per_one: Decimal = Decimal(1)
    would_buy_new: bool = True
    life_years: Decimal | None = None
    traits: list[str] = field(default_factory=list)
    load_kind: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlannedPrice:
    """A dated new price of a component."""

    component: str
    price: Decimal
    per_text: str
    per_qty: Decimal
    priced_on: date
    priced_at: str = ""


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """A purchase line; its derived money is worked out when it is written."""

    component: str
    quantity_text: str
    base_qty: Decimal
    usable_qty: Decimal
    source: str
    obtained_by: str = ""
    usable_percent: Decimal = Decimal(100)
    unit_price: Decimal | None = None
    price_per_text: str = ""
    line_price_amount: Decimal | None = None
    lot_weight: Decimal | None = None
    price_breaks: str = ""
    most_text: str = ""
    step_text: str = ""
    origin_year: int | None = None
    through_fire: bool = False
    note: str = ""

    @property
    def has_own_price(self) -> bool:
        """Whether the line stands outside the lot."""
        return self.unit_price is not None or self.line_price_amount is not None


@dataclass(frozen=True, slots=True)
class PlannedCharge:
    """A charge: exactly one of amount, percent or distance."""

    kind: str
    amount: Decimal | None
    percent: Decimal | None
    percent_on: str
    distance_text: str
    spread_by: str


@dataclass(frozen=True, slots=True)
class PlannedPurchase:
    """A purchase with its lines and charges in their order."""

    number: str
    bought_on: date
    state: str
    supplier: str | None = None
    paid_by: str | None = None
    lot_price_amount: Decimal | None = None
    lot_split: str = ""
    expected_hours: Decimal | None = None
    note: str = ""
    lines: tuple[PlannedLine, ...] = ()
    charges: tuple[PlannedCharge, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedOutput:
    """What a conversion made."""

    component: str
    made_text: str
    made_qty: Decimal


@dataclass(frozen=True, slots=True)
class PlannedConversion:
    """A conversion with its outputs in their order."""

    number: str
    converted_on: date
    source: str
    used_text: str
    used_qty: Decimal
    extra_cost_amount: Decimal = Decimal(0)
    hours: Decimal = Decimal(0)
    note: str = ""
    outputs: tuple[PlannedOutput, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedLeftOver:
    """What did not go into the building."""

    component: str
    noted_on: date
    quantity_text: str
    base_qty: Decimal
    fate: str
    proceeds_amount: Decimal | None = None
    note: str = ""
    # What was moved away was worth so much then; None: whatever the average is.
    value_amount: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PlannedMoveIn:
    """What came from another build, at the cost it brought along; None is not known."""

    component: str
    moved_on: date
    quantity_text: str
    base_qty: Decimal
    cost_amount: Decimal | None = None
    elsewhere: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlannedTask:
    """A task, often only a name."""

    name: str
    element: str | None = None
    planned_hours: Decimal | None = None
    done_percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PlannedLabour:
    """Hours of one person."""

    worked_on: date
    person: str
    task: str | None
    kind: str
    hours: Decimal
    paid_amount: Decimal | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlannedShare:
    """A stated share of one person."""

    person: str
    weight: Decimal


@dataclass(frozen=True, slots=True)
class PlannedHandOver:
    """Money that one person gave another."""

    handed_on: date
    giver: str
    receiver: str
    amount: Decimal
    note: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything an import adds."""

    build: PlannedBuild
    elements: tuple[PlannedElement, ...] = ()
    suppliers: tuple[PlannedSupplier, ...] = ()
    persons: tuple[str, ...] = ()
    components: tuple[PlannedComponent, ...] = ()
    prices: tuple[PlannedPrice, ...] = ()
    purchases: tuple[PlannedPurchase, ...] = ()
    conversions: tuple[PlannedConversion, ...] = ()
    left_over: tuple[PlannedLeftOver, ...] = ()
    moved_in: tuple[PlannedMoveIn, ...] = ()
    tasks: tuple[PlannedTask, ...] = ()
    labour: tuple[PlannedLabour, ...] = ()
    shares: tuple[PlannedShare, ...] = ()
    hand_overs: tuple[PlannedHandOver, ...] = ()

    def counts(self) -> dict[str, int]:
        """How many of each are added, in words a person reads."""
        figures = {
            "elements": len(self.elements),
            "suppliers": len(self.suppliers),
            "components": len(self.components),
            "prices": len(self.prices),
            "purchases": len(self.purchases),
            "purchase lines": sum(len(purchase.lines) for purchase in self.purchases),
            "charges": sum(len(purchase.charges) for purchase in self.purchases),
            "conversions": len(self.conversions),
            "left-over entries": len(self.left_over),
            "moves in": len(self.moved_in),
            "tasks": len(self.tasks),
            "labour entries": len(self.labour),
            "shares": len(self.shares),
            "hand-overs": len(self.hand_overs),
        }
        return {what: count for what, count in figures.items() if count}

    def told(self) -> str:
        """The same in words: “1 purchase, 3 purchase lines”; “nothing new” for nothing."""
        words = [
            f"{count:,} {what if count > 1 else _one(what)}"
            for what, count in self.counts().items()
        ]
        return ", ".join(words) or "nothing new"


def _one(what: str) -> str:
    if what == "moves in":
        return "move in"
    return f"{what.removesuffix('ies')}y" if what.endswith("ies") else what.removesuffix("s")
