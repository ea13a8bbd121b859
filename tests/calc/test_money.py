"""Minor units, rounding, exact splits, and amounts as people type them."""

from decimal import Decimal
from typing import Any

import pytest
from babel.core import get_global
from babel.numbers import get_currency_precision

from materials.calc import money
from materials.calc.money import (
    AmountSizeError,
    MoneyError,
    minor_units,
    parse_amount,
    round_half_up,
    round_money,
    split_amount,
)
from tests.calc.builders import D, F, decimals

# CLDR gives the digits a currency is customarily shown with; ISO 4217 gives its minor unit.
# They part where the minor unit is no longer used in practice. Here ISO 4217 counts.
CUSTOMARY_DIFFERS = {
    **dict.fromkeys(["AFN", "ALL", "IRR", "KPW", "LAK", "LBP", "MGA"], 2),
    **dict.fromkeys(["MMK", "RSD", "SOS", "SYP", "YER"], 2),
    "IQD": 3,
}
# On the ISO list, but legal tender nowhere any more (ANG, SVC) or never paid in cash: units of
# account of Chile and Uruguay, and the code Venezuela books in beside VES.
NOT_TENDER = {"ANG", "SVC", "CLF", "UYI", "UYW", "VED"}


def legal_tender() -> set[str]:
    """Codes that CLDR holds to be legal tender somewhere, without an end date."""
    places: Any = get_global("territory_currencies")
    return {code for rows in places.values() for code, _, end, tender in rows if tender and not end}


class TestMinorUnits:
    @pytest.mark.parametrize("code", money.currency_codes())
    def test_agrees_with_the_reference(self, code: str) -> None:
        """CLDR as the reference library ships it; the exceptions above are ISO 4217's."""
        customary = get_currency_precision(code)
        assert minor_units(code) == CUSTOMARY_DIFFERS.get(code, customary)

    @pytest.mark.parametrize("code", sorted(CUSTOMARY_DIFFERS))
    def test_every_exception_is_one(self, code: str) -> None:
        assert get_currency_precision(code) != CUSTOMARY_DIFFERS[code]

    def test_every_currency_in_use_is_accepted(self) -> None:
        assert legal_tender() - set(money.currency_codes()) == set()

    def test_nothing_else_is_accepted(self) -> None:
        assert set(money.currency_codes()) - legal_tender() == NOT_TENDER

    @pytest.mark.parametrize("code", ["", "usd", "XXX", "XAU", "XDR", "DEM", "US", "DOLLARS" * 9])
    def test_a_code_that_is_none_is_refused(self, code: str) -> None:
        with pytest.raises(MoneyError, match="is not a currency code") as error:
            minor_units(code)
        assert len(str(error.value)) < 150

    def test_codes_stand_in_order(self) -> None:
        codes = money.currency_codes()
        assert codes == sorted(set(codes))


class TestRounding:
    @pytest.mark.parametrize(
        ("value", "places", "rounded"),
        [
            ("0.125", 2, "0.13"),
            ("-0.125", 2, "-0.13"),
            ("0.135", 2, "0.14"),
            ("2.675", 2, "2.68"),
            ("0.1249999", 2, "0.12"),
            ("-0.1250001", 2, "-0.13"),
            ("2.5", 0, "3"),
            ("3.5", 0, "4"),
            ("-2.5", 0, "-3"),
            ("0.0005", 3, "0.001"),
            ("-0.004", 2, "0.00"),
            ("0", 4, "0.0000"),
            ("999999999.995", 2, "1000000000.00"),
        ],
    )
    def test_halves_go_away_from_zero(self, value: str, places: int, rounded: str) -> None:
        found = round_half_up(D(value), places)
        assert str(found) == rounded
        assert round_half_up(F(value), places) == found

    def test_thirds(self) -> None:
        assert round_half_up(F(1, 3), 6) == D("0.333333")
        assert round_half_up(F(2, 3), 6) == D("0.666667")

    @pytest.mark.parametrize(
        ("code", "rounded"),
        [("USD", "12.35"), ("JPY", "12"), ("KWD", "12.346"), ("CLF", "12.3456")],
    )
    def test_money_rounds_to_the_minor_unit(self, code: str, rounded: str) -> None:
        assert str(round_money(D("12.3456"), code)) == rounded


class TestSplitting:
    @pytest.mark.parametrize(
        ("total", "weights", "places", "parts"),
        [
            # S07, arithmetic: 100.00 among three.
            ("100.00", [1, 1, 1], 2, ["33.34", "33.33", "33.33"]),
            ("-100.00", [1, 1, 1], 2, ["-33.34", "-33.33", "-33.33"]),
            ("100", [1, 1, 1], 0, ["34", "33", "33"]),
            ("1.000", [1, 1, 1], 3, ["0.334", "0.333", "0.333"]),
            ("0.02", [1, 1, 1], 2, ["0.01", "0.01", "0.00"]),
            ("0.00", [1, 2], 2, ["0.00", "0.00"]),
            ("10.00", [0, 1, 0], 2, ["0.00", "10.00", "0.00"]),
            # Remainders 0.67 and 0.33: the larger one gets the odd cent, though it stands later.
            ("1.00", [1, 2], 2, ["0.33", "0.67"]),
            # Remainders 0.2, 0.4, 0.4: one cent for the earlier of the two alike.
            ("0.01", [1, 2, 2], 2, ["0.00", "0.01", "0.00"]),
            ("10.00", ["0.5", "1.5"], 2, ["2.50", "7.50"]),
        ],
    )
    def test_largest_remainder(
        self, total: str, weights: list[Any], places: int, parts: list[str]
    ) -> None:
        found = split_amount(D(total), [F(weight) for weight in weights], places)
        assert found == decimals(*parts)

    @pytest.mark.parametrize("weights", [[], [0], [0, 0], [-1, 2], [-1, 0], [3, -1]])
    def test_weights_that_carry_nothing_are_refused(self, weights: list[int]) -> None:
        with pytest.raises(ValueError, match="weights must not be negative"):
            split_amount(D("1.00"), weights, 2)

    def test_only_a_rounded_amount_can_be_split(self) -> None:
        with pytest.raises(ValueError, match="rounded to the minor unit"):
            split_amount(D("1.005"), [1, 1], 2)


class TestTypedAmounts:
    @pytest.mark.parametrize(
        ("typed", "value"),
        [
            ("12", "12"),
            ("12.50", "12.50"),
            ("1,250.00", "1250"),
            ("1,250", "1250"),
            ("1,250,000.50", "1250000.50"),
            ("1.250,50", "1250.50"),
            ("1.250", "1.250"),
            ("$3.20", "3.20"),
            ("3.20 €", "3.20"),
            ("0,85", "0.85"),
            (",5", "0.5"),
            (".5", "0.5"),
            ("12,5", "12.5"),
            ("0,850", "0.850"),
            ("-0,850", "-0.850"),
            ("1\u202f250,50", "1250.50"),
            ("-20", "-20"),
            ("−20", "-20"),
            ("+20", "20"),
            ("0", "0"),
            ("0.00", "0"),
            ("free", "0"),
            (" Free ", "0"),
            ("999999999.99", "999999999.99"),
            ("0.12345678", "0.12345678"),
        ],
    )
    def test_read(self, typed: str, value: str) -> None:
        found = parse_amount(typed)
        assert isinstance(found, Decimal)
        assert found == D(value)

    @pytest.mark.parametrize(
        "typed",
        ["", " ", "abc", "12 apples", "1..2", "1,2,3", "--5", "1e5", "NaN", "Infinity", "$", "5-"],
    )
    def test_refused_in_one_sentence(self, typed: str) -> None:
        with pytest.raises(MoneyError, match=r"^The price “.*” is not a number: enter it like"):
            parse_amount(typed, "The price")

    def test_a_long_entry_is_not_repeated_whole(self) -> None:
        with pytest.raises(MoneyError) as error:
            parse_amount("9" * 5000)
        assert len(str(error.value)) < 200

    @pytest.mark.parametrize(
        "typed",
        ["1000000000", "-1000000000", "9,999,999,999", "9" * 16, "-" + "9" * 5000, "$1" + "0" * 60],
    )
    def test_too_large(self, typed: str) -> None:
        with pytest.raises(AmountSizeError, match="is too large: the most that can be recorded"):
            parse_amount(typed)

    def test_zeros_in_front_are_no_size(self) -> None:
        assert parse_amount("0" * 20 + "7.5") == D("7.5")

    def test_too_fine(self) -> None:
        with pytest.raises(AmountSizeError, match="more than 8 decimal places: round it"):
            parse_amount("0.123456789")

    def test_what_else_could_be_written_is_the_callers_to_say(self) -> None:
        with pytest.raises(MoneyError, match=r"^The year “x” is not a number: write it so\.$"):
            parse_amount("x", "The year", "write it so")
