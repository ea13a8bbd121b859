"""Forms of takeoffs: the measures of a shape, and what a figure is for."""

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from ..forms.base import NOTE, RecordForm
from ..forms.fields import TypedField, UnitField
from ..models import BuildArea, Component, Takeoff
from ..queries.components import list_components
from .calc.reading import MOST_TEXT, is_metric, read_inputs
from .calc.takeoff import find_shape
from .calc.types import MANY, Kind, Question, TakeoffError, Worked
from .calc.wording import Say

AREAS = (BuildArea.FLOOR, BuildArea.ENVELOPE)
NEW = "new"


class TakeoffForm(RecordForm):
    """The measures of a shape; ``record`` says which shape, also when it is not kept yet."""

    name = forms.CharField(
        max_length=120, label="Call it", help_text="A name you will know again, like North wall."
    )
    note = forms.CharField(**NOTE)
    worked: Worked | None = None
    asked_by_others = (NON_FIELD_ERRORS,)

    def __init__(self, *args: Any, record: Takeoff, **kwargs: Any):
        self.shape = find_shape(record.shape)
        kwargs["initial"] = {"name": self.shape.title, **(kwargs.get("initial") or {})}
        if record.pk:
            kwargs["initial"]["name"] = record.name
        super().__init__(*args, record=record, **kwargs)

    def set_choices(self) -> None:
        boxes = {question.name: _box(question) for question in self.shape.questions}
        self.fields = {**boxes, **self.fields}

    def initial_from(self, record: Any) -> dict[str, Any]:
        typed = record.inputs if isinstance(record.inputs, dict) else {}
        return {"name": record.name, "note": record.note, **typed}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        typed = {question.name: cleaned.get(question.name, "") for question in self.shape.questions}
        values, faults = read_inputs(self.shape.questions, typed)
        for name, fault in faults.items():
            if name not in self.errors:
                self.add_error(name, str(fault))
        if any(question.name in self.errors for question in self.shape.questions):
            return cleaned
        try:
            say = Say(is_metric(self.shape.questions, typed))
            self.worked = self.shape.work({**values, "say": say})
        except TakeoffError as error:
            self.add_error(error.ask or None, str(error))
        return cleaned

    def fault_words(self, name: str, text: str) -> str:
        return f"{self.fields[name].label}: {text}" if name in self.fields else text

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        inputs = {question.name: data[question.name] for question in self.shape.questions}
        return {"name": data["name"], "note": data["note"], "inputs": inputs}


def _box(question: Question) -> forms.Field:
    given: dict[str, Any] = {"label": question.label, "help_text": question.help, "required": False}
    given["initial"] = question.start
    box: forms.Field
    if question.kind is Kind.CHOICE:
        box = forms.ChoiceField(choices=question.choices, **given)
    elif question.kind in MANY:
        area = forms.Textarea(attrs={"rows": 3})
        box = forms.CharField(widget=area, max_length=MOST_TEXT, **given)
    else:
        box = TypedField(**given)
    # Asked for by the reader, with a sentence of its own.
    box.is_needed = question.needed
    return box


class TakeoffUseForm(RecordForm):
    """What a figure is for."""

    target = forms.ChoiceField(label="What it is for")
    new_name = forms.CharField(max_length=120, required=False, label="Name of the new component")
    new_unit = UnitField(
        required=False, label="Its base unit", help_text="What it is counted in, if it is new."
    )
    how = forms.ChoiceField(
        label="Quantity required already",
        choices=[
            ("add", "Add this to it"),
            ("replace", "Replace it with this"),
            ("keep", "Keep it: this is already included"),
        ],
        initial="add",
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, is_area: bool, **kwargs: Any):
        self.is_area = is_area
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        self.parts = {str(part.pk): part for part in list_components(self.build)}
        areas = {area.label: area for area in self.build.areas.all()} if self.is_area else {}
        choices: list[Any] = [(NEW, "A new component, named below")]
        if self.is_area:
            labels = list(dict.fromkeys([*AREAS, *areas]))
            choices.append(("The build", [(f"area {n}", label) for n, label in enumerate(labels)]))
            self.areas = {f"area {n}": label for n, label in enumerate(labels)}
        else:
            self.areas = {}
        if self.parts:
            choices.append(
                ("Components", [(key, _with_need(part)) for key, part in self.parts.items()])
            )
        self.fields["target"].choices = choices

    @property
    def component(self) -> Component | None:
        """The component that was chosen."""
        return self.parts.get(self.cleaned_data["target"])

    @property
    def area(self) -> str:
        """The area that was chosen, or an empty text."""
        return self.areas.get(self.cleaned_data["target"], "")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("target") == NEW:
            if not cleaned.get("new_name") and "new_name" not in self.errors:
                self.add_error("new_name", "Name the new component, or choose one from the list.")
            if not cleaned.get("new_unit") and "new_unit" not in self.errors:
                self.add_error("new_unit", "Enter what it is counted in, like piece or sq ft.")
        return cleaned


def _with_need(part: Component) -> str:
    return f"{part.name} (requires {part.required_text or 'nothing stated'})"
