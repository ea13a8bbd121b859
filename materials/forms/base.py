"""What all record forms share."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.validators import MaxLengthValidator
from django.db import models

from ..models import Build


class TidyForm(forms.Form):
    """A form whose texts are tidied, and that shows what a service refuses."""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        tidy_texts(self, cleaned)
        return cleaned

    def add_refusal(self, text: str, field: str | None) -> None:
        """Show a service's refusal at its field, or on top."""
        self.add_error(field if field in self.fields else None, text)


class TypedForm(TidyForm):
    """A form of which one is told what is amiss while one types.

    ``asked_by_others``: fields that may stay empty, and of which something is said only because
    of what others hold. ``takes_readings``: a reading offered for a refused field is a button,
    which leads back to the form, to the part of the page that ``looked_at`` names.
    """

    asked_by_others: tuple[str, ...] = ()
    takes_readings = True
    looked_at = ""

    def typed_faults(self) -> list[str]:
        """Faults of fields in which something was typed; an empty one is not a fault yet."""
        return [
            self.fault_words(name, str(error))
            for name, errors in self.errors.items()
            if name in self.asked_by_others
            or (name in self.fields and self.data.get(self.add_prefix(name)))
            for error in errors
        ]

    def fault_words(self, name: str, text: str) -> str:
        """One fault as it is said away from its field."""
        return text


class RecordForm(TypedForm):
    """A form over one record of a build.

    ``initial`` is taken from the record; ``values()`` gives what a service takes. Texts may
    not hold control characters: they would break the workbook.
    """

    def __init__(self, *args: Any, build: Build, record: models.Model | None = None, **kwargs: Any):
        self.build, self.record = build, record
        initial = {**(kwargs.pop("initial", None) or {})}
        if record is not None and record.pk:
            initial = {**self.initial_from(record), **initial}
        super().__init__(*args, initial=initial, **kwargs)
        self.set_choices()
        let_overflow(self)

    def set_choices(self) -> None:
        """Narrow choices to the build's own records."""

    def initial_from(self, record: models.Model) -> dict[str, Any]:
        """Field values of a stored record."""
        return {name: getattr(record, name) for name in self.base_fields if hasattr(record, name)}

    def values(self) -> dict[str, Any]:
        """Cleaned values by field name."""
        return dict(self.cleaned_data)


class NumberedForm(RecordForm):
    """A form of what has a number of its own, and suggests one for something new.

    The page carries what was suggested, however often the form comes back.
    """

    suggested = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, initial: dict[str, Any] | None = None, **kwargs: Any):
        given = initial or {}
        super().__init__(*args, initial={"suggested": given.get("number", ""), **given}, **kwargs)

    @property
    def is_suggested(self) -> bool:
        """Whether a new record has the number that was suggested; call after ``is_valid``."""
        is_new = self.record is None or self.record.pk is None
        return is_new and self.cleaned_data["number"] == self.cleaned_data["suggested"]

    def number_note(self, number: str) -> str:
        """A sentence where another number was given than the one that was sent."""
        sent = self.cleaned_data["number"]
        return f" {sent} was used meanwhile, so this one is {number}." if sent != number else ""

    def values(self) -> dict[str, Any]:
        values = super().values()
        values.pop("suggested", None)
        return values


TOO_LONG = "This is too long: %(show_value)d characters, where %(limit_value)d fit. Shorten it."


def let_overflow(form: forms.Form) -> None:
    """Let the boxes take more than fits, and refuse it with a sentence.

    A box with a maxlength drops what is typed or pasted beyond it, and says nothing.
    """
    for field in form.fields.values():
        limit = getattr(field, "max_length", None)
        if limit is None or isinstance(field, forms.FileField):
            continue
        field.widget.attrs.pop("maxlength", None)
        # The validators themselves are shared by all forms of a class.
        field.validators = [
            MaxLengthValidator(limit, TOO_LONG) if isinstance(v, MaxLengthValidator) else v
            for v in field.validators
        ]


CONTROL = "This holds an invisible character. Type it again."


def tidy_texts(form: forms.Form, cleaned: dict[str, Any]) -> None:
    """Refuse control characters, and put the spaces of names and notes in order."""
    for name, value in list(cleaned.items()):
        if not isinstance(value, str):
            continue
        field = form.fields[name]
        if has_control(value):
            form.add_error(name, CONTROL)
        elif type(field) is forms.CharField and not isinstance(field.widget, forms.Textarea):
            cleaned[name] = " ".join(value.split())


def has_control(text: str) -> bool:
    """Whether a text holds a sign that no workbook can."""
    return any(
        (ord(mark) < 32 and mark not in "\n\r\t")
        or 0xD800 <= ord(mark) <= 0xDFFF
        or mark in "\ufffe\uffff"
        for mark in text
    )


def optional_choices(choices: Iterable[tuple[str, str]], empty: str) -> list[tuple[str, str]]:
    """Choices with an empty first one."""
    return [("", empty), *choices]


NOTE = {"max_length": 500, "required": False, "label": "Note"}
