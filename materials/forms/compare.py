"""Choosing builds to compare."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet

from ..models import Build

MOST = 8
_NOT_THERE = "One of these builds is not there, or was not shared with you."


class CompareForm(forms.Form):
    """Two builds or more, and the area that hours and elements are divided by."""

    build = forms.ModelMultipleChoiceField(
        queryset=None,
        widget=forms.CheckboxSelectMultiple,
        label="Builds",
        error_messages={
            "required": "Tick two builds or more.",
            "invalid_choice": _NOT_THERE,
            "invalid_pk_value": _NOT_THERE,
            "invalid_list": _NOT_THERE,
        },
    )
    per = forms.ChoiceField(required=False, label="Hours and elements per")

    def __init__(
        self, *args: Any, builds: QuerySet[Build], areas: Sequence[tuple[str, str]], **kwargs: Any
    ):
        super().__init__(*args, **kwargs)
        self.fields["build"].queryset = builds
        self.fields["per"].choices = areas
        if not areas:
            del self.fields["per"]

    def clean_build(self) -> list[Build]:
        chosen = list(self.cleaned_data["build"])
        if len(chosen) < 2:
            raise forms.ValidationError("Tick one build more: it takes two to compare.")
        if len(chosen) > MOST:
            raise forms.ValidationError(f"Tick {MOST} builds at most, so that a row can be read.")
        return chosen
