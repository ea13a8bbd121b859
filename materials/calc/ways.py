"""What can be made of what: learned from conversions that were logged, or stated.

Quantities are in base units of their component, and all of a way is for one base unit of its
source, so that ways follow each other by multiplying. A figure that nobody knows is None.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from fractions import Fraction

from .shopping import serving
from .stock import ConversionCircle, conversion_order, output_shares
from .types import ConversionInput, Key, OutputInput

ZERO = Fraction(0)
# Ways that join and part again lead to more places than anybody reads; the nearest count.
MOST_LED = 200


@dataclass(frozen=True, slots=True)
class Done:
    """One conversion that was logged: money and hours of all of it."""

    used: Fraction
    made: Mapping[Key, Fraction]
    extra: Fraction
    hours: Fraction


@dataclass(frozen=True, slots=True)
class Spread:
    """Lowest and highest of what several conversions came to, and how many they were."""

    low: Fraction
    high: Fraction
    count: int

    @property
    def is_wide(self) -> bool:
        """Whether they differ."""
        return self.low != self.high


@dataclass(frozen=True, slots=True)
class Yielded:
    """What one of the source gives of a component, after losses; ``spread`` of the conversions."""

    component: Key
    quantity: Fraction
    spread: Spread | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """One base unit of ``source``, worked up.

    ``extra`` money and ``hours`` are for that one unit, None where they are not known. The
    spreads are for one thing made, where one kind of thing is. ``lost``: share of what is made
    that does not serve, as stated. ``count``: conversions it was learned from, 0 for one that is
    stated; ``used``: what they used, or what it is stated for.
    """

    key: str
    source: Key
    makes: tuple[Yielded, ...]
    extra: Fraction | None
    hours: Fraction | None
    count: int = 0
    used: Fraction = ZERO
    lost: Fraction | None = None
    extra_spread: Spread | None = None
    hours_spread: Spread | None = None

    @property
    def is_stated(self) -> bool:
        """Whether somebody stated it."""
        return not self.count

    def each(self, amount: Fraction | None) -> Fraction | None:
        """An amount for one of the source as one for each thing made, where one kind is."""
        if amount is None or len(self.makes) != 1:
            return None
        return amount / self.makes[0].quantity

    def cost_of_each(
        self, one: Fraction | None, retail: Mapping[Key, Fraction | None]
    ) -> dict[Key, Fraction | None]:
        """What one of each thing made costs, where one of the source costs ``one``.

        All of it goes to what is made, as for conversions: by ``retail`` value (of one new),
        else by quantity. None where a price or the extra cost is not known.
        """
        return self._of_each(one, self.extra, retail)

    def hours_of_each(
        self, one: Fraction | None, retail: Mapping[Key, Fraction | None]
    ) -> dict[Key, Fraction | None]:
        """Hours that one of each thing made took, where one of the source took ``one``."""
        return self._of_each(one, self.hours, retail)

    def _of_each(
        self, one: Fraction | None, more: Fraction | None, retail: Mapping[Key, Fraction | None]
    ) -> dict[Key, Fraction | None]:
        if one is None or more is None:
            return {out.component: None for out in self.makes}
        shares = output_shares(
            [
                OutputInput(out.component, out.quantity, worth(retail.get(out.component), out))
                for out in self.makes
            ]
        )
        whole = one + more
        return {
            out.component: whole * share / out.quantity
            for out, share in zip(self.makes, shares, strict=True)
        }


def worth(retail: Fraction | None, out: Yielded) -> Fraction | None:
    """What the quantity made is worth new."""
    return None if retail is None else retail * out.quantity


def code_of(source: Key, outputs: Iterable[Key]) -> str:
    """What a way is called in forms: its source and all that it makes."""
    return f"{source}-{'+'.join(sorted(map(str, outputs), key=lambda text: (len(text), text)))}"


def learn(source: Key, done: Sequence[Done]) -> Way:
    """The way that conversions of one source into the same things have shown, all together.

    Hours that nobody logged (0) are not known: those of the others count for the yield of theirs.
    """
    used = sum((one.used for one in done), ZERO)
    made: dict[Key, Fraction] = defaultdict(Fraction)
    for one in done:
        for key, quantity in one.made.items():
            made[key] += quantity
    timed = [one for one in done if one.hours > 0]
    time_used = sum((one.used for one in timed), ZERO)
    is_single = len(made) == 1
    return Way(
        key=code_of(source, made),
        source=source,
        makes=tuple(
            Yielded(key, quantity / used, _spread(one.made[key] / one.used for one in done))
            for key, quantity in made.items()
        ),
        extra=sum((one.extra for one in done), ZERO) / used,
        hours=sum((one.hours for one in timed), ZERO) / time_used if timed else None,
        count=len(done),
        used=used,
        extra_spread=_spread(one.extra / _all_made(one) for one in done) if is_single else None,
        hours_spread=_spread(one.hours / _all_made(one) for one in timed)
        if is_single and timed
        else None,
    )


def _all_made(done: Done) -> Fraction:
    return sum(done.made.values(), ZERO)


def _spread(values: Iterable[Fraction]) -> Spread:
    found = list(values)
    return Spread(min(found), max(found), len(found))


def state(
    source: Key,
    component: Key,
    used: Fraction,
    made: Fraction,
    lost: Fraction | None,
    hours_each: Fraction | None,
    extra_each: Fraction | None,
) -> Way:
    """A way as it is stated: ``used`` of the source makes ``made``, of which a share is lost.

    Hours and extra cost are for each one made, lost ones too.
    """
    per_one = made / used
    return Way(
        key=code_of(source, [component]),
        source=source,
        makes=(Yielded(component, per_one * (1 - (lost or ZERO))),),
        used=used,
        extra=None if extra_each is None else extra_each * per_one,
        hours=None if hours_each is None else hours_each * per_one,
        lost=lost,
    )


@dataclass(frozen=True, slots=True)
class Led:
    """What a source leads to by one way after another: ``path``, the last of which makes it.

    ``one``: cost of one, ``hours`` to make one; None where not known. ``quantity``: what all of
    the source gives.
    """

    path: tuple[Way, ...]
    component: Key
    one: Fraction | None
    hours: Fraction | None
    quantity: Fraction


def follow(
    ways: Sequence[Way],
    source: Key,
    quantity: Fraction,
    one: Fraction | None,
    retail: Mapping[Key, Fraction | None],
    counted: Set[Key],
) -> tuple[Led, ...]:
    """All that so much of a source can be made into, what is made first coming first.

    ``MOST_LED`` at most: what takes the fewest ways is kept.
    ``one``: cost of one of it. Of what is ``counted`` only whole ones are made.
    """
    found: list[Led] = []
    waiting = [Led((), source, one, ZERO, quantity)]
    while waiting and len(found) < MOST_LED:
        here = waiting.pop(0)
        for way in ways:
            if way.source != here.component or way in here.path:
                continue
            each = way.cost_of_each(here.one, retail)
            for out in way.makes:
                got = out.quantity * here.quantity
                whole = serving(got, out.component in counted)
                hours = way.hours_of_each(here.hours, retail)[out.component]
                led = Led((*here.path, way), out.component, each[out.component], hours, whole)
                found.append(led)
                waiting.append(led)
    return tuple(found[:MOST_LED])


def without_circles(ways: Sequence[Way]) -> tuple[tuple[Way, ...], tuple[Way, ...]]:
    """The ways that can follow each other, and those that would lead back to their beginning.

    Learned ones come first: conversions that were logged form no circle.
    """
    kept: list[Way] = []
    dropped: list[Way] = []
    for way in sorted(ways, key=lambda way: way.is_stated):
        try:
            conversion_order([_as_conversion(one) for one in (*kept, way)])
        except ConversionCircle:
            dropped.append(way)
        else:
            kept.append(way)
    order = {way.key: place for place, way in enumerate(ways)}
    return tuple(sorted(kept, key=lambda way: order[way.key])), tuple(dropped)


def _as_conversion(way: Way) -> ConversionInput:
    return ConversionInput(
        way.source,
        Fraction(1),
        tuple(OutputInput(out.component, out.quantity) for out in way.makes),
    )


def leading_to(wanted: Iterable[Key], ways: Sequence[Way]) -> tuple[Way, ...]:
    """Those that make something wanted, or something another of them works up."""
    serves = set(wanted)
    kept: set[str] = set()
    while True:
        more = {
            way.key
            for way in ways
            if way.key not in kept and any(out.component in serves for out in way.makes)
        }
        if not more:
            return tuple(way for way in ways if way.key in kept)
        kept |= more
        serves |= {way.source for way in ways if way.key in more}
