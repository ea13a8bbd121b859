"""Units against published values; each row names its source and how well it is known."""

from fractions import Fraction
from itertools import pairwise
from typing import Any

import pint
import pytest

from materials.calc.quantities import (
    QuantityError,
    convert,
    parse_contents,
    parse_quantity,
    to_base,
)
from materials.calc.units import UNITS, Dimension, UnitError, find_unit, unit_choices

NOTHING = parse_contents("")
PRIMARY = "read in primary text"
REPRINTED = "as reprinted"
WORKED_OUT = "answer worked out"
MEMORY = "from memory"
ARITHMETIC = "arithmetic"
COMMON = "common practice, no published source"
REC20 = "UN/ECE Rec. 20"
EXACT = "0"

# id, value, unit, to, expected, tolerance, source, status
CONVERSIONS = [
    ("U01", "1", "acre", "sq ft", "43560", EXACT, "NIST HB 44 App. C", MEMORY),
    # Rec. 20 prints the survey acre; the international one agrees to its printed precision.
    ("U02", "1", "acre", "sq m", "4046.873", "0.02", f"{REC20} ACR (survey acre)", PRIMARY),
    ("U02", "1", "acre", "sq m", "4046.8564224", EXACT, "43 560 international ft2", ARITHMETIC),
    ("U04", "1", "sq ft", "sq m", "0.09290304", EXACT, f"{REC20} FTK", PRIMARY),
    ("U05", "1", "ft", "m", "0.3048", EXACT, f"{REC20} FOT", PRIMARY),
    ("U06", "1", "in", "m", "0.0254", EXACT, f"{REC20} INH", PRIMARY),
    ("U07", "1", "yd", "m", "0.9144", EXACT, f"{REC20} YRD", PRIMARY),
    ("U08", "1", "sq yd", "sq m", "0.8361274", "1e-7", f"{REC20} YDK", PRIMARY),
    ("U08", "1", "sq yd", "sq ft", "9", EXACT, f"{REC20} YDK", PRIMARY),
    ("U09", "1", "cu ft", "cu m", "0.02831685", "1e-8", f"{REC20} FTQ", PRIMARY),
    ("U10", "1", "cu yd", "cu m", "0.764555", "1e-6", f"{REC20} YDQ", PRIMARY),
    ("U10", "1", "cu yd", "cu ft", "27", EXACT, f"{REC20} YDQ", PRIMARY),
    ("U11", "1", "gal", "cu m", "0.003785412", "1e-9", f"{REC20} GLL", PRIMARY),
    ("U11", "1", "gal", "cu in", "231", EXACT, "pint run", PRIMARY),
    ("U12", "1", "fl oz", "cu m", "2.957353e-5", "1e-11", f"{REC20} OZA", PRIMARY),
    ("U13", "1", "qt", "cu m", "9.463529e-4", "1e-10", f"{REC20} QTL", PRIMARY),
    ("U13", "1", "pt", "cu m", "4.731765e-4", "1e-10", f"{REC20} PTL", PRIMARY),
    ("U14", "1", "lb", "kg", "0.45359237", EXACT, f"{REC20} LBR", PRIMARY),
    ("U15", "1", "oz", "kg", "0.02834952", "1e-8", f"{REC20} ONZ", PRIMARY),
    ("U16", "1", "ton", "kg", "907.1847", "1e-4", f"{REC20} STN", PRIMARY),
    ("U16", "1", "ton", "lb", "2000", EXACT, f"{REC20} STN", PRIMARY),
    ("U17", "1", "long ton", "kg", "1016.047", "1e-3", f"{REC20} LTN", PRIMARY),
    ("U17", "1", "long ton", "lb", "2240", EXACT, f"{REC20} LTN", PRIMARY),
    ("U18", "1", "cwt", "kg", "45.3592", "1e-4", f"{REC20} CWA", PRIMARY),
    ("U18", "1", "cwt", "lb", "100", EXACT, f"{REC20} CWA", PRIMARY),
    ("U19", "1", "cord", "cu ft", "128", EXACT, f"{REC20} WCD, description", PRIMARY),
    ("U19", "1", "cord", "cu m", "3.63", "0.01", f"{REC20} WCD", PRIMARY),
    ("U20", "1", "bf", "cu in", "144", EXACT, "Navy Builder course text", REPRINTED),
    ("U20", "12", "bf", "cu ft", "1", EXACT, "Navy Builder course text", REPRINTED),
    ("U20", "1", "bf", "cu m", "0.002359737", "1e-9", "pint run", PRIMARY),
    ("U21", "1", "MBF", "bf", "1000", EXACT, "Navy Builder course text", REPRINTED),
    ("U22", "1", "square", "sq ft", "100", EXACT, "state builders' group", REPRINTED),
    ("U23", "1", "mi", "m", "1609.344", EXACT, f"{REC20} SMI", PRIMARY),
    ("U26", "1", "cu yd", "cu in", str(324 * 144), EXACT, "27 ft3 per yd3", REPRINTED),
    ("-", "1", "dozen", "piece", "12", EXACT, f"{REC20} DZN", PRIMARY),
    ("-", "1", "gross", "piece", "144", EXACT, f"{REC20} GRO", PRIMARY),
    ("-", "1", "pair", "piece", "2", EXACT, f"{REC20} PR", PRIMARY),
    ("-", "1", "h", "min", "60", EXACT, "definition", ARITHMETIC),
    ("-", "1", "ha", "sq m", "10000", EXACT, "definition", ARITHMETIC),
    ("-", "1", "t", "kg", "1000", EXACT, "definition", ARITHMETIC),
    ("-", "1", "kg", "g", "1000", EXACT, "definition", ARITHMETIC),
    ("-", "1", "km", "m", "1000", EXACT, "definition", ARITHMETIC),
    ("-", "1", "m", "cm", "100", EXACT, "definition", ARITHMETIC),
    ("-", "1", "m", "mm", "1000", EXACT, "definition", ARITHMETIC),
    ("-", "1", "cu m", "L", "1000", EXACT, "definition", ARITHMETIC),
    ("-", "1", "L", "mL", "1000", EXACT, "definition", ARITHMETIC),
]


@pytest.mark.parametrize(
    ("row", "value", "unit", "to", "expected", "tolerance", "source", "status"), CONVERSIONS
)
def test_published_conversion(
    row: str,
    value: str,
    unit: str,
    to: str,
    expected: str,
    tolerance: str,
    source: str,
    status: str,
) -> None:
    got = convert(Fraction(value), UNITS[unit], UNITS[to], NOTHING)
    assert abs(got - Fraction(expected)) <= Fraction(tolerance), (row, source, status)


# id, quantity, contents, base unit, expected, tolerance, source, status
THROUGH_CONTENTS = [
    ("U25", "3 bags", "1 bag = 94 lb", "lb", "282", EXACT, "pint default_en.txt", PRIMARY),
    ("U25", "3 bags", "1 bag = 1 cu ft", "cu ft", "3", EXACT, "ACI/PCA practice", MEMORY),
    ("U26", "1 cu yd", "thickness = 1 in", "sq ft", "324", EXACT, "27 ft3 per yd3", REPRINTED),
    ("U26", "1 cu yd", "thickness = 4 in", "sq ft", "81", EXACT, "27 ft3 per yd3", REPRINTED),
    ("M01", "1000 sq ft", "1 sq ft = 1.125 pieces", "piece", "1125", EXACT,
     "Navy Builder Advanced NAVEDTRA 14045 ch. 4", REPRINTED),
    ("M01", "1000 sq ft", "1 piece = 8x16 in", "piece", "1125", EXACT,
     "Navy Builder Advanced NAVEDTRA 14045 ch. 4", REPRINTED),
    ("M03", "1 sq ft", "length = 16 in; width = 8 in", "piece", "1.125", EXACT, "trade pages",
     REPRINTED),
    # A modular brick with its joint fills 8 x 2-2/3 in of the face.
    ("M04", "1 sq ft", "1 piece = 8 in x 2-2/3 in", "piece", "6.75", EXACT, "BIA Tech Note 10",
     MEMORY),
    # 4 x 9.5 sacks of 94 lb.
    ("M05", "4 cu yd", "1 cu yd = 9.5 bags; 1 bag = 94 lb", "lb", "3572", EXACT,
     "Navy Builder Basic NAVEDTRA 14043 ch. 8", REPRINTED),
    ("M10", "50 @ 20 ft", "1 ft = 0.668 lb", "lb", "668", EXACT, "M06", ARITHMETIC),
    # Sheets of 16, 18 and 20 gauge (M11); steel weighs 41.82 lb a sq ft for each inch, and so
    # twelve times that a cubic foot.
    ("M12", "1 sq ft", "thickness = 0.0598 in; 1 cu ft = 501.84 lb", "lb", "2.5", "0.01",
     "Manufacturers' Standard Gauge", REPRINTED),
    ("M12", "1 sq ft", "thickness = 0.0478 in; 1 cu ft = 501.84 lb", "lb", "2.0", "0.01",
     "Manufacturers' Standard Gauge", REPRINTED),
    ("M12", "1 sq ft", "thickness = 0.0359 in; 1 cu ft = 501.84 lb", "lb", "1.5", "0.01",
     "Manufacturers' Standard Gauge", REPRINTED),
    ("M15", "1500 sq ft", "1000 sq ft = 20 lb", "lb", "30", EXACT, "Army EN0069A para 4-9",
     REPRINTED),
    ("M16", "20 gal", "1 gal = 350 sq ft", "sq ft", "7000", EXACT, "trade rule of thumb",
     REPRINTED),
    ("M17", "528 sq ft", "1 gal = 350 sq ft", "gal", "1.51", "0.01", "teaching page", REPRINTED),
    ("M17", "528 sq ft", "1 gal = 300 sq ft", "gal", "1.76", "0.01", "teaching page", REPRINTED),
    ("G15", "2 @ 30 ft x 20 ft", "", "square", "12", EXACT, "state construction classroom sheet",
     WORKED_OUT),
    ("G15", "12 squares", "1 square = 4 bundles", "bundle", "48", EXACT,
     "state construction classroom sheet", WORKED_OUT),
    ("G13", "1073.3 sq ft", "", "square", "10.73", "0.1", "worked example", REPRINTED),
    ("G16", "580.14 cu ft", "", "cu yd", "21.49", "0.01",
     "Navy Engineering Aid NAVEDTRA 14070 ch. 5", REPRINTED),
    ("G17", "1 @ 20 ft x 8 ft", "1 piece = 8x16 in", "piece", "180", EXACT,
     "NAVEDTRA 14043 (inputs)", WORKED_OUT),
    ("W07", "8 cu yd", "1 cu yd = 500 lb", "ton", "2", EXACT, "W01", ARITHMETIC),
    # Insulation board: a board foot is 1 ft x 1 ft x 1 in.
    ("-", "32 sq ft", "thickness = 2 in", "bf", "64", EXACT, "trade usage", COMMON),
]  # fmt: skip


@pytest.mark.parametrize(
    ("row", "text", "contents", "base", "expected", "tolerance", "source", "status"),
    THROUGH_CONTENTS,
)
def test_published_value_through_contents(
    row: str,
    text: str,
    contents: str,
    base: str,
    expected: str,
    tolerance: str,
    source: str,
    status: str,
) -> None:
    got = to_base(parse_quantity(text), UNITS[base], parse_contents(contents))
    assert abs(got - Fraction(expected)) <= Fraction(tolerance), (row, source, status)


# Reinforcing bars, pounds a foot: ASTM A615 table 1, as reprinted (rows M06, M07, M08).
BARS = {
    3: "0.376", 4: "0.668", 5: "1.043", 6: "1.502", 7: "2.044", 8: "2.670", 9: "3.400",
    10: "4.303", 11: "5.313", 14: "7.65", 18: "13.60",
}  # fmt: skip


@pytest.mark.parametrize(("number", "weight"), BARS.items())
def test_bar_weight_through_contents(number: int, weight: str) -> None:
    bars = parse_quantity("50 @ 20 ft")
    got = to_base(bars, UNITS["lb"], parse_contents(f"1 ft = {weight} lb"))
    assert got == 1000 * Fraction(weight), number


# Rec. 20 codes, read in a copy of the recommendation.
REC20_CODES = {
    "piece": "H87", "ft": "FOT", "in": "INH", "yd": "YRD", "m": "MTR", "mm": "MMT", "mi": "SMI",
    "sq ft": "FTK", "sq in": "INK", "sq yd": "YDK", "sq m": "MTK", "acre": "ACR", "cu ft": "FTQ",
    "cu yd": "YDQ", "cu m": "MTQ", "gal": "GLL", "qt": "QTL", "pt": "PTL", "fl oz": "OZA",
    "L": "LTR", "bf": "BFT", "cord": "WCD", "lb": "LBR", "oz": "ONZ", "ton": "STN", "t": "TNE",
    "kg": "KGM", "h": "HUR", "dozen": "DZN", "gross": "GRO", "pair": "PR", "set": "SET",
    "lot": "LO", "load": "NL", "cwt": "CWA", "long ton": "LTN",
}  # fmt: skip


@pytest.mark.parametrize(("symbol", "code"), REC20_CODES.items())
def test_rec20_code(symbol: str, code: str) -> None:
    assert UNITS[symbol].rec20 == code


def test_r01_packaging_has_no_rec20_code() -> None:
    for symbol in ("bag", "box", "bundle", "roll", "sheet", "pack", "tube", "pallet", "bucket"):
        assert UNITS[symbol].rec20 is None, symbol
    emitted = {unit.rec20 for unit in UNITS.values()}
    assert not emitted & {"BG", "BX", "BE", "RO", "RL", "ST", "PK", "SO"}


def test_r02_board_foot_and_cord_are_keyed_by_code_and_name() -> None:
    bf, cord = UNITS["bf"], UNITS["cord"]
    assert (bf.rec20, bf.name) == ("BFT", "board foot")
    assert bf.factor * 12 == UNITS["cu ft"].factor
    assert (cord.rec20, cord.name) == ("WCD", "cord")
    assert cord.factor == 128 * UNITS["cu ft"].factor


def test_r03_roofing_square_is_local() -> None:
    square = UNITS["square"]
    assert square.rec20 is None
    assert square.factor == 100 * UNITS["sq ft"].factor
    assert "SQ" not in {unit.rec20 for unit in UNITS.values()}


def test_r04_no_calendar_units() -> None:
    assert not {"MON", "ANN"} & {unit.rec20 for unit in UNITS.values()}
    for word in ("month", "months", "year", "years"):
        with pytest.raises(UnitError):
            find_unit(word)


def test_rec20_codes_are_unique() -> None:
    codes = [unit.rec20 for unit in UNITS.values() if unit.rec20]
    assert len(codes) == len(set(codes))


@pytest.fixture(scope="module")
def library() -> Any:
    return pint.UnitRegistry(non_int_type=Fraction)


def test_u03_acre_is_not_on_the_survey_foot(library: Any) -> None:
    theirs = library.get_base_units("acre")[0] / UNITS["sq ft"].factor
    assert abs(theirs - Fraction("43560.174")) < Fraction("0.001")
    assert UNITS["acre"].factor / UNITS["sq ft"].factor == 43560


def test_u24_foot_is_not_the_survey_foot(library: Any) -> None:
    survey = library.get_base_units("survey_foot")[0]
    assert abs(survey - Fraction("0.3048006096")) < Fraction("1e-10")
    assert UNITS["ft"].factor == Fraction("0.3048") != survey


def test_u25_bag_is_a_pack_not_94_pounds(library: Any) -> None:
    assert library.get_base_units("bag")[0] == 94 * UNITS["lb"].factor
    assert UNITS["bag"].dimension is Dimension.PACK
    with pytest.raises(QuantityError, match="how many pounds one bag weighs"):
        convert(Fraction(1), UNITS["bag"], UNITS["lb"], NOTHING)


def test_user_text_never_reaches_the_library() -> None:
    assert str(pint.UnitRegistry().parse_units("meter")) == "meter"
    for text in ("meter; 1", "meter ** 2", "kelvin", "light_year", "m*m", "__import__"):
        with pytest.raises(UnitError):
            find_unit(text)


def test_factors_are_exact_fractions() -> None:
    for unit in UNITS.values():
        assert isinstance(unit.factor, Fraction), unit
        assert unit.factor > 0
        if unit.dimension is Dimension.PACK:
            assert unit.factor == 1


def test_canonical_symbols() -> None:
    wanted = [
        *("in", "ft", "yd", "mi", "mm", "cm", "m", "km", "sq in", "sq ft", "sq yd", "sq m"),
        *("acre", "ha", "square", "cu in", "cu ft", "cu yd", "cu m", "bf", "MBF", "cord", "gal"),
        *("qt", "pt", "fl oz", "L", "oz", "lb", "cwt", "ton", "t", "kg", "h", "piece", "pair"),
        *("dozen", "gross", "sheet", "roll", "bundle", "bag", "box", "tube", "pallet", "load"),
        *("bucket", "pack", "set", "lot"),
    ]
    assert set(wanted) <= set(UNITS)
    assert all(UNITS[symbol].symbol == symbol for symbol in UNITS)


@pytest.mark.parametrize("symbol", list(UNITS))
def test_every_unit_is_found_by_symbol_name_and_plural_in_any_case(symbol: str) -> None:
    unit = UNITS[symbol]
    for word in (unit.symbol, unit.name, unit.plural):
        for spelled in (word, word.upper(), word.capitalize(), f"  {word} ", f"{word}."):
            assert find_unit(spelled) is unit


SPELLINGS = {
    "each": "piece", "ea": "piece", "ea.": "piece", "pcs": "piece", "Pc.": "piece", "no.": "piece",
    "LF": "ft", "L.F.": "ft", "lin ft": "ft", "lin. ft.": "ft", "linear feet": "ft", "foot": "ft",
    "feet": "ft", "'": "ft", '"': "in", "inches": "in", "IN.": "in", "SF": "sq ft",
    "S.F.": "sq ft", "ft2": "sq ft", "ft²": "sq ft", "ft^2": "sq ft", "sqft": "sq ft",
    "sq. ft.": "sq ft", "sq.ft.": "sq ft", "sq-ft": "sq ft", "square feet": "sq ft",
    "square  foot": "sq ft", "cy": "cu yd", "yd3": "cu yd", "yd³": "cu yd", "cubic yards": "cu yd",
    "cf": "cu ft", "cu.ft": "cu ft", "in²": "sq in", "bd ft": "bf", "bdft": "bf", "bd. ft.": "bf",
    "board feet": "bf", "Board Foot": "bf", "mbf": "MBF", "m²": "sq m", "m2": "sq m", "m³": "cu m",
    "cubic meters": "cu m", "square metres": "sq m", "sq": "square", "squares": "square",
    "roofing squares": "square", "gallons": "gal", "fl. oz.": "fl oz", "fluid ounces": "fl oz",
    "liter": "L", "litres": "L", "l": "L", "lbs": "lb", "pounds": "lb", "short tons": "ton",
    "metric tons": "t", "tonnes": "t", "kgs": "kg", "hrs": "h", "hours": "h", "doz": "dozen",
    "sacks": "bag", "boxes": "box", "pails": "bucket", "meters": "m", "millimeters": "mm",
    "linear foot": "ft", "yards": "yd", "ft sq": "sq ft", "in sq": "sq in", "m sq": "sq m",
}  # fmt: skip


@pytest.mark.parametrize(("text", "symbol"), SPELLINGS.items())
def test_usual_spelling(text: str, symbol: str) -> None:
    assert find_unit(text).symbol == symbol


@pytest.mark.parametrize(
    ("text", "fragment"),
    [
        ("galons", "did you mean 'gal'"),
        ("peice", "'piece'"),
        ("bundel", "'bundle'"),
        ("sqare feet", "'sq ft'"),
        ("wibble", "is not a unit known here: enter for example"),
        ("", "The unit is missing"),
        (" . ", "The unit is missing"),
        ("x" * 500, "…' is not a unit"),
        ("a\x00b", "'a?b' is not a unit"),
    ],
)
def test_unknown_unit_says_what_to_do(text: str, fragment: str) -> None:
    with pytest.raises(UnitError) as caught:
        find_unit(text)
    assert fragment in str(caught.value)
    assert "\n" not in str(caught.value)


def test_choices_list_every_unit_once_and_keep_kinds_together() -> None:
    choices = unit_choices()
    assert sorted(symbol for symbol, _ in choices) == sorted(UNITS)
    assert ("sq ft", "square foot") in choices
    kinds = [UNITS[symbol].dimension for symbol, _ in choices]
    changes = sum(1 for here, there in pairwise(kinds) if here is not there)
    assert changes == len(Dimension) - 1
