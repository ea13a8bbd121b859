"""Form of what was done about a caution."""

from collections.abc import Sequence
from typing import Any

from django import forms

from ..models import Component
from .base import RecordForm


class CautionForm(RecordForm):
    """What was done about a caution, for as many of the components as it was done about."""

    dealt_with = forms.CharField(
        max_length=500,
        label="What was done and by whom",
        help_text="For example: tested by a laboratory on 3 May, report kept; stripped outside.",
    )
    components = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="Components this covers",
        error_messages={
            "required": "Tick at least one of them.",
            "invalid_choice": "Tick at least one from the list.",
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
        ticked = set(self.cleaned_data["components"])
        chosen = [component for key, component in self.about.items() if key in ticked]
        return {**self.cleaned_data, "components": chosen}
