"""Form of what was done about a caution."""

from typing import Any

from django import forms

from ..calc.safety import all_rules
from ..queries.components import list_components
from .base import RecordForm


class CautionForm(RecordForm):
    """Which caution, about what, and what was done."""

    code = forms.ChoiceField(widget=forms.HiddenInput)
    component = forms.ModelChoiceField(queryset=None, widget=forms.HiddenInput)
    dealt_with = forms.CharField(
        max_length=500,
        label="What was done, and by whom",
        help_text="For example: tested by a laboratory on 3 May, report kept; stripped outside.",
    )

    def set_choices(self) -> None:
        self.fields["code"].choices = [
            (rule.caution.code, rule.caution.title) for rule in all_rules()
        ]
        self.fields["component"].queryset = list_components(self.build)

    def values(self) -> dict[str, Any]:
        """Values as the service takes them."""
        return dict(self.cleaned_data)
