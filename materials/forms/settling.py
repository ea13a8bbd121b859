"""Forms of shares and of payments."""

from decimal import Decimal
from typing import Any

from django import forms

from ..calc.money import minor_units
from ..models import Build
from ..queries.builds import list_persons
from ..queries.exchange import name_key
from ..queries.settling import list_weights
from .base import NOTE, RecordForm
from .fields import DayField, MoneyInput, NumberField, SuggestInput

NEW_PERSON, NEW_SHARE = "new_person", "new_share"
# Shares in per cent may miss 100 by what rounding thirds costs.
SLACK = Decimal(1)


class ShareInput(NumberField):
    """A share: any number above zero, with or without a sign of per cent."""

    def __init__(self, **kwargs: Any):
        super().__init__(places=6, required=False, what="The share", **kwargs)

    def read(self, text: str) -> Decimal:
        try:
            share = super().read(text.rstrip("% "))
        except forms.ValidationError:
            share = Decimal(0)
        if share <= 0:
            shown = text if len(text) <= 30 else f"{text[:30]}…"
            raise forms.ValidationError(
                f"“{shown}” is no share: enter a number above zero with at most six "
                "decimals, like 2 or 33.3%. Leave it empty for no share."
            )
        return share


class SharesForm(RecordForm):
    """A box for the share of each person of the build, and one for somebody new."""

    own_hours_count = forms.BooleanField(
        required=False,
        label="Count own hours at the stated rate",
        help_text=(
            "Own hours then count as if the person who worked them had paid that. Paid hours "
            "never do."
        ),
    )

    def __init__(self, *args: Any, build: Build, **kwargs: Any):
        super().__init__(*args, build=build, **kwargs)
        self.fields["own_hours_count"].initial = build.own_hours_count

    def set_choices(self) -> None:
        weights = list_weights(self.build)
        self.names: dict[str, str] = {}
        boxes: dict[str, forms.Field] = {}
        for person in list_persons(self.build):
            name = f"share_{person.pk}"
            self.names[name] = person.name
            boxes[name] = ShareInput(label=person.name, initial=weights.get(person.pk))
        boxes[NEW_PERSON] = forms.CharField(
            required=False,
            max_length=80,
            label="Somebody not named above",
            help_text="Somebody who shares the cost but has not paid or worked yet.",
        )
        boxes[NEW_SHARE] = ShareInput(label="Their share")
        self.fields = {**boxes, **self.fields}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        name, share = cleaned.get(NEW_PERSON), cleaned.get(NEW_SHARE)
        if name and share is None and NEW_SHARE not in self.errors:
            self.add_error(NEW_SHARE, "Enter this person's share.")
        if share is not None and not name and NEW_PERSON not in self.errors:
            self.add_error(NEW_PERSON, "Enter whose share this is.")
        if name and name_key(name) in map(name_key, self.names.values()):
            self.add_error(NEW_PERSON, f"{name} has a box above: enter the share there.")
        self._check_percent(cleaned)
        return cleaned

    def _check_percent(self, cleaned: dict[str, Any]) -> None:
        given = {name: cleaned[name] for name in self._boxes() if cleaned.get(name) is not None}
        marked = [name for name in given if str(self[name].value()).strip().endswith("%")]
        if not marked or self.errors:
            return
        if len(marked) < len(given):
            raise forms.ValidationError(
                "Some shares are in per cent and some are not: enter all of them the same way."
            )
        total = sum(given.values(), Decimal(0))
        if abs(total - 100) > SLACK:
            raise forms.ValidationError(
                f"The shares come to {total.normalize():f}%. Make them 100%, or leave "
                "out the sign if only their ratio counts."
            )

    def _boxes(self) -> list[str]:
        return [*self.names, NEW_SHARE]

    def shares(self) -> list[tuple[str, Decimal]]:
        """Name and share of everybody who has one."""
        names = {**self.names, NEW_SHARE: self.cleaned_data[NEW_PERSON]}
        # A person whom somebody else added meanwhile had no box on the page: left as it is.
        given = {
            name: self.cleaned_data[name] if name in self.data else self.fields[name].initial
            for name in self._boxes()
        }
        return [(names[name], share) for name, share in given.items() if share is not None]


class PaymentForm(RecordForm):
    """Money that one person gave another."""

    handed_on = DayField(label="Date")
    giver = forms.CharField(
        max_length=80, label="From", help_text="Who gave it. Pick one or type a new name."
    )
    receiver = forms.CharField(max_length=80, label="To", help_text="Who received it.")
    amount = MoneyInput()
    note = forms.CharField(**NOTE)

    def set_choices(self) -> None:
        self.fields["amount"].places = minor_units(self.build.currency)
        persons = list(list_persons(self.build).values_list("name", flat=True))
        for name in ("giver", "receiver"):
            self.fields[name].widget = SuggestInput(persons)

    def initial_from(self, record: Any) -> dict[str, Any]:
        people = {"giver": record.giver.name, "receiver": record.receiver.name}
        return {**super().initial_from(record), **people}

    def clean_amount(self) -> Decimal:
        amount = self.cleaned_data["amount"]
        if amount <= 0:
            raise forms.ValidationError("Enter an amount above zero.")
        return amount

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        giver, receiver = cleaned.get("giver"), cleaned.get("receiver")
        if giver and receiver and name_key(giver) == name_key(receiver):
            self.add_error("receiver", "Nobody pays themselves: name two people.")
        return cleaned
