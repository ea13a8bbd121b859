"""Cost per area of several builds, side by side."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .exact import add_up
from .quantities import Contents, convert
from .stock import work_out_positions
from .types import ComponentInput, ConversionInput, Key
from .units import find_unit


@dataclass(frozen=True, slots=True)
class AreaInput:
    """A build with its measured area, in the area's own unit."""

    key: Key
    name: str
    currency: str
    area: Fraction
    unit: str
    paid_labour: Fraction


@dataclass(frozen=True, slots=True)
class AreaCost:
    """A build's material and paid labour for each unit of its area."""

    build: AreaInput
    cost: Fraction

    @property
    def per_unit(self) -> Fraction:
        """In the unit the area was measured in."""
        return self.cost / self.build.area

    def per(self, unit: str) -> Fraction:
        """For each of another unit of area."""
        to = find_unit(unit)
        return self.cost / convert(self.build.area, find_unit(self.build.unit), to, Contents(()))


def area_costs(
    builds: Sequence[AreaInput],
    components: Iterable[tuple[Key, ComponentInput]],
    conversions: Sequence[ConversionInput],
) -> tuple[AreaCost, ...]:
    """Cost per area of builds, from all their components (with the build of each)."""
    home = {part.key: (build, part) for build, part in components}
    positions = work_out_positions([part for _, part in home.values()], conversions)
    money: dict[Key, list[Fraction]] = defaultdict(list)
    for key, position in positions.items():
        money[home[key][0]].append(position.known_money)
    return tuple(AreaCost(build, add_up(money[build.key]) + build.paid_labour) for build in builds)


def by_currency(rows: Iterable[AreaCost]) -> dict[str, list[AreaCost]]:
    """Builds that can be compared: those in one currency, where there are several."""
    groups: dict[str, list[AreaCost]] = defaultdict(list)
    for row in rows:
        groups[row.build.currency].append(row)
    return {currency: group for currency, group in groups.items() if len(group) > 1}
