"""A small build that uses every sheet, and ways to change and save it."""

import copy
import io
import zipfile
from datetime import date
from typing import Any

from openpyxl import Workbook

from materials.exchange.importer import Checked, check_book
from materials.exchange.reader import read_workbook
from materials.models import Build
from materials.services.imports import import_plan

NAME = "Creek cabin"
DAY = date(2026, 9, 1)

Sheets = dict[str, list[list[Any]]]

_SHEETS: Sheets = {
    "Build": [
        ["Name", NAME],
        ["Currency", "USD"],
        ["Floor area", "240 sq ft"],
        ["Envelope area", "700 sq ft"],
        ["Porch area", "60 sq ft"],
        ["Budget", 4000],
        ["Contingency %", 10],
        ["Retail tax %", 7.5],
        ["Own labour rate", 18],
        ["Own hours count", "yes"],
        ["Distance rate", 0.6],
        ["Distance rate from 2026-03-01", 0.7],
    ],
    "Elements": [
        ["Code", "Name", "Budget"],
        ["B2010", "Exterior walls", 900.5],
        ["X1", "Sauna stove", None],
    ],
    "Suppliers": [
        ["Supplier", "Place", "Contact", "Note", "No longer there"],
        ["River yard", "Mill Lane 4", "555 0101", "closed on Mondays", None],
        ["Estate sale, Elm Street", None, None, "one weekend only", "yes"],
    ],
    "Components": [
        ["Component", "Element", "Unit", "Required", "Waste %", "Contents", "New price",
         "New price per", "Priced on", "Priced at", "New quantity per one", "Would buy new",
         "Life years", "Note", "For cautions"],
        ["Plank", "B2010", "ft", "300 ft", 10, "1 piece = 12 ft; 1 ft = 1.5 lb", 1.25, "ft",
         "2026-05-01", "Lumber yard", 1.2, "yes", 40, "cedar", "sawn lumber, painted"],
        ["Batten", "b2010", "ft", None, None, "1 ft = 0.5 lb", None, None, None, None, None,
         None, None, None],
        ["Stove", "Sauna stove", "piece", "1 piece", None, None, 600, None, "2026-02-01", None,
         None, "no", None, None],
        ["Paint", None, "gal", "900 sq ft", None, "1 gal = 350 sq ft", 30, "gal", "2026-02-01",
         "Paint shop", None, None, 8, None],
    ],
    "Prices": [
        ["Component", "New price", "New price per", "Priced on", "Priced at"],
        ["Plank", 1.1, "ft", "2026-01-15", "Lumber yard"],
        ["Plank", 13.5, "piece", "2026-03-15", None],
    ],
    "Purchases": [
        ["Purchase", "Date", "Supplier", "State", "Paid by", "Lot price", "Lot split", "Component",
         "Quantity", "Source", "Obtained by", "Usable %", "Unit price", "Price per", "Line price",
         "Lot weight", "Note", "Purchase note"],
        ["P1", date(2026, 2, 3), "River yard", "received", "Ida", 210.99, "weight", "Plank",
         "20 pieces", "salvage", "dismantled", 90, None, None, None, 300, "nails in", "by barge"],
        ["P1", None, None, None, None, None, None, "Batten", "80 ft", "salvage", None, None, None,
         None, None, 40, None, None],
        ["P2", "2026-03-09", None, None, "Max", None, None, "Paint", "5 gal", "seconds",
         "mis-tint", None, 11.3335, None, None, None, None, None],
        ["P3", "2026-03-20", "Old school", "received", None, None, None, "Stove", "1 piece",
         "salvage", "given", None, None, None, 0, None, None, None],
        ["P4", "2026-04-02", "Lumber yard", "ordered", "Ida", None, None, "Plank", "8 @ 12 ft",
         "retail", "new", None, 14, "piece", None, None, None, None],
    ],
    "Charges": [
        ["Purchase", "Kind", "Amount", "Percent", "On", "Distance", "Spread by"],
        ["P1", "haulage", None, None, None, "35 mi", "weight"],
        ["P1", "sales tax", None, 7.5, "price and charges", None, None],
        ["P2", "discount", 5, None, None, None, "equal"],
        ["P3", "buyer's premium", 12.5, None, None, None, None],
    ],
    "Conversions": [
        ["Conversion", "Date", "From", "Quantity used", "To", "Quantity made", "Extra cost",
         "Hours", "Note"],
        ["K1", "2026-05-02", "Plank", "40 ft", "Batten", "90 ft", 6.5, 2.25, "ripped"],
    ],
    "Left over": [
        ["Date", "Component", "Quantity", "Fate", "Proceeds", "Note"],
        ["2026-06-01", "Plank", "1 piece", "sold", 9, "to a neighbour"],
        ["2026-06-01", "Batten", "12 ft", "on hand", None, None],
        ["2026-06-02", "Paint", "1/2 gal", "sold", None, None],
    ],
    "Tasks": [
        ["Task", "Element", "Planned hours", "Done %"],
        ["Walls", "B2010", 60, 50],
    ],
    "Labour": [
        ["Date", "Person", "Task", "Kind", "Hours", "Paid", "Note"],
        ["2026-05-03", "Ida", "Walls", "installing", 6.5, None, "first boards up"],
        ["2026-05-04", "Jo", "walls", "preparing", "1 h 20 min", 40, None],
        ["2026-05-05", "Max", "Errands", "sourcing", 2, None, None],
    ],
    "Shares": [
        ["Person", "Share"],
        ["Ida", 2],
        ["max", 1.5],
        ["Noor", 0.000001],
    ],
    "Handed over": [
        ["Date", "From", "To", "Amount", "Note"],
        ["2026-05-20", "Max", "Ida", 40.5, "cash"],
        ["2026-06-20", "Ida", "Olga", 3, None],
    ],
}  # fmt: skip


def small_sheets() -> Sheets:
    """A copy that a test may change."""
    return copy.deepcopy(_SHEETS)


def put(sheets: Sheets, sheet: str, row: int, column: str, value: Any) -> None:
    """Set a cell by its row number in the file and its heading (on Build: the name)."""
    rows = sheets[sheet]
    if sheet == "Build":
        found = [pair for pair in rows if pair[0] == column]
        if found:
            found[0][1] = value
        else:
            rows.append([column, value])
        return
    while len(rows) < row:
        rows.append([None] * len(rows[0]))
    rows[row - 1][rows[0].index(column)] = value


def add(sheets: Sheets, sheet: str, **columns: Any) -> int:
    """Add a row with the named columns (_ for a space); returns its number in the file."""
    headings = sheets[sheet][0]
    named = {key.replace("_pct", " %").replace("_", " "): value for key, value in columns.items()}
    assert set(named) <= set(headings), named
    sheets[sheet].append([named.get(heading) for heading in headings])
    return len(sheets[sheet])


def save(sheets: Sheets) -> bytes:
    """The sheets as an .xlsx."""
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for title, rows in sheets.items():
        page = workbook.create_sheet(title)
        for row in rows:
            page.append(row)
    return to_bytes(workbook)


def to_bytes(workbook: Workbook) -> bytes:
    """A workbook's file."""
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def check(sheets: Sheets | bytes, **options: Any) -> Checked:
    """Read and check."""
    data = sheets if isinstance(sheets, bytes) else save(sheets)
    return check_book(read_workbook(data), today=DAY, **options)


def bring_in(sheets: Sheets | bytes, **options: Any) -> Build:
    """Check and import; there must be no fault."""
    checked = check(sheets, **options)
    assert checked.plan is not None, [str(fault) for fault in checked.faults]
    return import_plan(actor=None, plan=checked.plan, build=options.get("build"))


def repack(data: bytes, **parts: bytes | str) -> bytes:
    """The archive with some parts replaced or added (names with __ for /)."""
    named = {name.replace("__", "/").replace("_xml", ".xml"): part for name, part in parts.items()}
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source:
        kept = {name: source.read(name) for name in source.namelist()}
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as target:
        for name, part in {**kept, **named}.items():
            target.writestr(name, part)
    return stream.getvalue()


def labour_sheet(body: str) -> bytes:
    """An .xlsx with one sheet Labour whose XML rows are given."""
    plain = save({"Labour": [["Date"]]})
    start = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    return repack(plain, xl__worksheets__sheet1_xml=f"{start}{body}</worksheet>")


def text_cell(reference: str, text: str) -> str:
    """An inline text cell."""
    return f'<c r="{reference}" t="inlineStr"><is><t>{text}</t></is></c>'
