"""What can be made of what: learned from the conversions of a build, and stated."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from django.db.models import QuerySet

from ..calc.money import minor_units, round_half_up
from ..calc.quantities import QuantityError, format_quantity
from ..calc.shopping import even_step, is_counted, serving, step_of
from ..calc.supply.types import Made, Recipe
from ..calc.types import Key
from ..calc.ways import Done, Way, code_of, leading_to, learn, state, without_circles
from ..models import Build, Component, Conversion, WayToMake
from .quantities import base_quantity, base_unit
from .stock import list_conversions

ZERO = Fraction(0)
# So many ways are offered where something is worked up; the page of ways has all.
MOST_GIVEN = 4


@dataclass(frozen=True)
class KnownWay:
    """A way with the components it is about.

    ``record``: where it is stated. ``learned``: beside one that is stated, how it came out.
    ``wanted``: still needed of what it makes, where it makes one thing by measure.
    """

    way: Way
    source: Component
    makes: tuple[Component, ...]
    record: WayToMake | None = None
    learned: Way | None = None
    wanted: Fraction = ZERO

    @property
    def code(self) -> str:
        """What it is called in forms."""
        return self.way.key

    def is_whole(self, place: int) -> bool:
        """Whether only whole ones of what it makes serve."""
        return is_counted(self.makes[place].unit)

    @property
    def step(self) -> Fraction:
        """How much of the source is worked up at a time: a whole one of what is counted.

        Of what is measured so much that a whole number of steps makes what is wanted and no more.
        """
        if is_counted(self.source.unit):
            return Fraction(1)
        step, much = step_of(self.way.used), self.wanted / self.way.makes[0].quantity
        return even_step(much, step) if much else step

    def making(self, wanted: Mapping[Key, Fraction]) -> "KnownWay":
        """The same way where so much of each component is still needed."""
        if len(self.makes) > 1 or self.is_whole(0):
            return self
        return replace(self, wanted=wanted.get(self.makes[0].pk, ZERO))

    def as_recipe(self) -> Recipe:
        """One step of it, to plan with. Hours and extra cost that are not known count as none:
        who plans with it has to say so."""
        way, step = self.way, self.step
        return Recipe(
            key=way.key,
            source=way.source,
            uses=step,
            makes=tuple(
                Made(out.component, out.quantity * step, self.is_whole(place))
                for place, out in enumerate(way.makes)
            ),
            extra=(way.extra or ZERO) * step,
            hours=(way.hours or ZERO) * step,
        )

    @property
    def unknown(self) -> tuple[str, ...]:
        """What is not known of it, in words."""
        known = (("hours", self.way.hours), ("extra cost", self.way.extra))
        return tuple(word for word, value in known if value is None)


@dataclass(frozen=True)
class LeftOutWay:
    """A stated way that cannot be used, and why."""

    record: WayToMake
    why: str


@dataclass(frozen=True)
class KnownWays:
    """All ways of a build, by source; ``left_out``: stated ones that cannot be used."""

    ways: tuple[KnownWay, ...] = ()
    left_out: tuple[LeftOutWay, ...] = ()

    def making(self, wanted: Mapping[Key, Fraction]) -> "KnownWays":
        """The same ways where so much of each component is still needed."""
        return replace(self, ways=tuple(known.making(wanted) for known in self.ways))

    def leading_to(self, wanted: Iterable[Key]) -> tuple[KnownWay, ...]:
        """Those that make something wanted, or something another of them works up."""
        kept = {way.key for way in leading_to(wanted, [known.way for known in self.ways])}
        return tuple(known for known in self.ways if known.code in kept)

    def of(self, component: Key) -> tuple[KnownWay, ...]:
        """Those that work a component up."""
        return tuple(known for known in self.ways if known.way.source == component)

    def into(self, component: Key) -> tuple[KnownWay, ...]:
        """Those that make a component."""
        return tuple(
            known for known in self.ways if any(part.pk == component for part in known.makes)
        )


@dataclass(frozen=True)
class Given:
    """What so much of a source gives by a way, as it would be typed.

    ``hours`` and ``extra`` are of all of it, None where they are not known.
    """

    known: KnownWay
    used: Fraction
    rows: tuple[tuple[Component, str], ...]
    hours: Decimal | None
    extra: Decimal | None

    @property
    def asked(self) -> str:
        """The way and how much is used, as a form names them."""
        return f"{self.known.code} {format_quantity(self.used, base_unit(self.known.source))}"

    @property
    def text(self) -> str:
        """All that it gives, in words."""
        return " and ".join(f"{text} {part.name}" for part, text in self.rows)


def given_by(known: KnownWay, quantity: Fraction, currency: str) -> Given | None:
    """What so much of its source gives; None where it is less than one whole thing."""
    rows = []
    for place, (out, part) in enumerate(zip(known.way.makes, known.makes, strict=True)):
        made = serving(out.quantity * quantity, known.is_whole(place))
        if rounded := round_half_up(made, 3):
            rows.append((part, format_quantity(rounded, base_unit(part))))
    way, places = known.way, minor_units(currency)
    hours = None if way.hours is None else round_half_up(way.hours * quantity, 2)
    extra = None if way.extra is None else round_half_up(way.extra * quantity, places)
    return Given(known, quantity, tuple(rows), hours, extra) if rows else None


def list_given(
    ways: KnownWays, component: Component, quantity: Fraction, currency: str
) -> list[Given]:
    """What so much of a component gives by each way that is known, at most ``MOST_GIVEN``."""
    known = ways.of(component.pk)[:MOST_GIVEN] if component.pk is not None else ()
    return [given for one in known if (given := given_by(one, quantity, currency)) is not None]


def list_stated_ways(build: Build) -> QuerySet[WayToMake]:
    """Stated ways, with their components."""
    return WayToMake.objects.filter(build=build).select_related("source", "component")


def get_known_ways(build: Build) -> KnownWays:
    """All ways of a build, in a fixed number of queries."""
    learned = _learned(list_conversions(build).order_by("pk"))
    known: dict[str, KnownWay] = {one.code: one for one in learned}
    left_out: list[LeftOutWay] = []
    for record in list_stated_ways(build):
        try:
            way = way_of(record)
        except QuantityError as error:
            left_out.append(LeftOutWay(record, str(error)))
            continue
        so_far = known.get(way.key)
        known[way.key] = KnownWay(
            way, record.source, (record.component,), record, so_far.way if so_far else None
        )
    kept, circles = without_circles([one.way for one in known.values()])
    for way in circles:
        closing = known[way.key].record
        # Only what is stated can close one.
        if closing is not None:
            left_out.append(LeftOutWay(closing, "It leads back to what it is made from."))
    found = [known[way.key] for way in kept]
    found.sort(key=lambda one: (one.source.name.casefold(), [p.name.casefold() for p in one.makes]))
    return KnownWays(tuple(found), tuple(left_out))


def way_of(record: WayToMake) -> Way:
    """A stated way, worked out. Raises QuantityError where a quantity no longer converts."""
    return state(
        record.source_id,
        record.component_id,
        Fraction(base_quantity(record.used_text, record.source)),
        Fraction(base_quantity(record.made_text, record.component)),
        None if record.lost_percent is None else Fraction(record.lost_percent) / 100,
        _known(record.hours_each),
        _known(record.extra_each),
    )


def _known(value: Decimal | None) -> Fraction | None:
    return None if value is None else Fraction(value)


def _learned(conversions: QuerySet[Conversion]) -> list[KnownWay]:
    """One way for each pair of source and outputs, with all its conversions together."""
    groups: dict[str, list[Conversion]] = defaultdict(list)
    for conversion in conversions:
        made = {output.component_id for output in conversion.outputs.all()}
        groups[code_of(conversion.source_id, made)].append(conversion)
    return [_learn(done) for done in groups.values()]


def _learn(conversions: list[Conversion]) -> KnownWay:
    parts: dict[int, Component] = {}
    done = []
    for conversion in conversions:
        made: dict[Key, Fraction] = defaultdict(Fraction)
        for output in conversion.outputs.all():
            made[output.component_id] += Fraction(output.made_qty)
            parts.setdefault(output.component_id, output.component)
        used, extra = Fraction(conversion.used_qty), Fraction(conversion.extra_cost_amount)
        done.append(Done(used, dict(made), extra, Fraction(conversion.hours)))
    way = learn(conversions[0].source_id, done)
    makes = tuple(parts[int(str(out.component))] for out in way.makes)
    return KnownWay(way, conversions[0].source, makes)
