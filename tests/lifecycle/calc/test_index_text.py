"""An index as it is pasted."""

from datetime import date
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.lifecycle.calc.escalation import IndexValue
from materials.lifecycle.calc.index_text import IndexTextError, parse_index, write_index


def value(year: int, month: int, number: str, preliminary: bool = False) -> IndexValue:
    """One value."""
    return IndexValue(date(year, month, 1), F(number), preliminary)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("2014-07 116.3", value(2014, 7, "116.3")),
        ("2014-7\t116.3", value(2014, 7, "116.3")),
        ("2014-07-01,116.3", value(2014, 7, "116.3")),
        ("Jul 2014: 116.3", value(2014, 7, "116.3")),
        ("July 2014; 1,116.3", value(2014, 7, "1116.3")),
        ("2014 Jul 116.3", value(2014, 7, "116.3")),
        ("Sept. 2014 99", value(2014, 9, "99")),
        ("2014 September 99", value(2014, 9, "99")),
        ("1900-01 1", value(1900, 1, "1")),
        ("2200-12 1", value(2200, 12, "1")),
        ("2014-07 1" + "\n" * 1200, value(2014, 7, "1")),
        ("2013-04 223.1 p", value(2013, 4, "223.1", True)),
        ("2013-04 223.1(P)", value(2013, 4, "223.1", True)),
        ("Apr 2013 223.1 preliminary", value(2013, 4, "223.1", True)),
    ],
)
def test_a_line_is_read_as_people_paste_it(line, expected):
    assert parse_index(line) == (expected,)


def test_months_come_in_order_and_empty_lines_are_nothing():
    assert [v.month.month for v in parse_index("\n2014-07 2\n\n2014-01 1\n")] == [1, 7]
    assert parse_index("") == ()


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("116.3", "Line 1, “116.3”, does not begin with a month"),
        ("2014-07 1\nsoon 3", "Line 2, “soon 3”"),
        ("2014-13 1", "does not begin with a month"),
        ("0001-01 1", "does not begin with a month"),
        ("Foo 2014 1", "does not begin with a month"),
        ("2014 Foo 1", "does not begin with a month"),
        ("1899-12 1", "does not begin with a month"),
        ("2201-01 1", "does not begin with a month"),
        ("2014-07", "is not a number"),
        ("2014-07 much", "is not a number"),
        ("2014-07 0", "above zero"),
        ("2014-07 1.2345678", "more than 6 decimal places"),
        ("2014-07 1\nJul 2014 2", "Line 2: July 2014 is there twice"),
        ("x\n" * 1201, "more than 1200 lines"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_line(text, result):
    with pytest.raises(IndexTextError, match=result.replace("(", r"\(")):
        parse_index(text)


VALUES = st.builds(
    IndexValue,
    st.dates(date(1900, 1, 1), date(2200, 12, 31)).map(lambda day: day.replace(day=1)),
    st.integers(1, 10**12).map(lambda number: F(number, 10**6)),
    st.booleans(),
)


@given(st.lists(VALUES, unique_by=lambda found: found.month))
def test_what_is_written_is_read_back(values):
    ordered = tuple(sorted(values, key=lambda found: found.month))
    assert parse_index(write_index(ordered)) == ordered


@given(st.text(max_size=60))
def test_no_text_does_more_than_ask(text):
    sentence = ""
    try:
        parse_index(text)
    except IndexTextError as error:
        sentence = str(error)
    assert not sentence or sentence.endswith(".")
