"""What an import will write: frozen, checked, free of database rows.

Components, elements, suppliers, persons and tasks are named by their keys
(``queries.exchange.name_key``); those that exist already are named but not listed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any


@dataclass(frozen=True, slots=True)
class Planned:
    """One record: its values and, by key, what it is linked to, both by the model's fields."""

    values: dict[str, Any]
    links: Mapping[str, str | None] = field(default_factory=dict)

    def link(self, name: str) -> str:
        """The key of what it cannot do without."""
        key = self.links[name]
        assert key is not None
        return key


@dataclass(frozen=True, slots=True)
class PlannedBuild(Planned):
    """The build's own figures, its areas and its distance rates."""

    areas: tuple[tuple[str, Decimal, str], ...] = ()
    rates: tuple[tuple[date | None, Decimal], ...] = ()

    @property
    def currency(self) -> str:
        """Its currency's code."""
        return str(self.values["currency"])

    @property
    def distance_unit(self) -> str:
        """What distances are counted in."""
        return str(self.values["distance_unit"])


@dataclass(frozen=True, slots=True)
class PlannedComponent(Planned):
    """Also serves wherever only a component's unit and contents matter."""

    @property
    def name(self) -> str:
        """What it is called."""
        return str(self.values["name"])

    @property
    def unit(self) -> str:
        """Symbol of its base unit."""
        return str(self.values["unit"])

    @property
    def contents(self) -> str:
        """What one piece or pack holds."""
        return str(self.values.get("contents", ""))


@dataclass(frozen=True, slots=True)
class PlannedLine(Planned):
    """A purchase line; its derived money is worked out when it is written."""

    usable_qty: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class PlannedPurchase(Planned):
    """A purchase with its lines and charges in their order."""

    lines: tuple[PlannedLine, ...] = ()
    charges: tuple[Planned, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedConversion(Planned):
    """A conversion with its outputs in their order."""

    outputs: tuple[Planned, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything an import adds; what was moved away is apart from what else was left over."""

    build: PlannedBuild
    elements: tuple[Planned, ...] = ()
    suppliers: tuple[Planned, ...] = ()
    persons: tuple[Planned, ...] = ()
    components: tuple[PlannedComponent, ...] = ()
    prices: tuple[Planned, ...] = ()
    purchases: tuple[PlannedPurchase, ...] = ()
    conversions: tuple[PlannedConversion, ...] = ()
    ways: tuple[Planned, ...] = ()
    left_over: tuple[Planned, ...] = ()
    moved_out: tuple[Planned, ...] = ()
    moved_in: tuple[Planned, ...] = ()
    tasks: tuple[Planned, ...] = ()
    labour: tuple[Planned, ...] = ()
    shares: tuple[Planned, ...] = ()
    payments: tuple[Planned, ...] = ()
    lessons: tuple[Planned, ...] = ()

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
            "ways to make": len(self.ways),
            "left-over entries": len(self.left_over) + len(self.moved_out),
            "moves in": len(self.moved_in),
            "tasks": len(self.tasks),
            "labour entries": len(self.labour),
            "shares": len(self.shares),
            "hand-overs": len(self.payments),
            "lessons": len(self.lessons),
        }
        return {what: count for what, count in figures.items() if count}

    def summary(self) -> str:
        """The same in words: “1 purchase, 3 purchase lines”; “nothing new” for nothing."""
        words = [
            f"{count:,} {what if count > 1 else _one(what)}"
            for what, count in self.counts().items()
        ]
        return ", ".join(words) or "nothing new"


def _one(what: str) -> str:
    if what == "moves in":
        return "move in"
    if what == "ways to make":
        return "way to make"
    return f"{what.removesuffix('ies')}y" if what.endswith("ies") else what.removesuffix("s")
