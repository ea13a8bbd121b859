"""A count of what is there: one box for each component that has come in."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..calc.measures import plain
from ..calc.quantities import QuantityError
from ..calc.stock import Position
from ..models import Component
from ..queries.days import NOT_YET_COUNTED
from ..queries.quantities import base_unit, exact_base, with_unit
from ..tables.base import in_unit
from .base import TidyForm
from .fields import DayField, TypedField

SHOWN_PLACES = 3


class CountInput(forms.TextInput):
    """A box with the unit of what is counted in it beside it."""

    template_name = "django/forms/widgets/count.html"

    def __init__(self, unit: str):
        super().__init__({"inputmode": "decimal"})
        self.unit = unit

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["unit"] = self.unit
        return context


class StockTakeForm(TidyForm):
    """A number alone is in the unit beside its box; any other unit may be typed.

    ``counts()`` gives the typed texts of those that differ from what is recorded.
    """

    counted_on = DayField(label="Counted on", not_yet=NOT_YET_COUNTED)

    def __init__(self, *args: Any, positions: Sequence[tuple[Component, Position]], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.positions = positions
        for component, position in positions:
            self.fields[_box(component)] = TypedField(
                required=False,
                label=component.name,
                initial=plain(position.component.on_hand, SHOWN_PLACES),
                widget=CountInput(base_unit(component).plural),
                help_text=f"of {in_unit(position.usable_on_site, component.unit)}",
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for component, _ in self.positions:
            name = _box(component)
            if cleaned.get(name):
                try:
                    cleaned[name] = _read(cleaned[name], component)
                except QuantityError as error:
                    self.add_error(name, str(error))
        return cleaned

    def counts(self) -> list[tuple[Component, str]]:
        """(component, what is there as typed) of the boxes that say something new.

        An emptied box was not counted; only 0 says that nothing is there.
        """
        return [
            (component, self.cleaned_data[_box(component)])
            for component, _ in self.positions
            if self.cleaned_data[_box(component)] and self._is_new(component)
        ]

    def _is_new(self, component: Component) -> bool:
        name = _box(component)
        if name not in self.changed_data:
            return False
        shown = _read(self.fields[name].initial, component)
        counted = self.cleaned_data[name]
        return exact_base(counted, component) != exact_base(shown, component)


def _box(component: Component) -> str:
    return f"count-{component.pk}"


def _read(text: str, component: Component) -> str:
    """A count with its unit, and plain 0 for nothing. Raises QuantityError."""
    kept = with_unit(text.strip(), base_unit(component))
    exact_base(kept, component)
    return kept
