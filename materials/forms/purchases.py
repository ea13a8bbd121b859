"""Forms of a purchase: its head, its lines and its charges on one page."""

from decimal import Decimal
from typing import Any

from django import forms

from ..calc.price_text import PriceWords
from ..calc.quantities import QuantityError
from ..calc.types import Basis, PercentOn
from ..choices import (
    LOT_SPLITS,
    PERCENT_ON,
    SPLITS,
    ChargeKind,
    ObtainedBy,
    Source,
    State,
)
from ..queries.builds import list_persons
from ..queries.days import NOT_YET_RECEIVED, has_begun
from ..queries.offer_terms import TermsError, TypedTerms, check_terms
from ..queries.price_book import distance_in
from ..queries.quantities import priced_units
from ..queries.suppliers import list_supplier_names
from .base import NOTE, NumberedForm, optional_choices
from .deadlines import check_deadlines, ends_on, ends_time, fetch_on, fetch_time, name_zone
from .fields import (
    DayField,
    HoursInput,
    MoneyInput,
    NumberField,
    OriginYear,
    PercentInput,
    QuantityText,
    ReadingsError,
    SuggestInput,
    TypedField,
)
from .photos import FormWithPhotos, camera_field
from .prices import PriceText, mark_estimate, per_text_of, refuse_dollars, refuse_length
from .quantities import check_quantity
from .rows import ComponentRowForm, RowForm, new_name


class PurchaseForm(FormWithPhotos, NumberedForm):
    """Head of a purchase."""

    number = forms.CharField(
        max_length=40, label="Number", help_text="Your own number. Any will do."
    )
    bought_on = DayField(label="Date")
    supplier = forms.CharField(
        max_length=120, required=False, help_text="Pick one or type a new name."
    )
    state = forms.ChoiceField(choices=State.choices, initial=State.RECEIVED)
    paid_by = forms.CharField(
        max_length=80, required=False, help_text="Pick one or type a new name."
    )
    lot_price_amount = MoneyInput(
        required=False,
        label="Lot price",
        help_text="One price for all lines without their own price.",
    )
    lot_split = forms.ChoiceField(
        choices=optional_choices(LOT_SPLITS.items(), "By retail value, else equally"),
        required=False,
        label="Split the lot price",
    )
    expected_hours = HoursInput(
        required=False,
        label="Hours it will take",
        help_text="To fetch and prepare it, if this is an offer.",
    )
    ends_on, ends_time = ends_on(), ends_time()
    fetch_on, fetch_time = fetch_on(), fetch_time()
    note = forms.CharField(**NOTE)
    photo = camera_field(label="Photo", help_text="Of the receipt or the pile.")

    def set_choices(self) -> None:
        suppliers = list_supplier_names(self.build).values_list("name", flat=True)
        persons = list_persons(self.build).values_list("name", flat=True)
        self.fields["supplier"].widget = SuggestInput(suppliers)
        self.fields["paid_by"].widget = SuggestInput(persons)
        name_zone(self, self.build)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        refuse_early(self, cleaned)
        check_deadlines(self, cleaned, self.build)
        return cleaned

    def initial_from(self, record: Any) -> dict[str, Any]:
        return {
            **super().initial_from(record),
            "supplier": record.supplier.name if record.supplier else "",
            "paid_by": record.paid_by.name if record.paid_by else "",
        }


def refuse_early(form: forms.Form, cleaned: dict[str, Any]) -> None:
    """Say at the date when something is received on a day that has not come."""
    bought_on = cleaned.get("bought_on")
    if bought_on and cleaned.get("state") == State.RECEIVED and not has_begun(bought_on):
        form.add_error("bought_on", NOT_YET_RECEIVED)


class LineForm(ComponentRowForm):
    """One purchase line."""

    component = forms.ModelChoiceField(queryset=None, required=False)
    new_name = new_name()
    quantity_text = QuantityText(
        required=False,
        label="Quantity",
        help_text="As you would write it, like 16 @ 2x8x12, 20 gal, 2.5 squares.",
    )
    source = forms.ChoiceField(choices=optional_choices(Source.choices, "—"), required=False)
    unit_price = PriceText(
        places=6,
        required=False,
        label="Unit price",
        help_text="Like 1.20 or 8/sheet. 0 is free. Empty is not known.",
    )
    price_per_text = TypedField(
        required=False,
        max_length=60,
        label="Price per",
        help_text="If empty: per unit in the quantity.",
    )
    line_price_amount = MoneyInput(required=False, label="or price of the whole line")
    usable_percent = PercentInput(required=False, label="Usable, %", what="The usable share")
    obtained_by = forms.ChoiceField(
        choices=optional_choices(ObtainedBy.choices, "—"), required=False, label="Obtained by"
    )
    lot_weight = NumberField(
        places=6,
        required=False,
        what="The weight",
        label="Weight in the lot",
        help_text="Only for a split by given weights.",
    )
    price_breaks = TypedField(
        required=False,
        max_length=300,
        label="Cheaper from",
        help_text=(
            "For the sourcing plan. From this quantity on, each costs less, like 20 pieces: "
            "5.00; 50 pieces: 4.50."
        ),
    )
    most_text = TypedField(
        required=False,
        label="Most there is",
        help_text="For the sourcing plan. If empty: the quantity above.",
    )
    step_text = TypedField(
        required=False,
        max_length=60,
        label="Sold only by",
        help_text="Like bundle, or 12 pieces. If empty: singly.",
    )
    origin_year = OriginYear(required=False)
    through_fire = forms.BooleanField(required=False, label="It has been through a fire")
    note = forms.CharField(**NOTE)

    price_words: PriceWords | None = None
    sum_of = "price_amount"
    needed = {
        "component": "Choose what you got, or name something new.",
        "quantity_text": "Enter how much, with its unit, like 16 pieces or 20 gal.",
        "source": "Choose a source: salvage, seconds or retail.",
    }

    @property
    def less_used(self) -> list[str]:
        """All but what most lines need."""
        seen = ("pk", "new_name", *self.needed, "unit_price", "line_price_amount")
        return [name for name in self.base_fields if name not in seen]

    def set_choices(self) -> None:
        self.set_components()

    def clean_usable_percent(self) -> Decimal:
        value = self.cleaned_data["usable_percent"]
        return Decimal(100) if value is None else value

    def clean_unit_price(self) -> Decimal | None:
        typed = self.cleaned_data["unit_price"]
        if typed is None:
            return None
        amount, self.price_words = typed
        refuse_dollars(self.price_words, self.build)
        return amount

    def _take_price_words(self, cleaned: dict[str, Any]) -> None:
        """“8/sheet” fills “price per”; where that says another thing, one of them must go."""
        words, component = self.price_words, cleaned.get("component")
        per = per_text_of(words, cleaned.get("quantity_text", ""), component)
        mark_estimate(words, cleaned)
        if words is not None and words.is_total and cleaned.get("line_price_amount") is None:
            cleaned["line_price_amount"], cleaned["unit_price"] = cleaned["unit_price"], None
        typed = cleaned.get("price_per_text", "")
        if per and typed and per != typed:
            self.add_error("price_per_text", f"The price says per {per} already: keep one.")
        cleaned["price_per_text"] = typed or per

    def clean_row(self, cleaned: dict[str, Any]) -> None:
        self._take_price_words(cleaned)
        if cleaned.get("unit_price") is not None and cleaned.get("line_price_amount") is not None:
            self.add_error("line_price_amount", "Enter the unit price or the line price, not both.")
        check_quantity(self, cleaned, "component", "quantity_text")
        component, text = cleaned.get("component"), cleaned.get("quantity_text")
        if not component or not text or "quantity_text" in self.errors:
            return
        try:
            refuse_length(self.price_words, text)
            priced_units(text, cleaned.get("price_per_text", ""), component)
        except forms.ValidationError as error:
            self.add_error("unit_price", error)
            return
        except QuantityError as error:
            self.add_error("price_per_text", ReadingsError(error))
            return
        names = ("unit_price", "price_per_text", "price_breaks", "most_text", "step_text")
        if not any(name in self.errors for name in names):
            self._check_terms({name: cleaned.get(name) for name in names}, component, text)

    def _check_terms(self, given: dict[str, Any], component: Any, text: str) -> None:
        try:
            check_terms(TypedTerms(component=component, quantity_text=text, **given))
        except TermsError as error:
            self.add_error(error.field, str(error))


class ChargeForm(RowForm):
    """One charge: an amount, a percentage or a distance."""

    kind = forms.ChoiceField(choices=optional_choices(ChargeKind.choices, "—"), required=False)
    amount = MoneyInput(required=False, least=None)
    percent = PercentInput(required=False, label="or per cent", least=Decimal(-100))
    percent_on = forms.ChoiceField(
        choices=PERCENT_ON, required=False, label="Per cent of", initial=PercentOn.PRICE
    )
    distance_text = TypedField(
        required=False, max_length=60, label="or distance", help_text="There and back, like 84 mi."
    )
    spread_by = forms.ChoiceField(
        choices=SPLITS, required=False, label="Spread over the lines", initial=Basis.PRICE
    )

    less_used = ("percent_on", "spread_by")
    usual = {"percent_on": PercentOn.PRICE, "spread_by": Basis.PRICE}
    sum_of = "charged_amount"
    needed = {"kind": "Choose a kind of charge."}

    @property
    def in_short(self) -> str:
        kind = dict(ChargeKind.choices).get(self["kind"].value() or "", "")
        percent = self.typed("percent")
        parts = [kind, f"{percent}%" if percent else "", self.typed("distance_text")]
        return ", ".join(part for part in parts if part) if kind else ""

    def clean_percent_on(self) -> str:
        return self.cleaned_data["percent_on"] or PercentOn.PRICE

    def clean_spread_by(self) -> str:
        return self.cleaned_data["spread_by"] or Basis.PRICE

    def clean_row(self, cleaned: dict[str, Any]) -> None:
        distance = cleaned.get("distance_text")
        given = [cleaned.get("amount"), cleaned.get("percent"), distance or None]
        if sum(value is not None for value in given) != 1 and not self.errors:
            self.add_error("amount", "Enter one of amount, per cent or distance.")
        may_lower = (ChargeKind.DISCOUNT, ChargeKind.DEPOSIT, ChargeKind.OTHER)
        for name in ("amount", "percent"):
            value = cleaned.get(name)
            if value is not None and value < 0 and cleaned.get("kind") not in may_lower:
                self.add_error(name, "Only a discount, a deposit or “other” can be below zero.")
        if distance:
            try:
                distance_in(distance, self.build.distance_unit)
            except QuantityError as error:
                self.add_error("distance_text", ReadingsError(error))
