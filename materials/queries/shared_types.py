"""What a share link shows, as plain values.

What is not ticked is not in the dataclass at all (None), so that no template can show it.
No notes, photos, purchases, users or keys of records of people are ever in it.
"""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from ..calc.budget import Forecast
from ..calc.left_out import LeftOut
from ..calc.progress.hours import TaskProgress
from ..calc.progress.needs import NeedsMet
from ..calc.reports import AreaRow, Compared, ElementRow, SourceRow
from ..calc.types import AreaInput


@dataclass(frozen=True, slots=True)
class ComponentMoney:
    """Money of a component; ``average``: landed cost of one usable base unit."""

    average: Fraction | None
    cost: Fraction | None
    retail_equivalent: Fraction | None
    would_buy_new: bool


@dataclass(frozen=True, slots=True)
class SharedComponent:
    """Quantities of a component in its base unit."""

    name: str
    unit: str
    required: Fraction | None
    received: Fraction
    in_building: Fraction
    on_hand: Fraction
    ordered: Fraction
    still_needed: Fraction | None
    money: ComponentMoney | None


@dataclass(frozen=True, slots=True)
class SharedElement:
    """An element with its components; ``code`` empty for those without one.

    ``worth``: how much of its needs is met by value; None where prices are not shown.
    """

    code: str
    name: str
    components: tuple[SharedComponent, ...]
    worth: NeedsMet | None

    @property
    def label(self) -> str:
        """Code and name."""
        return f"{self.code} {self.name}".strip()

    @property
    def stated(self) -> int:
        """Components with a stated requirement."""
        return sum(row.still_needed is not None for row in self.components)

    @property
    def met(self) -> int:
        """Components of which nothing more is needed."""
        return sum(row.still_needed == 0 for row in self.components)


@dataclass(frozen=True, slots=True)
class SharedSource:
    """How many components came from a source, wholly or in part."""

    source: str
    components: int
    money: SourceRow | None


@dataclass(frozen=True, slots=True)
class SharedSupplier:
    """A place of purchase. ``landed``: received from it, as far as prices are known."""

    name: str
    place: str
    contact: str
    purchases: int
    landed: Fraction | None


@dataclass(frozen=True, slots=True)
class PersonMoney:
    """What a person paid, the equal share of it, and the balance."""

    paid_out: Fraction
    share: Fraction
    balance: Fraction


@dataclass(frozen=True, slots=True)
class SharedPerson:
    """A person's hours, and money when prices are shown too."""

    name: str
    hours: Fraction
    money: PersonMoney | None


@dataclass(frozen=True, slots=True)
class SharedMoney:
    """Every figure of a cost sheet that is money or worked out from money."""

    currency: str
    places: int
    budget: Fraction | None
    contingency: Fraction | None
    spent: Fraction
    committed: Fraction
    remaining: Fraction | None
    forecast: Forecast
    total: Compared
    savings: Fraction | None
    savings_percent: Fraction | None
    savings_after_own_labour: Fraction | None
    saved_per_extra_hour: Fraction | None
    paid_labour: Fraction
    own_labour_value: Fraction | None
    own_labour_rate: Fraction | None
    areas: tuple[AreaRow, ...]
    elements: tuple[ElementRow, ...]
    left_out: LeftOut


@dataclass(frozen=True, slots=True)
class SharedSheet:
    """What a link shows of a build on a day.

    ``money``, ``suppliers`` and ``people`` are None where they are not ticked.
    """

    name: str
    on: date
    areas: tuple[AreaInput, ...]
    elements: tuple[SharedElement, ...]
    sources: tuple[SharedSource, ...]
    hours: tuple[tuple[str, Fraction], ...]
    hours_total: Fraction
    hours_extra: Fraction
    tasks: tuple[TaskProgress, ...]
    money: SharedMoney | None
    suppliers: tuple[SharedSupplier, ...] | None
    people: tuple[SharedPerson, ...] | None

    @property
    def components(self) -> tuple[SharedComponent, ...]:
        """All components, by element."""
        return tuple(row for element in self.elements for row in element.components)

    @property
    def needed(self) -> tuple[SharedComponent, ...]:
        """Components of which something is still needed."""
        return tuple(row for row in self.components if row.still_needed)

    @property
    def stated(self) -> int:
        """Components with a stated requirement."""
        return sum(element.stated for element in self.elements)
