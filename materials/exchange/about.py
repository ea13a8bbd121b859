"""The first sheet of a workbook, which explains the others in a few lines."""

from ..models import Build
from .live.facts import MOST_LINES
from .pages import Page

LINES: tuple[tuple[str, str], ...] = (
    ("What this is", (
        "The whole build as it was on the day below. Importing the workbook gives an equal "
        "build. The import skips this sheet, “Cost sheet”, “History” and the sheets "
        "“Workings …”."
    )),
    ("Trying something out", "Change a number on one of the sheets Build to Labour and look at"
     " “Cost sheet”: the totals move as they would in the ledger. That holds for prices, "
     "lot prices, charges, percentages, distances, weights, states, fates, hours, "
     "budgets and areas. New prices count up to the day at the top of “Cost sheet”. You "
     "can change that day too."),
    ("Quantities", (
        "Of a quantity like “40 pieces”, “16 @ 2x8x12” or “7 ft 6 in” change only the first "
        "number. Or type over the quantity in the base unit on the sheet “Workings lines”."
    )),
    ("What is not followed", (
        "Formulas do not follow another unit or size in a quantity. The same holds for "
        "another component, “Price per”, “Unit” or “Contents”. Nor do they follow a fraction "
        "or a comma typed into a quantity. Rows you add, delete or sort are not followed "
        "either, except rows added at the end of Labour. The figures then say “not "
        "followed”, or the line at the top of “Cost sheet” says no. Import the workbook to "
        "see the result."
    )),
    ("Not known", (
        "An empty price is not known and is left out. 0 is free. “Not known” means that "
        "a figure needs more data."
    )),
    ("Workings", (
        "The sheets “Workings …” hold one step in each column. Their cells are formulas. You "
        "type nothing there. They are hidden, like sheets without rows: right-click the tab of "
        "a sheet to show one. Columns without entries are folded: open them with the plus "
        "above. What is hidden or folded is not printed. Neither are the columns of Purchases "
        "after the landed cost."
    )),
    ("Rounding", (
        "Prices, lot shares and charges are rounded to the smallest unit of the currency "
        "when they arise. Shares sum to the whole. Each figure is rounded on its own."
    )),
)  # fmt: skip


MANY_LINES = (
    "Many purchase lines",
    f"There are more than {MOST_LINES:,} purchase lines, too many to follow in a "
    "spreadsheet. Changes on the sheets Purchases and Charges do not move the figures "
    "here. Everything else does. Import the workbook to see what such a change does.",
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
    lines = LINES if follows_lines else (*LINES, MANY_LINES)
    for row, (label, text) in enumerate(lines, 4):
        # About 95 signs fit a line of the column.
        sheet.set_row(row - 1, 16 * (1 + len(text) // 95))
        page.text(row, 0, label, strong)
        page.text(row, 1, text, plain)
    sheet.print_area(0, 0, 2 + len(lines), 1)
