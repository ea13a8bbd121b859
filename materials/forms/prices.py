"""Prices with words around them, in forms that hold a quantity beside."""

from typing import Any

from django import forms

from ..calc.money import MoneyError
from ..calc.price_text import (
    CENTS,
    DOLLARS,
    EACH,
    ESTIMATE,
    PriceWords,
    PriceWordsError,
    read_price_words,
)
from ..calc.quantities import QuantityError
from ..calc.units import UNITS, Dimension, lookup
from ..models import Build, Component
from ..queries.components import list_components
from ..queries.quantities import parsed, priced_units
from .fields import (
    DayField,
    MoneyInput,
    ReadingsError,
    TypedField,
    UnitPriceField,
)
from .photos import FormWithPhotos, camera_field


class PriceText(MoneyInput):
    """A price as written on a pile: 12.50, 1.20 each, 8/sheet, 45 obo.

    The value is the amount with its words, or None when nothing was typed.
    """

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The price")
        super().__init__(**kwargs)

    def read(self, text: str) -> Any:
        try:
            words = read_price_words(text)
        except PriceWordsError as error:
            raise ReadingsError(_asking(error)) from None
        except MoneyError as error:
            raise forms.ValidationError(str(error)) from None
        number = self.number(words.number, text)
        return self.within(number / 100 if words.in_cents else number), words


def _asking(error: PriceWordsError) -> QuantityError:
    if not error.offers:
        return QuantityError(str(error))
    asked = " or ".join(error.offers)
    return QuantityError(
        f"{str(error).partition(': enter')[0]}. Did you mean {asked}?", error.offers
    )


def mark_estimate(words: PriceWords | None, cleaned: dict[str, Any]) -> None:
    """Keep with the line's note that its price is an estimate."""
    if words is not None and words.is_estimate:
        mark = f"Price is {ESTIMATE}."
        note = cleaned.get("note") or ""
        cleaned["note"] = note if mark in note else f"{mark} {note}".strip()


def refuse_dollars(words: PriceWords, build: Build) -> None:
    """Raises ValidationError when a price is in dollars or cents and the build has none."""
    if words.in_cents and build.currency not in CENTS:
        raise forms.ValidationError(
            f"That is in cents, and this build is in {build.currency}: enter the amount in"
            f" {build.currency}."
        )
    if words.in_dollars and build.currency not in DOLLARS:
        raise forms.ValidationError(
            f"That is in dollars, and this build is in {build.currency}: enter the amount in"
            f" {build.currency}."
        )


_POWERS = {Dimension.AREA: "sq", Dimension.VOLUME: "cu"}


def refuse_length(words: PriceWords | None, quantity_text: str) -> None:
    """“50/yd” for cubic yards: ask which is meant. Raises a refusal that offers the other."""
    per = lookup(words.per) if words else None
    unit = parsed(quantity_text).unit
    power = _POWERS.get(unit.dimension)
    if words is None or per is None or per.dimension is not Dimension.LENGTH or not power:
        return
    meant = f"{words.number.strip()}/{power} {per.symbol}"
    raise ReadingsError(
        QuantityError(
            f"This is the price of one {per.name}, and the quantity is in {unit.plural}. Did you"
            f" mean {meant}?",
            (meant,),
        )
    )


def per_text_of(
    words: PriceWords | None, quantity_text: str, component: Component | None = None
) -> str:
    """What a price is per, beside a quantity; empty for one of the unit that was typed.

    “Each” beside a measure is one piece, where the component says what that holds.
    """
    several = words is not None and words.per.isdigit()
    if words is None or (words.per != EACH and not several):
        return words.per if words else ""
    try:
        unit = parsed(quantity_text).unit
    except QuantityError:
        return f"{words.per} pieces" if several else ""
    if several:
        counted = unit if unit.is_counted else UNITS["piece"]
        return f"{words.per} {counted.name if words.per == '1' else counted.plural}"
    if unit.symbol == "piece" or unit.dimension is Dimension.PACK:
        return ""
    try:
        if component is not None:
            priced_units(quantity_text, "piece", component)
    except QuantityError:
        return ""
    return "piece"


class PriceForm(FormWithPhotos):
    """A dated new price."""

    component = forms.ModelChoiceField(queryset=None)
    price = UnitPriceField(label="New price", help_text="Before tax.")
    per_text = TypedField(
        required=False,
        max_length=60,
        label="Per",
        help_text="Like gal or 100 sq ft. If empty: one base unit.",
    )
    priced_on = DayField(label="Priced on")
    priced_at = forms.CharField(max_length=120, required=False, label="Priced at")
    photo = camera_field(label="Photo", help_text="Of the label or the page.")

    def set_choices(self) -> None:
        self.fields["component"].queryset = list_components(self.build)
