"""What an offer would do: the cost sheet as it would be, beside the one there is."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from .reports import CostSheet, make_cost_sheet
from .types import BuildInput, Key, SourceInput

ZERO = Fraction(0)


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
