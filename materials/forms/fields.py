"""Form fields for amounts, quantities, percentages and hours as people write them."""

from collections.abc import Iterable
from datetime import time
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxLengthValidator

from ..calc.deadlines import TIME_FORMATS, read_time
from ..calc.durations import FORMATS, read_hours, whole_days, without_unit
from ..calc.money import AmountSizeError, MoneyError, parse_amount, plain, round_half_up
from ..calc.quantities import QuantityError, parse_contents, parse_quantity
from ..calc.units import UnitError, find_unit, unit_choices
from ..queries.days import has_begun


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
    """A text that one of the calc parsers reads.

    Its box is left to the browser: one with autocomplete="off" comes back empty when somebody
    follows a link and goes back.
    """

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("max_length", 120)
        super().__init__(**kwargs)


class NumberField(TypedField):
    """A plain number, empty when not known. ``value`` is a Decimal or None.

    ``how`` ends the sentence about a text that is no number.
    """

    default_error_messages = {"required": "Enter a number."}
    how = "enter it like 12.5"

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
        # What comes longer gets a sentence of its own from ``clean``.
        self.validators = [v for v in self.validators if not isinstance(v, MaxLengthValidator)]
        self.widget.attrs.setdefault("inputmode", "decimal")

    def prepare_value(self, value: Any) -> Any:
        return plain(value) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text in self.empty_values:
            return None
        if len(text) > self.max_length and not text.isdecimal():
            raise forms.ValidationError(f"{self.what} cannot be read, it is too long: {self.how}.")
        return self.read(text)

    def read(self, text: str) -> Any:
        """One number. Raises ValidationError."""
        return self.number(text, text)

    def number(self, text: str, typed: str) -> Decimal:
        """The number of a text; a refusal quotes it as it was typed. Raises ValidationError."""
        try:
            value = parse_amount(text, self.what, self.how)
        except AmountSizeError as error:
            raise forms.ValidationError(self.oversized(str(error))) from None
        except MoneyError:
            shown = typed if len(typed) <= 30 else f"{typed[:30]}…"
            raise forms.ValidationError(self.refusal(shown)) from None
        return self.within(value)

    def oversized(self, sentence: str) -> str:
        """The sentence about a number of a wrong size."""
        return sentence

    def refusal(self, shown: str) -> str:
        """The sentence about a text that is no number."""
        return f"{self.what} “{shown}” is not a number: {self.how}."

    def within(self, value: Decimal) -> Decimal:
        """The number, when it is neither too small, too large nor too fine."""
        if self.least is not None and value < self.least:
            least = "below zero" if self.least == 0 else f"below {plain(self.least)}"
            raise forms.ValidationError(f"{self.what} cannot be {least}.")
        if self.most is not None and value > self.most:
            raise forms.ValidationError(f"{self.what} cannot be over {plain(self.most)}.")
        exponent = value.normalize().as_tuple().exponent
        if isinstance(exponent, int) and -exponent > self.places:
            if self.places:
                fault = f"has more than {self.places} decimal places: round it"
            else:
                fault = "must be a whole number: enter it without a fraction"
            raise forms.ValidationError(f"{self.what} {fault}.")
        return value


class MoneyInput(NumberField):
    """An amount of money."""

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The amount")
        kwargs.setdefault("places", 4)
        super().__init__(**kwargs)
        empty = "" if self.required else ", or leave it empty if not known"
        self.how = f"enter it like 12.50{empty} (0 is free)"


class UnitPriceField(MoneyInput):
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
        example = "85 or 85%" if self.most == 100 else "10 or 10%"
        self.how = f"enter {plain(self.least)} to {plain(self.most)}, for example {example}"

    def read(self, text: str) -> Decimal:
        return self.number(text.rstrip("% "), text)

    def within(self, value: Decimal) -> Decimal:
        if not self.least <= value <= self.most:
            least = "below zero" if self.least == 0 else f"below {plain(self.least)}"
            wrong = least if value < self.least else f"over {plain(self.most)}"
            raise forms.ValidationError(f"{self.what} cannot be {wrong}: {self.how}.")
        return super().within(value)


class HoursInput(NumberField):
    """Hours: 1.5, 1:30, 45 min or 2 h 30."""

    default_error_messages = {"required": f"Say how many hours: {FORMATS}."}
    how = FORMATS

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("what", "The hours")
        kwargs.setdefault("most", Decimal(10000))
        super().__init__(places=4, **kwargs)

    def read(self, text: str) -> Decimal:
        exact = read_hours(text)
        if exact is not None:
            return self.within(round_half_up(exact, self.places))
        return self.number(without_unit(text), text)

    def oversized(self, sentence: str) -> str:
        if "too large" not in sentence:
            return sentence
        return f"{self.what} are too large: enter {plain(self.most)} or less."

    def refusal(self, shown: str) -> str:
        if days := whole_days(shown):
            return f"{self.what} of “{shown}” depend on the day: enter {days * 8} if each had 8."
        return f"{self.what} “{shown}” are not understood: {self.how}."


class OriginYear(NumberField):
    """The year something was built; the value is an int or None."""

    how = "enter it with four digits, like 1962"

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("label", "Taken from something built in")
        kwargs.setdefault("help_text", "The year, as near as you know. Cautions depend on it.")
        super().__init__(places=0, what="The year", **kwargs)

    def read(self, text: str) -> Any:
        year = self.number(text, text)
        if not 1500 <= year <= 2200:
            raise forms.ValidationError("Enter the year with four digits, like 1962.")
        return int(year)


class ReadingsError(forms.ValidationError):
    """A refusal that asks for what was meant; ``offers`` are texts for the field to choose from."""

    def __init__(self, error: QuantityError, text: str = ""):
        super().__init__(text or str(error))
        self.offers = error.offers


class QuantityText(TypedField):
    """A quantity as people write it; the text is kept as typed, tidied."""

    default_error_messages = {
        "required": "Enter how much, with its unit, like 16 pieces or 20 gal."
    }

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        if text:
            try:
                return parse_quantity(text).text
            except QuantityError as error:
                raise ReadingsError(error) from None
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
    """A day, from the browser's date picker or typed as 2026-04-03.

    ``not_yet``: the sentence about a day that has not come, where it must have.
    """

    default_error_messages = {
        "required": "Enter a date.",
        "invalid": "Enter a date like 2026-04-03.",
    }

    def __init__(self, *, not_yet: str = "", **kwargs: Any):
        self.not_yet = not_yet
        kwargs.setdefault("input_formats", ["%Y-%m-%d"])
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day is not None and not 1900 <= day.year <= 2200:
            raise forms.ValidationError("The year must be between 1900 and 2200.")
        if day is not None and self.not_yet and not has_begun(day):
            raise forms.ValidationError(self.not_yet)
        return day


class ClockField(forms.TimeField):
    """A time of day, from the browser's own box or typed as 18:00 or 6:30 pm; None when empty."""

    default_error_messages = {"invalid": f"Enter a time {TIME_FORMATS}."}

    def __init__(self, **kwargs: Any):
        kwargs.setdefault("widget", forms.TimeInput(format="%H:%M", attrs={"type": "time"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values or isinstance(value, time):
            return value or None
        read = read_time(str(value))
        if read is None:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        return read
