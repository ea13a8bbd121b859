"""What an offer would do: the cost sheet as it would be, beside the one there is."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from .reports import CostSheet, make_cost_sheet
from .shopping import is_counted
from .types import BuildInput, Key, SourceInput

ZERO = Fraction(0)
# Anything less is written as nothing: quantities are shown to three places.
SHOWN = Fraction(1, 2000)


@dataclass(frozen=True, slots=True)
class OfferedLine:
    """One costed line of an offer: usable quantity and landed cost."""

    component: Key
    source: str
    usable: Fraction
    landed: Fraction


@dataclass(frozen=True, slots=True)
class Effect:
    """A figure now and with the offer; None is not known."""

    name: str
    now: Fraction | None
    then: Fraction | None

    @property
    def difference(self) -> Fraction | None:
        """What the offer changes."""
        return None if self.now is None or self.then is None else self.then - self.now


@dataclass(frozen=True, slots=True)
class Need:
    """What the build needs of one component offered, in base units.

    ``offered``: the usable quantity of all its lines. ``needed``: still needed without them,
    None when the component states no requirement. ``is_counted``: it is counted, and a part
    of a piece cannot be left behind.
    """

    offered: Fraction
    needed: Fraction | None
    is_counted: bool = False

    @property
    def surplus(self) -> Fraction | None:
        """What of it is more than the build still needs; None when nothing is known of that."""
        if self.needed is None:
            return None
        over = max(ZERO, self.offered - self.needed)
        if self.is_counted and self.needed:
            over = Fraction(over // 1)
        return over if over >= SHOWN else ZERO

    @property
    def is_all_surplus(self) -> bool:
        """Whether the build needs none of it any more."""
        return bool(self.surplus) and self.offered - (self.surplus or ZERO) < SHOWN

    @property
    def useful_share(self) -> Fraction:
        """The share of it that serves the build; all of it where nothing is known of that."""
        return self.counted / self.offered if self.offered else Fraction(1)

    @property
    def counted(self) -> Fraction:
        """What of it serves the build; all of it where no requirement is stated."""
        return self.offered - (self.surplus or ZERO)


def needs_of(sheet: CostSheet, lines: Iterable[OfferedLine]) -> dict[Key, Need]:
    """The need of each component offered, in the order of the lines.

    A component that is not on the cost sheet yet states no requirement.
    """
    offered: dict[Key, Fraction] = defaultdict(Fraction)
    for line in lines:
        offered[line.component] += line.usable
    positions = {row.position.component.key: row.position for row in sheet.components}
    needs = {}
    for key, usable in offered.items():
        position = positions.get(key)
        needs[key] = (
            Need(usable, None)
            if position is None
            else Need(usable, position.still_needed, is_counted(position.component.unit))
        )
    return needs


def with_offer(build: BuildInput, lines: Iterable[OfferedLine]) -> BuildInput:
    """The build as if the offer had been received as offered."""
    usable: dict[Key, Fraction] = defaultdict(Fraction)
    landed: dict[Key, Fraction] = defaultdict(Fraction)
    sources = list(build.sources)
    for line in lines:
        usable[line.component] += line.usable
        landed[line.component] += line.landed
        sources.append(SourceInput(line.source, line.component, line.usable, line.landed))
    components = tuple(
        replace(
            part,
            received=part.received + usable[part.key],
            received_cost=part.received_cost + landed[part.key],
        )
        if part.key in usable
        else part
        for part in build.components
    )
    return replace(build, components=components, sources=tuple(sources))


def offer_effects(now: CostSheet, lines: Iterable[OfferedLine]) -> tuple[CostSheet, list[Effect]]:
    """The cost sheet with the offer, and the figures it would move."""
    then = make_cost_sheet(with_offer(now.build, lines))
    effects = [
        Effect("remaining", now.remaining, then.remaining),
        Effect("spent", now.spent, then.spent),
        Effect("forecast_low", now.forecast.low, then.forecast.low),
        Effect("forecast_high", now.forecast.high, then.forecast.high),
        Effect("savings", now.savings, then.savings),
    ]
    for position, (before, after) in enumerate(zip(now.areas, then.areas, strict=True)):
        if before.area.area is not None:
            effects.append(Effect(f"area_{position}", before.cost, after.cost))
    return then, effects
