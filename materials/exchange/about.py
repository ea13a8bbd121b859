"""The first sheet of a workbook, which explains the others in a few lines."""

from ..models import Build
from .live.facts import MOST_LINES
from .pages import Page

LINES: tuple[tuple[str, str], ...] = (
    ("What this is", "The whole build as it was on the day below. Reading the workbook in again"
     " gives an equal build; this sheet, “Cost sheet”, “History” and the sheets “Workings …” are"
     " left aside then."),
    ("Try something out", "Change a number on one of the sheets Build to Labour and look at"
     " “Cost sheet”: prices, lot prices, charges, percentages, distances, weights, states, fates,"
     " hours, budgets and areas move the totals as they would in the ledger. New prices count up"
     " to the day at the top of “Cost sheet”, which may be changed too."),
    ("Quantities", "Of a quantity like “40 pieces”, “16 @ 2x8x12” or “7 ft 6 in” change the first"
     " number and leave the rest as it stands, or type over the quantity in the base unit on the"
     " sheet “Workings lines”."),
    ("What is not followed", "Another unit or size in a quantity, another component in a row,"
     " another “Price per”, “Unit” or “Contents”, a fraction or a comma typed into a quantity,"
     " and rows that are added, taken away or sorted (rows added at the end of Labour are"
     " followed). The figures then say “not followed”, or the line at the top of “Cost sheet”"
     " says no: read the workbook in to see what it comes to."),
    ("Not known", "An empty price is not known and is left out, not counted as free; free is 0."
     " “Not known” in place of a figure means that it cannot be worked out."),
    ("Workings", "The sheets “Workings …” hold one step in each column. Their cells are formulas;"
     " nothing has to be typed there."),
    ("Rounding", "Prices, lot shares and charges are rounded to the smallest unit of the currency"
     " when they arise, and shares sum to the whole. Every figure shown is rounded by itself."),
)  # fmt: skip


MANY_LINES = (
    "Many purchase lines",
    f"There are more than {MOST_LINES:,} purchase lines, too many to follow in a spreadsheet:"
    " changes on the sheets Purchases and Charges do not move the figures here. Everything else"
    " does. Read the workbook in to see what such a change comes to.",
)


def write_about(page: Page, build: Build, follows_lines: bool) -> None:
    """Headings on the left, what they mean on the right."""
    book, sheet = page.book, page.sheet
    sheet.set_portrait()
    sheet.set_column(0, 0, 22)
    sheet.set_column(1, 1, 88)
    sheet.hide_gridlines(2)
    big = book.format(bold=True, font_size=16, num_format="@")
    strong = book.format(bold=True, valign="top", num_format="@")
    plain = book.format(text_wrap=True, valign="top", num_format="@")
    page.text(1, 0, build.name, big)
    page.text(2, 0, "Written on", strong)
    page.text(2, 1, book.written_on.isoformat(), plain)
    for row, (label, text) in enumerate(LINES if follows_lines else (*LINES, MANY_LINES), 4):
        # About 95 signs fit a line of the column.
        sheet.set_row(row - 1, 16 * (1 + len(text) // 95))
        page.text(row, 0, label, strong)
        page.text(row, 1, text, plain)
