"""Forms of comparisons of lifetime cost, and of indexes of prices."""

from decimal import Decimal
from typing import Any

from django import forms

from ..choices import RateKind
from ..forms.base import NOTE, RecordForm
from ..forms.fields import (
    DayField,
    HoursInput,
    MoneyInput,
    NumberField,
    PercentInput,
    UnitPriceField,
)
from ..forms.rows import RowForm
from ..queries.components import list_components
from ..queries.lessons import list_lessons
from .calc.index_text import IndexTextError, parse_index, write_index
from .calc.types import MAX_LIFE, MAX_YEARS, NAMELESS, is_nameless, out_of_order
from .queries.indexes import index_values

LOWEST, HIGHEST = Decimal(-20), Decimal(60)
NO_INFLATION = "Enter the inflation included in the rate, or 0."


class YearsInput(NumberField):
    """Whole years; the value is an int or None."""

    def __init__(self, *, most: int, **kwargs: Any):
        kwargs.setdefault("what", "The number of years")
        super().__init__(places=0, least=Decimal(1), most=Decimal(most), **kwargs)
        self.how = "enter whole years, like 25"
        self.widget.attrs["inputmode"] = "numeric"

    def read(self, text: str) -> int:
        return int(self.number(text, text))

    def within(self, value: Decimal) -> Decimal:
        if value != int(value):
            raise forms.ValidationError(f"{self.what} is counted whole: {self.how}.")
        return super().within(value)


class RateInput(PercentInput):
    """Per cent a year, below zero too."""

    def __init__(self, **kwargs: Any):
        super().__init__(least=LOWEST, most=HIGHEST, **kwargs)
        self.how = "enter per cent a year, like 3 or 2.5"


class LifeChoiceForm(RecordForm):
    """The question, and what holds for every way to answer it."""

    asked_by_others = ("inflation_percent",)

    name = forms.CharField(max_length=120, label="The question")
    component = forms.ModelChoiceField(
        queryset=None, required=False, empty_label="None of them, or several"
    )
    lesson = forms.ModelChoiceField(
        queryset=None,
        required=False,
        empty_label="None",
        help_text="The lesson that this puts into figures.",
    )
    quantity_text = forms.CharField(
        max_length=120,
        required=False,
        label="What it is for",
        help_text="Like 600 sq ft of north wall. Every figure below is for all of it.",
    )
    noted_on = DayField(label="Prices of")
    study_years = YearsInput(
        most=MAX_YEARS, label="Years looked at", help_text="As long as it matters to you."
    )
    rate_percent = RateInput(
        label="Discount rate, % a year",
        what="The rate",
        help_text="What you could earn on the money meanwhile. 0 counts a later dollar in full.",
    )
    rate_kind = forms.ChoiceField(
        choices=RateKind.choices,
        initial=RateKind.REAL,
        widget=forms.RadioSelect,
        label="The rate is",
    )
    inflation_percent = RateInput(
        required=False,
        label="Inflation, % a year",
        what="The inflation",
        help_text="Needed if the rate includes inflation.",
    )
    hours_rate = UnitPriceField(
        required=False,
        what="Value of an own hour",
        label="Value of an own hour",
        help_text="If empty: the build’s rate. It counts where it changes the choice.",
    )
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        self.fields["component"].queryset = list_components(self.build)
        self.fields["lesson"].queryset = list_lessons(self.build)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        is_nominal = cleaned.get("rate_kind") == RateKind.NOMINAL
        if (
            is_nominal
            and cleaned.get("inflation_percent") is None
            and "inflation_percent" not in self.errors
        ):
            self.add_error("inflation_percent", NO_INFLATION)
        return cleaned


class LifeAlternativeForm(RowForm):
    """One way to do it. Empty is not known, 0 is none."""

    asked_by_others = ("first_amount", "life_years", "upkeep_every", "drags_along")

    name = forms.CharField(max_length=120, required=False, label="What it is made of")
    first_amount = MoneyInput(
        required=False,
        what="The first cost",
        label="First cost",
        help_text="Delivered, for all of it. Empty is not known.",
    )
    first_hours = HoursInput(
        required=False,
        label="Own hours at first",
        help_text="Getting it and putting it in. 0 for none.",
    )
    life_years = YearsInput(
        most=MAX_LIFE,
        required=False,
        what="The life",
        label="Life, years",
        help_text="Your own guess. Empty is not known.",
    )
    upkeep_every = YearsInput(
        most=MAX_YEARS,
        required=False,
        label="Years between upkeep",
        help_text="1 is every year. If empty: no upkeep.",
    )
    upkeep_amount = MoneyInput(
        required=False, what="The cost of upkeep", label="Upkeep: material, each time"
    )
    upkeep_hours = HoursInput(required=False, label="Upkeep: own hours, each time")
    basis = forms.CharField(
        max_length=300,
        required=False,
        label="Source of these figures",
        help_text="A receipt, a maker’s sheet, or what you have seen.",
    )
    first_low_amount = MoneyInput(
        required=False, what="The lowest first cost", label="Lowest first cost"
    )
    first_high_amount = MoneyInput(
        required=False, what="The highest first cost", label="Highest first cost"
    )
    life_low_years = YearsInput(
        most=MAX_LIFE, required=False, what="The shortest life", label="Shortest life"
    )
    life_high_years = YearsInput(
        most=MAX_LIFE, required=False, what="The longest life", label="Longest life"
    )
    again_amount = MoneyInput(
        required=False,
        what="The replacement cost",
        label="Replacement, each time",
        help_text="If empty: the first cost again.",
    )
    again_hours = HoursInput(
        required=False, label="Replacement: own hours", help_text="If empty: the first hours again."
    )
    drags_along = forms.CharField(
        max_length=200,
        required=False,
        label="Replacing drags along",
        help_text="Like taking off the cladding to reach the frame. If empty: nothing.",
    )
    drag_amount = MoneyInput(
        required=False,
        what="What it costs",
        label="That costs, each time",
        help_text="Beyond the replacement. 0 for nothing, empty is not known.",
    )
    drag_hours = HoursInput(
        required=False,
        label="That takes, own hours",
        help_text="Each time. 0 for none, empty is not known.",
    )
    upkeep_change_percent = RateInput(
        required=False,
        what="The rise",
        label="Upkeep rises, % a year",
        help_text="Beyond inflation. If empty: none.",
    )
    residual_amount = MoneyInput(
        required=False,
        least=None,
        what="What is left",
        label="Worth at the end",
        help_text=(
            "If empty: its last cost by the share of its life left. Below 0: what it costs "
            "to get rid of."
        ),
    )

    sum_of = "first_amount"
    needed = {"name": "Name this way, like painted softwood."}
    less_used = (
        "first_low_amount",
        "first_high_amount",
        "life_low_years",
        "life_high_years",
        "again_amount",
        "again_hours",
        "drags_along",
        "drag_amount",
        "drag_hours",
        "upkeep_change_percent",
        "residual_amount",
    )

    @property
    def in_short(self) -> str:
        return self.typed("name")

    def clean_upkeep_change_percent(self) -> Decimal:
        value = self.cleaned_data["upkeep_change_percent"]
        return Decimal(0) if value is None else value

    def clean_row(self, cleaned: dict[str, Any]) -> None:
        for low, likely, high, what in (
            ("first_low_amount", "first_amount", "first_high_amount", "first cost"),
            ("life_low_years", "life_years", "life_high_years", "life"),
        ):
            names = {"low": low, "likely": likely, "high": high}
            if set(names.values()) & set(self.errors):
                continue
            refused = out_of_order(what, *(cleaned.get(name) for name in names.values()))
            if refused:
                self.add_error(names[refused[0]], refused[1])
        dragged = (cleaned.get(name) for name in ("drag_amount", "drag_hours"))
        if "drags_along" in cleaned and is_nameless(cleaned["drags_along"], *dragged):
            self.add_error("drags_along", NAMELESS)
        stated = any(cleaned.get(name) is not None for name in ("upkeep_amount", "upkeep_hours"))
        if stated and cleaned.get("upkeep_every") is None and "upkeep_every" not in self.errors:
            self.add_error("upkeep_every", "Enter the years between upkeep.")


class CostIndexForm(RecordForm):
    """A published index of prices, its values pasted."""

    name = forms.CharField(
        max_length=120, label="Index name", help_text="With its number, if it has one."
    )
    source = forms.CharField(
        max_length=300,
        required=False,
        label="Where it is published",
        help_text="And when you read it.",
    )
    months_text = forms.CharField(
        max_length=40_000,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"}),
        label="Values by month",
        help_text=(
            "One month a line, like 2014-07 116.3. Add “preliminary” after a value that may "
            "still change."
        ),
    )

    def initial_from(self, record: Any) -> dict[str, Any]:
        return super().initial_from(record) | {"months_text": write_index(index_values(record))}

    def clean_months_text(self) -> str:
        text = self.cleaned_data["months_text"]
        try:
            self.months = parse_index(text)
        except IndexTextError as error:
            raise forms.ValidationError(str(error)) from None
        return text
