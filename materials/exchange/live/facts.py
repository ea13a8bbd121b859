"""What the workings need to know of the sheets: which row holds what."""

from dataclasses import dataclass, field
from datetime import date

from ...calc.money import minor_units
from ...calc.units import UNITS
from ...models import Build, Component
from ..schema import (
    BUILD,
    CHARGES,
    COMPONENTS,
    CONVERSIONS,
    ELEMENTS,
    LABOUR,
    LEFT_OVER,
    MOVED_IN,
    PRICES,
    PURCHASES,
    TASKS,
)
from .refs import Grid, Money
from .typed import TypedReader

# Above so many purchase lines the formulas would make a workbook that hardly opens (about two
# thousand signs a line); then the sums of the lines stand in the workings as plain figures.
MOST_LINES = 20_000
OF_BUILD = Grid(BUILD, keys=("name", "value"))
OF_ELEMENTS, OF_COMPONENTS, OF_PRICES = map(Grid.of, (ELEMENTS, COMPONENTS, PRICES))
OF_PURCHASES, OF_CHARGES = Grid.of(PURCHASES), Grid.of(CHARGES)
OF_CONVERSIONS, OF_LEFT_OVER, OF_LABOUR = map(Grid.of, (CONVERSIONS, LEFT_OVER, LABOUR))
OF_MOVED_IN, OF_TASKS = map(Grid.of, (MOVED_IN, TASKS))
Span = tuple[int, int]


@dataclass(slots=True)
class Part:
    """A component: its row on Components, and the rows of workings that hold what is its own."""

    row: int
    component: Component
    prices: Span = (0, 0)
    lines: Span | None = None
    made: Span | None = None
    used: Span | None = None
    left: Span | None = None
    moved_in: Span | None = None


@dataclass(slots=True)
class PriceRow:
    """A new price: where it stands, and how many base units it is for."""

    grid: Grid
    row: int
    on: date
    pk: int
    per_text: str
    per: str


class ChangedMeanwhile(Exception):
    """The build was changed while it was being written: begin again."""


@dataclass
class Facts:
    """Everything the workings share."""

    build: Build
    as_of: str
    follows_lines: bool = True
    parts: dict[int, Part] = field(default_factory=dict)
    prices: dict[int, list[PriceRow]] = field(default_factory=dict)
    elements: list[tuple[int, int, str, str]] = field(default_factory=list)
    tasks: dict[int, int] = field(default_factory=dict)
    build_rows: dict[str, int] = field(default_factory=dict)
    areas: dict[str, str] = field(default_factory=dict)
    # The last row of the workings of purchases.
    purchases: int = 1
    # Distance rates, the one from the beginning first.
    rates: list[tuple[date | None, int]] = field(default_factory=list)
    rate_span: Span = (0, 0)
    counts: dict[str, int] = field(default_factory=dict)
    typed: TypedReader = field(default_factory=TypedReader)

    def __post_init__(self) -> None:
        self.money = Money(minor_units(self.build.currency))
        self.distance_unit = UNITS[self.build.distance_unit]

    def part(self, pk: int) -> Part:
        """A component by its key. Raises ChangedMeanwhile when it came later than the list."""
        found = self.parts.get(pk)
        if found is None:
            raise ChangedMeanwhile
        return found

    def value(self, name: str) -> str:
        """The cell of a figure on the Build sheet."""
        return f"{BUILD}!$B${self.build_rows[name]}"

    def share(self, name: str) -> str:
        """A percentage on the Build sheet as a share of one."""
        return f"{self.value(name)}/100"
