"""How an exported workbook looks, prints, guards what is typed, and says what it cannot follow."""

import io
import re
import shutil
import subprocess
import tempfile
from datetime import date, datetime, time
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from materials.exchange.live import facts as live_facts
from materials.exchange.reader import read_workbook
from materials.exchange.schema import CHARGES, LABOUR, PURCHASES, SHEETS, TITLES
from materials.exchange.writer import write_workbook
from materials.management.commands import demo
from materials.models import Build, PurchaseLine

from .recalculate import LibreOffice, by_libreoffice, figures, read_cells
from .small import DAY, bring_in, check, put, small_sheets
from .test_live_workbook import differences, expected, export

pytestmark = pytest.mark.django_db


def book_of(build: Build) -> Workbook:
    return load_workbook(io.BytesIO(export(build)))


def worked_out(workbook: Workbook) -> dict:
    """The cost sheet of a workbook after changes."""
    stream = io.BytesIO()
    workbook.save(stream)
    return figures(by_libreoffice(stream.getvalue()))


def test_the_sheets_stand_in_order_and_the_first_explains_the_others():
    book = book_of(bring_in(small_sheets()))
    names = book.sheetnames
    assert names[:2] == ["About", "Cost sheet"]
    assert names[2 : 2 + len(TITLES)] == list(TITLES)
    assert names[2 + len(TITLES)] == "History"
    assert all(name.startswith("Workings ") for name in names[3 + len(TITLES) :])
    text = " ".join(str(row[1].value) for row in book["About"] if row[1].value)
    assert "is not known and is left out" in text
    assert "change only the first number" in text


def test_every_sheet_of_the_schema_is_fit_to_read_and_to_print():
    book = book_of(bring_in(small_sheets()))
    for sheet in SHEETS:
        page = book[sheet.title]
        assert page.freeze_panes == "A2"
        assert page.print_title_rows == "$1:$1"
        assert page.page_setup.orientation in ("landscape", "portrait")
        # One page wide (the format's default) and as many long as it takes.
        assert page.page_setup.fitToWidth in (None, 1)
        assert page.page_setup.fitToHeight == 0
        assert page.sheet_properties.pageSetUpPr.fitToPage
        assert page.oddHeader.left.text == "Creek cabin"
        assert page.oddHeader.right.text == "&A"
        assert page.oddFooter.left.text == str(DAY)
        assert page.oddFooter.right.text == "Page &P of &N"
        assert all(cell.font.bold for cell in page[1])


def test_what_is_printed_is_what_holds_something():
    """Print areas on all that is seen; workings, empty sheets and empty columns stay off paper."""
    sheets = small_sheets()
    del sheets["Prices"]
    book = book_of(bring_in(sheets))
    for page in book:
        is_empty = page.title not in ("About", "Build") and page.max_row == 1
        is_hidden = page.title.startswith("Workings ") or is_empty
        assert page.sheet_state == ("hidden" if is_hidden else "visible"), page.title
        assert bool(page.print_area) is not is_hidden, page.title
    assert book["Prices"].sheet_state == "hidden"
    assert book["Cost sheet"].print_area.endswith(f"$H${book['Cost sheet'].max_row}")
    purchases = book["Purchases"]
    assert purchases.print_area == "'Purchases'!$A$1:$P$6"
    assert purchases["P1"].value == "Landed cost"
    headings = [cell.value for cell in purchases[1]]
    folded = {
        heading
        for column in purchases.column_dimensions.values()
        if column.hidden
        for heading in headings[column.min - 1 : column.max]
    }
    assert "Sold by" in folded
    assert not folded & {"Purchase", "Component", "Quantity", "Landed cost", "Note"}


def test_each_line_has_its_landed_cost_and_an_unknown_one_stays_empty():
    sheets = small_sheets()
    put(sheets, "Purchases", 4, "Unit price", None)
    build = bring_in(sheets)
    data = export(build)
    headings, *rows = read_cells(data, "Purchases")["Purchases"]
    at = headings.index("Landed cost")
    lines = PurchaseLine.objects.filter(purchase__build=build).order_by("purchase_id", "position")
    wanted = ["" if line.price_amount is None else float(line.landed_amount) for line in lines]
    assert [row[at] for row in rows] == wanted
    assert "" in wanted
    assert differences(build, read_cells(data, "Cost sheet")["Cost sheet"]) == []


def test_a_long_text_makes_its_row_high_enough():
    build = bring_in(small_sheets())
    build.suppliers.filter(name="River yard").update(note="Ring twice. " * 20)
    page = book_of(build)["Suppliers"]
    row = next(row for row in page.iter_rows() if row[0].value == "River yard")
    assert page.row_dimensions[row[0].row].height >= 15 * 240 / 40


@pytest.mark.office
def test_the_demo_goes_on_few_pages():
    """39 before there were print areas, eleven of them workings and two without a row."""
    demo.load()
    assert len(printed(export(Build.objects.order_by("pk")[0]))) <= 22


def printed(data: bytes) -> list[bytes]:
    """The pages of a workbook as LibreOffice puts it on paper."""
    soffice = shutil.which("soffice")
    assert soffice, "LibreOffice is missing: python -m tests installs it"
    with tempfile.TemporaryDirectory(prefix="printed-") as name:
        folder = Path(name)
        (folder / "book.xlsx").write_bytes(data)
        command = [soffice, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
                   "--convert-to", "pdf", "--outdir", name, str(folder / "book.xlsx")]  # fmt: skip
        subprocess.run(command, check=True, capture_output=True, timeout=300)
        return re.findall(rb"/Type\s*/Page\b(?!s)", (folder / "book.pdf").read_bytes())


def test_an_ampersand_in_the_name_is_no_code_of_the_header():
    build = bring_in(small_sheets())
    build.name = "Barn & Byre"
    assert "Barn && Byre" in book_of(build)["Labour"].oddHeader.left.text


def test_numbers_have_formats_and_columns_their_width():
    book = book_of(bring_in(small_sheets()))
    page = book["Purchases"]
    cells = dict(zip([cell.value for cell in page[1]], page[2], strict=True))
    assert cells["Date"].number_format == "yyyy-mm-dd"
    assert cells["Lot price"].number_format == '"$"#,##0.00'
    assert cells["Landed cost"].number_format == '"$"#,##0.00'
    assert book["Prices"]["B2"].number_format == '"$"#,##0.00####'
    assert cells["Quantity"].number_format == "@"
    assert book["Labour"]["E2"].number_format == "#,##0.00"
    assert book["Cost sheet"].column_dimensions["A"].width > 40
    sheets = small_sheets()
    put(sheets, "Build", 0, "Currency", "JPY")
    put(sheets, "Build", 0, "Name", "Yen")
    assert book_of(bring_in(sheets))["Purchases"]["F2"].number_format == '#,##0" JPY"'


def test_coded_columns_offer_their_words_and_numbers_their_bounds():
    book = book_of(bring_in(small_sheets()))
    for sheet in SHEETS:
        rules = {}
        for rule in book[sheet.title].data_validations.dataValidation:
            (area,) = rule.sqref.ranges
            rules[area.min_col] = rule
            assert area.min_row == 2
            assert area.max_row > 100
        for index, column in enumerate(sheet.columns, 1):
            if column.choices:
                assert rules[index].type == "list"
                assert rules[index].formula1 == '"' + ",".join(column.choices) + '"'
    rules = {}
    for rule in book[PURCHASES.title].data_validations.dataValidation:
        (area,) = rule.sqref.ranges
        rules[area.min_col] = rule
    usable = 1 + [column.key for column in PURCHASES.columns].index("usable_percent")
    assert (rules[usable].formula1, rules[usable].formula2) == ("0", "100")
    assert rules[2].type == "date"


@pytest.mark.parametrize("text", ["<r>x</r>", "<r><t>=1</t></r>", "a & b < c", " a "])
def test_text_is_never_markup(text):
    build = bring_in(small_sheets())
    build.suppliers.filter(name="River yard").update(note=text)
    book = book_of(build)
    headings, *rows = book["Suppliers"].iter_rows(values_only=True)
    assert text in [row[headings.index("Note")] for row in rows]


@pytest.mark.office
def test_a_long_name_with_formula_signs_makes_no_formula():
    sheets = small_sheets()
    name = '+"1"&<b>, =SUM(A1) * ? ~' + "x" * 60
    for rows in sheets.values():
        for row in rows:
            row[:] = [name if cell == "Plank" else cell for cell in row]
    build = bring_in(sheets)
    assert differences(build, by_libreoffice(export(build))) == []


def test_the_import_leaves_the_other_sheets_aside_without_a_word():
    data = export(bring_in(small_sheets()))
    assert "Cost sheet" in read_workbook(data).others
    checked = check(data, name="Again")
    assert checked.plan is not None
    assert not any("Workings" in note or "Cost sheet" in note for note in checked.notes)


def test_a_cost_sheet_and_a_sheet_of_ones_own_stay_out_of_each_others_way():
    sheets = small_sheets()
    sheets["Shopping"] = [["Nails"]]
    assert "The sheet Shopping is not read." in check(sheets, name="x").notes


# --- what a change does


@pytest.mark.office
def test_a_number_typed_over_in_the_workings_is_followed():
    book = book_of(bring_in(small_sheets()))
    before = worked_out(book)
    assert book["Workings lines"]["D1"].value == "Quantity in the base unit"
    book["Workings lines"]["D4"] = 4
    after = worked_out(book)
    assert after["components"]["Paint"][3] == before["components"]["Paint"][3] - 1


@pytest.mark.office
@pytest.mark.slow
def test_new_prices_count_up_to_the_day_at_the_top():
    build = bring_in(small_sheets())
    book = book_of(build)
    book["Cost sheet"]["B3"] = datetime.combine(date(2026, 4, 1), time())
    stream = io.BytesIO()
    write_workbook(build, stream, date(2026, 4, 1))
    then = expected(build)
    assert worked_out(book)["Retail equivalent"] != then["Retail equivalent"]
    plank = figures(by_libreoffice(stream.getvalue()))["components"]["Plank"]
    assert worked_out(book)["components"]["Plank"] == plank


UNFOLLOWED = {
    "another unit": ("Purchases", "I4", "5 qt"),
    "a fraction": ("Purchases", "I4", "1/2 gal"),
    "a comma": ("Purchases", "I4", "0,5 gal"),
    "a bare number": ("Purchases", "I4", 5),
    "a negative exponent": ("Purchases", "I4", "1e3 gal"),
    "another component": ("Purchases", "H4", "Batten"),
    "another unit of the component": ("Components", "C4", "qt"),
    "other contents": ("Components", "F4", "1 gal = 300 sq ft"),
    "a price per something else": ("Purchases", "N4", "qt"),
    "a word for an amount": ("Labour", "F3", "forty"),
    "a price in words": ("Purchases", "M4", "cheap"),
}


ROWS: dict[str, list] = {
    "Purchases": ["P9", DAY, None, None, None, None, None, "Paint", "1 gal", "retail"],
    "Left over": [DAY, "Paint", "1 gal", "scrapped"],
    "Charges": ["P1", "other", 5],
}


@pytest.mark.slow
@pytest.mark.office
def test_what_cannot_be_followed_is_never_passed_over(tmp_path):
    """Either the line at the top says no, or the program would say the same of the change."""
    build = bring_in(small_sheets())
    office, wanted = LibreOffice(tmp_path), {}

    def add(what: str, book: Workbook, result: str) -> None:
        stream = io.BytesIO()
        book.save(stream)
        key = what.replace(" ", "-")
        office.add(key, stream.getvalue())
        wanted[key] = result

    for what, (sheet, cell, value) in UNFOLLOWED.items():
        book = book_of(build)
        assert book[sheet][cell].value != value
        book[sheet][cell] = value
        add(what, book, "no: a text was changed that no formula can follow")
    for sheet, row in ROWS.items():
        book = book_of(build)
        book[sheet].append(row)
        add(f"a row more on {sheet}", book, "no: rows were added or taken away")
    book = book_of(build)
    book["Purchases"].delete_rows(6)
    add("a row less", book, "no: ")
    for sheet, cells in (("Elements", ("A2:C2", "A3:C3")), ("Build", ("A6:B6", "A7:B7"))):
        book = book_of(build)
        rows = [[cell.value for cell in book[sheet][area][0]] for area in cells]
        for area, values in zip(cells, reversed(rows), strict=True):
            for cell, value in zip(book[sheet][area][0], values, strict=True):
                cell.value = value
        add(f"sorted {sheet}", book, "no: ")
    book = book_of(build)
    book["Components"]["B2"] = "Z99"
    add("another element", book, "no: a component names an element that is not listed")
    shown = {what: figures(rows) for what, rows in office.cost_sheets().items()}
    label = "All changes in this workbook are followed here"
    wrong = {what: shown[what][label] for what in wanted if wanted[what] not in shown[what][label]}
    assert not wrong
    for what in UNFOLLOWED:
        figure = shown[what.replace(" ", "-")]
        assert "not followed" in (figure["Material cost"], figure["Spent"], figure["Remaining"]), (
            what
        )


@pytest.mark.office
def test_hours_that_are_added_are_followed():
    build = bring_in(small_sheets())
    book = book_of(build)
    book[LABOUR.title].append([date(2026, 8, 1), "Jo", None, "sourcing", 2, 55.25])
    stream = io.BytesIO()
    book.save(stream)
    changed = bring_in(stream.getvalue(), name="Changed")
    assert differences(changed, by_libreoffice(stream.getvalue())) == []


@pytest.mark.office
def test_too_many_lines_are_said_and_the_rest_still_reckons(monkeypatch):
    monkeypatch.setattr("materials.exchange.writer.MOST_LINES", 3)
    build = bring_in(small_sheets())
    book = book_of(build)
    assert "Workings lines" not in book.sheetnames
    assert CHARGES.title in book.sheetnames
    assert f"{live_facts.MOST_LINES:,} purchase lines" in str(book["About"]["B11"].value)
    book["Build"]["B9"] = 12
    stream = io.BytesIO()
    book.save(stream)
    shown = by_libreoffice(stream.getvalue())
    changed = bring_in(stream.getvalue(), name="Changed")
    (result,) = differences(changed, shown)
    assert "shows all but those of purchase lines" in result


@pytest.mark.office
def test_a_distance_that_costs_nothing_costs_nothing():
    sheets = small_sheets()
    put(sheets, "Build", 0, "Distance rate", 0)
    build = bring_in(sheets)
    assert differences(build, by_libreoffice(export(build))) == []


@pytest.mark.office
@pytest.mark.slow
def test_many_dated_rates_and_areas_make_no_formula_too_deep_or_too_long():
    sheets = small_sheets()
    for day in range(1, 29):
        for month in (4, 5, 6):
            sheets["Build"].append([f"Distance rate from 2026-{month:02}-{day:02}", day / 100])
    for number in range(120):
        sheets["Build"].append([f"{'Room' * 10} {number} area", "12 sq m"])
    put(sheets, "Purchases", 5, "Date", "2026-05-07")
    sheets["Charges"].append(["P3", "haulage", None, None, None, "10 mi", None])
    build = bring_in(sheets)
    book = book_of(build)
    for page in book:
        for row in page.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert len(cell.value) < 8000
                    assert depth(cell.value) < 20
    assert differences(build, by_libreoffice(export(build))) == []


def depth(formula: str) -> int:
    """How deep its brackets go, outside of texts."""
    deepest = at = 0
    for part in formula.split('"')[::2]:
        for sign in part:
            at += (sign == "(") - (sign == ")")
            deepest = max(deepest, at)
    return deepest
