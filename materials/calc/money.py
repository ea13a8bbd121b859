"""Money: minor units, rounding and exact splitting.

Amounts travel as ``Fraction`` while they are worked out and become ``Decimal`` with the
currency's minor unit when they turn into a fact or are shown. This is the only module
that rounds money.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

Number = int | Decimal | Fraction

# ISO 4217:2015 minor units that differ from 2 (list "one", amendment state 2025).
_MINOR_UNITS = {
    **dict.fromkeys(
        "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split(), 0
    ),
    **dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3),
    **dict.fromkeys("CLF UYW".split(), 4),
}
_CURRENCIES = frozenset(
    (
        "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN "
        "BWP BYN BZD CAD CDF CHF CLF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR "
        "FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD "
        "JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT "
        "MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG "
        "QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS "
        "TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYI UYU UYW UZS VED VES VND VUV WST XAF XCD XCG "
        "XOF XPF YER ZAR ZMW ZWG"
    ).split()
)
MAX_AMOUNT = Decimal(10) ** 9


class MoneyError(ValueError):
    """An amount or currency that cannot be read; ``str()`` is a sentence for the user."""


class AmountSizeError(MoneyError):
    """A number that is one, but too large or too fine."""


def currency_codes() -> list[str]:
    """All accepted ISO 4217 alphabetic codes, in order."""
    return sorted(_CURRENCIES)


def minor_units(currency: str) -> int:
    """Decimal places of a currency's minor unit, ISO 4217 (USD 2, JPY 0, KWD 3).

    Raises MoneyError for a code that is not on the list.
    """
    if currency not in _CURRENCIES:
        raise MoneyError(
            f"“{currency[:20]}” is not a currency code: use the three letters of ISO 4217,"
            " for example USD or EUR."
        )
    return _MINOR_UNITS.get(currency, 2)


def round_half_up(value: Number, places: int) -> Decimal:
    """Round to ``places`` decimals, halves away from zero (0.125 -> 0.13, -0.125 -> -0.13)."""
    # In whole numbers: a page rounds hundreds of figures, and Fractions reduce at every step.
    numerator, denominator = value.as_integer_ratio()
    whole = (2 * abs(numerator) * 10**places + denominator) // (2 * denominator)
    return Decimal(-whole if numerator < 0 else whole).scaleb(-places)


def rate_places(value: Number, currency: str) -> tuple[int, int]:
    """Fewest and most decimals of a price per unit: two from 1 up, up to four below."""
    least = minor_units(currency)
    return least, max(least, 2 if value >= 1 or value <= -1 else 4)


def round_money(value: Number, currency: str) -> Decimal:
    """Round an amount to the currency's minor unit, half-up."""
    return round_half_up(value, minor_units(currency))


def split_amount(total: Number, weights: Sequence[Number], places: int) -> list[Decimal]:
    """Split ``total`` by ``weights`` so that the parts sum to it exactly (largest remainder).

    ``total`` must already be rounded to ``places``. Weights are not negative and not all
    zero. Remaining minor units go to the largest remainders; ties go to the earlier part.
    A negative total is split like the positive one and negated.

    Raises ValueError when the weights cannot carry a split or the total is not rounded.
    """
    units = Fraction(total) * 10**places
    if units.denominator != 1:
        raise ValueError("only an amount rounded to the minor unit can be split")
    shares = [Fraction(weight) for weight in weights]
    whole = sum(shares, Fraction(0))
    if whole <= 0 or min(shares) < 0:
        raise ValueError("weights must not be negative and not all be zero")
    sign = -1 if units < 0 else 1
    count = abs(units.numerator)
    exact = [count * share / whole for share in shares]
    parts = [int(part) for part in exact]
    by_remainder = sorted(range(len(parts)), key=lambda i: (parts[i] - exact[i], i))
    for i in by_remainder[: count - sum(parts)]:
        parts[i] += 1
    return [Decimal(sign * part).scaleb(-places) for part in parts]


_AMOUNT = re.compile(r"[-−+]?(\d+(\.\d+)?|\.\d+)")
_SIGNS = "$€£¥"
_MAX_DIGITS, _MAX_PLACES = 15, 8
_HOW = "enter it like 12.50, or leave it empty if not known (0 is free)"


def parse_amount(text: str, what: str = "The amount", how: str = _HOW) -> Decimal:
    """Read an amount as typed: ``12``, ``1,250.00``, ``$3.20``, ``0,85``, ``free`` (= 0).

    One comma followed by exactly three digits is read as a thousands mark, any other
    single comma as a decimal mark. ``what`` begins and ``how`` ends the sentence about a text
    that is no number. Raises MoneyError, for a number of a wrong size AmountSizeError.
    """
    typed = text.strip()
    if typed.lower() == "free":
        return Decimal(0)
    plain = typed.strip(_SIGNS + " ").replace("\u00a0", "").replace("\u202f", "")
    if re.fullmatch(r"[-−+]?\d{1,3}(,\d{3})+(\.\d+)?", plain) and plain.lstrip("-−+")[:2] != "0,":
        plain = plain.replace(",", "")
    elif re.fullmatch(r"[-−+]?\d{1,3}(\.\d{3})+,\d+", plain):
        plain = plain.replace(".", "").replace(",", ".")
    elif re.fullmatch(r"[-−+]?\d*,\d+", plain):
        plain = plain.replace(",", ".")
    if not _AMOUNT.fullmatch(plain):
        shown = typed if len(typed) <= 30 else typed[:30] + "…"
        raise MoneyError(f"{what} “{shown}” is not a number: {how}.")
    whole, _, part = plain.lstrip("-−+0").partition(".")
    if len(part) > _MAX_PLACES:
        raise AmountSizeError(f"{what} has more than {_MAX_PLACES} decimal places: round it.")
    value = Decimal(plain.replace("−", "-")) if len(whole) <= _MAX_DIGITS else MAX_AMOUNT
    if abs(value) >= MAX_AMOUNT:
        raise AmountSizeError(
            f"{what} is too large: the most that can be recorded is {MAX_AMOUNT:,}."
        )
    return value


def plain(value: Decimal) -> str:
    """A Decimal without trailing zeros or exponent: 2400, 0.5."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
