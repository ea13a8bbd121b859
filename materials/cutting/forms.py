"""The form of a cutting plan: boards on hand, lengths to buy, pieces needed."""

from decimal import Decimal
from typing import Any

from django import forms

from ..calc.measures import QuantityError, tidy
from ..forms.base import NOTE, RecordForm
from ..forms.fields import DayField, MoneyInput, NumberField, TypedField
from ..forms.rows import RowForm
from ..models import CuttingMethod
from ..queries.components import list_components
from ..queries.days import NOT_YET_CONVERTED
from .calc.reading import read_length
from .calc.types import MOST_COUNT

# A page takes fewer kinds than the command, for it must answer while one waits.
MOST_ROWS = 60


class LengthText(TypedField):
    """A length as people write it, with its unit; the text is kept as typed, tidied."""

    default_error_messages = {"required": "Enter a length, like 14 ft or 7' 6\"."}

    def __init__(self, *, may_be_nothing: bool = False, **kwargs: Any):
        self.may_be_nothing = may_be_nothing
        super().__init__(max_length=40, **kwargs)

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        if not text:
            return ""
        try:
            length, unit = read_length(text)
        except QuantityError as error:
            raise forms.ValidationError(str(error)) from None
        if unit is None and length:
            raise forms.ValidationError(
                f"“{text}” has no unit: enter it like {text} ft, {text} in, {text} m or {text} mm."
            )
        if not length and not self.may_be_nothing:
            raise forms.ValidationError("The length must be above zero.")
        return tidy(text)


class CountInput(NumberField):
    """A whole number of things."""

    def __init__(self, **kwargs: Any):
        super().__init__(
            places=0, least=Decimal(1), most=Decimal(MOST_COUNT), what="The count", **kwargs
        )
        self.widget.attrs["inputmode"] = "numeric"
        self.how = "enter a whole number like 12"

    def clean(self, value: Any) -> Any:
        found = super().clean(value)
        return None if found is None else int(found)


class CuttingForm(RecordForm):
    """What is cut, how, with which saw."""

    name = forms.CharField(
        max_length=80, label="Name", help_text="What is cut, like Porch shelves."
    )
    component = forms.ModelChoiceField(queryset=None, label="Boards or sheets of")
    method = forms.ChoiceField(
        choices=CuttingMethod.choices,
        required=False,
        label="What to cut",
        help_text="Ripped boards and sheets need a width in each row.",
    )
    planned_on = DayField(label="Date")
    kerf_text = LengthText(
        may_be_nothing=True, label="Saw cut", help_text="Width of one cut, like 1/8 in or 3 mm."
    )
    keep_text = LengthText(
        required=False,
        label="Keep off-cuts from",
        help_text="Shorter or narrower ones count as waste. If empty: as small as the least piece.",
    )
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        self.fields["component"].queryset = list_components(self.build)

    def clean_method(self) -> str:
        """Boards to length, where nothing is said."""
        return self.cleaned_data["method"] or CuttingMethod.LENGTHS


class SizedForm(RowForm):
    """A row with a width where the plan's method asks for one."""

    def clean_row(self, cleaned: dict[str, Any]) -> None:
        method = self.data.get("method")
        is_flat = method in (CuttingMethod.RIPPED, CuttingMethod.SHEETS)
        if is_flat and not cleaned.get("width_text") and "width_text" not in self.errors:
            self.add_error("width_text", "Enter the width too.")


class OnHandForm(SizedForm):
    """Boards or sheets of one size that are there."""

    length_text = LengthText(required=False, label="Length")
    width_text = LengthText(required=False, label="Width")
    count = CountInput(required=False, label="How many")
    trim_text = LengthText(
        required=False,
        may_be_nothing=True,
        label="Cut off each end",
        help_text="Bad ends, or edges of a sheet, the cut included.",
    )

    needed = {
        "length_text": "Enter their length.",
        "count": "Enter how many there are of this length.",
    }
    less_used = ("trim_text",)


class BuyForm(SizedForm):
    """A size that can be bought."""

    length_text = LengthText(required=False, label="Length")
    width_text = LengthText(required=False, label="Width")
    price = MoneyInput(required=False, label="Price of one")
    most = CountInput(required=False, label="At most", help_text="Empty: as many as needed.")
    trim_text = LengthText(
        required=False,
        may_be_nothing=True,
        label="Cut off each end",
        help_text="Bad ends, or edges of a sheet, the cut included.",
    )

    needed = {"length_text": "Enter its length."}
    less_used = ("most", "trim_text")


class NeedForm(SizedForm):
    """Pieces of one size."""

    length_text = LengthText(required=False, label="Length")
    width_text = LengthText(required=False, label="Width")
    count = CountInput(required=False, label="How many")
    component = forms.ModelChoiceField(
        queryset=None, required=False, label="Become", help_text="Needed when you take the plan."
    )
    may_turn = forms.BooleanField(
        required=False,
        label="May be turned",
        help_text="Of sheets: without it, the length runs along the sheet, with the grain.",
    )
    is_triangle = forms.BooleanField(
        required=False,
        label="Triangle",
        help_text="Of sheets: length is one side, width the height above it.",
    )
    corner_text = LengthText(
        required=False,
        may_be_nothing=True,
        label="Third corner at",
        help_text="Along the length. If empty: above its middle.",
    )

    needed = {
        "length_text": "Enter the length of the pieces.",
        "count": "Enter how many you need.",
    }
    less_used = ("may_turn", "is_triangle", "corner_text")

    def set_choices(self) -> None:
        self.set_components()


class LogPlanForm(RecordForm):
    """When the boards were cut."""

    taken_on = DayField(label="Cut on", not_yet=NOT_YET_CONVERTED)
    bought = forms.BooleanField(
        label="The boards to buy are logged as purchases",
        error_messages={
            "required": (
                "Log the boards to buy first, then tick this. Otherwise they are taken from "
                "what is built in."
            )
        },
    )
