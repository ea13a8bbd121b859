"""The form of a lesson."""

from typing import Any

from django import forms

from ..choices import LessonKind
from ..models import Lesson
from ..models.lessons import ABOUT
from ..queries.builds import list_persons
from ..queries.days import NOT_YET_LEARNED
from ..queries.lessons import list_subjects
from ..queries.records import number_of
from .base import RecordForm
from .fields import DayField, HoursInput, MoneyInput, SuggestInput

WHOLE = "The whole build"


class LessonForm(RecordForm):
    """A regret or a win. What it is about is asked as one: a thing, or the whole build."""

    kind = forms.ChoiceField(
        choices=LessonKind.choices, initial=LessonKind.REGRET, widget=forms.RadioSelect
    )
    text = forms.CharField(
        max_length=500, label="Lesson", help_text="What you would do otherwise, or again."
    )
    about = forms.ChoiceField(
        required=False,
        label="About",
        error_messages={"invalid_choice": "Choose what it is about from the list."},
    )
    amount = MoneyInput(
        required=False,
        what="The money",
        label="Money it cost or saved",
        help_text="If empty: not known. 0 for none.",
    )
    hours = HoursInput(
        required=False,
        label="Hours it cost or saved",
        help_text="Like 3 or 1:30. If empty: not known.",
    )
    noted_on = DayField(label="Date", not_yet=NOT_YET_LEARNED)
    author = forms.CharField(max_length=150, required=False, label="Noted by")

    def set_choices(self) -> None:
        self.subjects = list_subjects(self.build)
        self.fields["about"].choices = [
            ("", WHOLE),
            *(
                (label, [(f"{about}-{one.pk}", str(one)) for one in listed])
                for about, label, listed in self.subjects
                if listed
            ),
        ]
        names = list_persons(self.build).values_list("name", flat=True)
        self.fields["author"].widget = SuggestInput(names)

    def initial_from(self, record: Any) -> dict[str, Any]:
        return super().initial_from(record) | {"about": subject_key(record)}

    def values(self) -> dict[str, Any]:
        values = super().values()
        kind, _, key = values.pop("about").rpartition("-")
        found = {
            about: next((one for one in listed if one.pk == number_of(key)), None)
            for about, _, listed in self.subjects
            if about == kind
        }
        return values | dict.fromkeys(ABOUT) | found


def subject_key(record: Lesson) -> str:
    """What a lesson is about, as the form names it; "" for the whole build."""
    keys = ((about, getattr(record, f"{about}_id")) for about in ABOUT)
    return next((f"{about}-{key}" for about, key in keys if key is not None), "")
