"""Prices with words around them, in forms that hold a quantity beside."""

from typing import Any

from django import forms

from ..calc.money import MoneyError
from ..calc.price_text import DOLLARS, EACH, PriceWords, read_price_words
from ..calc.quantities import QuantityError
from ..calc.units import Dimension, lookup
from ..models import Build
from ..queries.components import list_components
from ..queries.quantities import parsed
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
        except MoneyError as error:
            raise forms.ValidationError(str(error)) from None
        return self.number(words.number, text), words


def refuse_dollars(words: PriceWords, build: Build) -> None:
    """Raises ValidationError when a price is in dollars and the build is not."""
    if words.in_dollars and build.currency not in DOLLARS:
        raise forms.ValidationError(
            f"That is in dollars, and this build counts in {build.currency}: write the amount in"
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


def per_text_of(words: PriceWords | None, quantity_text: str) -> str:
    """What a price is per, beside a quantity; empty for one of the unit that was typed."""
    if words is None or words.per != EACH:
        return words.per if words else ""
    try:
        unit = parsed(quantity_text).unit
    except QuantityError:
        return ""
    one = unit.symbol == "piece" or unit.dimension is Dimension.PACK
    return "" if one else "piece"


class PriceForm(FormWithPhotos):
    """A dated new price."""

    component = forms.ModelChoiceField(queryset=None)
    price = UnitPriceField(label="New price", help_text="Before tax.")
    per_text = TypedField(
        required=False,
        max_length=60,
        label="Per",
        help_text="Like gal or 100 sq ft. Empty: one base unit.",
    )
    priced_on = DayField(label="Priced on")
    priced_at = forms.CharField(max_length=120, required=False, label="Priced at")
    photo = camera_field(label="Photo", help_text="Of the label or the page.")

    def set_choices(self) -> None:
        self.fields["component"].queryset = list_components(self.build)
