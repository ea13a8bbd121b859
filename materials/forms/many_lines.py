"""One form that gives many purchase lines the same values."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..choices import State
from ..models import PurchaseLine
from ..queries.builds import list_elements, list_persons
from ..queries.suppliers import list_supplier_names
from .base import RecordForm, optional_choices
from .fields import DayField, SuggestInput, TypedField, UnitPriceField

# What may be given; a box that is left empty leaves things as they are.
GIVEN = ("element", "paid_by", "supplier", "state", "bought_on", "new_price", "new_per_text")


class ManyLinesForm(RecordForm):
    """What all ticked lines are given. ``lines``: those that are listed on the page.

    ``seen``: the versions of what the page showed, as it carries them. ``changed``: what somebody
    else changed since, by its line.
    """

    changed: Sequence[tuple[str, Any]] = ()

    line = forms.MultipleChoiceField(
        label="Lines",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick the lines to change.",
            "invalid_choice": "A ticked line was deleted meanwhile. Check those that are left.",
        },
    )
    element = forms.ModelChoiceField(
        queryset=None, required=False, label="Element", empty_label="As it is"
    )
    paid_by = forms.CharField(max_length=80, required=False, label="Paid by")
    supplier = forms.CharField(max_length=120, required=False, label="Supplier")
    state = forms.ChoiceField(
        choices=optional_choices(State.choices, "As it is"), required=False, label="State"
    )
    bought_on = DayField(required=False, label="Date")
    new_price = UnitPriceField(
        required=False, label="What one costs new", help_text="Before tax, as of today."
    )
    new_per_text = TypedField(
        required=False, max_length=60, label="New, per", help_text="Like gal. If empty: for one."
    )
    shown = forms.CharField(required=False, widget=forms.HiddenInput)
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    takes_readings = False

    def __init__(self, *args: Any, lines: Sequence[PurchaseLine], **kwargs: Any):
        self.lines = lines
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        self.fields["line"].choices = [(str(line.pk), _words(line)) for line in self.lines]
        self.fields["element"].queryset = list_elements(self.build)
        persons = list_persons(self.build).values_list("name", flat=True)
        suppliers = list_supplier_names(self.build).values_list("name", flat=True)
        self.fields["paid_by"].widget = SuggestInput(persons)
        self.fields["supplier"].widget = SuggestInput(suppliers)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("new_per_text") and cleaned.get("new_price") is None:
            if "new_price" not in self.errors:
                self.add_error("new_price", "Enter what one costs new, or leave both empty.")
        elif not self.errors and all(cleaned.get(name) in (None, "") for name in GIVEN):
            self.add_error(None, "Nothing to change yet: fill in what the ticked lines get.")
        return cleaned

    def given(self) -> dict[str, Any]:
        """What was filled in, by field."""
        values = self.values()
        return {name: values[name] for name in GIVEN if values[name] not in (None, "")}


def _words(line: PurchaseLine) -> str:
    """A line as the page lists it."""
    purchase = line.purchase
    state = purchase.get_state_display().lower()
    return f"{purchase.number}, {purchase.bought_on:%-d %b %Y}, {state}: {line}"
