"""Pictures: nothing negative, nothing outside, parts sum to the whole."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.calc.pictures.bars import (
    STRIP_FRAME,
    WIDTH,
    Measure,
    across,
    divided,
    down,
    length,
    measured,
    shares,
    shorten,
    strip,
    strips,
)
from materials.calc.pictures.over_time import (
    MONTHS,
    by_month,
    first_days,
    passed_on,
    round_values,
    running_sum,
)

F = Fraction
amounts = st.fractions(min_value=-1000, max_value=10**7, max_denominator=100)


def row(cost=0, new=None, beside=0, text="$1.00", label="A10") -> Measure:
    frame = None if new is None else F(new)
    return Measure(label, (("paid", F(cost)),), frame, text, f"{label}.", F(beside))


def bars(picture, at: int = 0) -> dict[str, tuple[int, int]]:
    """Left edge and width by kind of one row."""
    return {bar.kind: (bar.x, bar.width) for bar in picture.rows[at].bars}


@pytest.mark.parametrize(
    ("value", "largest", "drawn"),
    [(0, 10, 0), (-3, 10, 0), (5, 10, 50), (10, 10, 100), (F(1, 999), 10, 1), (20, 10, 100)],
)
def test_length_of_a_bar(value, largest, drawn):
    assert length(F(value), F(largest), 100) == drawn


def test_length_with_nothing_to_measure_by():
    assert length(F(5), F(0), 100) == 0


def test_places_are_written_as_svg_reads_them():
    assert [across(0), across(7), across(625), across(1000)] == ["0.0%", "0.7%", "62.5%", "100.0%"]
    assert [down(0), down(14)] == ["0.0em", "1.4em"]


def test_within_the_frame_and_over_it():
    (picture,) = measured([row(50, 100), row(100, 80)])
    assert set(bars(picture, 0)) == {"paid", "frame"}
    assert bars(picture, 0)["paid"][1] * 2 == pytest.approx(bars(picture, 0)["frame"][1], abs=1)
    over = bars(picture, 1)
    assert over["over"][0] == over["frame"][1] == over["paid"][1]
    assert over["over"][1] > 0


def test_what_stands_beside_counts_in_the_scale():
    """Of 1000 places the text of five letters takes 5 x 27 and 30: 835 are for 200.00."""
    (picture,) = measured([row(50, 100, beside=100)])
    assert bars(picture) == {"paid": (0, 208), "frame": (0, 417), "beside": (423, 412)}
    (over,) = measured([row(150, 100, beside=50)])
    assert bars(over) == {
        "paid": (0, 417), "over": (417, 209), "frame": (0, 417), "beside": (632, 203)
    }  # fmt: skip
    places = {bar.kind: (bar.y, bar.height) for bar in over.rows[0].bars}
    assert places == {"paid": (16, 6), "over": (16, 6), "frame": (14, 10), "beside": (16, 6)}
    (hardly,) = measured([row(100, 100, beside=F(1, 100))])
    assert bars(hardly)["beside"] == (840, 1)
    (less,) = measured([row(50, 100, beside=-100)])
    assert bars(less) == {"paid": (0, 417), "frame": (0, 835)}


def test_rows_stand_below_each_other_with_their_texts():
    """A line of text is 14 tenths of its size, a bar 10, the space below it 9."""
    (picture,) = measured([row(100, 100), row(50, 100)])
    assert [drawn.y for drawn in picture.rows] == [0, 33]
    assert [[bar.y for bar in drawn.bars] for drawn in picture.rows] == [[16, 14], [49, 47]]
    assert [[bar.height for bar in drawn.bars] for drawn in picture.rows] == [[6, 10]] * 2
    assert [drawn.label_base for drawn in picture.rows] == ["1.0em", "4.3em"]
    assert [drawn.text_base for drawn in picture.rows] == ["2.3em", "5.6em"]
    assert [drawn.text_left for drawn in picture.rows] == ["85.0%", "85.0%"]
    assert (picture.height, picture.tall) == (59, "5.9em")
    paid = picture.rows[0].bars[0]
    assert (paid.left, paid.top, paid.wide, paid.tall) == ("0.0%", "1.6em", "83.5%", "0.6em")


def test_the_longest_row_and_the_longest_text_give_the_scale():
    """Seven letters take 7 x 27 and 30 of the thousand: 781 are for 200.00."""
    (picture,) = measured([row(50, text="$50.00"), row(200, text="$200.00"), row(100)])
    assert [bars(picture, at)["paid"] for at in range(3)] == [(0, 195), (0, 781), (0, 390)]
    (wide,) = measured([row(1, text="9" * 40)])
    assert bars(wide)["paid"] == (0, 550)


def test_no_frame_is_never_passed():
    (picture,) = measured([row(50)])
    assert set(bars(picture)) == {"paid"}


def test_what_stands_beside_begins_after_everything_else():
    (picture,) = measured([row(50, 100, beside=20), row(120, 100, beside=20)])
    for at in (0, 1):
        drawn = bars(picture, at)
        others = [x + width for kind, (x, width) in drawn.items() if kind != "beside"]
        assert drawn["beside"][0] > max(others)


def test_many_rows_stand_in_two_pictures_at_one_scale():
    rows = [row(10, 20, label=f"A{n}") for n in range(7)]
    first, second = measured(rows)
    assert [len(first.rows), len(second.rows)] == [4, 3]
    assert [len(one.rows) for one in measured(rows[:6])] == [6]
    assert bars(first) == bars(second)
    assert first.words + second.words == tuple(row.words for row in rows)


def test_nothing_to_draw_is_no_picture():
    assert measured([]) == ()
    assert measured([row(0), row(-5)]) == ()


def test_a_long_label_is_cut_and_marked():
    assert shorten("Roof") == "Roof"
    assert shorten("x" * 36) == "x" * 36
    assert shorten("x" * 80) == "x" * 35 + "…"


@given(
    st.lists(
        st.tuples(amounts, st.none() | amounts, amounts, st.integers(0, 40)), min_size=1, max_size=9
    )
)
def test_bars_stay_in_the_picture(rows):
    made = [row(cost, new, beside, "9" * size) for cost, new, beside, size in rows]
    for picture in measured(made):
        for drawn in picture.rows:
            for bar in drawn.bars:
                assert bar.width > 0
                assert bar.height > 0
                assert bar.x >= 0
                assert bar.x + bar.width <= WIDTH + 10
                assert 0 <= bar.y <= picture.height


@pytest.mark.parametrize(
    ("cost", "ordered", "kinds"),
    [
        (50, 0, {"paid": 400, "frame": 800}),
        (100, 0, {"paid": 800, "frame": 800}),
        (50, 25, {"paid": 400, "committed": 200, "frame": 800}),
        (110, 0, {"paid": 800, "over": 80, "frame": 800}),
        (900, 0, {"paid": 800, "over": 200, "frame": 800}),
        (-5, 0, {"frame": 800}),
    ],
)
def test_a_strip_ends_its_frame_always_alike(cost, ordered, kinds):
    drawn = strip((("paid", F(cost)), ("committed", F(ordered))), F(100))
    assert {bar.kind: bar.width for bar in drawn} == kinds
    assert kinds["frame"] == STRIP_FRAME


@pytest.mark.parametrize("frame", [None, F(0)])
def test_no_strip_without_a_frame(frame):
    assert strip((("paid", F(1)),), frame) is None


@given(st.lists(amounts, max_size=6))
def test_shares_sum_to_the_width(values):
    pieces = shares([("a", value, "1 %") for value in values])
    assert sum(piece.bar.width for piece in pieces) == (WIDTH if any(v > 0 for v in values) else 0)
    assert all(piece.bar.width >= 0 for piece in pieces)


def test_a_text_that_would_not_fit_is_left_out():
    wide, narrow = shares([("a", F(99), "99 %"), ("b", F(1), "1 %")])
    assert (wide.text, narrow.text) == ("99 %", "")


def test_rows_without_value_are_left_out_of_a_divided_picture():
    picture = divided(
        [("Paid", [("a", F(1), "")], "Paid: a."), ("New", [("a", F(0), "")], "New: none.")]
    )
    assert [drawn.label for drawn in picture.rows] == ["Paid"]
    assert picture.words == ("Paid: a.",)
    assert divided([("New", [], "")]) is None


def test_divided_bars_stand_below_each_other_with_their_texts():
    parts = [("a", F(3), "75 %"), ("b", F(1), "25 %")]
    picture = divided([("Paid", parts, "Paid."), ("New", parts, "New.")])
    assert [drawn.y for drawn in picture.rows] == [0, 56]
    assert [drawn.label_base for drawn in picture.rows] == ["1.0em", "6.6em"]
    assert [drawn.text_base for drawn in picture.rows] == ["4.7em", "10.3em"]
    assert (picture.height, picture.tall) == (107, "10.7em")
    first, second = picture.rows[1].shares
    assert (first.bar.x, first.bar.width, second.bar.x, second.bar.width) == (0, 750, 750, 250)
    assert {share.bar.y for share in (first, second)} == {70}
    assert {share.bar.height for share in (first, second)} == {20}
    assert (first.middle, second.middle) == ("37.5%", "87.5%")


def test_a_text_fits_where_the_piece_is_as_wide_as_its_letters():
    """Each takes 27 of the thousand."""
    assert [piece.text for piece in shares([("a", F(54), "ab"), ("b", F(946), "")])] == ["ab", ""]
    assert [piece.text for piece in shares([("a", F(53), "ab"), ("b", F(947), "")])] == ["", ""]


APRIL = date(2026, 4, 7)
SPEND = [(APRIL, F(100)), (date(2026, 4, 7), F(20)), (date(2026, 6, 16), F(80))]


def points(picture) -> list[tuple[int, int]]:
    return [tuple(map(int, pair.split(","))) for pair in picture.points.split()]


def test_steps_of_a_running_sum():
    picture = running_sum(SPEND, F(400), height=120)
    # 100 of the height for 400: 120 are 30, 200 are 50; below headroom, from the ground up.
    assert points(picture) == [
        (0, 120), (0, 120), (0, 90), (1000, 90), (1000, 70), (1000, 70)
    ]  # fmt: skip
    assert picture.level_y == 20
    assert picture.end_y == 70
    assert (picture.first, picture.last) == (APRIL, date(2026, 6, 16))
    # 24 and 55 of the 70 days.
    assert picture.marks == (342, 785)
    assert not picture.marks_are_years


def test_what_is_drawn_beside_the_steps_has_its_place():
    """In tenths of the text's size: the level with its text above it, the last sum below its end
    or, too near the ground, above; marks and dates below the ground."""
    picture = running_sum(SPEND, F(400), height=120)
    assert picture.field == "0 0 1000 120"
    assert picture.ground.endswith(" 1000,70 1000,120 0,120")
    assert (picture.level_top, picture.level_base) == ("2.0em", "1.5em")
    assert picture.end_base == "8.6em"
    assert (picture.field_tall, picture.mark_end) == ("12.0em", "12.6em")
    assert (picture.dates_base, picture.tall) == ("14.0em", "14.6em")
    assert picture.marks_left == ("34.2%", "78.5%")
    # 20 of the height are just not enough for a text below the end of the last sum.
    assert replace(picture, end_y=99).end_base == "11.5em"
    assert replace(picture, end_y=100).end_base == "9.5em"
    without = running_sum(SPEND, None)
    assert (without.level_top, without.level_base) == (None, None)


@pytest.mark.parametrize(
    ("top", "values"),
    [
        (F(22742), [5000, 10000, 15000, 20000]),
        (F(400), [100, 200, 300, 400]),
        (F(999), [200, 400, 600, 800]),
        (F(5), [2, 4]),
        (F(7, 10), [F(1, 5), F(2, 5), F(3, 5)]),
        (F(1, 1000), [F(1, 2000), F(1, 1000)]),
    ],
)
def test_the_scale_has_few_round_values(top, values):
    assert round_values(top) == values


@given(amounts.filter(lambda value: value > 0))
def test_the_scale_stays_below_the_top_and_is_never_empty(top):
    values = round_values(top)
    assert 0 < len(values) <= 4
    assert values[-1] <= top


def test_a_value_too_near_the_level_is_left_out():
    # Of 120 for 400: 100 at 100, 200 at 80, 300 at 60; 400 is the level itself.
    picture = running_sum(SPEND, F(400), height=140)
    assert picture.values == ((110, F(100)), (80, F(200)), (50, F(300)))
    assert picture.scale[0] == ("11.0em", "10.7em", F(100))


def test_months_are_named_where_there_is_room():
    picture = running_sum(SPEND, F(400))
    assert picture.names == (("34.2%", date(2026, 5, 1)), ("78.5%", date(2026, 6, 1)))
    assert picture.begins_apart
    years = running_sum([(date(2000, 2, 1), F(1)), (date(2026, 12, 1), F(1))], None)
    assert len(years.marks) == 26
    assert [day.year for _, day in years.names] == list(range(2001, 2026, 3))
    # A month that begins right at the left or the right end.
    edge = running_sum([(date(2026, 4, 28), F(1)), (date(2026, 6, 2), F(1))], None)
    assert not edge.begins_apart
    assert [day.month for _, day in edge.names] == [5]
    # “Mar 2026” at the left end is a fifth of a phone's width and more: no room for April at 14 %.
    spring = running_sum([(date(2026, 3, 4), F(1)), (date(2026, 9, 18), F(1))], None)
    assert spring.begins_apart
    assert [day.month for _, day in spring.names] == [5, 6, 7, 8, 9]


def test_strips_of_several_rows_stand_at_one_scale():
    rows = [
        Measure("", (("paid", F(50)),), F(100), "", ""),
        Measure("", (("paid", F(10)),), F(20), "", "", beside=F(30)),
    ]
    wide, narrow = strips(rows)
    assert [(bar.kind, bar.x, bar.width) for bar in wide] == [("paid", 0, 500), ("frame", 0, 1000)]
    assert [(bar.kind, bar.x, bar.width) for bar in narrow] == [
        ("paid", 0, 100), ("frame", 0, 200), ("beside", 206, 294)
    ]  # fmt: skip
    assert strips([Measure("", (), None, "", "")]) == ((),)


def test_no_level_and_a_level_below():
    assert running_sum(SPEND, None).level_y is None
    low = running_sum(SPEND, F(50))
    assert low.end_y < low.level_y < low.height


def test_nothing_spent_is_no_picture():
    assert running_sum([], F(100)) is None
    assert running_sum([(APRIL, F(-5))], None) is None
    assert running_sum([(APRIL, F(0))], F(0)) is None


def test_one_day_only():
    picture = running_sum([(APRIL, F(5))], None)
    assert points(picture)[-1] == (WIDTH, picture.end_y)
    assert picture.marks == ()


@given(
    st.lists(st.tuples(st.dates(), amounts), min_size=1, max_size=20),
    st.none() | amounts.filter(lambda value: value >= 0),
)
def test_steps_and_level_stay_in_the_field(entries, level):
    picture = running_sum(entries, level)
    if picture is None:
        return
    for x, y in points(picture):
        assert 0 <= x <= WIDTH
        assert 0 <= y <= picture.height
    assert picture.level_y is None or 0 <= picture.level_y <= picture.height
    assert all(0 <= mark <= WIDTH for mark in picture.marks)


def test_many_months_are_marked_by_the_year():
    picture = running_sum([(date(2020, 2, 1), F(1)), (date(2023, 3, 1), F(1))], None)
    assert len(first_days(picture.first, picture.last)) == 37 > MONTHS
    assert picture.marks_are_years
    assert len(picture.marks) == 3
    # As many months as there may be marks are still months.
    fewer = running_sum([(date(2020, 2, 1), F(1)), (date(2022, 8, 1), F(1))], None)
    assert len(fewer.marks) == MONTHS
    assert not fewer.marks_are_years


def test_first_days_turn_the_year_and_end_with_the_calendar():
    assert first_days(date(2026, 11, 30), date(2027, 1, 1)) == [
        date(2026, 12, 1), date(2027, 1, 1)
    ]  # fmt: skip
    assert first_days(date(9999, 11, 2), date.max) == [date(9999, 12, 1)]


def test_months_and_their_sums():
    assert [(m.first, m.amount, m.so_far) for m in by_month(SPEND)] == [
        (date(2026, 4, 1), 120, 120),
        (date(2026, 6, 1), 80, 200),
    ]


@pytest.mark.parametrize(
    ("level", "since"),
    [
        (None, None),
        (F(200), None),
        (F(150), date(2026, 6, 16)),
        (F(119), APRIL),
    ],
)
def test_the_day_the_budget_was_passed(level, since):
    assert passed_on(SPEND, level) == since


def test_a_budget_kept_again_is_not_passed():
    sold = [*SPEND, (date(2026, 7, 1), F(-150))]
    assert passed_on(sold, F(100)) is None
    again = [*sold, (date(2026, 8, 1), F(200))]
    assert passed_on(again, F(100)) == date(2026, 8, 1)
