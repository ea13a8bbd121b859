"""The history goes with the workbook to be read, and an import leaves it aside."""

import io
from decimal import Decimal

import openpyxl

from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.exchange.writer import write_workbook
from materials.models import Change


def rows_of(build) -> list[tuple]:
    stream = io.BytesIO()
    write_workbook(build, stream)
    book = openpyxl.load_workbook(stream)
    return list(book["History"].iter_rows(values_only=True))


def test_every_change_newest_first_from_what_to_what(entries, build):
    board = entries.component("Board", waste_percent=Decimal(5))
    entries.change(board, waste_percent=Decimal("7.5"))
    heading, newest, first, *_ = rows_of(build)
    assert heading == ("When", "Who", "What", "Of", "Record", "From what to what")
    assert newest[1:5] == ("owner", "changed", "component", "Board")
    assert newest[5] == "Waste allowance, %: 5 → 7.5"
    assert first[2] == "added"
    assert len(rows_of(build)) == 1 + Change.objects.filter(build=build).count()


def test_text_that_begins_like_a_formula_stays_text(entries, build):
    entries.supplier("=1+1")
    found = next(row for row in rows_of(build) if row[3] == "supplier")
    assert found[4] == "=1+1"


def test_an_import_leaves_it_aside(entries, records, build):
    stream = io.BytesIO()
    write_workbook(build, stream)
    checked = check_book(read_workbook(stream.getvalue()), name="Again")
    assert not checked.faults
    assert not any("History" in note for note in checked.notes)


def test_its_queries_do_not_grow_with_the_changes(entries, build, django_assert_max_num_queries):
    for n in range(40):
        entries.change(entries.component(f"Board {n}"), note=f"{n}")
    with django_assert_max_num_queries(45):
        rows_of(build)
