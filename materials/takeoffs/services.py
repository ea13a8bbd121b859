"""Writing takeoffs, and giving their figures to requirements and areas."""

from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.quantities import QuantityError, convert, format_quantity, parse_contents
from ..calc.units import Dimension, find_unit
from ..models import Build, BuildArea, Component, Takeoff, TakeoffUse
from ..queries.quantities import base_unit, exact_base, parsed, stored
from ..services.components import save_component
from ..services.errors import LedgerError
from ..services.history import write_record
from ..services.ledger import lock_build
from .calc.takeoff import as_kept, work_out
from .calc.types import TakeoffError
from .queries import kept_figures, worked_of


class UseMode(StrEnum):
    """What becomes of what is required already, or of an area that is stated already."""

    ADD = "add"
    REPLACE = "replace"
    # It holds the figure already: only where it comes from is noted.
    KEEP = "keep"


NO_FIGURE = "This takeoff no longer has that figure. Go back and choose another."


@transaction.atomic
def save_takeoff(
    *, actor: User, build: Build, takeoff: Takeoff, values: dict[str, Any]
) -> list[str]:
    """Keep or change a takeoff: ``name``, ``note``, and ``inputs`` as typed by question.

    Requirements that hold figures of it follow. Returns a sentence for each that did, and for
    each that could not. Raises LedgerError at the question that is amiss.
    """
    lock_build(build)
    try:
        figures = as_kept(work_out(takeoff.shape, values["inputs"]))
    except TakeoffError as error:
        raise LedgerError(str(error), error.ask or None) from None
    takeoff.build = build
    typed = {row["key"]: row["typed"] for row in figures}
    uses = list(takeoff.uses.select_related("component")) if takeoff.pk else []
    moved = [(use, use.quantity_text) for use in uses if use.quantity_text != typed.get(use.figure)]

    def write() -> None:
        for name, value in {**values, "figures": figures}.items():
            setattr(takeoff, name, value)
        takeoff.save()
        for use, _ in moved:
            if use.figure in typed:
                use.quantity_text = typed[use.figure]
                use.save(update_fields=["quantity_text"])

    write_record(actor=actor, build=build, record=takeoff, write=write)
    return [_follow(actor, build, use, before, use.figure in typed) for use, before in moved]


def _follow(actor: User, build: Build, use: TakeoffUse, before: str, is_there: bool) -> str:
    """Let a requirement follow the figure it holds; the sentence to say."""
    name = use.component.name if use.component else use.area_label
    if not is_there:
        return f"{name} keeps {before}: the takeoff no longer has that figure."
    if use.component is None:
        return f"{name} of the build stays as it is: enter the new figure there if you want it."
    return _shift(actor, build, use.component, before, use.quantity_text)


@transaction.atomic
def use_for_component(
    *,
    actor: User,
    build: Build,
    takeoff: Takeoff,
    figure: str,
    component: Component,
    how: UseMode,
    values: dict[str, Any] | None = None,
) -> Component:
    """Make a figure the requirement of a component, or a part of it beside what is there.

    A new component is made of ``values`` (name and unit). With ``UseMode.REPLACE`` the requirement
    holds nothing else, and other takeoffs are no part of it any more. Raises LedgerError.
    """
    lock_build(build)
    text = _typed(takeoff, figure)
    if component.pk is None:
        how = UseMode.ADD
        try:
            save_component(actor=actor, build=build, component=component, values=values or {})
        except LedgerError as error:
            raise LedgerError(str(error), "new_name") from None
    component.refresh_from_db()
    if (
        how is not UseMode.REPLACE
        and takeoff.uses.filter(figure=figure, component=component).exists()
    ):
        raise LedgerError(
            f"{component.name} holds this figure already: choose to put it in place of what is"
            " required, or leave it as it is.",
            "how",
        )
    if how is UseMode.REPLACE:
        for other in Takeoff.objects.filter(uses__component=component).distinct():
            _drop(actor, build, other, list(other.uses.filter(component=component)))
        required = text
    elif how is UseMode.KEEP:
        required = component.required_text
    else:
        required = _sum(component, text) if component.required_qty else text
    try:
        exact_base(text, component)
        save_component(
            actor=actor, build=build, component=component, values={"required_text": required}
        )
    except (QuantityError, LedgerError) as error:
        raise LedgerError(str(error), "target") from None
    _add(actor, build, takeoff, TakeoffUse(figure=figure, component=component, quantity_text=text))
    return component


@transaction.atomic
def use_for_area(
    *,
    actor: User,
    build: Build,
    takeoff: Takeoff,
    figure: str,
    label: str,
    how: UseMode,
) -> BuildArea:
    """Make a figure one of the build's areas, or add it to that. Raises LedgerError."""
    lock_build(build)
    text = _typed(takeoff, figure)
    quantity = parsed(text)
    if quantity.unit.dimension is not Dimension.AREA:
        raise LedgerError(f"{text} is no area: choose a component for it.", "target")
    found = build.areas.filter(label__iexact=label).first()
    area = found or BuildArea(build=build, label=label, area_unit=quantity.unit.symbol)
    unit = find_unit(area.area_unit)
    value = convert(quantity.count, quantity.unit, unit, parse_contents(""))
    if found and how is not UseMode.REPLACE:
        if takeoff.uses.filter(figure=figure, area_label=area.label).exists():
            raise LedgerError(f"{area.label} holds this figure already.", "how")
        value = Fraction(found.area_qty) + (value if how is UseMode.ADD else 0)
    if stored(value) <= 0:
        raise LedgerError(f"{text} is too small for an area.", "target")
    area.area_qty = stored(value)
    write_record(actor=actor, build=build, record=build, write=area.save)
    if how is UseMode.REPLACE:
        for other in Takeoff.objects.filter(build=build, uses__area_label=area.label).distinct():
            _drop(actor, build, other, list(other.uses.filter(area_label=area.label)))
    _add(
        actor, build, takeoff, TakeoffUse(figure=figure, area_label=area.label, quantity_text=text)
    )
    return area


@transaction.atomic
def remove_use(*, actor: User, build: Build, takeoff: Takeoff, use_id: int) -> str:
    """Take a figure out of what it went into; returns the sentence to say.

    Raises TakeoffUse.DoesNotExist. An area stays as it is.
    """
    lock_build(build)
    use = takeoff.uses.select_related("component").get(pk=use_id)
    _drop(actor, build, takeoff, [use])
    if use.component is None:
        return f"{use.area_label} of the build stays as it is; this is no source of it any more."
    return _shift(actor, build, use.component, use.quantity_text, "")


def recalculate_takeoffs(build: Build) -> None:
    """Work all figures out again, where they can be; what cannot stays as it is."""
    for takeoff in Takeoff.objects.filter(build=build):
        try:
            takeoff.figures = as_kept(worked_of(takeoff))
        except TakeoffError:
            continue
        takeoff.save(update_fields=["figures"])


def _typed(takeoff: Takeoff, figure: str) -> str:
    for row in kept_figures(takeoff):
        if row["key"] == figure:
            return row["typed"]
    raise LedgerError(NO_FIGURE)


def _add(actor: User, build: Build, takeoff: Takeoff, use: TakeoffUse) -> None:
    use.takeoff = takeoff
    write_record(actor=actor, build=build, record=takeoff, write=use.save)


def _drop(actor: User, build: Build, takeoff: Takeoff, uses: list[TakeoffUse]) -> None:
    def write() -> None:
        for use in uses:
            use.delete()

    write_record(actor=actor, build=build, record=takeoff, write=write)


def _sum(component: Component, text: str) -> str:
    """The requirement with a figure beside it, as text in the base unit. Raises LedgerError."""
    try:
        added = exact_base(text, component)
    except QuantityError as error:
        raise LedgerError(str(error), "target") from None
    return _text(Fraction(component.required_qty or 0) + added, component)


def _text(value: Fraction, component: Component) -> str:
    exact: Decimal = stored(value)
    return format_quantity(exact, base_unit(component)) if exact > 0 else ""


def _shift(actor: User, build: Build, component: Component, before: str, after: str) -> str:
    """Put one figure in place of another within a requirement; the sentence to say."""
    component.refresh_from_db()
    try:
        old = exact_base(before, component)
        new = exact_base(after, component) if after else Fraction(0)
    except QuantityError as error:
        return f"What {component.name} requires stays as it is: {error}"
    required = Fraction(component.required_qty or 0)
    # Six places are stored, of each figure and of their sum.
    if required + Fraction(1, 10**5) < old:
        stored = component.required_text or "nothing stated"
        return f"What {component.name} requires stays at {stored}: it was set below {before} since."
    is_all = component.required_text == before
    text = after if is_all else _text(required - old + new, component)
    save_component(actor=actor, build=build, component=component, values={"required_text": text})
    return f"{component.name} requires {text or 'nothing stated'} now."
