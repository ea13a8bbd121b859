"""Weight kept from landfill: salvaged material that was got, less what was thrown away after all.

Only material whose source is salvage counts, at its usable quantity. What was scrapped, and what
a conversion lost, is taken off again by the salvaged share of the component it came from; both
follow the material through conversions. A weight that nobody stated is not known, never guessed.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction

from ..exact import add_up
from ..stock import conversion_order
from ..types import BuildInput, ComponentInput, ConversionInput, Key

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Weight:
    """Pounds of one base unit, lowest and highest, and where that is from."""

    low: Fraction
    high: Fraction
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LandfillRow:
    """One component: what was salvaged of it, and what of that was thrown away or lost.

    ``lost``: base units of what conversions used up beyond what they made, by weight; None where
    the weight of what was made is not known. Pounds are None where no weight is known.
    """

    component: ComponentInput
    salvaged: Fraction
    scrapped: Fraction
    weight: Weight | None
    lost_low: Fraction = ZERO
    lost_high: Fraction = ZERO
    is_loss_known: bool = True

    @property
    def low(self) -> Fraction | None:
        """Pounds kept at the lower of the weights known, never below 0."""
        if self.weight is None:
            return None
        return (self.salvaged - self.scrapped) * self.weight.low - self.lost_low

    @property
    def high(self) -> Fraction | None:
        """Pounds kept at the higher of the weights known."""
        if self.weight is None:
            return None
        return (self.salvaged - self.scrapped) * self.weight.high - self.lost_high


@dataclass(frozen=True, slots=True)
class Landfill:
    """The sheet: rows with a weight, rows without one, and their sums in pounds.

    ``not_waste``: salvaged, and by the builder's word never on its way to a landfill.
    """

    rows: tuple[LandfillRow, ...]
    without: tuple[LandfillRow, ...]
    not_waste: tuple[LandfillRow, ...] = ()

    @property
    def low(self) -> Fraction | None:
        """None where no component's weight is known."""
        return add_up(row.low or ZERO for row in self.rows) if self.rows else None

    @property
    def high(self) -> Fraction | None:
        """None where no component's weight is known."""
        return add_up(row.high or ZERO for row in self.rows) if self.rows else None


def make_landfill(
    build: BuildInput, weights: Mapping[Key, Weight], not_waste: Collection[Key] = ()
) -> Landfill:
    """Work the sheet out; ``weights`` by component."""
    salvaged: dict[Key, Fraction] = defaultdict(Fraction)
    for entry in build.sources:
        if entry.source == "salvage":
            salvaged[entry.component] += entry.usable
    shares = salvaged_shares(build, salvaged)
    losses = _losses(build, weights, shares)
    rows = []
    for part in build.components:
        scrapped = part.scrapped * shares.get(part.key, ZERO)
        low, high, is_known = losses.get(part.key, (ZERO, ZERO, True))
        if salvaged.get(part.key) or scrapped or low or high or not is_known:
            rows.append(
                LandfillRow(
                    part,
                    salvaged.get(part.key, ZERO),
                    scrapped,
                    weights.get(part.key),
                    low,
                    high,
                    is_known,
                )
            )
    counted = [row for row in rows if row.component.key not in not_waste]
    return Landfill(
        tuple(row for row in counted if row.weight is not None),
        tuple(row for row in counted if row.weight is None),
        tuple(row for row in rows if row.component.key in not_waste),
    )


def salvaged_shares(build: BuildInput, salvaged: Mapping[Key, Fraction]) -> dict[Key, Fraction]:
    """What share of each component was salvaged, followed through conversions.

    A component made of others is salvaged as far as they are. Material moved in from another
    build is counted there.
    """
    into: dict[Key, list[tuple[ConversionInput, Fraction]]] = defaultdict(list)
    for conversion in build.conversions:
        for output in conversion.outputs:
            into[output.component].append((conversion, output.made))
    parts = {part.key: part for part in build.components}
    converted = conversion_order(build.conversions)
    shares: dict[Key, Fraction] = {}
    for key in (*converted, *(key for key in parts if key not in into)):
        part = parts[key]
        made = add_up(amount for _, amount in into[key])
        total = part.received + part.moved_in + made
        own = salvaged.get(key, ZERO) + add_up(
            amount * shares[conversion.source] for conversion, amount in into[key]
        )
        shares[key] = own / total if total else ZERO
    return shares


def _losses(
    build: BuildInput, weights: Mapping[Key, Weight], shares: Mapping[Key, Fraction]
) -> dict[Key, tuple[Fraction, Fraction, bool]]:
    """Pounds that conversions of a component lost, lowest and highest, and whether all is known."""
    found: dict[Key, tuple[Fraction, Fraction, bool]] = {}
    for conversion in build.conversions:
        share = shares.get(conversion.source, ZERO)
        before = weights.get(conversion.source)
        after = [weights.get(output.component) for output in conversion.outputs]
        low, high, is_known = found.get(conversion.source, (ZERO, ZERO, True))
        if not share:
            continue
        if before is None or any(weight is None for weight in after):
            found[conversion.source] = (low, high, False)
            continue
        pairs = zip(conversion.outputs, after, strict=True)
        made = [(output.made, weight) for output, weight in pairs if weight is not None]
        lost_low = conversion.used * before.low - add_up(qty * w.low for qty, w in made)
        lost_high = conversion.used * before.high - add_up(qty * w.high for qty, w in made)
        found[conversion.source] = (
            low + max(lost_low, ZERO) * share,
            high + max(lost_high, ZERO) * share,
            is_known,
        )
    return found
