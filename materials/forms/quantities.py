"""What forms say of a quantity beside the component it is of."""

from typing import Any

from django import forms

from ..calc.quantities import QuantityError
from ..models import Component
from ..queries.quantities import base_quantity, base_unit, with_unit
from .fields import ReadingsError


def check_quantity(
    form: forms.Form, cleaned: dict[str, Any], component_field: str, text_field: str
) -> None:
    """Say at the field when a quantity cannot be turned into the component's base unit."""
    component, text = cleaned.get(component_field), cleaned.get(text_field)
    if component and text:
        try:
            base_quantity(text, component)
        except QuantityError as error:
            form.add_error(text_field, ReadingsError(error))
    elif component:
        offer_unit(form, component, text_field)


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
        form.errors.pop(text_field)
        sentence = f"“{typed}” has no unit. Did you mean {meant}?"
        form.add_error(text_field, ReadingsError(QuantityError(sentence, (meant,))))
