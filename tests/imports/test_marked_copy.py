"""The owner's own workbook given back, with what became of each row."""

import csv
import io
import shutil
import subprocess
from datetime import date

import pytest
from django.urls import reverse
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.table import Table

from materials.exchange.outside_tables import isolated
from materials.exchange.outside_tables.became import has_copy, marked_copy
from materials.exchange.outside_tables.sheets import make_copy
from materials.models import Purchase
from materials.queries.imports import get_job

from .marked_sheets import HEAD, marked_xlsx, struck_row
from .steps import answer, as_text, choose, run, upload

DAY = date(2026, 5, 2)
ROWS = [
    ["Barn, what we bought", None, None, None, None, None],
    HEAD,
    [DAY, "Hill farm", "Roof sheet", 10, 35, "=1+1"],
    ["soon", "Hill farm", "Gutter", 20, "dear", None],
    [DAY, "Corner Lumber", "Beam", 3, 90, None],
    [DAY, "Corner Lumber", "Lime", 2, "=6*4", None],
    [None, None, "Total", None, 161.5, None],
]
TOLD = {"source": "salvage"}


def imported(entries):
    """Three rows: one in, one to fix, one struck out; a total below."""
    data = marked_xlsx(
        ROWS,
        struck=struck_row(5),
        formats={"D": '0" pieces"'},
        comments={"A4": "Ida: which day?"},
    )
    job = choose(entries, upload(entries, data, "Our barn.xlsx"), kind="purchases", heading_row=2)
    run(entries, answer(entries, job, {"Notes": ""}, **TOLD))
    return get_job(entries.build, job.pk)


def became(data: bytes) -> dict[int, str]:
    """The added column by row."""
    page = load_workbook(io.BytesIO(data)).active
    column = next(cell.column for cell in page[2] if cell.value == "What became of it")
    return {
        row: page.cell(row, column).value
        for row in range(1, page.max_row + 1)
        if page.cell(row, column).value
    }


def test_each_row_says_what_became_of_it(entries, build):
    job = imported(entries)
    number = build.purchases.get().number
    assert became(marked_copy(job)) == {
        2: "What became of it",
        3: f"Purchase {number}: Roof sheet",
        4: "Date: “soon” is not understood as a day: enter it like 2026-04-03. Price of the whole"
        " line: “dear” is not understood as a price. Enter the number alone, ? if not "
        "known, or free. Put remarks into the note.",
        5: "Left out. Struck out in the sheet.",
        6: "Price of the whole line: The cell holds a formula whose result was not saved: open the"
        " file in a spreadsheet program, let it calculate and save it, or type the value.",
        7: "Left out. It looks like a total.",
    }


def test_cells_to_fix_are_coloured_and_say_why(entries):
    page = load_workbook(io.BytesIO(marked_copy(imported(entries)))).active
    assert page["A4"].fill.fgColor.rgb == "00FFE3A3"
    # The comment that stood there stays.
    assert page["A4"].comment.text.startswith("Ida: which day?\n\n“soon” is not understood")
    assert "not understood as a price" in page["E4"].comment.text
    assert page["E3"].fill.patternType is None
    assert page["E3"].comment is None


def test_all_else_stays_as_it_was(entries):
    before = marked_xlsx(ROWS, struck=struck_row(5), formats={"D": '0" pieces"'}, hidden=(7,))
    job = choose(entries, upload(entries, before, "b.xlsx"), kind="purchases", heading_row=2)
    job = answer(entries, job, {"Notes": ""}, **TOLD)
    page, old = (load_workbook(io.BytesIO(data)).active for data in (marked_copy(job), before))
    for row in old.iter_rows():
        for cell in row:
            kept = page[cell.coordinate]
            assert (kept.value, kept.number_format) == (cell.value, cell.number_format)
            assert kept.font.strike == cell.font.strike
    assert page["E6"].value == "=6*4"
    assert page.row_dimensions[7].hidden


def test_what_is_there_already_and_what_was_deleted_since(entries, build):
    job = imported(entries)
    again = choose(entries, upload(entries, job.file.read(), "b.xlsx"), heading_row=2)
    again = answer(entries, again, {"Notes": ""}, **TOLD)
    number = build.purchases.get().number
    assert became(marked_copy(again))[3] == f"In the ledger already: purchase {number}."
    Purchase.objects.all().delete()
    assert became(marked_copy(job))[3] == "Imported, and deleted since."


@pytest.mark.parametrize("text", ["=2+5", "@SUM(1)", "+1", "-1", "\t=1", "'=1"])
def test_nothing_that_is_added_becomes_a_formula(text):
    data = marked_xlsx([["Item"], ["Lime"]])
    told = {"sheet": "Barn", "heading_row": 1, "words": [(2, text)], "faults": [(2, 1, text)]}
    page = load_workbook(io.BytesIO(make_copy(data, **told))).active
    assert (page["B2"].value, page["B2"].data_type) == (f"'{text}", "s")


@pytest.mark.parametrize("heading_row", [0, 1])
def test_merged_areas_and_tables_are_left_alone(heading_row):
    book = Workbook()
    page = book.active
    for row in (["Item", "Qty"], ["Lime", 2], [None, 3]):
        page.append(row)
    page.merge_cells("A2:A3")
    page.merge_cells("D1:E1")
    page.add_table(Table(displayName="barn", ref="A1:B3"))
    stream = io.BytesIO()
    book.save(stream)
    faults = [(3, 1, "covered"), (3, 2, "this one")]
    told = {"sheet": "Sheet", "heading_row": heading_row, "words": [(3, "To fix")]}
    page = load_workbook(io.BytesIO(make_copy(stream.getvalue(), faults=faults, **told))).active
    assert page["F1"].value == ("What became of it" if heading_row else None)
    assert page["F3"].value == "To fix"
    assert page["B3"].comment.text == "this one"
    assert page.tables["barn"].ref == "A1:B3"


def test_only_who_uploaded_it_may_have_it(entries, build, clients):
    job = imported(entries)
    url = reverse("import_marked", args=[build.pk, job.pk])
    answer = clients["owner"].get(url)
    assert answer["Content-Disposition"] == 'attachment; filename="Our barn marked.xlsx"'
    assert b"".join(answer.streaming_content)[:2] == b"PK"
    for name in ("import_run", "import_rows"):
        page = reverse(name, args=[build.pk, job.pk])
        assert "Download marked copy" in clients["owner"].get(page).content.decode()
        assert "marked copy" not in clients["co_builder"].get(page).content.decode()
    refused = clients["co_builder"].get(url, follow=True).content.decode()
    assert "Only .xlsx workbooks come back marked, and only to whoever uploaded them." in refused
    assert clients["stranger"].get(url).status_code == 404


def test_a_table_of_text_has_no_copy(entries, build, clients):
    data = as_text([HEAD, ["2026-05-02", "Hill farm", "Lime", "2 bags", "24", ""]])
    job = answer(entries, choose(entries, upload(entries, data)), **TOLD)
    assert not has_copy(job, entries.actor)
    page = clients["owner"].get(reverse("import_rows", args=[build.pk, job.pk]))
    assert "marked copy" not in page.content.decode()


def test_a_copy_that_cannot_be_made_is_a_sentence(entries, build, clients, monkeypatch):
    job = imported(entries)
    monkeypatch.setattr(isolated, "_START", "import sys; sys.exit(3)")
    url = reverse("import_marked", args=[build.pk, job.pk])
    answer = clients["owner"].get(url, follow=True)
    assert "This workbook could not be copied" in answer.content.decode()
    monkeypatch.undo()
    job.file.storage.delete(job.file.name)
    answer = clients["owner"].get(url, follow=True)
    assert "The uploaded file is gone" in answer.content.decode()


@pytest.mark.office
def test_a_spreadsheet_program_opens_the_copy(entries, build, tmp_path):
    """Read by LibreOffice: formulas calculated, the rest as in the file, one column more."""
    soffice = shutil.which("soffice")
    assert soffice, "LibreOffice is missing: python -m tests installs it"
    job = imported(entries)
    (tmp_path / "copy.xlsx").write_bytes(marked_copy(job))
    profile = (tmp_path / "profile").as_uri()
    command = [soffice, f"-env:UserInstallation={profile}", "--headless", "--convert-to",
               "csv:Text - txt - csv (StarCalc):44,34,76,1", "--outdir", str(tmp_path),
               str(tmp_path / "copy.xlsx")]  # fmt: skip
    subprocess.run(command, check=True, timeout=300, stdout=subprocess.DEVNULL)
    with (tmp_path / "copy.csv").open(encoding="utf-8", newline="") as stream:
        found = list(csv.reader(stream))
    assert [row[2] for row in found] == [str(row[2] or "") for row in ROWS]
    assert [row[3] for row in found[2:4]] == ["10 pieces", "20 pieces"]
    assert found[5][4] == "24"
    number = build.purchases.get().number
    assert [row[-1] for row in found[1:3]] == [
        "What became of it",
        f"Purchase {number}: Roof sheet",
    ]
    assert found[4][-1] == "Left out. Struck out in the sheet."
