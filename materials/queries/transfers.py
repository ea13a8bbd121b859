"""Reading transfers between builds, each as one of its two builds sees it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.contrib.auth.models import User
from django.db.models import Case, F, Q, QuerySet, Value, When

from ..access import list_builds
from ..calc.money import minor_units
from ..calc.quantities import QuantityError, format_quantity
from ..calc.stock import Position, work_out_positions
from ..calc.transfers import arriving, value_moved
from ..models import Build, Component, Move
from .quantities import base_quantity, base_unit, contents_of, parsed, stored
from .records import find_named
from .reports import get_build_input
from .stock import with_positions

# What a build is called to those who may not know of it.
ANOTHER = "another build"


def list_transfers(build: Build, user: User | None = None) -> QuerySet[Move]:
    """Transfers out of and into a build, newest first, with this build's side of each.

    ``is_out``, ``part_id``, ``part_name``, ``part_unit``, ``text``, ``qty``: the side of this
    build. ``other``: name of the other build where ``user`` may see it.
    """
    seen = Build.objects.none() if user is None else list_builds(user)
    out = Q(component__build=build)

    def side(own: str, far: str) -> Case:
        return Case(When(out, then=F(own)), default=F(far))

    return Move.objects.filter(out | Q(to_component__build=build)).annotate(
        is_out=Case(When(out, then=Value(True)), default=Value(False)),
        part_id=side("component_id", "to_component_id"),
        part_name=side("component__name", "to_component__name"),
        part_unit=side("component__unit", "to_component__unit"),
        text=side("quantity_text", "to_text"),
        qty=side("base_qty", "to_qty"),
        other=Case(
            When(out & Q(to_component__build__in=seen), then=F("to_component__build__name")),
            When(~out & Q(component__build__in=seen), then=F("component__build__name")),
            When(~Q(elsewhere=""), then=F("elsewhere")),
            default=Value(ANOTHER),
        ),
    )


def get_transfer(build: Build, pk: int, user: User) -> Move:
    """One transfer of the build with both its components. Raises Move.DoesNotExist."""
    return (
        list_transfers(build, user)
        .select_related("component__build", "to_component__build", "moved_by")
        .get(pk=pk)
    )


def builds_of(transfer: Move) -> list[Build]:
    """The builds of a transfer that are kept here: one or two, by key."""
    sides = [side.build for side in (transfer.component, transfer.to_component) if side is not None]
    return sorted(sides, key=lambda build: build.pk)


def position_of(component: Component, on: date) -> Position:
    """Where a component is and what it cost, worked out from its whole build."""
    given = get_build_input(component.build, on)
    return work_out_positions(given.components, given.conversions)[component.pk]


def value_now(transfer: Move) -> Decimal | None:
    """What a transfer out would be worth at the average as it is now; None when not known."""
    assert transfer.component is not None
    assert transfer.base_qty is not None
    average = position_of(transfer.component, transfer.moved_on).average
    places = minor_units(transfer.component.build.currency)
    return value_moved(Fraction(transfer.base_qty), average, places)


def list_surplus(build: Build, on: date) -> list[tuple[Component, Position]]:
    """Components there is something of, built in or on hand, with their positions."""
    given = get_build_input(build, on)
    found = with_positions(build, work_out_positions(given.components, given.conversions))
    return [(component, position) for component, position in found if position.usable_on_site > 0]


def arrives_as(text: str, component: Component, to_component: Component) -> tuple[str, Fraction]:
    """A quantity typed where it leaves, as a text and a quantity where it arrives.

    The text reads back to that quantity with the contents of the receiving component alone, so
    that each side can be worked out again by itself. Raises QuantityError.
    """
    unit = base_unit(to_component)
    exact = arriving(parsed(text), contents_of(component), unit, contents_of(to_component))
    qty = stored(exact)
    if qty <= 0:
        raise QuantityError(
            f"“{text.strip()}” comes to nothing in {unit.plural}: give a larger quantity."
        )
    try:
        reads_back = base_quantity(text, to_component) == qty
    except QuantityError:
        reads_back = False
    return text.strip() if reads_back else format_quantity(qty, unit), Fraction(qty)


@dataclass(frozen=True)
class TransferPreview:
    """What a transfer would come to. ``available``: what it could be taken from; None: not known.

    ``arrives_at`` is the name of the component over there, which ``is_made`` for it if need be.
    """

    leaving: Fraction
    available: Fraction
    average: Fraction | None
    value: Decimal | None
    arriving: Fraction
    arriving_unit: str
    arrives_at: str
    is_made: bool

    @property
    def is_too_much(self) -> bool:
        """More than there is to take."""
        return self.leaving > self.available


def preview_transfer(
    component: Component,
    text: str,
    to_build: Build,
    to_component: Component | None,
    was_on_hand: bool,
    on: date,
) -> TransferPreview:
    """Work an unsaved transfer out. Raises QuantityError."""
    position = position_of(component, on)
    found = to_component or find_named(Component, to_build, component.name)
    leaving = Fraction(base_quantity(text, component))
    value = value_moved(leaving, position.average, minor_units(component.build.currency))
    arrives_at = found or component
    _, quantity = arrives_as(text, component, arrives_at)
    return TransferPreview(
        leaving=leaving,
        available=position.component.on_hand if was_on_hand else position.in_building,
        average=position.average,
        value=value,
        arriving=quantity,
        arriving_unit=arrives_at.unit,
        arrives_at=arrives_at.name,
        is_made=found is None,
    )
