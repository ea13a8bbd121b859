"""How figures are written: the only way a number reaches a page.

``None`` is always “not known”. Money is rounded to the minor unit by ``calc.money`` here,
when it is shown, and nowhere before.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from ..calc.left_out import LeftOut, Named, list_left_out
from ..calc.money import minor_units, rate_places, round_half_up
from ..calc.names import join_names, separator
from ..calc.offers import Need
from ..calc.reports import CostSheet
from ..calc.shopping import round_to_get
from ..calc.units import UNITS

register = template.Library()
Number = int | Decimal | Fraction

UNKNOWN = mark_safe('<span class="unknown">not known</span>')
_SYMBOLS = {"USD": "$", "EUR": "€", "GBP": "£", "CAD": "CA$", "AUD": "A$", "NZD": "NZ$"}
MINUS = "−"


def plain(value: Number, places: int, trim: bool = False) -> str:
    """A number with thousands marks, half-up; ``trim`` drops trailing zeros."""
    text = f"{abs(round_half_up(value, places)):,f}"
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    is_negative = value < 0 and text.strip("0.,")
    return f"{MINUS}{text}" if is_negative else text


def currency_marks(currency: str) -> tuple[str, str]:
    """What stands before and after the digits of an amount: (“$”, “”), (“”, “ JPY”)."""
    symbol = _SYMBOLS.get(currency)
    return ("", f" {currency}") if symbol is None else (symbol, "")


def money_text(amount: Number, currency: str, places: int | None = None, trim: bool = False) -> str:
    """An amount with its currency: “$1,234.50”, “1,234 JPY”."""
    digits = plain(amount, minor_units(currency) if places is None else places, trim)
    before, after = currency_marks(currency)
    if before and digits.startswith(MINUS):
        return f"{MINUS}{before}{digits[1:]}{after}"
    return f"{before}{digits}{after}"


@register.simple_tag
def money(amount: Number | None, currency: str) -> SafeString | str:
    """An amount rounded to the currency's minor unit."""
    if amount is None:
        return UNKNOWN
    # Digits, marks and a code of ISO 4217: nothing in it to escape, on pages of hundreds.
    return mark_safe(money_text(amount, currency))


@register.simple_tag
def money_range(low: Number | None, high: Number | None, currency: str) -> SafeString | str:
    """Two ends of an amount, “$12.00 to $15.50”; one where both are shown alike."""
    if low is None or high is None:
        return UNKNOWN
    ends = dict.fromkeys((money_text(low, currency), money_text(high, currency)))
    return mark_safe(" to ".join(ends))


@register.simple_tag
def signed_money(amount: Number | None, currency: str) -> SafeString | str:
    """An amount that says which way it goes: “+$12.00”, “−$3.50”."""
    if amount is None:
        return UNKNOWN
    text = money_text(amount, currency)
    return f"+{text}" if amount > 0 and not text.startswith(MINUS) else text


@register.simple_tag
def balance(amount: Number, currency: str) -> str:
    """A person's balance in words: “is owed $120.00”, “owes $45.50”, “even”."""
    if not round_half_up(amount, minor_units(currency)):
        return "even"
    return f"{'is owed' if amount > 0 else 'owes'} {money_text(abs(amount), currency)}"


@register.simple_tag
def rate(amount: Number | None, currency: str) -> SafeString | str:
    """A price per unit or an average: two decimals from 1 up, up to four below."""
    return UNKNOWN if amount is None else rate_text(amount, currency)


def rate_text(amount: Number, currency: str, exact: bool = False) -> str:
    """Text of ``rate``; ``exact``: with four places whatever its size, as files have it."""
    least, most = rate_places(0 if exact else amount, currency)
    shown = round_half_up(amount, most)
    places = max(least, -int(shown.normalize().as_tuple().exponent)) if shown else least
    return money_text(shown, currency, min(places, most))


@register.simple_tag
def unit_price(price: Any, currency: str) -> str:
    """What one of what was typed costs: “at $1.50 per dozen”, “free”; empty when not known.

    ``price`` has ``amount`` and ``words``, or is None.
    """
    if price is None:
        return ""
    return f"at {rate_text(price.amount, currency)} {price.words}" if price.amount else "free"


@register.simple_tag
def quantity(value: Number | None, unit: str) -> SafeString | str:
    """A quantity with its unit: “1,250 ft”."""
    if value is None:
        return UNKNOWN
    if unit == "%":
        return stated_percent(value)
    text = plain(value, 3, trim=True)
    known = UNITS.get(unit)
    is_word = known is not None and known.symbol == known.name
    return format_html("{}&nbsp;{}", text, known.plural if is_word and text != "1" else unit)


@register.simple_tag
def to_buy(value: Number, unit: str) -> SafeString | str:
    """A quantity to get, with its unit: what is counted whole, what is measured rounded up."""
    return quantity(round_to_get(Fraction(value), unit), unit)


@register.simple_tag
def pounds(low: Number | None, high: Number | None) -> SafeString | str:
    """A weight in whole pounds, or a range where it is not known better: “2,352 to 3,152 lb”."""
    if low is None or high is None:
        return UNKNOWN
    ends = list(dict.fromkeys((plain(low, 0), plain(high, 0))))
    return format_html("{}&nbsp;lb", " to ".join(ends))


@register.simple_tag
def number(value: Number | None) -> SafeString | str:
    """The number of a quantity whose unit stands beside it already: “5.9”."""
    return UNKNOWN if value is None else plain(value, 3, trim=True)


@register.simple_tag
def surplus(need: Need, unit: str) -> SafeString | str:
    """What of a quantity offered is more than needed: “6 of 8 pieces”, “all 250 ft”."""
    if need.surplus is None:
        return UNKNOWN
    whole = quantity(need.offered, unit)
    if need.is_all_surplus:
        return format_html("{} {}", "the" if need.offered == 1 else "all", whole)
    return format_html("{} of {}", plain(need.surplus, 3, trim=True), whole)


@register.filter
def percent(value: Number | None) -> SafeString | str:
    """Per cent that was worked out, in whole ones: “45%”; what is less is no nothing."""
    if value is None:
        return UNKNOWN
    text = plain(value, 0)
    return "under 1%" if value and text == "0" else f"{text}%"


@register.filter
def stated_percent(value: Number | None) -> SafeString | str:
    """Per cent as somebody stated it: “8.25%”."""
    return UNKNOWN if value is None else f"{plain(value, 2, trim=True)}%"


@register.filter
def signed_percent(value: Number | None) -> SafeString | str:
    """Per cent that says which way it goes, in whole ones: “+12%”, “−4%”."""
    if value is None:
        return UNKNOWN
    text = plain(value, 0)
    return f"+{text}%" if value > 0 and text != "0" else f"{text}%"


@register.filter
def hours(value: Number | None) -> SafeString | str:
    """Hours with up to two places."""
    return UNKNOWN if value is None else f"{plain(value, 2, trim=True)}\u00a0h"


@register.filter
def count(value: int | None) -> SafeString | str:
    """A whole number."""
    return UNKNOWN if value is None else f"{value:,}"


@register.filter
def names(listed: Iterable[Any]) -> str:
    """Names joined in a sentence."""
    return join_names(str(name) for name in listed)


@register.filter
def left_out(sheet: CostSheet) -> LeftOut:
    """What a build's cost sheet does not hold, for its members."""
    return list_left_out(sheet)


@register.simple_tag
def component_names(rows: Sequence[Named], build_id: int | None, currency: str = "") -> SafeString:
    """Names of components: links where they have keys, with their money in a currency."""
    ends = [f" ({money_text(row.money, currency)})" if currency else "" for row in rows]
    addresses = [row.key and reverse("component", args=[build_id, row.key]) for row in rows]
    parts = [
        format_html('<a href="{}">{}</a>{}' if address else "{1}{2}", address, row.name, end)
        for row, address, end in zip(rows, addresses, ends, strict=True)
    ]
    return mark_safe(separator(row.name for row in rows).join(parts))


@register.filter
def person(user: Any) -> str:
    """Who somebody is on this server: the name to be shown, and the username if it differs."""
    if user is None:
        return ""
    shown = getattr(user, "first_name", "")
    name = user.get_username()
    return f"{shown} ({name})" if shown and shown != name else name
