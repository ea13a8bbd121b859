"""A total that stands in the table agrees with what is read, or the page of rows says so."""

import pytest

from materials.exchange.outside_tables.own_total import total_notes
from materials.queries.imports import get_job

from .marked_sheets import marked_xlsx, struck_row
from .steps import answer, as_text, check, choose, upload

DAY = "2026-05-02"
HEAD = ["Date", "Item", "Qty", "Cost"]


def noted(entries, rows, heading=HEAD, **options):
    job = check(entries, as_text([heading, *rows]), source="salvage", **options)
    return total_notes(get_job(entries.build, job.pk))


def row(cost, item="Lime", quantity="2 bags"):
    return [DAY, item, quantity, cost]


@pytest.mark.parametrize(
    "rows",
    [
        [row("10"), row("20.50"), ["", "Total", "", "30.50"]],
        [row("10"), ["", "May", "", "10"], row("20"), ["", "June", "", "20"],
         ["", "Grand total", "", "30"]],
        # Sums that go on from one month to the next.
        [row("10"), ["", "Total", "", "10"], row("20"), ["", "Total", "", "30"]],
        [row("10"), ["", "Total", "", ""]],
        [row("10"), row("20")],
        # What cannot be added up is not compared.
        [row("?"), ["", "Total", "", "30"]],
        [row("5 each"), ["", "Total", "", "30"]],
        [row("free"), row("30"), ["", "Total", "", "30"]],
    ],
)  # fmt: skip
def test_totals_that_agree_are_not_mentioned(rows, entries):
    assert noted(entries, rows) == []


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([row("10"), row("20"), ["", "Total", "", "20"]],
         "The total in row 4 is 20, but the rows read above it come to 30"),
        ([row("10"), ["", "Total", "", "12"], row("20"), ["", "Total", "", "20"]],
         "The total in row 3 is 12, but the rows read above it come to 10"),
    ],
)  # fmt: skip
def test_a_total_that_does_not_agree_is_said(rows, said, entries, build):
    (note,) = noted(entries, rows)
    assert note.startswith(said)


def test_a_row_left_out_shows_in_the_total(entries):
    rows = [HEAD, *(row(cost) for cost in (10, 20)), [None, "Total", None, 30]]
    data = marked_xlsx(rows, struck=struck_row(3, 4))
    job = choose(entries, upload(entries, data, "b.xlsx"))
    job = answer(entries, job, source="salvage")
    (note,) = total_notes(job)
    assert "is 30, but the rows read above it come to 10" in note
    assert total_notes(answer(entries, job, struck=True)) == []
