"""Price breaks as they are written: “20 pieces: 5.00; 50 pieces: 4.50”."""

import re
from dataclasses import dataclass
from decimal import Decimal

from .money import MoneyError, parse_amount
from .quantities import ParsedQuantity, QuantityError, parse_quantity
from .units import Unit, quote

HOW = "enter it like 20 pieces: 5.00; 50 pieces: 4.50"
_BREAK = re.compile(r"(?:from\s+)?(?P<much>[^:=;]+?)\s*(?:[:=]|\bat\b)\s*(?P<price>[^:=;]+)", re.I)


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """From ``quantity`` on, all of it costs ``price`` for what the unit price is for."""

    quantity: ParsedQuantity
    price: Decimal


def parse_breaks(text: str, unit: Unit) -> tuple[PriceBreak, ...]:
    """Read price breaks; a bare number of things is in ``unit``. Raises QuantityError."""
    found = []
    for part in re.split(r"[;\n]", text):
        if not part.strip():
            continue
        match = _BREAK.fullmatch(part.strip())
        if match is None:
            raise QuantityError(f"{quote(part)} is no price from a quantity on: {HOW}.")
        try:
            price = parse_amount(match["price"], "The price", HOW)
        except MoneyError as error:
            raise QuantityError(str(error)) from None
        if price < 0:
            raise QuantityError(f"The price {match['price'].strip()} is below zero: {HOW}.")
        found.append(PriceBreak(parse_quantity(match["much"], unit), price))
    return tuple(found)
