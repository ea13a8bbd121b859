"""Where material is taken from: stock on hand, or what counts as built in."""

from typing import Any

from django import forms
from django.utils.functional import cached_property
from django.utils.html import format_html

from ..models import Component, Conversion, LeftOver
from ..queries.on_hand import on_hand, sum_on_hand
from ..tables.base import in_unit
from .base import RecordForm

ON_HAND, BUILT_IN = "on hand", "built in"


class TakenFromField(forms.ChoiceField):
    """Which of the two, stock on hand unless something else is chosen."""

    def __init__(self, **kwargs: Any):
        super().__init__(
            choices=[
                (ON_HAND, "On hand first"),
                (BUILT_IN, "Built in"),
            ],
            initial=ON_HAND,
            required=False,
            widget=forms.RadioSelect,
            label="Taken from",
            **kwargs,
        )
        # One of the two is always ticked.
        self.is_needed = True


class TakenFromForm(RecordForm):
    """A form of what goes, with the question where it is taken from.

    ``part`` and ``day`` name the fields of the component and of the date. The question is asked
    only where the build has something on hand, or the record took something from it.
    """

    part, day = "component", "noted_on"

    def set_choices(self) -> None:
        taken = self.record.hand_text if isinstance(self.record, Conversion | LeftOver) else ""
        self.on_hand = sum_on_hand(self.build)
        if not (self.on_hand or taken) or self.is_on_hand():
            del self.fields["taken_from"]
            return
        self.fields["taken_from"].choices = [
            (
                ON_HAND,
                format_html(
                    '<span>On hand <span id="on-hand-note">{}</span></span>',
                    self.on_hand_note,
                ),
            ),
            (BUILT_IN, "Built in"),
        ]

    @cached_property
    def on_hand_note(self) -> str:
        """How much is on hand of the component by the day, as far as both are known."""
        component = self._shown(self.part)
        if not isinstance(component, Component):
            return "first"
        available = on_hand(component, self._shown(self.day))
        return (
            f"({in_unit(available, component.unit) if available else 'nothing on hand that day'})"
        )

    def is_on_hand(self) -> bool:
        """Whether the record is itself on hand, which goes as a whole."""
        return False

    def initial_from(self, record: Any) -> dict[str, Any]:
        taken_from = ON_HAND if record.hand_text else BUILT_IN
        return {**super().initial_from(record), "taken_from": taken_from}

    def clean_taken_from(self) -> str:
        """The answer; where none came, what the form began with."""
        asked = self.cleaned_data["taken_from"]
        return asked or self.get_initial_for_field(self.fields["taken_from"], "taken_from")

    def values(self) -> dict[str, Any]:
        values = super().values()
        values.pop("taken_from", None)
        return values

    @property
    def from_stock(self) -> bool:
        """Whether stock on hand is taken from; call after ``is_valid``."""
        return self.cleaned_data.get("taken_from") == ON_HAND

    def _shown(self, name: str) -> Any:
        """What a field holds as the form is shown; None when it cannot be read."""
        try:
            return self.fields[name].clean(self.fields[name].prepare_value(self[name].value()))
        except forms.ValidationError:
            return None


class OnHandField(forms.ModelChoiceField):
    """A component, with how much of it is on hand."""

    on_hand: dict[int, Any] = {}

    def label_from_instance(self, obj: Any) -> str:
        available = self.on_hand.get(obj.pk)
        return f"{obj} ({in_unit(available, obj.unit)} on hand)" if available else str(obj)


def withdrawal_note(component: Component, withdrawn_text: str) -> str:
    """What was taken from stock on hand and what stays there, in a sentence; empty for nothing."""
    if not withdrawn_text:
        return ""
    available = on_hand(component)
    rest = in_unit(available, component.unit) if available else "nothing"
    return f" Taken from what was on hand: {withdrawn_text}; left there: {rest}."
