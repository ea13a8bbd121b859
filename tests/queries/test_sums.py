"""Sums are exact on every database, and nothing is counted twice."""

from collections import Counter
from datetime import timedelta
from decimal import Decimal as D
from fractions import Fraction
from functools import partial
from itertools import combinations

import pytest

from materials.choices import Fate, LabourKind
from materials.forms.filters import LineFilter
from materials.models import Build, LabourEntry, PurchaseLine
from materials.queries import paging
from materials.queries.labour import list_labour, list_tasks, sum_labour
from materials.queries.purchases import list_lines, list_purchases, sum_lines
from materials.queries.reports import get_cost_sheet
from materials.queries.suppliers import list_suppliers
from materials.queries.totals import count_chosen_lines, sum_chosen_lines
from tests.entries import DAY, Entries, line


@pytest.fixture
def tenths(entries):
    """Thirty lines of 0.10 and thirty hours paid at 0.10."""
    nail = entries.component("Nail")
    for n in range(10):
        lines = [line(nail, "1 piece", line_price_amount=D("0.10")) for _ in range(3)]
        entries.purchase(f"P{n}", *lines)
    for _ in range(30):
        entries.labour("Ann", D("0.1"), paid_amount=D("0.10"))
    return entries.build


def test_thirty_tenths_are_three(tenths):
    assert sum_lines(list_lines(tenths)) == {"landed": D("3.00"), "lines": 30, "unknown": 0}
    assert sum_labour(list_labour(tenths)) == {"hours": D(3), "paid": D("3.00")}
    sheet = get_cost_sheet(tenths, DAY)
    assert sheet.spent == 6
    assert sheet.total.cost == 3
    assert sheet.hours.total == 3
    assert sheet.components[0].position.average == Fraction(1, 10)


def test_what_sums_to_three_tenths_is_found(tenths):
    assert list_purchases(tenths).filter(landed_amount=D("0.30")).count() == 10
    assert PurchaseLine.objects.filter(landed_amount=D("0.1")).count() == 30
    assert LabourEntry.objects.filter(paid_amount__gt=D("0.1")).count() == 0


@pytest.fixture
def crossed(entries) -> Build:
    """Two purchases of three lines and four charges each, from one supplier."""
    board, nail = entries.component("Board"), entries.component("Nail")
    for n in range(2):
        entries.purchase(
            f"P{n}",
            line(board, "1 piece", line_price_amount=D(10)),
            line(board, "2 pieces", line_price_amount=D(20)),
            line(nail, "5 pieces"),
            charges=[{"kind": "haulage", "amount": D(1)} for _ in range(4)],
            supplier="Yard",
            paid_by="Ann",
        )
    entries.purchase("D1", line(board, "9 pieces"), state="declined", supplier="Yard")
    task = entries.task("Frame")
    for _ in range(3):
        entries.labour("Ann", 2, task=task)
    return entries.build


def test_lines_and_charges_do_not_multiply_each_other(crossed):
    figures = list_purchases(crossed).values_list(
        "number", "landed_amount", "line_count", "unknown_count"
    )
    assert sorted(figures) == [("D1", 0, 1, 1), ("P0", 34, 3, 1), ("P1", 34, 3, 1)]
    assert sum_lines(list_lines(crossed)) == {"landed": D(68), "lines": 7, "unknown": 3}


def test_a_supplier_is_counted_once_for_each_purchase(crossed):
    (yard,) = list_suppliers(crossed)
    assert (yard.purchase_count, yard.landed, yard.last_on) == (3, D(68), DAY)


def test_hours_of_a_task_are_counted_once(crossed):
    (task,) = list_tasks(crossed)
    assert task.hours == 6


def test_the_cost_sheet_counts_each_line_once(crossed):
    sheet = get_cost_sheet(crossed, DAY)
    by_name = {row.position.component.name: row.position for row in sheet.components}
    assert by_name["Board"].component.received == 6
    assert by_name["Nail"].component.received == 10
    assert sheet.spent == 68
    assert sheet.unknown_lines == 2
    assert [row.share.person.paid_out for row in sheet.persons] == [68]


def test_left_over_and_conversions_do_not_multiply_each_other(entries):
    board, stud, lath = (entries.component(name) for name in ("Board", "Stud", "Lath"))
    entries.purchase("P1", line(board, "20 pieces", line_price_amount=D(40)))
    for n in range(3):
        made = (stud, "2 pieces"), (lath, "3 pieces")
        entries.conversion(f"C{n}", board, "2 pieces", *made, extra_cost_amount=D("0.10"), hours=1)
    for _ in range(2):
        entries.left_over(stud, "1 piece", Fate.SOLD, proceeds_amount=D("0.30"))
        entries.left_over(lath, "1 piece", Fate.ON_HAND)
    sheet = get_cost_sheet(entries.build, DAY)
    by_name = {row.position.component.name: row.position for row in sheet.components}
    assert by_name["Board"].converted_out == 6
    assert (by_name["Stud"].converted_in, by_name["Stud"].in_building) == (6, 4)
    assert (by_name["Lath"].converted_in, by_name["Lath"].in_building) == (9, 7)
    assert sheet.spent == 40 + Fraction(3, 10) - Fraction(6, 10)
    assert sheet.hours.by_kind[LabourKind.PREPARING] == 3


def test_another_build_is_not_counted(crossed, cast, other_build):
    elsewhere = Entries(cast["stranger"], other_build)
    elsewhere.purchase("P0", line(elsewhere.component("Board"), "1 piece", unit_price=D(7)))
    assert get_cost_sheet(crossed, DAY).spent == 68
    assert get_cost_sheet(other_build, DAY).spent == 7
    assert sum_lines(list_lines(other_build))["landed"] == 7


def test_what_running_totals_tell_of_a_choice_is_what_its_lines_tell(crossed):
    board = crossed.components.get(name="Board")
    board.element = crossed.elements.create(code="W", name="Walls")
    board.save()
    asked = {
        "component": ("component", board),
        "element": ("component__element", board.element),
        "source": ("source", "salvage"),
        "state": ("purchase__state", "received"),
    }
    names = [()] + [(one,) for one in asked] + list(combinations(asked, 2)) + [tuple(asked)]
    for some in names:
        chosen = {name: asked[name][1] for name in some}
        lines = list_lines(crossed).filter(**{asked[name][0]: asked[name][1] for name in some})
        counted = Counter(lines.values_list("component_id", flat=True))
        assert count_chosen_lines(crossed, chosen) == counted, some
        assert sum_chosen_lines(crossed, chosen) == sum_lines(lines), some
    assert counted == {board.pk: 4}
    assert count_chosen_lines(crossed, {"supplier": 1}) is None


def test_lines_chosen_by_day_are_summed_alike_from_purchases_and_from_lines(crossed):
    crossed.purchases.get(number="P1").lines.update(of_day=DAY + timedelta(days=9))
    crossed.purchases.filter(number="P1").update(bought_on=DAY + timedelta(days=9))
    next_day = DAY + timedelta(days=1)
    for chosen, expected in (
        ({"since": DAY}, 7),
        ({"since": next_day}, 3),
        ({"until": DAY}, 4),
        ({"until": next_day, "state": "received"}, 3),
        ({"since": next_day, "until": DAY}, 0),
    ):
        given = {name: str(value) for name, value in chosen.items()}
        found = LineFilter(given, queryset=list_lines(crossed), build=crossed)
        assert found.qs.count() == found.sums["lines"] == expected
        summed = sum_lines(found.qs)
        assert sum_chosen_lines(crossed, chosen) == summed == found.sums, chosen


def test_a_list_by_component_is_the_same_with_counts_as_without(crossed, monkeypatch):
    monkeypatch.setattr(paging, "MANY", 1)
    rows = list_lines(crossed).order_by("-component__name", "pk")
    known = partial(count_chosen_lines, crossed, {})
    whole = list(rows)
    for first in range(7):
        for counts in (None, known, lambda: None):
            assert paging.rows_between(rows, first, first + 2, 7, counts) == whole[first:][:2]


@pytest.mark.parametrize("order", ["person__name", "-person__name", "kind", "-kind"])
def test_a_list_by_what_has_few_values_is_read_value_by_value(entries, monkeypatch, order):
    for n in range(12):
        entries.labour(("ben", "Ann", "Cy")[n % 3], 1, kind=LabourKind.values[n % 4])
    monkeypatch.setattr(paging, "MANY", 1)
    rows = list_labour(entries.build).order_by(order, f"{order[: order.find('-') + 1]}pk")
    whole = list(rows)
    assert len({row.kind for row in whole}) == 4
    assert paging._group_of(rows) == order.lstrip("-")
    for first in range(12):
        assert paging.rows_between(rows, first, first + 5, 12) == whole[first : first + 5]
