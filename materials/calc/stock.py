"""Where material is and what it cost: averages, conversions, what is in the building.

Averages are weighted over the build to date, so the order of entry does not matter.
Conversions are resolved in dependency order of components; a circle is refused by name.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from graphlib import CycleError, TopologicalSorter

from .exact import add_up
from .types import FATES, ComponentInput, ConversionInput, Key, OutputInput

ZERO = Fraction(0)


class ConversionCircle(ValueError):
    """Conversions that lead back to where they began; ``keys`` are the components in order."""

    def __init__(self, keys: Sequence[Key], names: Mapping[Key, str] | None = None):
        self.keys = tuple(keys)
        shown = " → ".join((names or {}).get(key, str(key)) for key in keys)
        super().__init__(
            f"These conversions go in a circle ({shown}), so no cost can be worked out: "
            "make the last piece its own component."
        )


# Without slots: what is derived here is asked for many times a report and kept.
@dataclass(frozen=True)
class Position:
    """Quantities and exact money of one component, in its base unit.

    ``average``: landed cost of one usable base unit; None when nothing usable came in or a
    price is not known. ``known_average``: the part of it that is known, such as the haulage of
    what has no price; it goes wherever the material goes. ``cost``: money in the building, None
    when not wholly known. ``known_money``: the part of it that is known.
    """

    component: ComponentInput
    converted_in: Fraction
    converted_in_cost: Fraction
    converted_out: Fraction
    converted_out_cost: Fraction
    known_average: Fraction
    is_cost_known: bool

    @cached_property
    def average(self) -> Fraction | None:
        """Landed cost of one usable base unit, or None."""
        return self.known_average if self.is_cost_known and self.came_in > 0 else None

    @cached_property
    def came_in(self) -> Fraction:
        """Usable received + converted in + moved in."""
        return self.component.received + self.converted_in + self.component.moved_in

    @cached_property
    def left_over(self) -> Fraction:
        """Everything that did not go into the building, on hand included."""
        left = (getattr(self.component, fate) for fate in FATES)
        return sum(left, self.component.moved_out)

    @property
    def moved(self) -> Fraction:
        """All that left for other builds."""
        return self.component.moved + self.component.moved_out

    @property
    def value_moved(self) -> Fraction | None:
        """Value of that: as fixed when it was moved, the rest at the average."""
        value = self.value_of(self.component.moved)
        return None if value is None else value + self.component.moved_out_cost

    @cached_property
    def in_building(self) -> Fraction:
        """Quantity built in."""
        return self.came_in - self.converted_out - self.left_over

    @property
    def usable_on_site(self) -> Fraction:
        """Built in or on hand: what still serves this build."""
        return self.in_building + self.component.on_hand

    def value_of(self, quantity: Fraction) -> Fraction | None:
        """Value of a quantity at the average; 0 for none, None when not known."""
        if not quantity:
            return ZERO
        return None if self.average is None else quantity * self.average

    @cached_property
    def known_money(self) -> Fraction:
        """Money in the building as far as it is known."""
        part = self.component
        return (
            part.received_cost
            + self.converted_in_cost
            + part.moved_in_cost
            - self.converted_out_cost
            - (part.on_hand + part.moved) * self.known_average
            - part.moved_out_cost
            - part.proceeds
        )

    @property
    def cost(self) -> Fraction | None:
        """Material cost in the building, or None when some of it is not known."""
        return self.known_money if self.is_cost_known else None

    @cached_property
    def still_needed(self) -> Fraction | None:
        """Required with waste, less what is on site or ordered; None when nothing is stated."""
        part = self.component
        if part.wanted is None:
            return None
        return max(ZERO, part.wanted - self.usable_on_site - part.ordered)


def spare_of(position: Position) -> Fraction:
    """What is on hand beyond what the build needs, to be worked up.

    All that is on hand where no requirement is stated.
    """
    part = position.component
    if part.wanted is None:
        return part.on_hand
    beyond = position.usable_on_site + part.ordered - part.wanted
    return max(ZERO, min(part.on_hand, beyond))


def conversion_order(conversions: Iterable[ConversionInput]) -> list[Key]:
    """Components touched by conversions, inputs before outputs.

    Raises ConversionCircle when there is no such order.
    """
    graph: dict[Key, set[Key]] = defaultdict(set)
    for conversion in conversions:
        graph.setdefault(conversion.source, set())
        for output in conversion.outputs:
            graph[output.component].add(conversion.source)
    try:
        return list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        raise ConversionCircle(error.args[1]) from None


def output_shares(outputs: Sequence[OutputInput]) -> list[Fraction]:
    """Shares (sum 1) of a conversion's cost: by retail value, else by base quantity.

    With no quantity made at all the outputs share equally.
    """
    values = [output.retail_value for output in outputs]
    known = [value for value in values if value is not None]
    weights = known if len(known) == len(values) and any(known) else [o.made for o in outputs]
    whole = sum(weights, ZERO)
    if not whole:
        return [Fraction(1, len(outputs))] * len(outputs)
    return [weight / whole for weight in weights]


def _by_output(
    conversion: ConversionInput,
) -> Iterable[tuple[OutputInput, Fraction, Fraction]]:
    """Each output with its part of the quantity used and of the extra cost."""
    used, extra = conversion.used, conversion.extra_cost
    if len(conversion.outputs) == 1:
        return [(conversion.outputs[0], used, extra)]
    shares = zip(conversion.outputs, output_shares(conversion.outputs), strict=True)
    return [(output, used * share, extra * share) for output, share in shares]


def work_out_positions(
    components: Sequence[ComponentInput], conversions: Sequence[ConversionInput]
) -> dict[Key, Position]:
    """Position of every component, keyed and ordered as given.

    Raises ConversionCircle (with names) when conversions form a circle.
    """
    names = {part.key: part.name for part in components}
    by_key = {part.key: part for part in components}
    try:
        order = conversion_order(conversions)
    except ConversionCircle as circle:
        raise ConversionCircle(circle.keys, names) from None
    by_source: dict[Key, list[ConversionInput]] = defaultdict(list)
    for conversion in conversions:
        by_source[conversion.source].append(conversion)
    # Kept one by one and added up at once: far quicker, and as exact.
    made: dict[Key, list[Fraction]] = defaultdict(list)
    made_cost: dict[Key, list[Fraction]] = defaultdict(list)
    tainted: set[Key] = {
        part.key for part in components if part.unknown_lines or part.unknown_transfers
    }
    positions: dict[Key, Position] = {}
    touched = set(order)
    for key in [*order, *(part.key for part in components if part.key not in touched)]:
        part = by_key[key]
        converted_in, converted_in_cost = add_up(made[key]), add_up(made_cost[key])
        came_in = part.received + converted_in + part.moved_in
        money = part.received_cost + converted_in_cost + part.moved_in_cost
        known = key not in tainted
        average = money / came_in if came_in > 0 else ZERO
        # What of it stands behind each output is valued once, however many conversions made it.
        behind: dict[Key, Fraction] = {}
        for conversion in by_source[key]:
            for output, part_used, part_extra in _by_output(conversion):
                made[output.component].append(output.made)
                available = behind.get(output.component)
                behind[output.component] = part_used if available is None else available + part_used
                if part_extra:
                    made_cost[output.component].append(part_extra)
                if conversion.used and not (known and came_in > 0):
                    tainted.add(output.component)
        used = add_up(conversion.used for conversion in by_source[key])
        if average:
            for output_key, quantity in behind.items():
                made_cost[output_key].append(quantity * average)
        positions[key] = Position(
            part, converted_in, converted_in_cost, used, used * average, average, known
        )
    return {part.key: positions[part.key] for part in components}
