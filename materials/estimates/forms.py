"""What an estimate of the next build rests on."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from ..forms.base import NOTE, RecordForm, optional_choices
from ..forms.compare_builds import BuildTicks
from ..forms.fields import NumberField
from ..lifecycle.calc.escalation import IndexSeries
from ..lifecycle.calc.index_text import IndexTextError, parse_index
from ..lifecycle.queries.indexes import get_series, list_indexes_of
from ..models import Build, BuildArea

NONE, RATE, INDEX = "none", "rate", "index"
FINISHED_PART, LEAVE_OUT = "part", "leave out"


class EstimateForm(RecordForm):
    """Earlier builds, the area they are compared by, and how prices rose since."""

    builds = BuildTicks(
        widget=forms.CheckboxSelectMultiple,
        label="Earlier builds",
        error_messages={
            "required": "Tick at least one build to learn from.",
            "invalid_choice": "One of these builds does not exist, or nobody shared it with you.",
        },
    )
    unfinished = forms.ChoiceField(
        widget=forms.RadioSelect,
        choices=[
            (FINISHED_PART, "Use their finished elements"),
            (LEAVE_OUT, "Leave them out"),
        ],
        initial=FINISHED_PART,
        required=False,
        label="Builds that are not finished",
        help_text="Done tasks, hours against plan and requirements tell how far a build is.",
    )
    area = forms.ChoiceField(
        label="Compared by",
        help_text="Takeoffs of the same shape in both builds go before the area.",
    )
    by = forms.ChoiceField(
        widget=forms.RadioSelect,
        choices=[
            (NONE, "As they were paid"),
            (RATE, "Raised by a percentage a year"),
            (INDEX, "Raised by a published index"),
        ],
        initial=NONE,
        label="Prices since then",
    )
    yearly = NumberField(
        places=3,
        required=False,
        least=Decimal(-50),
        most=Decimal(100),
        what="The rise",
        label="Rise a year, %",
    )
    kept = forms.ChoiceField(
        required=False,
        label="An index kept here",
        error_messages={"invalid_choice": "Choose an index from the list."},
    )
    index_name = forms.CharField(
        max_length=120,
        required=False,
        label="Or another, and who publishes it",
        help_text="Its name and publisher, so that others can look it up.",
    )
    index_values = forms.CharField(
        max_length=40_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        label="Its values, one month a line",
        help_text=(
            "Like 2024-05 163.2 or May 2024 163.2. Add “preliminary” after a value that may "
            "still change."
        ),
    )
    note = forms.CharField(**NOTE)

    def __init__(
        self, *args: Any, others: Sequence[Build], areas: Sequence[BuildArea], **kwargs: Any
    ):
        self.others, self.areas = {str(other.pk): other for other in others}, list(areas)
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        self.fields["builds"].choices = [(key, one.name) for key, one in self.others.items()]
        indexes = list_indexes_of([self.build, *self.others.values()])
        self.indexes = {str(index.pk): index for index in indexes}
        kept = [(key, index.name) for key, index in self.indexes.items()]
        self.fields["kept"].choices = optional_choices(kept, "None of them")
        self.fields["area"].choices = [(str(area.pk), area.label) for area in self.areas]

    def clean_builds(self) -> list[Build]:
        return [self.others[key] for key in dict.fromkeys(self.cleaned_data["builds"])]

    def clean_area(self) -> BuildArea:
        return next(area for area in self.areas if str(area.pk) == self.cleaned_data["area"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("by") == RATE and cleaned.get("yearly") is None and not self.errors:
            self.add_error("yearly", "Enter by how many per cent prices rose a year.")
        if cleaned.get("by") == INDEX and not self.errors:
            if cleaned.get("kept"):
                cleaned["series"] = get_series(self.indexes[cleaned["kept"]])
                return cleaned
            if not cleaned.get("index_name"):
                said = "Choose an index, or name one and who publishes it."
                self.add_error("index_name", said)
            self._read_index(cleaned.get("index_values", ""))
        return cleaned

    def _read_index(self, text: str) -> None:
        try:
            values = parse_index(text)
        except IndexTextError as error:
            self.add_error("index_values", str(error))
            return
        if not values:
            self.add_error("index_values", "Enter the index’s values, one month a line.")
            return
        self.cleaned_data["series"] = IndexSeries(self.cleaned_data.get("index_name", ""), values)


class UseForm(RecordForm):
    """What an estimate is to become."""

    budgets = forms.BooleanField(
        required=False,
        initial=True,
        label="Budgets",
        help_text=(
            "Each element gets its likely material cost. The build gets the likely total "
            "with paid labour. Budgets already stated are replaced."
        ),
    )
    requirements = forms.BooleanField(
        required=False,
        initial=True,
        label="Requirements",
        help_text=(
            "Components without a stated quantity get the estimated one, less their "
            "waste. Missing components are added."
        ),
    )
