"""What an estimate of the next build rests on."""

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from ..calc.escalation import EscalationError, IndexSeries, IndexValue
from ..calc.money import MoneyError, parse_amount
from ..models import Build, BuildArea
from ..queries.indexes import get_series, list_indexes_of
from .base import NOTE, RecordForm, optional_choices
from .compare import BuildTicks
from .fields import NumberField

NONE, RATE, INDEX = "none", "rate", "index"
_MONTH = re.compile(r"(\d{4})-(\d{1,2})$")
MOST_VALUES = 1200


class EstimateForm(RecordForm):
    """Earlier builds, the area they are compared by, and how prices rose since."""

    builds = BuildTicks(
        widget=forms.CheckboxSelectMultiple,
        label="Earlier builds",
        error_messages={
            "required": "Tick one build or more to learn from.",
            "invalid_choice": "One of these builds is not there, or was not shared with you.",
        },
    )
    area = forms.ChoiceField(label="Compared by")
    by = forms.ChoiceField(
        widget=forms.RadioSelect,
        choices=[
            (NONE, "As they were paid"),
            (RATE, "Risen by so much a year"),
            (INDEX, "Risen as a published index did"),
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
        error_messages={"invalid_choice": "This index is not there: choose one of the list."},
    )
    index_name = forms.CharField(
        max_length=120,
        required=False,
        label="Or another, and who publishes it",
        help_text="Its name and source, so that others can look it up.",
    )
    index_values = forms.CharField(
        max_length=40_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        label="Its values, a month on each line",
        help_text="Like 2024-05 163.2; a p behind a value marks it as preliminary.",
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
            self.add_error("yearly", "Write by how much prices rose a year.")
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
            self.cleaned_data["series"] = read_series(self.cleaned_data.get("index_name", ""), text)
        except EscalationError as error:
            self.add_error("index_values", str(error))


class UseForm(forms.Form):
    """What an estimate is to become."""

    budgets = forms.BooleanField(
        required=False,
        initial=True,
        label="Budgets",
        help_text="Each element gets its likely material, the build the likely total with paid"
        " labour. Budgets that stand there are replaced.",
    )
    requirements = forms.BooleanField(
        required=False,
        initial=True,
        label="Requirements",
        help_text="Components without a stated quantity get the estimated one, less their own waste"
        " allowance; those that are not there are added.",
    )


def read_series(name: str, text: str) -> IndexSeries:
    """An index typed line by line: month, value, and a p where it is preliminary.

    Raises EscalationError naming the line that cannot be read.
    """
    values = []
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if not lines:
        raise EscalationError("Write the index’s values, a month on each line.")
    if len(lines) > MOST_VALUES:
        raise EscalationError(f"That is more than {MOST_VALUES:,} months: leave older ones out.")
    for number, line in enumerate(lines, start=1):
        values.append(_read_value(number, line))
    return IndexSeries(name, values)


def _read_value(number: int, line: str) -> IndexValue:
    words = line.replace(";", " ").replace("\t", " ").split()
    shown = line if len(line) <= 40 else f"{line[:40]}…"
    preliminary = len(words) == 3 and words[2].casefold() in {"p", "(p)", "preliminary"}
    month = _MONTH.match(words[0])
    if len(words) - preliminary != 2 or month is None:
        raise EscalationError(
            f"Line {number}, “{shown}”, is not a month and a value: write it like 2024-05 163.2."
        )
    year, in_year = int(month[1]), int(month[2])
    if not 1900 <= year <= 2200 or not 1 <= in_year <= 12:
        raise EscalationError(f"Line {number}, “{shown}”, names no month: write it like 2024-05.")
    try:
        value = parse_amount(words[1], "The value", "write it like 163.2")
    except MoneyError:
        raise EscalationError(
            f"Line {number}, “{shown}”, has no value that can be read: write it like 163.2."
        ) from None
    return IndexValue(date(year, in_year, 1), Fraction(value), preliminary)
