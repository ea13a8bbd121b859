"""Form fields for amounts, quantities, percentages and hours as people write them."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from ..calc.money import MoneyError, parse_amount
from ..calc.quantities import QuantityError, parse_contents, parse_quantity
from ..calc.units import UnitError, find_unit, unit_choices


class SuggestInput(forms.TextInput):
    """A text box with a list of suggestions; anything else may be typed."""

    template_name = "django/forms/widgets/suggest.html"

    def __init__(self, suggestions: Iterable[str] = (), attrs: dict[str, Any] | None = None):
        super().__init__(attrs)
        self.suggestions = suggestions

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        list_id = f"{context['widget']['attrs'].get('id', name)}-list"
        context["widget"]["attrs"]["list"] = list_id
        context["widget"].update(list_id=list_id, suggestions=list(self.suggestions))
        return context


class TypedField(forms.CharField):
    """A text that one of the calc parsers reads."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("max_length", 120)
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")


class NumberField(TypedField):
    """A plain number, empty when not known. ``value`` is a Decimal or None."""

    default_error_messages = {"required": "Write a number."}

    def __init__(
        self,
        *,
        places: int,
        least: Decimal | None = Decimal(0),
        most: Decimal | None = None,
        what: str = "The number",
        **kwargs: Any,
    ):
        self.places, self.least, self.most, self.what = places, least, most, what
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("inputmode", "decimal")

    def prepare_value(self, value: Any) -> Any:
        return plain(value) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return None if text in self.empty_values else self.read(text)

    def read(self, text: str) -> Decimal:
        """One number. Raises ValidationError."""
        try:
            number = parse_amount(text, self.what)
        except MoneyError as error:
            raise forms.ValidationError(str(error)) from None
        if self.least is not None and number < self.least:
            least = "below zero" if self.least == 0 else f"below {plain(self.least)}"
            raise forms.ValidationError(f"{self.what} cannot be {least}.")
        if self.most is not None and number > self.most:
            raise forms.ValidationError(f"{self.what} cannot be over {plain(self.most)}.")
        exponent = number.normalize().as_tuple().exponent
        if isinstance(exponent, int) and -exponent > self.places:
            raise forms.ValidationError(
                f"{self.what} has more than {self.places} decimal places: round it."
            )
        return number


class MoneyInput(NumberField):
    """An amount of money."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The amount")
        super().__init__(places=4, **kwargs)


class UnitPriceField(NumberField):
    """A price per unit, finer than the minor unit when needed."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The price")
        super().__init__(places=6, **kwargs)


class PercentInput(NumberField):
    """Per cent, with or without the sign."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The percentage")
        kwargs.setdefault("most", Decimal(100))
        super().__init__(places=4, **kwargs)

    def read(self, text: str) -> Decimal:
        return super().read(text.rstrip("% "))


class HoursInput(NumberField):
    """Hours: 1.5, 1:30 or 45 min."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The hours")
        kwargs.setdefault("most", Decimal(10000))
        super().__init__(places=4, **kwargs)

    def read(self, text: str) -> Decimal:
        typed = text.strip().lower()
        for ending in ("hours", "hour", "hrs", "hr", "h"):
            if typed.endswith(ending):
                typed = typed.removesuffix(ending).strip()
                break
        whole, colon, minutes = typed.partition(":")
        if colon and _is_short(whole) and _is_short(minutes) and int(minutes) < 60:
            return super().read(_in_hours(int(whole), int(minutes)))
        if typed.endswith("min") and _is_short(typed.removesuffix("min").strip()):
            return super().read(_in_hours(0, int(typed.removesuffix("min"))))
        return super().read(typed)


def _is_short(digits: str) -> bool:
    return digits.isdecimal() and len(digits) <= 6


def _in_hours(hours: int, minutes: int) -> str:
    return str((Decimal(hours) + Decimal(minutes) / 60).quantize(Decimal("0.0001")))


class OriginYear(NumberField):
    """The year something was built; the value is an int or None."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("label", "Taken from something built in")
        kwargs.setdefault("help_text", "The year, as near as you know; cautions ask for it.")
        super().__init__(places=0, what="The year", **kwargs)

    def read(self, text: str) -> Any:
        year = super().read(text)
        if not 1500 <= year <= 2200:
            raise forms.ValidationError("Write the year with four digits, like 1962.")
        return int(year)


class QuantityText(TypedField):
    """A quantity as people write it; the text is kept as typed, tidied."""

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        if text:
            try:
                return parse_quantity(text).text
            except QuantityError as error:
                raise forms.ValidationError(str(error)) from None
        return ""


class UnitField(TypedField):
    """A unit of the trade; the value is its symbol."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("widget", SuggestInput(symbol for symbol, _ in unit_choices()))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        try:
            return find_unit(text).symbol if text else ""
        except UnitError as error:
            raise forms.ValidationError(str(error)) from None


class ContentsText(TypedField):
    """What one piece or pack holds."""

    def __init__(self, **kwargs: Any):
        super().__init__(max_length=500, **kwargs)

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        try:
            parse_contents(text)
        except QuantityError as error:
            raise forms.ValidationError(str(error)) from None
        return text


class DayField(forms.DateField):
    """A day, from the browser's date picker or typed as 2026-04-03."""

    default_error_messages = {
        "required": "Say on which day.",
        "invalid": "That is not a date: write it like 2026-04-03.",
    }

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("input_formats", ["%Y-%m-%d"])
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day is not None and not 1900 <= day.year <= 2200:
            raise forms.ValidationError("The year must be between 1900 and 2200.")
        return day


def plain(value: Decimal) -> str:
    """A Decimal without trailing zeros or exponent."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
