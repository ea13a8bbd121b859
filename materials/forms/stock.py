"""Forms of conversions and left over."""

from decimal import Decimal
from typing import Any

from django import forms

from ..choices import Fate
from ..models import LeftOver
from ..queries.components import list_components
from ..queries.days import NOT_YET_CONVERTED, NOT_YET_LEFT
from .base import NOTE, NumberedForm
from .fields import DayField, HoursInput, MoneyInput, QuantityText
from .on_hand import OnHandField, TakenFromField, TakenFromForm
from .photos import FormWithPhotos, camera_field
from .quantities import check_quantity
from .rows import ComponentRowForm, new_name


class ConversionForm(FormWithPhotos, NumberedForm, TakenFromForm):
    """What was worked up, and what it cost."""

    number = forms.CharField(
        max_length=40, label="Number", help_text="Your own number. Any will do."
    )
    converted_on = DayField(label="Date", not_yet=NOT_YET_CONVERTED)
    source = OnHandField(queryset=None, label="From")
    used_text = QuantityText(
        label="Quantity used", help_text="Usable material only, like 12 @ 2x8x12 or 140 bf."
    )
    taken_from = TakenFromField()
    extra_cost_amount = MoneyInput(
        required=False, label="Extra cost", help_text="Blades, mill fee, glue …"
    )
    hours = HoursInput(
        required=False, help_text="1.5, 1:30, 45 min or 2 h 30; counted as preparing."
    )
    note = forms.CharField(**NOTE)
    photo = camera_field(label="Photo", help_text="Of what was made, or of the work.")

    part, day = "source", "converted_on"
    looked_at = "understood"

    def set_choices(self) -> None:
        self.fields["source"].queryset = list_components(self.build)
        super().set_choices()
        self.fields["source"].on_hand = self.on_hand

    def clean_extra_cost_amount(self) -> Decimal:
        value = self.cleaned_data["extra_cost_amount"]
        return Decimal(0) if value is None else value

    def clean_hours(self) -> Decimal:
        value = self.cleaned_data["hours"]
        return Decimal(0) if value is None else value

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        check_quantity(self, cleaned, "source", "used_text", counts=True)
        return cleaned


class OutputForm(ComponentRowForm):
    """One thing that was made."""

    component = forms.ModelChoiceField(queryset=None, required=False, label="To")
    new_name = new_name()
    made_text = QuantityText(
        required=False, label="Quantity made", help_text="Count usable ones only."
    )

    measured = "made_text"
    needed = {
        "component": "Choose what you made, or name something new.",
        "made_text": "Enter how much you made, with its unit.",
    }

    def set_choices(self) -> None:
        self.set_components()

    def clean_row(self, cleaned: dict[str, Any]) -> None:
        check_quantity(self, cleaned, "component", "made_text", counts=True)


class LeftOverForm(TakenFromForm):
    """What did not go into the building."""

    noted_on = DayField(label="Date", not_yet=NOT_YET_LEFT)
    component = OnHandField(queryset=None)
    quantity_text = QuantityText(label="Quantity", help_text="With its unit.")
    fate = forms.ChoiceField(choices=Fate.choices, label="What became of it")
    taken_from = TakenFromField(
        help_text=(
            "For what was sold, scrapped, given away or moved. What is on hand has its own entry."
        )
    )
    proceeds_amount = MoneyInput(required=False, label="Proceeds", help_text="Only when sold.")
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        self.fields["component"].queryset = list_components(self.build)
        super().set_choices()
        self.fields["component"].on_hand = self.on_hand

    def is_on_hand(self) -> bool:
        return isinstance(self.record, LeftOver) and self.record.fate == Fate.ON_HAND

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        check_quantity(self, cleaned, "component", "quantity_text")
        return cleaned
