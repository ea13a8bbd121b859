"""What the next build will cost and take, from what earlier ones did.

Each earlier build is brought to today's prices and divided by its area. What the new build states a
quantity of goes by that quantity at what one cost; the rest of an element by area. The range
is what was really paid: for a component from the lowest to the highest landed cost of one, between
builds from the cheapest to the most expensive. Ends are summed, so the whole range says what it
comes to when everything goes well, or everything badly.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction

from ...calc.exact import add_up
from ...calc.stock import Position, conversion_order
from ...calc.types import BuildInput, ElementInput, Key
from .accuracy import CLASSES, EstimateClass, classes_for
from .types import (
    EstimatedElement,
    EstimatedPart,
    NextBuild,
    PastBuild,
    Spread,
    StatedPart,
    sum_spreads,
)

ZERO, ONE = Fraction(0), Fraction(1)
# Nobody but the builder has checked the quantities, so an estimate is never called better.
BEST_CLASS = 3


def estimate(pasts: Sequence[PastBuild], wanted: Sequence[StatedPart], area: Fraction) -> NextBuild:
    """The estimate for a build of an area (in the unit of the earlier ones' ``area``)."""
    known = _known_parts(pasts)
    stated, unknown = _stated(wanted, known)
    taken = {_plain(one.name) for one in wanted}
    by_area = _by_area(pasts, known, taken, area)
    parts = (*stated, *by_area)
    return NextBuild(
        _elements(pasts, parts, area),
        parts,
        _per_area(
            [(past.sheet.hours.paid_labour * past.factor, past.area) for past in pasts],
            area,
        ),
        _per_area([(_hours_on(past, None), past.area) for past in pasts], area),
        tuple(unknown),
        _left_out(pasts, {_plain(part.name) for part in parts}),
    )


def estimate_class(defined: Fraction | None) -> EstimateClass:
    """The class such an estimate deserves: the roughest that fits, never better than 3."""
    found = classes_for(defined or ZERO)
    number = max(BEST_CLASS, *(row.number for row in found)) if found else 5
    return CLASSES[number]


def spread_of(
    build: BuildInput,
    positions: Iterable[Position],
    paid: dict[Key, tuple[Fraction, Fraction]],
) -> dict[Key, tuple[Fraction, Fraction]]:
    """Lowest and highest cost of one of each component as shares of its average.

    ``paid``: lowest and highest landed cost of one usable unit over its received lines. What was
    made of other components varies as they do, by their share of its cost; what was moved in
    does not vary.
    """
    position_of = {position.component.key: position for position in positions}
    into: dict[Key, list[tuple[Key, Fraction]]] = defaultdict(list)
    for conversion in build.conversions:
        source = position_of[conversion.source]
        cost = conversion.used * (source.average or ZERO)
        made = add_up(output.made for output in conversion.outputs)
        for output in conversion.outputs:
            share = output.made / made if made else ZERO
            into[output.component].append((conversion.source, cost * share))
    found: dict[Key, tuple[Fraction, Fraction]] = {}
    order = conversion_order(build.conversions)
    for key in (*order, *(key for key in position_of if key not in set(order))):
        part, average = position_of[key].component, position_of[key].average
        if not average:
            found[key] = (ONE, ONE)
            continue
        own = part.received_cost / part.received if part.received else ZERO
        low, high = paid.get(key, (own, own))
        bought = (low / own, high / own) if own else (ONE, ONE)
        shares = [(part.received_cost, bought), (part.moved_in_cost, (ONE, ONE))]
        shares += [(cost, found[source]) for source, cost in into[key]]
        whole = add_up(cost for cost, _ in shares)
        found[key] = (
            add_up(cost * ends[0] for cost, ends in shares) / whole if whole else ONE,
            add_up(cost * ends[1] for cost, ends in shares) / whole if whole else ONE,
        )
    return found


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


class _Known:
    """What earlier builds tell of one component: name, unit and each build's figures."""

    def __init__(self, position: Position, code: str):
        self.name, self.unit = position.component.name, position.component.unit
        self.key, self.code = position.component.key, code
        # (past, quantity in the building, cost of one at its ends)
        self.seen: list[tuple[PastBuild, Fraction, Spread]] = []

    def of_one(self) -> Spread:
        """Cost of one: likely over all of it, the ends over all builds."""
        quantity = add_up(qty for _, qty, _ in self.seen)
        likely = add_up(qty * ends.likely for _, qty, ends in self.seen) / quantity
        return Spread(
            min(ends.low for *_, ends in self.seen),
            likely,
            max(ends.high for *_, ends in self.seen),
        )


def _known_parts(pasts: Sequence[PastBuild]) -> dict[tuple[str, str], _Known]:
    """Components of earlier builds that are in the building at a known cost, by name and unit."""
    found: dict[tuple[str, str], _Known] = {}
    for past in pasts:
        codes = {element.key: element.code for element in past.sheet.build.elements}
        for row in past.sheet.components:
            position, part = row.position, row.position.component
            if position.in_building <= 0 or position.cost is None:
                continue
            # What a unit in the building cost, scrap and sales counted, not only what it came in at
            one = max(ZERO, position.cost / position.in_building) * past.factor
            low, high = past.spread.get(part.key, (ONE, ONE))
            code = codes.get(part.element, "") if part.element is not None else ""
            known = found.setdefault((_plain(part.name), part.unit), _Known(position, code))
            ends = Spread(one * min(low, ONE), one, one * max(high, ONE))
            known.seen.append((past, position.in_building, ends))
    return found


def _left_out(pasts: Sequence[PastBuild], known_keys: set[str]) -> tuple[str, ...]:
    """Components that earlier builds hold at a cost that is not wholly known, by name."""
    found = {
        _plain(row.position.component.name): row.position.component.name
        for past in pasts
        for row in past.sheet.components
        if row.position.in_building > 0 and row.position.cost is None
    }
    return tuple(sorted(name for key, name in found.items() if key not in known_keys))


def _stated(
    wanted: Sequence[StatedPart], known: dict[tuple[str, str], _Known]
) -> tuple[list[EstimatedPart], list[StatedPart]]:
    """Parts of stated quantities at what one cost, else new; and those without any price."""
    parts, unknown = [], []
    for one in wanted:
        known_part = known.get((_plain(one.name), one.unit))
        if known_part is not None:
            of_one, builds, key = known_part.of_one(), len(known_part.seen), known_part.key
        elif one.new_cost is not None:
            of_one, builds, key = Spread(one.new_cost, one.new_cost, one.new_cost), 0, None
        else:
            unknown.append(one)
            continue
        parts.append(
            EstimatedPart(
                one.name,
                one.unit,
                one.code,
                key,
                one.quantity,
                of_one,
                not one.is_borrowed,
                builds,
                one.is_borrowed,
            )
        )
    return parts, unknown


def _by_area(
    pasts: Sequence[PastBuild],
    known: dict[tuple[str, str], _Known],
    taken: set[str],
    area: Fraction,
) -> list[EstimatedPart]:
    """What the new build states nothing of: as much per area as in all earlier builds together."""
    built = add_up(past.area for past in pasts)
    parts = []
    for (name, unit), part in known.items():
        if name in taken:
            continue
        quantity = add_up(qty for _, qty, _ in part.seen) / built * area
        parts.append(
            EstimatedPart(
                part.name, unit, part.code, part.key, quantity, part.of_one(), False, len(part.seen)
            )
        )
    return parts


def _elements(
    pasts: Sequence[PastBuild], parts: Sequence[EstimatedPart], area: Fraction
) -> tuple[EstimatedElement, ...]:
    """Elements that have parts or hours, by code."""
    names: dict[str, str] = {}
    homes: list[tuple[PastBuild, dict[str, ElementInput]]] = []
    for past in pasts:
        by_code = {element.code: element for element in past.sheet.build.elements}
        names = {code: element.name for code, element in by_code.items()} | names
        homes.append((past, by_code))
    groups: dict[str, list[EstimatedPart]] = defaultdict(list)
    for part in parts:
        groups[part.code].append(part)
    listed = []
    for code in sorted({*names, *groups}, key=lambda code: (not code, code)):
        hours = [
            (_hours_on(past, by_code[code].key), past.area)
            for past, by_code in homes
            if code in by_code and _hours_on(past, by_code[code].key)
        ]
        mine = groups.get(code, [])
        if not mine and not hours:
            continue
        listed.append(
            EstimatedElement(
                code,
                names.get(code, ""),
                sum_spreads([part.cost for part in mine]),
                add_up(part.cost.likely for part in mine if part.is_stated),
                _per_area(hours, area) if hours else None,
                sum(_had(past, code) for past in pasts),
            )
        )
    return tuple(listed)


def _had(past: PastBuild, code: str) -> bool:
    """Whether a build has anything of an element in the building."""
    codes = {element.key: element.code for element in past.sheet.build.elements}
    return any(
        row.position.in_building > 0 and codes.get(row.position.component.element, "") == code
        for row in past.sheet.components
    )


def _hours_on(past: PastBuild, element: Key | None) -> Fraction:
    """Hours of a build on tasks of an element; None: on none, conversions' included."""
    return add_up(
        entry.own_hours + entry.paid_hours
        for entry in past.sheet.build.labour
        if (past.element_of.get(entry.task) if entry.task is not None else None) == element
    )


def _per_area(figures: Sequence[tuple[Fraction, Fraction]], area: Fraction) -> Spread:
    """(amount, area) of each build as an amount for the new area: pooled, and the two ends."""
    if not figures:
        return Spread()
    each = [amount / size for amount, size in figures]
    pooled = add_up(amount for amount, _ in figures) / add_up(size for _, size in figures)
    return Spread(min(each), pooled, max(each)).times(area)
