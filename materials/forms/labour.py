"""Forms of tasks and hours."""

from decimal import Decimal
from typing import Any

from django import forms

from ..calc.durations import HOURS_OF_A_DAY, LONG_DAY
from ..choices import LabourKind
from ..queries.builds import list_elements, list_persons
from ..queries.days import NOT_YET_WORKED
from ..queries.labour import list_task_names
from .base import NOTE, RecordForm
from .fields import DayField, HoursInput, MoneyInput, PercentInput, SuggestInput


class TaskForm(RecordForm):
    """A piece of work."""

    name = forms.CharField(max_length=120, label="Task")
    element = forms.ModelChoiceField(queryset=None, required=False, empty_label="No element")
    planned_hours = HoursInput(required=False, label="Planned hours", most=Decimal(100000))
    done_percent = PercentInput(required=False, label="Done, %")

    def set_choices(self) -> None:
        self.fields["element"].queryset = list_elements(self.build)


class OfTaskForm(RecordForm):
    """A form of work on a task of the list, or on one that is named here."""

    task = forms.ModelChoiceField(queryset=None, required=False, empty_label="No task")
    new_task = forms.CharField(
        max_length=120, required=False, label="or a new task", help_text="Its name."
    )

    def set_choices(self) -> None:
        self.fields["task"].queryset = list_task_names(self.build)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("task") and cleaned.get("new_task"):
            self.add_error("new_task", "Choose a task from the list or name a new one, not both.")
        return cleaned


class LabourForm(OfTaskForm):
    """Hours of one person on one day."""

    field_order = ("worked_on", "person")

    worked_on = DayField(label="Date", not_yet=NOT_YET_WORKED)
    person = forms.CharField(max_length=80, help_text="Pick one or type a new name.")
    kind = forms.ChoiceField(choices=LabourKind.choices, initial=LabourKind.INSTALLING)
    hours = HoursInput(help_text="1.5, 1:30, 45 min or 2 h 30.")
    paid_amount = MoneyInput(
        required=False, label="Paid", help_text="Money paid for these hours. If empty: own work."
    )
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        persons = list_persons(self.build).values_list("name", flat=True)
        self.fields["person"].widget = SuggestInput(persons)
        super().set_choices()

    def initial_from(self, record: Any) -> dict[str, Any]:
        return {**super().initial_from(record), "person": record.person.name}

    def clean_hours(self) -> Decimal:
        hours = self.cleaned_data["hours"]
        if hours <= 0:
            raise forms.ValidationError("Enter more than zero hours.")
        if hours > HOURS_OF_A_DAY:
            raise forms.ValidationError(LONG_DAY)
        return hours

    def refuse_button(self) -> None:
        """Say that the hours were sent by a button that the page does not have."""
        self.errors.pop("hours", None)
        self.add_error("hours", "Press one of this page's buttons, or type the hours.")


class TimerForm(OfTaskForm):
    """What is being timed."""

    kind = forms.ChoiceField(
        choices=LabourKind.choices, initial=LabourKind.INSTALLING, widget=forms.RadioSelect
    )
