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
    components = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="About which of them",
        error_messages={
            "required": "Tick at least one of them.",
            "invalid_choice": "That is none of them: tick those that it was done about.",
        },
    )

    def __init__(self, *args: Any, about: Sequence[Component], **kwargs: Any):
        self.about = {str(component.pk): component for component in about}
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        # Looked up here and not in the database, which refuses numbers that are too large.
        self.fields["components"].choices = [(key, part.name) for key, part in self.about.items()]

    def values(self) -> dict[str, Any]:
        """Values as the service takes them."""
        chosen = [self.about[key] for key in self.cleaned_data["components"]]
        return {**self.cleaned_data, "components": chosen}
