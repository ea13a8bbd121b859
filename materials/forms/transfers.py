"""Form of a transfer between builds."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..calc.stock import Position
from ..models import Build, Component, Move
from ..queries.components import list_components
from ..tables.base import in_unit
from .base import NOTE, RecordForm
from .fields import DayField, QuantityText
from .on_hand import BUILT_IN, ON_HAND
from .stock import check_quantity


class SurplusField(forms.ModelChoiceField):
    """A component of which there is something, with how much."""

    places: dict[int, Position]

    def label_from_instance(self, obj: Any) -> str:
        place = self.places.get(obj.pk)
        if place is None:
            return str(obj)
        in_stock, built = place.component.on_hand, place.in_building
        return f"{obj}: {in_unit(in_stock, obj.unit)} on hand, {in_unit(built, obj.unit)} built in"


class TransferForm(RecordForm):
    """What is moved to another build, and what it is there."""

    moved_on = DayField(label="Date")
    component = SurplusField(queryset=None, label="What")
    quantity_text = QuantityText(label="How much", help_text="With its unit.")
    taken_from = forms.ChoiceField(
        choices=[
            (ON_HAND, "From what is on hand"),
            (BUILT_IN, "From what counts as built in"),
        ],
        initial=ON_HAND,
        widget=forms.RadioSelect,
        label="Taken from",
    )
    to_component = forms.ModelChoiceField(
        queryset=None,
        required=False,
        label="Component over there",
        empty_label="The one with the same name",
        help_text="Added there if there is none.",
    )
    note = forms.CharField(**NOTE)

    looked_at = "understood"

    def __init__(
        self,
        *args: Any,
        to_build: Build,
        surplus: Sequence[tuple[Component, Position]],
        **kwargs: Any,
    ):
        self.to_build, self.places = to_build, {part.pk: place for part, place in surplus}
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        held = set(self.places)
        if isinstance(self.record, Move) and self.record.component_id:
            held.add(self.record.component_id)
        self.fields["component"].places = self.places
        self.fields["component"].queryset = list_components(self.build).filter(pk__in=held)
        self.fields["to_component"].queryset = list_components(self.to_build)
        if not any(place.component.on_hand for place in self.places.values()):
            self.fields["taken_from"].initial = BUILT_IN

    def initial_from(self, record: Any) -> dict[str, Any]:
        taken_from = ON_HAND if record.was_on_hand else BUILT_IN
        return {**super().initial_from(record), "taken_from": taken_from}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        check_quantity(self, cleaned, "component", "quantity_text")
        return cleaned

    def values(self) -> dict[str, Any]:
        values = super().values()
        values["was_on_hand"] = values.pop("taken_from") == ON_HAND
        return values


class TransferChangeForm(TransferForm):
    """A transfer that is written already."""

    value_again = forms.BooleanField(
        required=False,
        label="Work out its value again from the average as it is now",
        help_text="Otherwise the value changes only with the quantity.",
    )
