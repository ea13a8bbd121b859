"""Bringing prices to another month, against published series."""

from datetime import date
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.calc.money import round_half_up
from materials.lifecycle.calc.escalation import (
    EscalationError,
    IndexSeries,
    IndexValue,
    adjust_by_rate,
)


def series(values: dict[str, str], preliminary: str = "") -> IndexSeries:
    """A series of values by month ("2012-04")."""
    return IndexSeries(
        "An index",
        [
            IndexValue(date.fromisoformat(f"{month}-01"), F(value), month == preliminary)
            for month, value in values.items()
        ],
    )


def day(text: str) -> date:
    """A day."""
    return date.fromisoformat(text)


# BLS producer price index, softwood lumber, not seasonally adjusted: the logging and lumber page
# (primary text).
SOFTWOOD_2012 = "158.3 161.6 166.3 167.6 176.5 176.3 169.4 176.2 175.9 168.4 177.9 185.7".split()
SOFTWOOD = {f"2012-{n:02}": value for n, value in enumerate(SOFTWOOD_2012, 1)}
# WPUID543222, inputs to construction, November 2009 = 100: FRED table page updated 2024-06-13
# (primary text).
INPUTS = {"2009-11": "100.0", "2011-11": "109.2", "2014-07": "116.3", "2015-01": "113.9"}


def test_a_year_of_softwood_lumber():
    """X01. BLS logging and lumber page (primary text): mean 171.7, +17.3 % over the year."""
    lumber = series(SOFTWOOD)
    # The published mean: the twelve are typed as they are printed.
    mean = sum(value.value for value in lumber.values) / 12
    assert mean == F("171.675")
    assert str(round_half_up(mean, 1)) == "171.7"
    rise = lumber.adjust(F(100), day("2012-01-15"), day("2012-12-31"))
    assert str(round_half_up(rise.change * 100, 1)) == "17.3"
    assert rise.amount == 100 * F("185.7") / F("158.3")
    assert rise.notes == ()


def test_a_preliminary_value_is_said_to_be_one():
    """X04. The same page (primary text): April 2013, 223.1, preliminary."""
    lumber = series(SOFTWOOD | {"2013-04": "223.1"}, preliminary="2013-04")
    result = lumber.adjust(F(100), day("2012-12-01"), day("2013-04-30"))
    assert result.end.is_preliminary
    assert result.notes == ("The value of April 2013 is preliminary and may still change.",)
    assert lumber.adjust(F(100), day("2012-01-01"), day("2012-12-01")).notes == ()


def test_inputs_to_construction():
    """X05. FRED table page (primary text): 100.0 to 116.3 is +16.3 %, exactly."""
    result = series(INPUTS).adjust(F(100), day("2009-11-01"), day("2014-07-01"))
    assert result.change * 100 == F("16.3")
    assert result.amount == F("116.3")


def test_a_seasonally_adjusted_series():
    """X06. WPSID543, November 2009 = 100: FRED table page (primary text). It fell after 2012."""
    adjusted = series({"2009-11": "100.5", "2012-12": "110.5", "2015-12": "106.9"})
    fall = adjusted.adjust(F("110.5"), day("2012-12-01"), day("2015-12-01"))
    assert fall.amount == F("106.9")
    assert fall.change < 0


def test_a_series_that_was_named_and_not_seen_says_so():
    """X07. WPUSI012011, construction materials: its values were not seen (from memory)."""
    with pytest.raises(EscalationError, match="no value up to May 2020: type or paste"):
        IndexSeries("WPUSI012011", []).adjust(F(100), day("2020-05-01"), day("2021-05-01"))


@pytest.mark.parametrize(
    ("row", "first", "last", "amount", "places"),
    [
        # X08. CPI-U, annual: 2010 and 2020, as a published package of it ships them (run).
        ("X08", "218.056", "258.811", "118.690", 3),
        # X09. CPI, quarters: 1959 Q1 and 2009 Q3, as a macro data set ships them (run).
        ("X09", "28.98", "216.385", "746.67", 2),
    ],
)
def test_consumer_prices(row, first, last, amount, places):
    result = series({"2000-01": first, "2010-01": last}).adjust(
        F(100), day("2000-01-01"), day("2010-01-01")
    )
    assert str(round_half_up(result.amount, places)) == amount, row


def test_the_last_quarter_is_not_the_dearest():
    """X09. Consumer prices of 2008 Q3 (216.889) stood above those of 2009 Q3 (216.385)."""
    cpi = series({"1959-01": "28.98", "2008-07": "216.889", "2009-07": "216.385"})
    fall = cpi.adjust(F("216.889"), day("2008-07-01"), day("2009-07-01"))
    # 216.385 less 216.889, and that on 216.889.
    assert (fall.amount, fall.change) == (F("216.385"), F(-504, 216889))
    # 100 of 1959 were 100 x 216.889 / 28.98 and 100 x 216.385 / 28.98 later.
    dearest, last = (
        round_half_up(cpi.adjust(F(100), day("1959-01-01"), day(later)).amount, 2)
        for later in ("2008-07-01", "2009-07-01")
    )
    assert (str(dearest), str(last)) == ("748.41", "746.67")


def test_a_missing_month_takes_the_last_published_and_says_so():
    """X10. Policy: the last published value is used and named; nothing is extrapolated."""
    inputs = series(INPUTS)
    result = inputs.adjust(F(100), day("2009-11-01"), day("2014-12-24"))
    assert result.end.is_earlier
    assert result.end.used.value == F("116.3")
    assert result.notes == (
        "Nothing is published for December 2014: the last value before it, of July 2014, is used.",
    )
    late = inputs.adjust(F(100), day("2009-11-01"), day("2030-01-01"))
    assert late.amount == F("113.9")
    with pytest.raises(EscalationError, match="no value up to October 2009"):
        inputs.read(day("2009-10-31"))


def test_a_series_that_contradicts_itself_is_refused():
    month = day("2020-05-01")
    for values, result in (
        ([IndexValue(month, F(1)), IndexValue(month, F(2))], "two values for one month"),
        ([IndexValue(month, F(0))], "not above zero"),
        ([IndexValue(day("2020-05-02"), F(1))], "not of a whole month"),
    ):
        with pytest.raises(EscalationError, match=result):
            IndexSeries("An index", values)


MONTHS = st.dates(date(1990, 1, 1), date(2030, 12, 31)).map(lambda found: found.replace(day=1))
VALUES = st.fractions(F(1, 100), F(1000), max_denominator=100)


@given(st.dictionaries(MONTHS, VALUES, min_size=2), st.data())
def test_there_and_back_is_where_one_began(values, data):
    index = IndexSeries("An index", [IndexValue(month, value) for month, value in values.items()])
    one, other = (data.draw(st.sampled_from(sorted(values))) for _ in range(2))
    there = index.adjust(F(100), one, other)
    assert index.adjust(there.amount, other, one).amount == 100
    assert there.amount == 100 * values[other] / values[one]


@given(st.fractions(F(-9, 10), F(1), max_denominator=1000), st.integers(0, 30))
def test_a_yearly_rate_goes_there_and_back(rate, years):
    assert adjust_by_rate(adjust_by_rate(F(7), rate, years), rate, -years) == 7


def test_a_yearly_rate():
    assert adjust_by_rate(F(100), F(3, 100), 2) == F("106.09")
    with pytest.raises(ValueError, match="above minus one hundred"):
        adjust_by_rate(F(100), F(-1), 2)
