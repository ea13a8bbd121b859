"""Choosing builds to compare."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..models import Build

MOST = 8
_NOT_THERE = "One of these builds does not exist, or nobody shared it with you."


class BuildTicks(forms.MultipleChoiceField):
    """Builds by their keys as texts, so that no key is too long to be looked for."""

    def to_python(self, value: Any) -> list[str]:
        return [text for text in super().to_python(value) if text]


class CompareForm(forms.Form):
    """Two builds or more, and the area that hours and elements are divided by."""

    build = BuildTicks(
        widget=forms.CheckboxSelectMultiple,
        label="Builds",
        error_messages={
            "required": "Tick at least two builds.",
            "invalid_choice": _NOT_THERE,
            "invalid_list": _NOT_THERE,
        },
    )
    per = forms.ChoiceField(
        required=False,
        label="Hours and elements per",
        error_messages={"invalid_choice": "None of the builds has such an area: choose another."},
    )

    def __init__(
        self, *args: Any, builds: Sequence[Build], areas: Sequence[tuple[str, str]], **kwargs: Any
    ):
        super().__init__(*args, **kwargs)
        self.builds = {str(build.pk): build for build in builds}
        self.fields["build"].choices = [(key, build.name) for key, build in self.builds.items()]
        self.fields["per"].choices = areas
        if not areas:
            del self.fields["per"]

    def clean_build(self) -> list[Build]:
        ticked = set(self.cleaned_data["build"])
        chosen = [build for key, build in self.builds.items() if key in ticked]
        if len(chosen) < 2:
            raise forms.ValidationError("Tick one more build: it takes two to compare.")
        if len(chosen) > MOST:
            raise forms.ValidationError(
                f"Tick {MOST} builds at most, so that a row stays readable."
            )
        return chosen
