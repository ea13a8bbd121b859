"""Pages of a workbook, written row by row: look, printing, and cells that stay what they are.

XlsxWriter in its constant-memory mode: twice as fast as openpyxl's write-only mode, at half
the memory, and it can put a formula and its present result into one cell, so that a preview
that does not calculate shows figures.

Text is always written as text: as an inline string (ISO/IEC 29500 cell type), and one that
begins like a formula also gets the quote prefix, so that it stays text when it is edited
(OWASP ASVS 5.0.0 requirement 1.2.10: = + - @ tab and NUL at the start of a cell).
"""

import re
import tempfile
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import IO, Any

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell_fast
from xlsxwriter.worksheet import CellNumberTuple, CellStringTuple, Worksheet

from ..models import Build
from ..templatetags.figures import currency_marks
from .columns import Column, Kind, Need, Sheet
from .live.refs import Formula, Grid

FORMULA_MARKS = "=+-@\t\r\n\0'"
ERROR_WORDS = frozenset(
    ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#SPILL!", "#CALC!")
)
# What XML 1.0 cannot hold; half a surrogate pair cannot be written at all.
ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
# Rows below the table that are ready for more entries (formats, lists to choose from).
SPARE_ROWS = 500
LETTER, A4 = 1, 9
# About so many signs go on a line of an upright page; wider sheets are printed across.
UPRIGHT_WIDTH = 95
LEAST_WIDTH = 8
LINE_HEIGHT, MOST_HEIGHT = 15, 409
# A column grows by so many signs before a text of it goes on a second line.
SLACK = 3
# No text of a cell is as long, and no figure as small.
MOST_SIGNS, NOTHING = 10**6, Decimal(-1)
EARLIEST = date(1900, 1, 1)
HEADING_COLOUR, WORKING_COLOUR, INPUT_COLOUR = "#E4E0D4", "#F1F1EC", "#FFF7DA"


def lines_of(text: str, width: int) -> int:
    """On how many lines a text goes in a column of so many signs; words stay whole."""
    return -(-len(text) // width)


def clean(text: str) -> str:
    """Text without what a workbook cannot hold."""
    # What can be printed holds none of it, and most texts can.
    return text if text.isprintable() else ILLEGAL.sub("", text)


class _Page(Worksheet):
    """A worksheet on which no text is taken for markup, and plain cells are written fast."""

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        # Nine of ten cells are a plain text or number. The library looks through their names and
        # numbers for what has to be escaped, by patterns: a fifth of the time of a workbook.
        kind = type(cell)
        if kind is CellStringTuple:
            text = self._escape_control_characters(cell.string)
            # As the library does, but for a text between <r> and </r>, which it would write as it
            # stands: ours is never markup.
            keeps = text != text.strip() or (text.startswith("<r>") and text.endswith("</r>"))
            text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
            space = ' xml:space="preserve"' if keeps else ""
            inside = f' t="inlineStr"><is><t{space}>{text}</t></is></c>'
        elif kind is CellNumberTuple:
            inside = f"><v>{cell.number:.16G}</v></c>"
        else:
            super()._write_cell(row, col, cell)
            return
        style = cell.format or (self.col_info[col].column_format if col in self.col_info else None)
        mark = f' s="{style._get_xf_index()}"' if style else ""
        place = xl_rowcol_to_cell_fast(row, col)
        self.fh.write(f'<c r="{place}"{mark}{inside}')  # type: ignore[attr-defined]

    def _escape_attributes(self, attribute: Any) -> Any:
        # Most are the number of a format or the name of a cell.
        if type(attribute) is int or (type(attribute) is str and attribute.isalnum()):
            return attribute
        return super()._escape_attributes(attribute)  # type: ignore[no-untyped-call]

    @staticmethod
    def _escape_control_characters(data: Any) -> Any:
        # Control characters are gone but for \r; "_x0041_" must not be read as an A.
        if isinstance(data, str) and "_x" not in data and "\r" not in data:
            return data
        return Worksheet._escape_control_characters(data)

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        # Looks for functions newer than the file format; ours uses none, and looking is slow.
        return formula[1:]


_MONEY = (Kind.AMOUNT, Kind.RATE)
_TEXTS = (Kind.TEXT, Kind.QUANTITY, Kind.CHOICE, Kind.YES_NO)


@dataclass(frozen=True)
class CellStyle:
    """How figures of a build are written."""

    places: int
    currency: str

    def number_format(self, kind: Kind) -> str:
        """The spreadsheet's number format for a kind of column."""
        cents = "." + "0" * self.places if self.places else ""
        if kind is Kind.AMOUNT:
            return self.money_format(cents)
        if kind is Kind.RATE:
            return self.money_format(f"{cents or '.'}{'#' * (6 - self.places)}")
        return {
            Kind.DATE: "yyyy-mm-dd",
            Kind.HOURS: "#,##0.00",
            Kind.NUMBER: "General",
            Kind.PERCENT: "General",
        }.get(kind, "@")

    def money_format(self, cents: str) -> str:
        """The number format of money with what stands behind its whole digits."""
        before, after = (f'"{mark}"' if mark else "" for mark in currency_marks(self.currency))
        return f"{before}#,##0{cents}{after}"

    def width(self, kind: Kind, most: Decimal) -> int:
        """How many signs the largest figure of a column takes."""
        marks = sum(map(len, currency_marks(self.currency))) if kind in _MONEY else 0
        places = self.places + (2 if kind is Kind.RATE else 0)
        return len(f"{most:,.{places}f}") + marks


class Book(AbstractContextManager["Book"]):
    """A workbook that goes to a binary stream when the block ends without an error."""

    def __init__(self, stream: IO[bytes], build: Build, style: CellStyle, written_on: date):
        self.build, self.style, self.written_on = build, style, written_on
        self._folder = tempfile.TemporaryDirectory(prefix="workbook-")
        self.workbook = xlsxwriter.Workbook(
            stream, {"constant_memory": True, "tmpdir": self._folder.name}
        )
        self.workbook.set_properties(
            {
                "title": clean(build.name),
                "created": datetime.combine(written_on, time()),
            }
        )
        self._formats: dict[tuple[Any, ...], Any] = {}

    def __exit__(self, error_type: Any, *_: Any) -> None:
        try:
            if error_type is None:
                self.workbook.close()
            else:
                for page in self.workbook.worksheets():
                    page._opt_close()
        finally:
            self._folder.cleanup()

    def format(self, **properties: Any) -> Any:
        """A cell format; the same one for the same properties."""
        key = tuple(sorted(properties.items()))
        if key not in self._formats:
            self._formats[key] = self.workbook.add_format(properties)
        return self._formats[key]

    def of_kind(self, kind: Kind, **more: Any) -> Any:
        """The format of a kind of column: texts keep off the figures to their left."""
        is_figure = kind not in (*_TEXTS, Kind.DATE)
        aside = {"align": "right"} if is_figure else {"align": "left", "indent": 1}
        shown = {"num_format": self.style.number_format(kind), "valign": "top"}
        return self.format(**{**shown, **aside, **more})

    def page(self, title: str, *, landscape: bool = True) -> "Page":
        """A new page, set up for printing."""
        sheet = self.workbook.add_worksheet(title, _Page)
        if landscape:
            sheet.set_landscape()
        sheet.set_paper(LETTER if self.style.currency in ("USD", "CAD") else A4)
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.5, right=0.5, top=0.8, bottom=0.7)
        name = clean(self.build.name).replace("&", "&&")[:120]
        sheet.set_header(f"&L{name}&R&A")
        sheet.set_footer(f"&L{self.written_on}&RPage &P of &N")
        return Page(self, sheet)


class Page:
    """One page. Rows count from 1, as the spreadsheet shows them, and are written in order."""

    def __init__(self, book: Book, sheet: Worksheet):
        self.book, self.sheet = book, sheet
        self._quoted = book.of_kind(Kind.TEXT, quote_prefix=True, text_wrap=True)
        self._letters: dict[str, int] = {}
        self._dated = book.of_kind(Kind.DATE)
        # The longest text and the largest figure of each column that holds any.
        self._longest: list[int] = []
        self._largest: list[Decimal] = []
        # How long a text of each column may be before it goes on more lines.
        self._limits: list[int] = []
        # How other sheets name this one; its own formulas need not.
        self.own = f"'{sheet.name}'!"

    def text(self, row: int, column: int, text: str, style: Any = None) -> None:
        """A text that can never turn into anything else; ``column`` counts from 0."""
        text = clean(text)
        if not text:
            return
        if text[0] in FORMULA_MARKS or text in ERROR_WORDS:
            style = style or self._quoted
        # Without asking whether the place is given as “A1”, as what is public does.
        self.sheet._write_string(row - 1, column, text, style)

    def put(self, row: int, column: int, value: Any, style: Any = None) -> None:
        """A value by its type; None leaves the cell blank."""
        if value is None:
            return
        if isinstance(value, Formula):
            formula = value.replace(self.own, "")
            self.sheet._write_formula(row - 1, column, formula, style, value.result)
        elif isinstance(value, str):
            self.text(row, column, value, style)
        elif isinstance(value, date):
            style = style or self._dated
            # A bare date does as well, though the library's types leave it out.
            self.sheet.write_datetime(row - 1, column, value, style)  # type: ignore[call-overload]
        else:
            self.sheet.write_number(row - 1, column, value, style)

    def start(
        self,
        headings: Sequence[tuple[str, Kind, int]],
        *,
        working: bool = False,
        printed: int | None = None,
    ) -> None:
        """Columns (heading, kind, width) with a heading row that stays in view and is repeated.

        Long texts of the first ``printed`` columns (None: all) go on more lines.
        """
        sheet, book = self.sheet, self.book
        printed = len(headings) if printed is None else printed
        self._longest, self._largest = [0] * len(headings), [NOTHING] * len(headings)
        for index, (_, kind, width) in enumerate(headings):
            wraps = not working and kind in _TEXTS and index < printed
            self._limits.append(width + SLACK if wraps else MOST_SIGNS)
            sheet.set_column(index, index, width, self._of_column(index, kind))
        sheet.freeze_panes(1, 1 if working else 0)
        sheet.repeat_rows(0)
        colour = WORKING_COLOUR if working else HEADING_COLOUR
        frame = {"bold": True, "text_wrap": True, "bottom": 1, "bg_color": colour}
        if working:
            sheet.set_tab_color("#9A9A90")
            # Nobody has to see how it is done, and what is hidden is not printed.
            sheet.hide()
        sheet.set_row(0, 62 if working else 32)
        for index, (heading, kind, _) in enumerate(headings):
            style = book.of_kind(kind, num_format="@", **frame)
            self.text(1, index, heading, style)

    def _of_column(self, index: int, kind: Kind) -> Any:
        return self.book.of_kind(
            kind, **({"text_wrap": True} if self._limits[index] < MOST_SIGNS else {})
        )

    def table(self, sheet: Sheet) -> None:
        """Begin a sheet of the schema."""
        headings = [(column.title, column.kind, column.width) for column in sheet.columns]
        self.start(headings, printed=sheet.printed)

    def row(self, row: int, values: Sequence[Any]) -> None:
        """One row, as high as its longest text needs: not every program sees to that."""
        longest, largest, limits, lines = self._longest, self._largest, self._limits, 1
        for index, value in enumerate(values):
            # Most cells of a long sheet hold a text or nothing.
            if type(value) is str:
                if value:
                    self.text(row, index, value)
                    length = len(value)
                    if length > longest[index]:
                        longest[index] = length
                    if length > limits[index]:
                        lines = max(lines, lines_of(value, limits[index] - SLACK))
            elif type(value) is Decimal:
                self.sheet._write_number(row - 1, index, value)  # type: ignore[arg-type]
                if abs(value) > largest[index]:
                    largest[index] = abs(value)
            elif value is not None:
                self.put(row, index, value)
                self._measure(index, value)
        self.height(row, lines)

    def _measure(self, index: int, value: Any) -> None:
        shown = value.result if type(value) is Formula else value
        if type(shown) is not Decimal:
            self._longest[index] = max(self._longest[index], LEAST_WIDTH)
        elif abs(shown) > self._largest[index]:
            self._largest[index] = abs(shown)

    def height(self, row: int, lines: int) -> None:
        """Make a row so many lines high, before the next one is begun."""
        if lines > 1:
            self.sheet.set_row(row - 1, min(MOST_HEIGHT, LINE_HEIGHT * lines))

    def fit(self, sheet: Sheet, last: int) -> None:
        """Give columns the width of what they hold, and set what of the sheet is printed.

        A column without entries is folded, a sheet without rows is hidden: neither is printed.
        """
        if last == 1:
            self.sheet.hide()
            return
        printed, width = sheet.printed or len(sheet.columns), 0
        for index, column in enumerate(sheet.columns):
            wide = self._fit_column(index, column)
            width += wide if index < printed else 0
        self.sheet.print_area(0, 0, last - 1, printed - 1)
        if width <= UPRIGHT_WIDTH:
            self.sheet.set_portrait()

    def _fit_column(self, index: int, column: Column) -> int:
        """The width of a column; 0 where it is folded."""
        style = self._of_column(index, column.kind)
        longest, largest = self._longest[index], self._largest[index]
        if not longest and largest == NOTHING and column.need is Need.OPTIONAL:
            self.sheet.set_column(index, index, column.width, style, {"level": 1, "hidden": True})
            return 0
        # A heading goes on two lines.
        head = max((len(column.title) + 1) // 2, *map(len, column.title.split())) + 2
        wide = max(longest, LEAST_WIDTH)
        if largest != NOTHING:
            wide = max(wide, self.book.style.width(column.kind, largest) + 1)
        elif column.kind is not Kind.DATE:
            wide = min(wide, column.width + SLACK)
        wide = max(wide + 2, head, column.width if column.kind is Kind.DATE else 0)
        self.sheet.set_column(index, index, wide, style)
        return wide

    def workings(self, grid: Grid) -> None:
        """Begin a sheet of workings."""
        self.start([(c.heading, c.kind, c.width) for c in grid.columns], working=True)
        self._letters = {column.key: index for index, column in enumerate(grid.columns)}
        self.own = grid.prefix

    def work(self, row: int, **values: Any) -> None:
        """One row of workings, by the keys of the grid, in the grid's order."""
        for key, value in values.items():
            if value is not None:
                self.put(row, self._letters[key], value)

    def allow(self, row: int, column: int, of: Column) -> None:
        """What may be typed into one cell."""
        if rule := validation(of):
            self.sheet.data_validation(row - 1, column, row - 1, column, rule)

    def choices(self, sheet: Sheet, last: int) -> None:
        """Lists to choose from and bounds, from the second row to some way below the last."""
        for index, column in enumerate(sheet.columns):
            rule = validation(column)
            if rule:
                self.sheet.data_validation(1, index, last + SPARE_ROWS - 1, index, rule)


def validation(column: Column) -> dict[str, Any] | None:
    """What a spreadsheet program checks while one types into a column; None for free text."""
    words = column.choices or (("yes", "no") if column.kind is Kind.YES_NO else ())
    rule: dict[str, Any] = {
        "ignore_blank": True,
        "error_title": column.title[:32],
    }
    if words:
        message = f"Enter {', '.join(words[:-1])} or {words[-1]}."
        return rule | {"validate": "list", "source": list(words), "error_message": message[:255]}
    if column.kind is Kind.DATE:
        return rule | {
            "validate": "date", "criteria": ">=", "value": EARLIEST,
            "error_message": "Enter a date, like 2026-04-03.",
        }  # fmt: skip
    if column.kind not in (Kind.AMOUNT, Kind.RATE, Kind.PERCENT, Kind.NUMBER, Kind.HOURS):
        return None
    rule["validate"] = "decimal"
    low, high = column.low, column.high
    blank = "leave it empty if not known"
    if low is None:
        return rule | {
            "criteria": ">=", "value": -(10**9),
            "error_message": f"Enter a number; {blank}.",
        }  # fmt: skip
    if high is None:
        message = f"Enter a number, {low} or more; {blank}."
        return rule | {"criteria": ">=", "value": low, "error_message": message}
    return rule | {
        "criteria": "between", "minimum": low, "maximum": high,
        "error_message": f"Enter a number from {low} to {high}; {blank}.",
    }  # fmt: skip
