"""What forms say of a quantity beside the component it is of."""

from contextlib import suppress
from typing import Any

from django import forms

from ..calc.kinds import Kind, guess_kind, kind_of
from ..calc.quantities import QuantityError, meanings
from ..calc.units import UNITS
from ..models import Component
from ..queries.quantities import base_quantity, base_unit, with_unit
from .fields import ReadingsError


def check_quantity(
    form: forms.Form,
    cleaned: dict[str, Any],
    component_field: str,
    text_field: str,
    *,
    counts: bool = False,
) -> None:
    """Say at the field when a quantity cannot be turned into the component's base unit.

    ``counts``: a whole number alone is plain where whole things are counted.
    """
    component = cleaned.get(component_field)
    if counts and component and component.pk and base_unit(component).is_counted:
        _take_count(form, cleaned, component, text_field)
    text = cleaned.get(text_field)
    if component and text_field in form.changed_data and ask_which(form, component, text_field):
        return
    if component and text:
        try:
            base_quantity(text, component)
        except QuantityError as error:
            form.add_error(text_field, ReadingsError(error))
    elif component and component.pk:
        offer_unit(form, component, text_field)


def _take_count(
    form: forms.Form, cleaned: dict[str, Any], component: Component, text_field: str
) -> None:
    typed = str(form[text_field].value() or "").strip()
    if text_field in form.errors and typed.isascii() and typed.isdecimal():
        with suppress(QuantityError):
            cleaned[text_field] = with_unit(typed, base_unit(component))
            form.errors.pop(text_field)


def ask_which(form: forms.Form, component: Component, text_field: str) -> bool:
    """Whether what was typed could mean several things of this component; then it is asked."""
    typed = str(form[text_field].value() or "").strip()
    kind = kind_of(component.kind, component.name, component.unit, component.contents)
    offers = meanings(typed, kind, base_unit(component)) if typed else ()
    if offers:
        _ask(form, text_field, f"“{typed}” could mean another quantity", offers)
    return bool(offers)


# What a bare number of something new could be counted in, the likelier first.
_COUNTED_IN = {
    Kind.SHEET: ("sheet", "piece"),
    Kind.LOOSE: ("cu yd", "ton"),
    Kind.LIQUID: ("gal", "qt"),
    Kind.LUMBER: ("piece", "ft"),
    Kind.PIPE: ("piece", "ft"),
    Kind.FASTENER: ("piece", "lb", "box"),
    Kind.COVERING: ("sq ft", "roll", "bundle"),
}
_METRIC = {"cu yd": "cu m", "ton": "t", "gal": "L", "qt": "mL", "ft": "m", "lb": "kg",
           "sq ft": "sq m"}  # fmt: skip


def offer_units(form: forms.Form, name: str, text_field: str, *, is_metric: bool) -> None:
    """Where a number of something new was typed without a unit, ask what it is counted in."""
    typed = str(form[text_field].value() or "").strip()
    kind = guess_kind(name, "")
    symbols = _COUNTED_IN.get(kind, ("piece",)) if kind else ("piece",)
    offers = []
    for symbol in symbols:
        unit = UNITS[_METRIC.get(symbol, symbol) if is_metric else symbol]
        try:
            offers.append(with_unit(typed, unit))
        except QuantityError:
            return
    if typed not in offers:
        _ask(form, text_field, f"“{typed}” has no unit", tuple(offers))


def _ask(form: forms.Form, name: str, fault: str, offers: tuple[str, ...]) -> None:
    form.errors.pop(name, None)
    sentence = f"{fault}. Did you mean {' or '.join(offers)}?"
    form.add_error(name, ReadingsError(QuantityError(sentence, offers)))


def offer_unit(form: forms.Form, component: Component, text_field: str) -> None:
    """Where a number was typed without a unit, ask whether the component's was meant."""
    if text_field not in form.errors:
        return
    typed = str(form[text_field].value() or "").strip()
    try:
        meant = with_unit(typed, base_unit(component))
    except QuantityError:
        return
    if meant != typed:
        _ask(form, text_field, f"“{typed}” has no unit", (meant,))
