"""A count of what is there: one box for each component that has come in."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..calc.quantities import QuantityError
from ..calc.stock import Position
from ..models import Component
from ..queries.quantities import exact_base
from ..tables.base import in_unit
from .fields import DayField, TypedField


class StockTakeForm(forms.Form):
    """``counts()`` gives the typed texts of those that differ from what is recorded."""

    counted_on = DayField(label="Counted on")

    def __init__(self, *args: Any, positions: Sequence[tuple[Component, Position]], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.positions = positions
        for component, position in positions:
            there = in_unit(position.component.on_hand, component.unit)
            self.fields[f"count-{component.pk}"] = TypedField(
                required=False,
                label=component.name,
                initial=there,
                help_text=f"Came in and not yet worked up or gone:"
                f" {in_unit(position.usable_in_hand, component.unit)}.",
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for component, _ in self.positions:
            name = f"count-{component.pk}"
            text = cleaned.get(name)
            if text and text.strip() != "0":
                try:
                    exact_base(text, component)
                except QuantityError as error:
                    self.add_error(name, str(error))
        return cleaned

    def counts(self) -> list[tuple[Component, str]]:
        """(component, what is there as typed) of the boxes that were changed.

        An emptied box was not counted; only 0 says that nothing is there.
        """
        return [
            (component, self.cleaned_data[f"count-{component.pk}"])
            for component, _ in self.positions
            if f"count-{component.pk}" in self.changed_data
            and self.cleaned_data[f"count-{component.pk}"]
        ]

    def add_refusal(self, text: str, field: str | None) -> None:
        """Show a service's refusal at its box, or on top."""
        self.add_error(field if field in self.fields else None, text)
