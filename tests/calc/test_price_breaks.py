"""Price breaks as they are typed."""

from fractions import Fraction

import pytest

from materials.calc.price_breaks import parse_breaks
from materials.calc.quantities import QuantityError
from materials.calc.units import UNITS
from tests.calc.builders import D

PIECE = UNITS["piece"]


@pytest.mark.parametrize(
    ("text", "breaks"),
    [
        ("", []),
        (" ; \n", []),
        ("; 20: 5", [(20, "piece", "5")]),
        ("20 pieces: 5.00; 50 pieces: 4.50", [(20, "piece", "5.00"), (50, "piece", "4.50")]),
        ("from 20: $5\n50 = 0,85", [(20, "piece", "5"), (50, "piece", "0.85")]),
        ("2 dozen at 40", [(2, "dozen", "40")]),
        ("10 bags: free", [(10, "bag", "0")]),
    ],
)
def test_read(text: str, breaks: list[tuple[int, str, str]]) -> None:
    found = [(each.quantity.count, each.quantity.unit.symbol, each.price)
             for each in parse_breaks(text, PIECE)]  # fmt: skip
    assert found == [(Fraction(count), unit, D(price)) for count, unit, price in breaks]


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("20 pieces", "is no price from a quantity on"),
        ("20: 5: 4", "is no price from a quantity on"),
        ("20 pieces: dear", "The price “dear” is not a number"),
        ("20 pieces: -0.01", "The price -0.01 is below zero"),
        ("some: 5", "has no number"),
    ],
)
def test_refused(text: str, result: str) -> None:
    with pytest.raises(QuantityError, match=result):
        parse_breaks(text, PIECE)
