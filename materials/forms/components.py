"""Forms of components, new prices, and suppliers."""

from decimal import Decimal

from django import forms

from ..calc.kind_sense import example_of
from ..calc.kinds import Kind, guess
from ..calc.safety.cautions import TRAIT_LABELS
from ..calc.sheets.loads import LOADS, NOT_WASTE
from ..calc.waste import usual_waste
from ..models import Component
from ..queries.builds import list_elements
from ..queries.comparing import kind_known
from .base import NOTE, RecordForm
from .fields import (
    ContentsText,
    NumberField,
    PercentInput,
    QuantityText,
    UnitField,
)


class ComponentForm(RecordForm):
    """What the build needs."""

    name = forms.CharField(max_length=120, label="Component")
    element = forms.ModelChoiceField(queryset=None, required=False, empty_label="No element")
    unit = UnitField(label="Base unit", help_text="What it is counted in: piece, sq ft, gal …")
    kind = forms.ChoiceField(
        choices=[("", "Guess it"), *((kind.value, kind.value.capitalize()) for kind in Kind)],
        required=False,
        label="Kind of material",
        help_text="Decides how quantities are read and what prices are compared by.",
    )
    contents = ContentsText(
        required=False,
        help_text=(
            "What one holds, like 1 piece = 12 ft; 1 piece = 22 lb. Then you can type other "
            "units too."
        ),
    )
    required_text = QuantityText(
        required=False, label="Required", help_text="With its unit, like 40 pieces or 600 sq ft."
    )
    waste_percent = PercentInput(required=False, label="Waste allowance, %", most=Decimal(1000))
    new_qty_per_one = NumberField(
        places=6,
        required=False,
        what="The new quantity",
        label="New quantity that does the work of one",
        help_text="Usually 1. A thick old board may replace 1.2 new ones.",
    )
    would_buy_new = forms.BooleanField(
        required=False, initial=True, label="Without salvage I would have bought this new"
    )
    life_years = NumberField(
        places=2, required=False, what="The life", label="Expected life, years"
    )
    traits = forms.MultipleChoiceField(
        choices=[(trait.value, label) for trait, label in TRAIT_LABELS.items()],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="What it is, for the cautions",
    )
    load_kind = forms.ChoiceField(
        choices=[
            ("", "Not loose, or not known"),
            *((key, one.label.capitalize()) for key, one in LOADS.items()),
            (NOT_WASTE, "Leave it out: nobody would have thrown it away"),
        ],
        required=False,
        label="Kept from landfill: weighs like",
        help_text=(
            "Only for material measured by the loose cubic yard. If you know what a piece "
            "weighs, add it to the contents: 1 piece = 22 lb."
        ),
    )
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        self.fields["element"].queryset = list_elements(self.build)
        if isinstance(self.record, Component) and self.record.pk:
            self._set_sense(self.record)

    def _set_sense(self, part: Component) -> None:
        """Say what the kind is guessed to be, and ask for what such material is known by."""
        guessed = guess(part.name, part.unit, part.contents)
        if guessed.kind is not None:
            kinds = self.fields["kind"].choices
            self.fields["kind"].choices = [("", f"Guess it: {guessed.kind}"), *kinds[1:]]
            self.fields["kind"].help_text += f" Guessed by {guessed.because}: {guessed.kind}."
        kind = kind_known(part).kind
        if example := example_of(kind):
            self.fields["contents"].help_text = f"What one holds. For {kind}, like {example}."
        self.fields["waste_percent"].help_text = usual_waste(kind, part.name)

    def clean_waste_percent(self) -> Decimal:
        value = self.cleaned_data["waste_percent"]
        return Decimal(0) if value is None else value

    def clean_new_qty_per_one(self) -> Decimal:
        value = self.cleaned_data["new_qty_per_one"]
        if value is not None and value <= 0:
            raise forms.ValidationError("The new quantity must be above zero.")
        return Decimal(1) if value is None else value
