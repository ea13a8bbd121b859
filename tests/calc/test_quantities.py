"""What a builder types: what it is read as, what is refused and with which words."""

import time
from contextlib import suppress
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from materials.calc.kinds import Kind
from materials.calc.quantities import (
    MAX_QUANTITY,
    Contents,
    ParsedQuantity,
    QuantityError,
    convert,
    format_quantity,
    meanings,
    parse_contents,
    parse_quantity,
    taught,
    to_base,
)
from materials.calc.units import UNITS, Dimension, Unit, find_unit
from tests.searches import TIMES

NOTHING = Contents()
JOIST = "length = 12 ft; width = 7-1/4 in; thickness = 1.5 in"

# text, contents, count, unit, base unit, value in the base unit
READ = [
    ("20 gal", "", "20", "gal", "gal", "20"),
    ("20gal", "", "20", "gal", "qt", "80"),
    ("  35   GAL. ", "", "35", "gal", "gal", "35"),
    ("1 1/2 in", "", "3/2", "in", "in", "3/2"),
    ("1-1/2 in", "", "3/2", "in", "in", "3/2"),
    ("1\u20111/2 in", "", "3/2", "in", "in", "3/2"),
    ("1½ in", "", "3/2", "in", "in", "3/2"),
    ("1 ½ in", "", "3/2", "in", "in", "3/2"),
    ("½ in", "", "1/2", "in", "in", "1/2"),
    ("⅝ in", "", "5/8", "in", "in", "5/8"),
    ("3⁄4 in", "", "3/4", "in", "in", "3/4"),
    ("7/8 in", "", "7/8", "in", "in", "7/8"),
    ("7' 6\"", "", "15/2", "ft", "in", "90"),
    ("7'6\"", "", "15/2", "ft", "in", "90"),
    ("7′ 6″", "", "15/2", "ft", "in", "90"),
    ("7’6”", "", "15/2", "ft", "in", "90"),
    ("7'-6\"", "", "15/2", "ft", "in", "90"),
    ("7' 6 1/2\"", "", "181/24", "ft", "in", "181/2"),
    ("7'-6½\"", "", "181/24", "ft", "in", "181/2"),
    ("6''", "", "6", "in", "in", "6"),
    ("5 ft 6 in", "", "11/2", "ft", "in", "66"),
    ("5ft6in", "", "11/2", "ft", "in", "66"),
    ("5ft2in", "", "31/6", "ft", "in", "62"),
    ("1 yd 2 ft 3 in", "", "7/4", "yd", "in", "63"),
    ("2 lb 8 oz", "", "5/2", "lb", "oz", "40"),
    ("1 h 30 min", "", "3/2", "h", "h", "3/2"),
    ("1 gal 2 qt", "", "3/2", "gal", "qt", "6"),
    ("0,5 m³", "", "1/2", "cu m", "L", "500"),
    ("0,500 m", "", "1/2", "m", "cm", "50"),
    ("12,5 m", "", "25/2", "m", "m", "25/2"),
    ("1,250 ft", "", "1250", "ft", "ft", "1250"),
    ("1,250.5 ft", "", "2501/2", "ft", "ft", "2501/2"),
    ("1.250,5 ft", "", "2501/2", "ft", "ft", "2501/2"),
    ("1.250 ft", "", "5/4", "ft", "in", "15"),
    ("1,250,000 pcs", "", "1250000", "piece", "piece", "1250000"),
    ("1.250.000 pcs", "", "1250000", "piece", "piece", "1250000"),
    ("1250,500 m", "", "2501/2", "m", "m", "2501/2"),
    ("125,000 ft", "", "125000", "ft", "ft", "125000"),
    ("125,250.5 ft", "", "250501/2", "ft", "ft", "250501/2"),
    ("12,050.5 ft", "", "24101/2", "ft", "ft", "24101/2"),
    ("1,050.5 ft", "", "2101/2", "ft", "ft", "2101/2"),
    (",500 m", "", "1/2", "m", "cm", "50"),
    ("0.5000000000000000000000000000 m", "", "1/2", "m", "cm", "50"),
    ("1" + " " * 117 + "ft", "", "1", "ft", "in", "12"),
    ("half cord", "", "1/2", "cord", "cu ft", "64"),
    ("half a bag", "a bag = 60 lb; half a square = 2 bundles", "1/2", "bag", "lb", "30"),
    ("2 squares", "half a square = 2 bundles", "2", "square", "bundle", "8"),
    ("1\u00a0250 ft", "", "1250", "ft", "ft", "1250"),
    ("1\u202f250,5 ft", "", "2501/2", "ft", "ft", "2501/2"),
    ("1\u00a01/2 in", "", "3/2", "in", "in", "3/2"),
    (".5 gal", "", "1/2", "gal", "qt", "2"),
    ("0 gal", "", "0", "gal", "gal", "0"),
    ("2.5 squares", "", "5/2", "square", "sq ft", "250"),
    ("2 sq", "", "2", "square", "sq ft", "200"),
    ("2 sq ft", "", "2", "sq ft", "sq in", "288"),
    ("120 SF", "", "120", "sq ft", "square", "6/5"),
    ("120 ft²", "", "120", "sq ft", "sq ft", "120"),
    ("40 LF", "", "40", "ft", "ft", "40"),
    ("3 cu. yds", "", "3", "cu yd", "cu ft", "81"),
    ("3 yd³", "", "3", "cu yd", "cu ft", "81"),
    ("64 bd ft", "", "64", "bf", "MBF", "8/125"),
    ("half a cord", "", "1/2", "cord", "cu ft", "64"),
    ("3 bundles", "", "3", "bundle", "bundle", "3"),
    ("3 bundles", "1 square = 3 bundles", "3", "bundle", "sq ft", "100"),
    ("a dozen", "", "1", "dozen", "piece", "12"),
    ("2 dozen", "", "2", "dozen", "piece", "24"),
    ("half a dozen", "", "1/2", "dozen", "piece", "6"),
    ("2 dozen sheets", "", "24", "sheet", "sheet", "24"),
    ("three pairs", "", "3", "pair", "piece", "6"),
    ("12 ea", "", "12", "piece", "piece", "12"),
    ("12 @ 2x8x12", "", "12", "piece", "piece", "12"),
    ("12 @ 2x8x12", "", "12", "piece", "ft", "144"),
    ("12 @ 2x8x12", "", "12", "piece", "bf", "192"),
    ("12 @ 2x8x12", "", "12", "piece", "sq ft", "87"),
    ("12 @ 2x8x12", "", "12", "piece", "cu ft", "16"),
    ("12@2X8X12", "", "12", "piece", "bf", "192"),
    ("12 pcs @ 2 × 8 × 12", "", "12", "piece", "bf", "192"),
    ("12 pcs. of 2*8*12", "", "12", "piece", "bf", "192"),
    ("12 at 2 by 8 by 12", "", "12", "piece", "bf", "192"),
    ("12 @ 2x8x12'", "", "12", "piece", "bf", "192"),
    ("12 @ 2x8x12 ft", "", "12", "piece", "bf", "192"),
    ("12 @ 2x8x7'6\"", "", "12", "piece", "ft", "90"),
    ("10 @ 5/4x6x12", "", "10", "piece", "bf", "75"),
    ("4 @ 8x8x12", "", "4", "piece", "bf", "256"),
    ("12 @ 2x8x6", "1 piece = 12 ft", "12", "piece", "piece", "6"),
    ("12 @ 2x8x6", "1 piece = 22 lb", "12", "piece", "piece", "12"),
    # The same length, written down shorter: pieces are pieces. A sixteenth of an inch is 0.0052 ft.
    ("30 @ 3.279 ft", "1 piece = 3.28 ft", "30", "piece", "piece", "30"),
    ("30 @ 3.275 ft", "1 piece = 3.28 ft", "30", "piece", "piece", "30"),
    ("41 @ 2.614087 m", "1 piece = 8.58 ft", "41", "piece", "piece", "41"),
    ("30 @ 3.2 ft", "1 piece = 3.28 ft", "30", "piece", "piece", "1200/41"),
    ("30 @ 3.279 ft", "1 ft = 2 lb; 1 piece = 3.28 ft", "30", "piece", "lb", "196.74"),
    ("12 @ 2x8x6", "1 piece = 12 ft; 1 piece = 22 lb", "12", "piece", "lb", "132"),
    ("12 @ 2x8x6", "1 piece = 16 bf", "12", "piece", "piece", "6"),
    ("12 @ 8 ft", "", "12", "piece", "ft", "96"),
    ("12 @ 8 ft each", "", "12", "piece", "ft", "96"),
    ("2 dozen @ 8 ft", "", "2", "dozen", "ft", "192"),
    ("12 @ 7' 6\"", "", "12", "piece", "ft", "90"),
    ("4 @ 5 gal", "", "4", "piece", "gal", "20"),
    ("4 @ 5 gal", "", "4", "piece", "piece", "4"),
    ("4 @ 5 gal", "1 gal = 350 sq ft", "4", "piece", "sq ft", "7000"),
    ("4 buckets @ 5 gal", "", "4", "bucket", "gal", "20"),
    ("3 bags @ 60 lb", "", "3", "bag", "lb", "180"),
    ("3 bags @ 60 lb", "1 bag = 90 lb", "3", "bag", "bag", "2"),
    ("3 boxes of 50 pcs", "", "3", "box", "piece", "150"),
    ("3 boxes of 50 pcs", "1 piece = 2 lb", "3", "box", "lb", "300"),
    ("16 @ 4x8 sheets", "", "16", "sheet", "sq ft", "512"),
    ("16 @ 4x8 sheets", "", "16", "sheet", "sheet", "16"),
    ("16 sheets @ 4x8", "", "16", "sheet", "sq ft", "512"),
    ("16 @ 4x8 ft", "", "16", "piece", "sq ft", "512"),
    ("16 @ 4'x8'", "", "16", "piece", "sq ft", "512"),
    ("16 @ 1/2x4x8 sheets", "", "16", "sheet", "cu ft", "64/3"),
    ("16 @ 1/2 in x 4x8 sheets", "", "16", "sheet", "cu ft", "64/3"),
    ("16 sheets @ 4x10 ft", "1 sheet = 4x8 ft", "16", "sheet", "sheet", "20"),
    ("3 @ 1/2 in x 4 ft x 8 ft", "", "3", "piece", "sq ft", "96"),
    ("3 @ 1/2 in x 4 ft x 8 ft", "", "3", "piece", "cu ft", "4"),
    ("3 @ 1/2 in x 4 x 8 ft", "", "3", "piece", "sq ft", "96"),
    ("10 @ 50x100x2400 mm", "", "10", "piece", "m", "24"),
    ("10 @ 8 in x 8 in x 16 in", "", "10", "piece", "sq in", "1280"),
    ("16 sheets @ 4x8 sheets", "", "16", "sheet", "sq ft", "512"),
    ("3 sheets @ 4x8 ft each", "", "3", "sheet", "sq ft", "96"),
    ("12 bags @ 60 lb each", "", "12", "bag", "lb", "720"),
    ("2 sheets @ 1200x2400 mm", "", "2", "sheet", "sq m", "5.76"),
    ("3 sheets @ 12 x 1200 x 2400 mm", "", "3", "sheet", "cu m", "0.10368"),
    ("2 sheets @ 48 in x 8", "", "2", "sheet", "sq ft", "64"),
    ("3 @ 4 x 8 ft x 1/2 in", "", "3", "piece", "cu ft", "4"),
    # Four times as long as wide is a stick.
    ("3 @ 2 in x 4 in x 16 in", "", "3", "piece", "ft", "4"),
    ("8 ft", "; ;1 piece = 16 ft", "8", "ft", "piece", "1/2"),
    ("6 pieces", "2 pieces = 16 ft; 8 ft = 1 piece", "6", "piece", "ft", "48"),
    # What is stated outright goes before what is worked out of a width.
    ("16 ft", "length = 16 ft; area = 2 sq ft; width = 6 in", "16", "ft", "sq ft", "2"),
    ("3 pieces", JOIST, "3", "piece", "ft", "36"),
    ("3 pieces", JOIST, "3", "piece", "sq ft", "87/4"),
    ("3 pieces", JOIST, "3", "piece", "cu ft", "87/32"),
    ("36 ft", JOIST, "36", "ft", "sq ft", "87/4"),
    ("36 ft", JOIST, "36", "ft", "cu ft", "87/32"),
    ("21.75 sq ft", JOIST, "87/4", "sq ft", "piece", "3"),
    ("36 ft", JOIST + "; 1 piece = 16 bf", "36", "ft", "bf", "48"),
    ("48 ft", "width = 5-1/2 in", "48", "ft", "sq ft", "22"),
    ("100 sq ft", "thickness = 4 in", "100", "sq ft", "cu yd", "100/81"),
    ("12 sq ft", "1 piece = 4 x 8 in", "12", "sq ft", "piece", "54"),
    ("2 pallets", "1 pallet = 40 bags; 1 bag = 60 lb", "2", "pallet", "lb", "4800"),
    ("2 pallets", "60 lb per bag\n40 bags per pallet", "2", "pallet", "ton", "12/5"),
    ("2 pallets", "60 lb/bag; 40 bags/pallet", "2", "pallet", "bag", "80"),
    ("2 loads", "load = 5 cu yd; weight = 1 lb", "2", "load", "cu yd", "10"),
    ("5 pieces", "weight = 22 lb", "5", "piece", "lb", "110"),
    ("5 pieces", "AREA = 2 sq ft; Volume = 0,5 cu ft", "5", "piece", "cu ft", "5/2"),
]


@pytest.mark.parametrize(("text", "contents", "count", "unit", "base", "value"), READ)
def test_messy_quantity(
    text: str, contents: str, count: str, unit: str, base: str, value: str
) -> None:
    parsed = parse_quantity(text)
    assert (parsed.count, parsed.unit.symbol) == (Fraction(count), unit)
    assert to_base(parsed, UNITS[base], parse_contents(contents)) == Fraction(value)
    again = parse_quantity(parsed.text)
    assert again == parsed


# text, the fragment the sentence must hold
REFUSED = [
    ("", "The quantity is empty"),
    ("   \t ", "The quantity is empty"),
    ("gal", "'gal' has no number"),
    ("some gal", "has no number"),
    ("lots of paint", "has no number"),
    ("@ 8 ft", "needs a number, but '@' stands in its place"),
    ("35", "'35' has no unit; enter for example"),
    ("1/2", "has no unit; enter for example"),
    ("20 galons", "'galons' is not a unit known here: did you mean 'gal'?"),
    ("35 wibble", "'wibble' is not a unit known here"),
    ("20 gal paint", "is understood as '20 gal', but not 'paint'"),
    ("20 gal gal", "is understood as '20 gal', but not 'gal'"),
    ("12 pcs 2x8x12", "'12 pieces', but not '2 x 8 x 12'. Did you mean '12 pcs @ 2x8x12'?"),
    ("5 pieces pieces", "more than one unit word"),
    ("-5 gal", "is negative"),
    ("−5 gal", "is negative"),
    ("- 5 gal", "is negative"),
    ("5 gal -2", "has no unit after '2'"),
    ("12 @ -8 ft", "is negative"),
    ("nan gal", "has no number that can be counted"),
    ("NaN", "has no number that can be counted"),
    ("inf ft", "has no number that can be counted"),
    ("-infinity ft", "has no number that can be counted"),
    ("∞ ft", "has no number that can be counted"),
    ("1e5 ft", "has an exponent: enter the number out"),
    ("1E+5 ft", "has an exponent"),
    ("1/0 in", "divides by zero"),
    ("1 1/0 in", "divides by zero"),
    ("1 3/2 in", "mixed number whose fraction is 1 or more"),
    ("1/2/3 in", "fraction that is not understood"),
    ("1/ in", "fraction that is not understood"),
    ("1.5/2 in", "fraction that is not understood"),
    ("1/2.5 in", "fraction that is not understood"),
    ("meter; 1", "holds ';', which is not understood"),
    ("1; meter", "holds ';', which is not understood"),
    ("$35", "holds '$', which is not understood"),
    ("5 % gal", "holds '%', which is not understood"),
    ("5 + 3 gal", "holds '+', which is not understood"),
    ("5 (gal)", "holds '(', which is not understood"),
    ("1_000 ft", "holds '_', which is not understood"),
    ("5 gal 3 ft", "holds two quantities"),
    ("5 gal 3 gal", "do not add up to one measure"),
    ("6 in 5 ft", "do not add up to one measure"),
    ("5 ft 14 in", "do not add up to one measure"),
    ("5.5 ft 6 in", "do not add up to one measure"),
    ("5 ft 6", "has no unit after '6'"),
    ("7' 6", "has no unit after '6'"),
    ("1 250 ft", "is understood as '1', but not '250 ft'"),
    ("5-6 ft", "is a range: enter one number"),
    ("1,25,000 ft", "not clear which mark is the decimal point"),
    ("1.5.2 ft", "not clear which mark is the decimal point"),
    ("1,250,5 ft", "not clear which mark is the decimal point"),
    ("1,250.5.5 ft", "not clear which mark is the decimal point"),
    ("5² ft", "is not a unit known here"),
    ("٣ gal", "holds '٣', which is not understood"),
    ("5\u200b gal", "cannot be read"),
    ("5\x00 gal", "cannot be read"),
    ("9" * 31 + " ft", "is too long: enter at most 30 digits"),
    ("9" * 400, "is longer than 120 signs"),
    ("5 gal " + "x" * 200, "is longer than 120 signs"),
    ("100000001 ft", "is more than 100,000,000"),
    ("9999999 dozen dozen", "more than one unit word"),
    ("9999999 gross pieces", "is more than 100,000,000"),
    ("2x8x12", "has no count. Did you mean '1 @ 2x8x12'?"),
    ("12 x 8 ft", "has no count. Did you mean '12 @ 8 ft' or '1 @ 12 x 8 ft'?"),
    ("12 ft x 8 ft", "has no count. Did you mean '1 @ 12 ft x 8 ft' or '96 sq ft'?"),
    ("12 @ 2x8", "has no length: add it, like '2x8x12'"),
    ("16 @ 4x8", "has no length: add it"),
    ("12 @ 6x2x8", "thickness first: enter 2x6, not 6x2"),
    ("12 @ 2x13x8", "2x13 is not a nominal lumber size"),
    ("12 @ 1/2x4x8 ft", "is not a nominal lumber size"),
    ("12 @ 2x4x96 in", "can be read in two ways"),
    ("12 @ 2x4x3 m", "can be read in two ways"),
    ("12 @ 4 ft x 8", "has no unit after 8"),
    ("12 @ 4 ft x 8 gal", "multiplies gallons"),
    ("12 @ 2x8x12x3", "is understood up to 'x 3'"),
    ("12 @ 2x8x12 @ 3", "is understood up to '@ 3'"),
    ("12 @ 2x8x12 wotsits", "'wotsits' is not a unit known here"),
    ("12 @ 8 ft lb", "is understood up to 'lb'"),
    ("12 @", "needs a number, but nothing stands in its place"),
    ("12 @ 8", "has no unit after 8"),
    ("12 @ 0 ft", "has a size of zero"),
    ("12 @ 2x0x8", "has a size of zero"),
    ("12 @ 3 pieces", "measures pieces in pieces"),
    ("3 bags @ 2 bags", "measures bags in bags"),
    ("12 ft @ 8 ft", "counts in feet"),
    ("3 boxes @ 4x8 sheets", "counts both boxes and sheets"),
    ("12 dozen rolls sheets", "is understood as '144 rolls', but not 'sheets'"),
    ("2 dozen ft", "more than one unit word"),
    ("1250,000.5 ft", "which mark is the decimal point"),
    ("0,250.5 ft", "which mark is the decimal point"),
    ("1,25.5 ft", "which mark is the decimal point"),
    ("1\u00a0250,000.5 ft", "which mark is the decimal point"),
    ("0.50000000000000000000000000000 m", "is too long"),
    ("1" + " " * 118 + "ft", "is longer than 120 signs"),
    ("1.5 1/2 in", "is understood as '1.5', but not '1 / 2 in'"),
    ("1 2/2 in", "mixed number whose fraction is 1 or more"),
    ("3 ft/2", "is understood as '3 ft', but not '/ 2'"),
    ("5 ft 12 in", "do not add up to one measure"),
    ("9000000 dozen sheets @ 4x8 ft", "is more than 100,000,000"),
]


@pytest.mark.parametrize(("text", "fragment"), REFUSED)
def test_refusal(text: str, fragment: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text)
    sentence = str(caught.value)
    assert fragment in sentence
    assert sentence.endswith((".", "?"))
    assert sentence.isprintable()
    assert len(sentence) < 250


def test_the_tables_are_long_enough() -> None:
    assert len(READ) >= 60
    assert len(REFUSED) >= 40


@pytest.mark.parametrize(
    ("text", "understood"),
    [
        ("12 @ 2x8x12", "12 pieces of 2x8x12 (144 ft, 192 board feet)"),
        ("1 @ 2x6x2", "1 piece of 2x6x2 (2 ft, 2 board feet)"),
        ("4 @ 5 gal", "4 pieces of 5 gal (20 gal)"),
        ("16 @ 4x8 sheets", "16 sheets of 4 ft x 8 ft (512 sq ft)"),
        ("2 sq", "2 squares (200 sq ft)"),
        ("a dozen", "1 dozen (12 pieces)"),
        ("1,250 ft", "1250 ft (the comma in 1,250 read as thousands)"),
        ("0,500 ft", "0.5 ft (the comma in 0,500 read as the decimal point)"),
        ("2 tons", "2 tons (4000 lb)"),
        ("7' 6\"", "7.5 ft"),
        ("12 @ 1,250 ft", "12 pieces of 1250 ft (15000 ft; the comma in 1,250 read as thousands)"),
    ],
)
def test_says_what_was_understood(text: str, understood: str) -> None:
    assert parse_quantity(text).understood == understood


def test_default_unit_is_for_a_number_alone() -> None:
    gal, sheet = UNITS["gal"], UNITS["sheet"]
    assert parse_quantity("35", gal).unit is gal
    assert parse_quantity("1/2", gal).count == Fraction(1, 2)
    assert parse_quantity("35 qt", gal).unit is UNITS["qt"]
    assert parse_quantity("16 @ 4x8 ft", sheet).unit is sheet
    assert parse_quantity("12 @ 2x8x12", UNITS["bundle"]).unit is UNITS["piece"]
    assert parse_quantity("12 @ 8 ft", gal).unit is UNITS["piece"]
    assert parse_quantity("12 @ 8 ft", UNITS["dozen"]).unit is UNITS["piece"]
    assert parse_quantity("12 pieces @ 8 ft", UNITS["bag"]).unit is UNITS["piece"]
    assert parse_quantity("16 @ 4x8 sheets", UNITS["bag"]).unit is sheet


@pytest.mark.parametrize(
    ("text", "contents"),
    [
        ("2 dozen @ 8 ft", "1 piece = 8 ft"),
        ("12 @ 8 ft", "1 piece = 8 ft"),
        ("16 @ 4x8 sheets", "1 sheet = 4x8 ft"),
        ("7 buckets @ 5 gal", "1 bucket = 5 gal"),
    ],
)
def test_each_counted_thing_has_the_size(text: str, contents: str) -> None:
    assert parse_quantity(text).size == parse_contents(contents)


WORDS = "one two three four five six seven eight nine ten eleven twelve"


@pytest.mark.parametrize(("number", "word"), list(enumerate(WORDS.split(), 1)))
def test_numbers_in_words(number: int, word: str) -> None:
    assert parse_quantity(f"{word} ft").count == number


@pytest.mark.parametrize("text", ["a bag", "an inch", "A Yard"])
def test_one_in_other_words(text: str) -> None:
    assert parse_quantity(text).count == 1


def test_a_typed_size_goes_before_the_contents() -> None:
    # 12 x 2 x 8 x 12 / 12 board feet, whatever else a foot of the usual ones holds.
    boards = parse_quantity("12 @ 2x8x12")
    assert to_base(boards, UNITS["bf"], parse_contents("1 ft = 2 bf")) == 192
    assert to_base(boards, UNITS["lb"], parse_contents("1 ft = 2 lb; 1 bf = 9 lb")) == 288


def test_the_most_that_can_be_recorded() -> None:
    assert to_base(parse_quantity("100000000 ft"), UNITS["ft"], NOTHING) == 10**8
    with pytest.raises(QuantityError, match="comes to more than 100,000,000 inches"):
        to_base(parse_quantity("8333334 ft"), UNITS["in"], NOTHING)


def test_text_is_kept_as_typed_but_tidied() -> None:
    assert parse_quantity("  12   pcs @\t2x8x12 ").text == "12 pcs @ 2x8x12"
    assert parse_quantity("1\u202f250 ft").text == "1\u00a0250 ft"


# value, unit, to, contents, the fragment naming what is missing
MISSING = [
    ("20", "gal", "sq ft", "",
     "20 gal cannot be turned into square feet: say in the component's contents how many square "
     "feet one gallon covers, like '1 gal = 350 sq ft'."),
    ("12", "ft", "piece", "", "how many feet one piece measures, like '1 piece = 12 ft'."),
    ("12", "piece", "ft", "1 piece = 22 lb", "how many feet one piece measures"),
    ("5", "box", "piece", "", "how many pieces one box holds, like '1 box = 50 pieces'."),
    ("5", "piece", "box", "", "how many pieces one box holds"),
    ("5", "bag", "lb", "", "how many pounds one bag weighs, like '1 bag = 60 lb'."),
    ("5", "lb", "gal", "", "how many pounds one gallon weighs"),
    ("3", "yd", "cu yd", "", "(for cubic yards enter 'cu yd')."),
    ("3", "h", "piece", "", "how many hours one piece takes"),
    # Neither a sheet nor a block is sold by its length.
    ("3", "piece", "ft", "1 piece = 1 ft x 10 ft", "how many feet one piece measures"),
    ("3", "piece", "ft", "1 piece = 8 in x 8 in x 16 in", "how many feet one piece measures"),
    ("3", "piece", "ft", "1 piece = 2 in x 8 in x 16 in", "how many feet one piece measures"),
    ("1", "bundle", "roll", "", "1 bundle cannot be turned into rolls"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "to", "contents", "fragment"), MISSING)
def test_missing_content_is_named(
    value: str, unit: str, to: str, contents: str, fragment: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        convert(Fraction(value), UNITS[unit], UNITS[to], parse_contents(contents))
    assert fragment in str(caught.value)


def test_the_example_in_a_missing_content_is_itself_understood() -> None:
    for unit in UNITS.values():
        for to in UNITS.values():
            try:
                convert(Fraction(2), unit, to, NOTHING)
            except QuantityError as error:
                example = str(error).split("like '")[1].split("'")[0]
                contents = parse_contents(example)
                assert convert(Fraction(2), unit, to, contents) > 0, example


def test_missing_content_of_a_typed_size_speaks_of_the_size() -> None:
    with pytest.raises(QuantityError, match="how many pounds one gallon weighs"):
        to_base(parse_quantity("4 @ 5 gal"), UNITS["lb"], NOTHING)


def test_base_value_beyond_the_largest_quantity_is_refused() -> None:
    with pytest.raises(QuantityError, match="comes to more than 100,000,000 inches"):
        to_base(parse_quantity("100000000 mi"), UNITS["in"], NOTHING)


@pytest.mark.parametrize(
    ("text", "fragment"),
    [
        ("1 piece", "'1 piece' is not understood"),
        ("1 piece = 16 ft = 22 lb", "enter one equivalence"),
        ("1 piece = 16 ft, 1 piece = 22 lb", "put ';' between several"),
        ("= 16 ft", "is not understood"),
        ("1 piece =", "is not understood"),
        ("length = 5 gal", "needs a length above zero"),
        ("length =", "needs a length above zero"),
        ("length = 0 ft", "needs a length above zero"),
        ("weight = 5", "needs a mass above zero"),
        ("length = 5 ft long", "is understood up to 'long'"),
        ("length = 5 ft; length = 6 ft", "give the length twice"),
        ("1 piece = 16 ft; 1 piece = 8 ft", "state in two different ways"),
        ("1 piece = 16 ft; length = 8 ft", "state in two different ways"),
        ("1 piece = 0 ft", "size of zero"),
        ("0 pieces = 16 ft", "is not understood"),
        ("1 piece = 2 dozen", "measures pieces in dozen"),
        ("1 ft = 12 in", "measures feet in inches"),
        ("1 piece = -3 ft", "is negative"),
        ("-1 piece = 3 ft", "is negative"),
        ("1 wibble = 3 ft", "'wibble' is not a unit"),
        ("1 gal paint = 3 ft", "is not understood"),
        ("5 = 3 ft", "is not understood"),
        ("1 sq ft = 2x8x12", "measures square feet in square feet"),
        ("1 piece = 16 ft; 8 ft = 1 piece", "state in two different ways"),
        ("1 piece = 16 ft" + ";" * 986, "longer than 1000 signs"),
        ("1 piece = 3 ft " * 100, "longer than 1000 signs"),
        ("1 piece = " + "1" * 200, "longer than 120 signs"),
    ],
)
def test_contents_refused(text: str, fragment: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_contents(text)
    assert fragment in str(caught.value)


def test_the_longest_contents() -> None:
    assert parse_contents("1 piece = 16 ft" + ";" * 985) == parse_contents("1 piece = 16 ft")


def test_empty_contents() -> None:
    assert parse_contents("") == parse_contents(" ;\n; ") == NOTHING


def test_same_content_twice_in_other_words_is_no_contradiction() -> None:
    contents = parse_contents("1 piece = 16 ft; 192 in per piece; length = 16 ft")
    assert convert(Fraction(1), UNITS["piece"], UNITS["ft"], contents) == 16


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (Fraction(16), "piece", "16 pieces"),
        (1, "piece", "1 piece"),
        (Decimal("20.00"), "gal", "20 gal"),
        (Decimal("2.50"), "square", "2.5 squares"),
        (Fraction(1, 3), "ft", "0.333333 ft"),
        (Fraction(2, 3), "sq ft", "0.666667 sq ft"),
        (Fraction(1, 2_000_000), "ft", "0.000001 ft"),
        (Fraction(1, 3_000_000), "ft", "0 ft"),
        (Fraction(-1, 3_000_000), "ft", "0 ft"),
        (0, "box", "0 boxes"),
        (2, "dozen", "2 dozen"),
        (100, "bf", "100 bf"),
        (Fraction(-5, 2), "gal", "-2.5 gal"),
        (MAX_QUANTITY, "load", "100000000 loads"),
    ],
)
def test_format(value: Fraction | Decimal | int, unit: str, text: str) -> None:
    assert format_quantity(value, UNITS[unit]) == text


def test_format_places() -> None:
    assert format_quantity(Fraction(2, 3), UNITS["ft"], 2) == "0.67 ft"
    assert format_quantity(Fraction(5, 2), UNITS["ft"], 0) == "3 ft"


units = st.sampled_from(sorted(UNITS)).map(UNITS.__getitem__)
values = st.integers(0, MAX_QUANTITY * 10**6).map(lambda n: Fraction(n, 10**6))


@settings(deadline=None)
@given(values, units)
def test_what_is_written_is_read_back(value: Fraction, unit: Unit) -> None:
    parsed = parse_quantity(format_quantity(value, unit))
    assert (parsed.count, parsed.unit) == (value, unit)


RICH = parse_contents(
    JOIST + "; 1 gal = 350 sq ft; 1 box = 50 pieces; 1 pallet = 4 boxes; 1 ft = 0.7 lb;"
    "1 piece = 11.3 lb; 1 sheet = 2 h; 1 sheet = 3 pieces; 1 bag = 60 lb; 1 bag = 0.5 cu ft"
)


@settings(deadline=None)
@given(values, units, units)
def test_there_and_back_is_the_identity(value: Fraction, unit: Unit, to: Unit) -> None:
    try:
        there = convert(value, unit, to, RICH)
    except QuantityError:
        with pytest.raises(QuantityError):
            convert(value, to, unit, RICH)
        return
    assert convert(there, to, unit, RICH) == value


def _read(text: str) -> ParsedQuantity | None:
    try:
        return parse_quantity(text)
    except QuantityError:
        return None


fragments = st.lists(
    st.sampled_from(
        ["1", "12", "0", "2x8x12", "1/2", "½", "²", "@", "x", " ", "ft", "gal", "'", '"', "-", ",",
         ".", "a", "dozen", "sheets", "of", "\u00a0", "250", "half", "in", "=", "/", "per", "²"]
    ),
    max_size=14,
).map("".join)  # fmt: skip


@settings(max_examples=300 * TIMES, deadline=None)
@given(st.one_of(st.text(max_size=60), fragments))
def test_random_text_raises_nothing_else(text: str) -> None:
    parsed = _read(text)
    if parsed is not None:
        assert 0 <= parsed.count <= MAX_QUANTITY
        assert parse_quantity(parsed.text) == parsed
        for base in ("piece", "ft", "bf", "sheet"):
            with suppress(QuantityError):
                assert to_base(parsed, UNITS[base], RICH) >= 0


@settings(max_examples=200 * TIMES, deadline=None)
@given(st.one_of(st.text(max_size=60), fragments, st.tuples(fragments, fragments).map("=".join)))
@example("1/² = 0")
@example("1 piece = 1/² ft")
def test_random_contents_raise_nothing_else(text: str) -> None:
    try:
        contents = parse_contents(text)
    except QuantityError:
        return
    for a, unit, b, other in contents.equivalences:
        assert a > 0 < b
        assert unit != other


@pytest.mark.parametrize(
    "text",
    [
        "a." * 60, "1 " * 60, "1/" * 60, "1," * 60, "1\u00a0234" * 17, "x" * 120, "''" * 60,
        "1x" * 60, "ft " * 40, " \u00a0" * 5000, "9" * 100_000, "1 piece = " * 12, "²" * 120,
    ],
)  # fmt: skip
def test_hostile_text_is_answered_at_once(text: str) -> None:
    begun = time.process_time()
    assert _read(text) is None
    with suppress(QuantityError):
        parse_contents(text)
    assert time.process_time() - begun < 0.1


def test_packs_are_linked_by_contents_only() -> None:
    packs = [unit for unit in UNITS.values() if unit.dimension is Dimension.PACK]
    for pack in packs:
        for other in UNITS.values():
            if other is not pack:
                with pytest.raises(QuantityError):
                    convert(Fraction(1), pack, other, NOTHING)
        assert convert(Fraction(3), pack, find_unit(pack.plural), NOTHING) == 3


# What is counted one by one is pieces, whatever it is called.
COUNTED = [
    ("25 boards", 25, ""),
    ("ten boards", 10, ""),
    ("Twelve sticks", 12, ""),
    ("20 sticks of 20 ft", 20, "400 ft"),
    ("3 bats", 3, ""),
    ("6 planks @ 12 ft", 6, "72 ft"),
    ("12 @ 2x8x12 boards", 12, "144 ft"),
]


@pytest.mark.parametrize(("text", "count", "result"), COUNTED)
def test_counted_things_are_pieces(text: str, count: int, result: str) -> None:
    read = parse_quantity(text)
    assert (read.count, read.unit.symbol) == (count, "piece")
    assert result in read.understood


# Refused, and what is offered instead: never taken silently.
OFFERED = [
    ("40 x 8ft", ("40 @ 8 ft", "1 @ 40 x 8 ft")),
    ("25 pc 16'", ("25 pc @ 16'",)),
    ("2 x 5 gal", ("2 @ 5 gal",)),
    ("6x8x12 x 3", ("3 @ 6x8x12",)),
    ("3 x 2x8x12", ("3 @ 2x8x12",)),
    ("16 - 2x8x12s", ("16 @ 2x8x12",)),
    ("12 sheets 4x8", ("12 sheets @ 4x8",)),
    ("11 4x8", ("11 @ 4x8 ft",)),
    ("12 2x8x12", ("12 @ 2x8x12",)),
    ("twelve 2x4x8", ("twelve @ 2x4x8",)),
    ("20 boards 2x8x12", ("20 boards @ 2x8x12",)),
    ("5 gal bucket", ("1 @ 5 gal bucket", "5 gal")),
    ("1 1/2 gal buckets", ("1 @ 1/2 gal buckets", "1 1/2 gal")),
    ("10 bags of lime", ("10 bags",)),
    ("16 sheets galvanised", ("16 sheets",)),
    ("6 5-gal pails limewash", ("6 5-gal pails",)),
    ("5 2x4s", ("5 pieces",)),
    ("60 sheets 4x8x2", ("60 sheets @ 2 in x 4 ft x 8 ft", "60 sheets @ 4 in x 8 ft x 2 ft")),
    ("16 sheets 4x8x1/2", ("16 sheets @ 1/2 in x 4 ft x 8 ft",)),
    ("2 bushels", ()),
    ("3 trucks", ()),
    ("2x8x12", ("1 @ 2x8x12",)),
    ("1 250 pcs", ("1250 pcs",)),
    ("20 galons", ("20 gal",)),
    ("10-12 pieces", ()),
    ("3-4 boards", ()),
    ("5 ft 18 in", ()),
    ("2x4", ()),
    ("lots", ()),
    ("3 102147483648x2", ()),
]


@pytest.mark.parametrize(("text", "offers"), OFFERED)
def test_other_readings_are_offered(text: str, offers: tuple[str, ...]) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text)
    assert caught.value.offers == offers
    assert ("id you mean" in str(caught.value)) is bool(offers)
    for offer in offers:
        parse_quantity(offer)


# A plural that is no unit counts pieces; one that measures or multiplies does not.
THINGS = [
    ("25 wotsits", 25),
    ("25 whatnots", 25),
    ("25 oddments", 25),
    ("3 tarps", 3),
    ("10 shutters", 10),
    ("12 old doors", 12),
    ("a wood stove", 1),
    ("6 stainless elbows", 6),
    ("2 thousand bricks", 2000),
    ("3 hundred tiles", 300),
]
NO_THINGS = [
    "25 blorp", "3 weeks", "2 bushels", "12 cents", "4 heavy pounds", "3 shovelfuls",
    "2 dozens more", "3 metric feet", "2 million bricks", "5 half sheets", "7 glass",
    "2 sq things ft",
    "3 b and bs",
]  # fmt: skip


@pytest.mark.parametrize(("text", "count"), THINGS)
def test_any_plural_counts_pieces(text: str, count: int) -> None:
    read = parse_quantity(text)
    assert read.count * read.unit.factor == count
    assert read.unit.dimension is Dimension.COUNT


@pytest.mark.parametrize("text", NO_THINGS)
def test_what_measures_is_no_thing(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(text)


# A count, what one holds, and what is counted: kept with the size after "@".
HOLDING = [
    ("9 five gallon buckets", "9 buckets @ five gallon", "gal", 45),
    ("9 5-gallon buckets", "9 buckets @ 5 gallon", "gal", 45),
    ("10 60-lb. bags", "10 bags @ 60 lb.", "lb", 600),
    ("10 60# bags", "10 bags @ 60 lb", "lb", 600),
    ("2 100 ft rolls", "2 rolls @ 100 ft", "ft", 200),
    ("12 16' boards", "12 boards @ 16'", "ft", 192),
    ("8 300 watt panels", "8 panels @ 300 watt", "W", 2400),
    ("4 100Ah batteries", "4 batteries @ 100 Ah", "Ah", 400),
    ("3 1-1/2 gal cans", "3 cans @ 1-1/2 gal", "gal", Fraction(9, 2)),
    ("4 8 ft widgets", "4 pieces @ 8 ft", "ft", 32),
]


@pytest.mark.parametrize(("text", "kept", "unit", "total"), HOLDING)
def test_what_one_holds_may_stand_before_it(
    text: str, kept: str, unit: str, total: Fraction
) -> None:
    read = parse_quantity(text)
    assert read.text == kept
    assert to_base(read, UNITS[unit], NOTHING) == total
    assert parse_quantity(kept).text == kept


def test_power_charge_and_tension_are_measures_of_their_own() -> None:
    """1 kWh = 1000 Wh, 1 kW = 1000 W (SI Brochure, 9th edition: prefixes); none is another."""
    assert convert(Fraction(12, 5), UNITS["kW"], UNITS["W"], NOTHING) == 2400
    assert convert(Fraction(5), UNITS["kWh"], UNITS["Wh"], NOTHING) == 5000
    assert convert(Fraction(2600), UNITS["mAh"], UNITS["Ah"], NOTHING) == Fraction(13, 5)
    held = parse_contents("1 piece = 300 W; 1 piece = 12 V")
    assert convert(Fraction(8), UNITS["piece"], UNITS["kW"], held) == Fraction(12, 5)
    for one, other in (("W", "Wh"), ("Wh", "Ah"), ("Ah", "V"), ("V", "W")):
        with pytest.raises(QuantityError, match="say in the component's contents"):
            convert(Fraction(1), UNITS[one], UNITS[other], NOTHING)


# (text, base unit, contents) -> what it teaches of each.
TAUGHT = [
    ("40 @ 2x8x12", "piece", "", "1 piece = 2x8x12"),
    ("2 dozen @ 8 ft", "piece", "", "1 piece = 8 ft"),
    ("16 @ 4x8 sheets", "sheet", "", "1 sheet = 4x8"),
    ("9 five gallon buckets", "gal", "", "1 bucket = five gallon"),
    ("10 60# bags", "bag", "", "1 bag = 60 lb"),
    ("8 300W panels", "piece", "", "1 piece = 300 W"),
    ("8 300W panels", "piece", "1 piece = 300 W", ""),
    ("40 @ 2x8x12", "piece", "1 piece = 8 ft", ""),
    ("4 @ 5 gal", "gal", "", ""),
    ("40 pieces", "piece", "", ""),
    ("180 ft", "piece", "", ""),
]


@pytest.mark.parametrize(("text", "base", "contents", "result"), TAUGHT)
def test_what_a_size_teaches(text: str, base: str, contents: str, result: str) -> None:
    assert taught(parse_quantity(text), UNITS[base], parse_contents(contents)) == result
    parse_contents(result)


# (text, kind, base unit) -> what it could mean, the likelier first; nothing where it is plain.
DOUBTS = [
    ("60 sheets @ 4x8x2", None, "sheet",
     ("60 sheets @ 2 in x 4 ft x 8 ft", "60 sheets @ 4 in x 8 ft x 2 ft")),
    ("16 @ 4x8x1/2 sheets", None, "sheet", ("16 @ 1/2 in x 4 ft x 8 ft sheets",)),
    ("16 @ 1/2x4x8 sheets", None, "sheet", ()),
    ("16 sheets @ 48x96x1/2", None, "sheet", ("16 sheets @ 1/2 in x 48 in x 96 in",)),
    ("10 @ 2x4x8", Kind.SHEET, "piece", ("10 @ 2 in x 4 ft x 8 ft", "10 @ 2x4x8 ft")),
    ("10 pcs 3/4x4x8", Kind.SHEET, "piece", ("10 pcs @ 3/4 in x 4 ft x 8 ft",)),
    ("120 8x8x16", Kind.BLOCK, "piece", ("120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft")),
    ("120 @ 8x8x16", None, "piece", ("120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft")),
    ("120 @ 8x8x16", Kind.LUMBER, "piece", ()),
    ("120 @ 8x8x16 ft", Kind.BLOCK, "piece", ()),
    ("4 @ 6x6x10", None, "piece", ("4 @ 6x6x10 ft", "4 @ 6 in x 6 in x 10 in")),
    ("12 @ 2x8x12", None, "piece", ()),
    ("3 yards", Kind.LOOSE, "piece", ("3 cu yd", "3 linear yards")),
    ("3 yards of earth", Kind.LOOSE, "cu yd", ("3 cu yd", "3 linear yards")),
    ("1½ yds", None, "cu ft", ("1½ cu yd", "1½ linear yards")),
    ("20 yards", None, "sq ft", ("20 sq yd", "20 linear yards")),
    ("3 yards", None, "piece", ()),
    ("3 linear yards", Kind.LOOSE, "cu yd", ()),
    ("10 oz", Kind.LIQUID, "gal", ("10 fl oz",)),
    ("10 oz", None, "lb", ()),
    ("96 ft x 12 in x 6 in", Kind.LOOSE, "cu yd", ("48 cu ft", "1 @ 96 ft x 12 in x 6 in")),
    ("10 ft x 12 ft", None, "sq ft", ("120 sq ft", "1 @ 10 ft x 12 ft")),
    ("10 ft x 12 ft", None, "piece", ("1 @ 10 ft x 12 ft", "120 sq ft")),
    ("2 m x 3 m x 50 cm", Kind.LOOSE, "cu m", ("3 cu m", "1 @ 2 m x 3 m x 50 cm")),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "base", "offers"), DOUBTS)
def test_what_it_is_decides_which_reading_comes_first(
    text: str, kind: Kind | None, base: str, offers: tuple[str, ...]
) -> None:
    assert meanings(text, kind, UNITS[base]) == offers
    for offer in offers:
        # What was chosen is not asked about again.
        assert meanings(offer, kind, UNITS[base]) == ()


def test_sheets_are_measured_as_offered() -> None:
    """A sheet of 4 by 8 ft is 32 sq ft, so sixty are 1,920."""
    first, second = meanings("60 sheets 4x8x2", None, UNITS["sheet"])
    assert to_base(parse_quantity(first), UNITS["sq ft"], NOTHING) == 1920
    assert to_base(parse_quantity(second), UNITS["sq ft"], NOTHING) == 960


def test_two_gallon_cans_read_as_offered_are_ten_gallons() -> None:
    assert to_base(parse_quantity("2 @ 5 gal"), UNITS["gal"], Contents()) == 10
