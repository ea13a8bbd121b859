"""Beginning a build from an earlier one."""

from typing import Any

from django import forms

from ..models import Build
from .base import TidyForm
from .builds import BuildForm

# The new building has its own name, measures and budget.
_ITS_OWN = {"name", "floor_area", "envelope_area", "other_areas", "budget_amount"}


class NewBuildForm(BuildForm):
    """A new build; its currency, tax and rates stand there as the earlier build has them."""

    def __init__(self, *args: Any, earlier: Build, **kwargs: Any):
        known = self.initial_from(earlier)
        initial = {name: value for name, value in known.items() if name not in _ITS_OWN}
        super().__init__(*args, initial=initial, **kwargs)


def _tick(label: str, chosen: bool = True, **more: Any) -> forms.BooleanField:
    return forms.BooleanField(required=False, initial=chosen, label=label, **more)


class DeleteBuildForm(TidyForm):
    """The build's name, so that nobody deletes the wrong one."""

    name = forms.CharField(max_length=120, label="Name of this build")

    def __init__(self, *args: Any, build: Build, **kwargs: Any):
        self.build = build
        super().__init__(*args, **kwargs)

    def clean_name(self) -> str:
        typed: str = self.cleaned_data["name"]
        if " ".join(typed.split()).casefold() != " ".join(self.build.name.split()).casefold():
            raise forms.ValidationError(f"Type the name as it stands above: {self.build.name}.")
        return typed


class CarryOverForm(forms.Form):
    """What to carry over, field by field of ``services.new_builds.CarryOver``."""

    elements = _tick("Elements")
    budgets = _tick("… with their budgets", False)
    components = _tick(
        "Components", help_text="With units, contents, waste, answers to cautions, and notes."
    )
    required = _tick("… with the quantities required")
    prices = _tick("… with their new prices and dates")
    suppliers = _tick("Suppliers")
    tasks = _tick("Tasks with planned hours")
    persons = _tick("People", False, help_text="Names only. This gives nobody access.")
