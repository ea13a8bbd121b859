"""Beginning a build from an earlier one: what is known is carried over, what happened is not."""

from dataclasses import dataclass
from typing import Any, TypeVar

from django.contrib.auth.models import User
from django.db import models, transaction

from ..models import (
    Build,
    Change,
    Component,
    Element,
    Person,
    RetailPrice,
    Supplier,
    Task,
    WayToMake,
)
from ..models.stated import derived_fields, stated_fields
from .builds import Areas, Rates, create_build
from .errors import LedgerError

Row = TypeVar("Row", bound=models.Model)
BATCH = 1000
# What stands as the origin of a quantity that was carried over.
EARLIER = "earlier build"
REQUIRED = frozenset({"required_text", "required_qty"})
NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True)
class CarryOver:
    """What to carry over. Purchases, stock and hours never are."""

    elements: bool = True
    budgets: bool = False
    components: bool = True
    required: bool = True
    prices: bool = True
    suppliers: bool = True
    tasks: bool = True
    persons: bool = False


@transaction.atomic
def start_from(
    *,
    actor: User,
    earlier: Build,
    values: dict[str, Any],
    carry_over: CarryOver,
    areas: Areas = (),
    rates: Rates = (),
) -> Build:
    """Start a build with what an earlier one knew; the earlier one is only read.

    Raises LedgerError when prices or budgets would have to change their currency.
    """
    has_money = (carry_over.elements and carry_over.budgets) or (
        carry_over.components and carry_over.prices
    )
    if has_money and values.get("currency") != earlier.currency:
        raise LedgerError(
            f"Budgets and new prices of {earlier} are in {earlier.currency}: keep that "
            "currency, or start without them.",
            "currency",
        )
    build = create_build(actor=actor, values=values, areas=areas, rates=rates)
    counts = _Copy(earlier, build, carry_over).run()
    listed = ", ".join(f"{what}: {count:,}" for what, count in counts.items() if count)
    Change.objects.create(
        build=build,
        actor=actor,
        actor_name=actor.get_username() if actor else "",
        action="begun",
        record_type="build",
        record_id=build.pk,
        # The earlier build is not named: not everybody here may know of it.
        summary=f"Started from an earlier build. {listed or 'Nothing carried over'}."[:300],
    )
    return build


class _Copy:
    """One copy, a few queries for each kind of record however many there are."""

    def __init__(self, earlier: Build, build: Build, carry_over: CarryOver):
        self.earlier, self.build, self.carry_over = earlier, build, carry_over
        self.elements: dict[int | None, int] = {}

    def run(self) -> dict[str, int]:
        """Copy what was asked for; returns how many of each, in words."""
        carry_over = self.carry_over
        counts = {"Elements": self._elements()}
        if carry_over.components:
            parts = self._components()
            counts["components"] = len(parts)
            counts["new prices"] = self._prices(parts) if carry_over.prices else 0
            counts["ways to make"] = self._ways(parts)
        if carry_over.suppliers:
            counts["suppliers"] = self._names(Supplier)
        if carry_over.persons:
            counts["people"] = self._names(Person)
        if carry_over.tasks:
            counts["tasks"] = self._tasks()
        return counts

    @staticmethod
    def _copies(rows: list[Row], without: frozenset[str], **more: Any) -> list[Row]:
        """Unsaved copies, with what is worked out from what they state."""
        copies = []
        for row in rows:
            names = {*stated_fields(type(row)), *derived_fields(type(row))} - without
            copies.append(type(row)(**{name: getattr(row, name) for name in names}, **more))
        return copies

    @staticmethod
    def _create(rows: list[Row]) -> None:
        if rows:
            type(rows[0])._default_manager.bulk_create(rows, batch_size=BATCH)

    def _elements(self) -> int:
        """The earlier build's elements instead of the usual ones; else those of the same code."""
        old = list(Element.objects.filter(build=self.earlier))
        if self.carry_over.elements:
            Element.objects.filter(build=self.build).delete()
            without = NOTHING if self.carry_over.budgets else frozenset({"budget_amount"})
            new = self._copies(old, without, build=self.build)
            self._create(new)
            self.elements = {was.pk: now.pk for was, now in zip(old, new, strict=True)}
            return len(new)
        there = {
            code.casefold(): pk
            for pk, code in Element.objects.filter(build=self.build).values_list("pk", "code")
        }
        self.elements = {
            was.pk: there[was.code.casefold()] for was in old if was.code.casefold() in there
        }
        return 0

    def _components(self) -> dict[int, int]:
        old = list(Component.objects.filter(build=self.earlier))
        without = NOTHING if self.carry_over.required else REQUIRED
        new = self._copies(old, without | {"element", "required_from"}, build=self.build)
        for was, now in zip(old, new, strict=True):
            now.element_id = self.elements.get(was.element_id)
            now.required_from = EARLIER if now.required_text else ""
        self._create(new)
        return {was.pk: now.pk for was, now in zip(old, new, strict=True)}

    def _prices(self, parts: dict[int, int]) -> int:
        # In the order of entry: of two prices of one day the later entry counts.
        old = list(RetailPrice.objects.filter(component__build=self.earlier).order_by("pk"))
        new = self._copies(old, NOTHING)
        for was, now in zip(old, new, strict=True):
            now.component_id = parts[was.component_id]
        self._create(new)
        return len(new)

    def _ways(self, parts: dict[int, int]) -> int:
        old = list(WayToMake.objects.filter(build=self.earlier).order_by("pk"))
        new = self._copies(old, frozenset({"source", "component"}), build=self.build)
        for was, now in zip(old, new, strict=True):
            now.source_id, now.component_id = parts[was.source_id], parts[was.component_id]
        self._create(new)
        return len(new)

    def _names(self, model: type[Row]) -> int:
        old = list(model._default_manager.filter(build=self.earlier))
        self._create(self._copies(old, NOTHING, build=self.build))
        return len(old)

    def _tasks(self) -> int:
        old = list(Task.objects.filter(build=self.earlier))
        new = self._copies(old, frozenset({"element", "done_percent"}), build=self.build)
        for was, now in zip(old, new, strict=True):
            now.element_id = self.elements.get(was.element_id)
        self._create(new)
        return len(new)
