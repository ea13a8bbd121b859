"""What the next build will cost and take, from what earlier ones did.

Each earlier build is brought to today's prices and divided by its area. What the new build states a
quantity of goes by that quantity at what one cost; the rest of an element by a measure of the
shapes both are made of, else by area. Of a build that is not finished only finished elements tell
how many and how long (``how_far``); what one cost is told by all of it. The range
is what was really paid: for a component from the lowest to the highest landed cost of one, between
builds from the cheapest to the most expensive. Ends are summed, so the whole range says what it
comes to when everything goes well, or everything badly.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction

from ...calc.exact import add_up
from ...calc.geometry import Extent
from ...calc.stock import Position, conversion_order
from ...calc.types import BuildInput, Key
from .accuracy import CLASSES, EstimateClass, classes_for
from .scaling import Scaling
from .types import (
    EstimatedElement,
    EstimatedPart,
    NextBuild,
    PastBuild,
    Scale,
    Spread,
    StatedPart,
    sum_spreads,
)

ZERO, ONE = Fraction(0), Fraction(1)
# Nobody but the builder has checked the quantities, so an estimate is never called better.
BEST_CLASS = 3


def estimate(
    pasts: Sequence[PastBuild],
    wanted: Sequence[StatedPart],
    area: Fraction,
    extents: Sequence[Extent] = (),
) -> NextBuild:
    """The estimate for a build of an area (in the unit of the earlier ones' ``area``).

    ``extents``: measures of the shapes it is made of.
    """
    scaling = Scaling(pasts, extents)
    stated, unknown = _stated(wanted, _known_parts(pasts, finished_only=False))
    known = _known_parts(pasts, finished_only=True)
    taken = {_plain(one.name) for one in wanted}
    parts = (*stated, *_unstated(scaling, known, taken, area))
    whole = [past for past in pasts if not past.how_far.is_open]
    return NextBuild(
        _elements(scaling, parts, area),
        parts,
        _pooled([(_paid_labour(past) * past.factor, past.area) for past in whole or pasts], area),
        _pooled([(_hours_on(past, None), past.area) for past in whole], area),
        tuple(unknown),
        _left_out(pasts, {_plain(part.name) for part in parts}),
        _untaught(pasts),
        bool(pasts) and not whole,
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
        # (place of the build, its key there, quantity in the building, cost of one at its ends)
        self.seen: list[tuple[int, Key, Fraction, Spread]] = []

    def of_one(self) -> Spread:
        """Cost of one: likely over all of it, the ends over all builds."""
        quantity = add_up(qty for *_, qty, _ in self.seen)
        likely = add_up(qty * ends.likely for *_, qty, ends in self.seen) / quantity
        return Spread(
            min(ends.low for *_, ends in self.seen),
            likely,
            max(ends.high for *_, ends in self.seen),
        )


def _known_parts(
    pasts: Sequence[PastBuild], *, finished_only: bool
) -> dict[tuple[str, str], _Known]:
    """Components of earlier builds that are in the building at a known cost, by name and unit.

    What one cost is known before an element is finished, how many it takes is not.
    """
    found: dict[tuple[str, str], _Known] = {}
    for at, past in enumerate(pasts):
        codes = past.codes
        for row in past.sheet.components:
            position, part = row.position, row.position.component
            code = codes.get(part.element, "")
            if position.in_building <= 0 or position.cost is None:
                continue
            if finished_only and not past.how_far.tells(code):
                continue
            # What a unit in the building cost, scrap and sales counted, not only what it came in at
            one = max(ZERO, position.cost / position.in_building) * past.factor
            low, high = past.spread.get(part.key, (ONE, ONE))
            known = found.setdefault((_plain(part.name), part.unit), _Known(position, code))
            ends = Spread(one * min(low, ONE), one, one * max(high, ONE))
            known.seen.append((at, part.key, position.in_building, ends))
    return found


def _left_out(pasts: Sequence[PastBuild], known_keys: set[str]) -> tuple[str, ...]:
    """Components that earlier builds hold at a cost that is not wholly known, by name."""
    found = {
        _plain(row.position.component.name): row.position.component.name
        for past in pasts
        for row in past.sheet.components
        if row.position.in_building > 0
        and row.position.cost is None
        and past.how_far.tells(past.codes.get(row.position.component.element, ""))
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


def _unstated(
    scaling: Scaling, known: dict[tuple[str, str], _Known], taken: set[str], area: Fraction
) -> list[EstimatedPart]:
    """What the new build states nothing of: as much for a measure of its shapes, or for its area,
    as in the earlier builds together that tell of its element."""
    parts = []
    for (name, unit), part in known.items():
        if name in taken:
            continue
        telling = {at for at, *_ in part.seen}
        telling |= {at for at, past in enumerate(scaling.pasts) if past.how_far.tells(part.code)}
        place = scaling.of_part([(at, key) for at, key, *_ in part.seen], part.code)
        scale = None if place is None else scaling.scale(place, sorted(telling))
        if place is not None and scale is not None:
            there = add_up(qty for at, _, qty, _ in part.seen if scaling.has(place, at))
            quantity = there / scale.past * scale.new
        if place is None or scale is None or not quantity:
            scale = None
            built = add_up(scaling.pasts[at].area for at in telling)
            quantity = add_up(qty for *_, qty, _ in part.seen) / built * area
        parts.append(
            EstimatedPart(
                part.name,
                unit,
                part.code,
                part.key,
                quantity,
                part.of_one(),
                is_stated=False,
                builds=len(part.seen),
                scale=scale,
            )
        )
    return parts


def _elements(
    scaling: Scaling, parts: Sequence[EstimatedPart], area: Fraction
) -> tuple[EstimatedElement, ...]:
    """Elements that have parts or hours, by code."""
    names: dict[str, str] = {}
    for past in scaling.pasts:
        names = {element.code: element.name for element in past.sheet.build.elements} | names
    groups: dict[str, list[EstimatedPart]] = defaultdict(list)
    for part in parts:
        groups[part.code].append(part)
    listed = []
    for code in sorted({*names, *groups}, key=lambda code: (not code, code)):
        hours, scale = _element_hours(scaling, code, area)
        mine = groups.get(code, [])
        if not mine and hours is None:
            continue
        listed.append(
            EstimatedElement(
                code,
                names.get(code, ""),
                sum_spreads([part.cost for part in mine]),
                add_up(part.cost.likely for part in mine if part.is_stated),
                hours,
                sum(_had(past, code) for past in scaling.pasts),
                scale,
            )
        )
    return tuple(listed)


def _element_hours(
    scaling: Scaling, code: str, area: Fraction
) -> tuple[Spread | None, Scale | None]:
    """Hours of an element from builds that worked on it and tell of it, and what they grow by."""
    worked: list[tuple[int, Fraction]] = []
    for at, past in enumerate(scaling.pasts):
        keys = {element.code: element.key for element in past.sheet.build.elements}
        if code in keys and past.how_far.tells(code) and (spent := _hours_on(past, keys[code])):
            worked.append((at, spent))
    place = scaling.of_element(code)
    measured = [(at, spent) for at, spent in worked if place and scaling.has(place, at)]
    scale = scaling.scale(place, [at for at, _ in measured]) if place else None
    if place is not None and scale is not None:
        rows = [(spent, scaling.had[place][at]) for at, spent in measured]
        return _pooled(rows, scale.new), scale
    if not worked:
        return None, None
    return _pooled([(spent, scaling.pasts[at].area) for at, spent in worked], area), None


def _had(past: PastBuild, code: str) -> bool:
    """Whether a build that tells of an element has anything of it in the building."""
    codes = past.codes
    return past.how_far.tells(code) and any(
        row.position.in_building > 0 and codes.get(row.position.component.element, "") == code
        for row in past.sheet.components
    )


def _untaught(pasts: Sequence[PastBuild]) -> tuple[tuple[str, str], ...]:
    """Elements that are begun in earlier builds and finished in none, by code."""
    begun: dict[str, str] = {}
    for past in pasts:
        for element in past.sheet.build.elements:
            if element.code in past.how_far.open:
                begun.setdefault(element.code, element.name)
        if "" in past.how_far.open:
            begun.setdefault("", "")
    return tuple(
        (code, name)
        for code, name in sorted(begun.items(), key=lambda each: (not each[0], each[0]))
        if not any(past.how_far.tells(code) for past in pasts)
    )


def _paid_labour(past: PastBuild) -> Fraction:
    """What was paid for labour; of a build that is not finished only on finished elements."""
    if not past.how_far.is_open:
        return past.sheet.hours.paid_labour
    codes = past.codes
    return add_up(
        entry.paid
        for entry in past.sheet.build.labour
        if entry.task is not None
        and codes.get(past.element_of.get(entry.task), "") in past.how_far.done
    )


def _hours_on(past: PastBuild, element: Key | None) -> Fraction:
    """Hours of a build on tasks of an element; None: on none, conversions' included."""
    return add_up(
        entry.own_hours + entry.paid_hours
        for entry in past.sheet.build.labour
        if (past.element_of.get(entry.task) if entry.task is not None else None) == element
    )


def _pooled(figures: Sequence[tuple[Fraction, Fraction]], size: Fraction) -> Spread:
    """(amount, size) of each build as an amount for the new size: pooled, and the two ends."""
    if not figures:
        return Spread()
    each = [amount / had for amount, had in figures]
    pooled = add_up(amount for amount, _ in figures) / add_up(had for _, had in figures)
    return Spread(min(each), pooled, max(each)).times(size)
