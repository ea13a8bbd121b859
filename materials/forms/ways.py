"""The form that states what can be made of what."""

from decimal import Decimal
from typing import Any

from django import forms

from ..queries.components import list_components
from .base import NOTE, RecordForm
from .fields import HoursInput, PercentInput, QuantityText, UnitPriceField
from .quantities import check_quantity


class WayForm(RecordForm):
    """So much of one component gives so much of another."""

    source = forms.ModelChoiceField(queryset=None, label="From")
    used_text = QuantityText(label="Quantity used", help_text="Like 1 piece, 10 sq ft or 1 pallet.")
    component = forms.ModelChoiceField(queryset=None, label="Makes")
    made_text = QuantityText(label="Quantity made", help_text="All that comes out of it.")
    lost_percent = PercentInput(
        required=False,
        label="Lost, %",
        help_text="What of it splits or breaks. If empty: not counted.",
    )
    hours_each = HoursInput(
        required=False,
        label="Hours for one",
        help_text="For each one made, like 10 min. If empty: not known.",
    )
    extra_each = UnitPriceField(
        required=False,
        label="Extra cost of one",
        help_text="Blades, fuel, mill fee. 0 if there is none. If empty: not known.",
    )
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        for name in ("source", "component"):
            self.fields[name].queryset = list_components(self.build)

    def clean_lost_percent(self) -> Decimal | None:
        value: Decimal | None = self.cleaned_data["lost_percent"]
        if value is not None and value >= 100:
            raise forms.ValidationError("Nothing is left of it. Enter less than 100.")
        return value

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        check_quantity(self, cleaned, "source", "used_text", counts=True)
        check_quantity(self, cleaned, "component", "made_text", counts=True)
        return cleaned
