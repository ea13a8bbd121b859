"""The question a sourcing plan answers."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from ..calc.supply.types import Aim, Question
from ..forms.base import let_overflow
from ..forms.fields import HoursInput, MoneyInput, UnitPriceField
from ..models import Build
from ..queries.ways import KnownWay


class RecipeTicks(forms.MultipleChoiceField):
    """Ways to make by their codes; one that is no longer known is left out, not refused."""

    def valid_value(self, value: str) -> bool:
        return True


class SourcingForm(forms.Form):
    """What is to be as little as can be, the limits, and the ways to make allowed."""

    aim = forms.ChoiceField(
        choices=[
            (Aim.MONEY, "Least money"),
            (Aim.BOTH, "Least money and hours together"),
            (Aim.HOURS, "Fewest hours"),
        ],
        widget=forms.RadioSelect,
        initial=Aim.MONEY,
        label="Look for",
        error_messages={"invalid_choice": "Choose one of the three."},
    )
    rate = UnitPriceField(
        required=False,
        label="Value of an hour",
        what="The rate",
        help_text="Only for money and hours together. Your own labour rate is filled in.",
    )
    most_money = MoneyInput(
        required=False,
        label="Spend at most",
        help_text="If empty: no limit.",
    )
    most_hours = HoursInput(
        required=False,
        label="Hours at most",
        help_text="To fetch, prepare and work up. If empty: no limit.",
    )
    recipe = RecipeTicks(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Make from other material",
        help_text=(
            "What conversions made so far, and what you stated. Untick what cannot be done."
        ),
    )

    def __init__(
        self, *args: Any, build: Build, choices: Sequence[tuple[KnownWay, str]], **kwargs: Any
    ):
        codes = [known.code for known, _ in choices]
        kwargs.setdefault("initial", {"rate": build.own_labour_rate, "recipe": codes})
        super().__init__(*args, **kwargs)
        self.fields["recipe"].choices = [(known.code, words) for known, words in choices]
        if not choices:
            del self.fields["recipe"]
        let_overflow(self)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("aim") == Aim.BOTH and cleaned.get("rate") is None and not self.errors:
            self.add_error("rate", "Enter the value of an hour, like 22.00.")
        return cleaned

    def question(self) -> Question:
        """What is asked; call after ``is_valid``."""
        given = self.cleaned_data
        return Question(
            Aim(given["aim"]),
            given["rate"] if given["rate"] is not None else Decimal(0),
            given["most_money"],
            given["most_hours"],
        )

    def allowed(self) -> frozenset[str]:
        """Codes of the ways to make ticked."""
        return frozenset(self.cleaned_data.get("recipe") or ())
