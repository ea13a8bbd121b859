"""Form of what was done about a caution."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..calc.safety import all_rules
from ..models import Component
from ..queries.components import list_components
from .base import RecordForm


DONE = {
    "max_length": 500,
    "label": "What was done, and by whom",
    "help_text": "For example: tested by a laboratory on 3 May, report kept; stripped outside.",
}


class CautionForm(RecordForm):
    """Which caution, about what, and what was done."""

    code = forms.ChoiceField(widget=forms.HiddenInput)
    component = forms.ModelChoiceField(queryset=None, widget=forms.HiddenInput)
    dealt_with = forms.CharField(**DONE)

    def set_choices(self) -> None:
        self.fields["code"].choices = [
            (rule.caution.code, rule.caution.title) for rule in all_rules()
        ]
        self.fields["component"].queryset = list_components(self.build)

    def values(self) -> dict[str, Any]:
        """Values as the service takes them."""
        return dict(self.cleaned_data)


class CautionsForm(RecordForm):
    """What was done about a caution, for as many of the components as it was done about."""

    dealt_with = forms.CharField(**DONE)
    components = forms.ModelMultipleChoiceField(
        queryset=None,
        widget=forms.CheckboxSelectMultiple,
        label="About which of them",
        error_messages={"required": "Tick at least one of them."},
    )

    def __init__(self, *args: Any, about: Sequence[Component], **kwargs: Any):
        self.about = about
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        keys = [component.pk for component in self.about]
        self.fields["components"].queryset = list_components(self.build).filter(pk__in=keys)
        self.initial.setdefault("components", keys)
