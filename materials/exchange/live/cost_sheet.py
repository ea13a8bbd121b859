"""The sheet “Cost sheet”: the report's figures as formulas, rounded as the program shows them."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from ...calc.money import round_half_up
from ...calc.reports import Compared, CostSheet, ElementRow
from ..columns import Kind
from ..pages import INPUT_COLOUR, WORKING_COLOUR, Page, lines_of
from ..schema import COST_SHEET, area_title
from .facts import OF_ELEMENTS, ChangedMeanwhile, Facts
from .grids import COMPONENTS, TOTALS
from .refs import UNKNOWN, Formula, quoted
from .sections import write_sections
from .totals import Totals

NOT_KNOWN = quoted(UNKNOWN)
NOT_FOLLOWED = quoted("not followed")
AMOUNT, RATE, NUMBER, HOURS = Kind.AMOUNT, Kind.RATE, Kind.NUMBER, Kind.HOURS
PLACES = 6
AS_OF_ROW = 3
WIDTHS = (42, 14, 14, 14, 14, 9, 13, 14)
# The day up to which new prices are known: an entry of its own.
AS_OF = f"'{COST_SHEET}'!$B${AS_OF_ROW}"
Value = Fraction | int | None
Cell = tuple[str, Value, Kind]


class CostSheetPage:
    """Writes the sheet from top to bottom. ``figures`` are what the formulas come to now."""

    def __init__(self, page: Page, facts: Facts, totals: Totals, figures: CostSheet):
        self.page, self.facts, self.totals, self.figures = page, facts, totals, figures
        self.row = 1
        book = page.book
        self.kinds = {kind: book.of_kind(kind, align="right") for kind in Kind}
        # Six places are there to calculate with, four are enough to look at.
        cents = "." + "0" * figures.build.places + "#" * (4 - figures.build.places)
        self.kinds[RATE] = book.of_kind(
            RATE, align="right", num_format=book.style.money_format(cents)
        )
        self.chief = {kind: book.of_kind(kind, align="right", bold=True) for kind in Kind}
        self.sums = {kind: book.of_kind(kind, align="right", bold=True, top=1) for kind in Kind}
        self.sum_label = book.format(bold=True, valign="top", num_format="@", top=1)
        self.label = book.format(text_wrap=True, valign="top", num_format="@")
        self.bold = book.format(text_wrap=True, valign="top", bold=True, num_format="@")
        frame = {"bold": True, "bottom": 1, "bg_color": WORKING_COLOUR, "text_wrap": True}
        self.first_heading = book.format(**frame)
        self.heading = book.format(align="right", **frame)

    def write(self) -> None:
        self._top()
        self._chief()
        self._areas()
        self._more()
        self._elements()
        write_sections(self)
        self._components()
        self.page.sheet.print_area(0, 0, self.row - 2, len(WIDTHS) - 1)
        self.page.sheet.set_portrait()

    def head(self, *titles: str) -> None:
        """The heading of a section, below an empty row."""
        self.row += 1
        self.page.height(self.row, max(map(lines_of, titles, WIDTHS)))
        for index, title in enumerate(titles):
            style = self.heading if index else self.first_heading
            if title:
                self.page.text(self.row, index, title, style)
            else:
                self.page.sheet.write_blank(self.row - 1, index, None, style)
        self.row += 1

    def line(self, label: str, *cells: Cell | None, chief: bool = False) -> None:
        """A label in column A, its figure in B, more figures beside it."""
        self.page.height(self.row, lines_of(label, WIDTHS[0] + 8))
        self.page.text(self.row, 0, label, self.bold if chief else self.label)
        self._figures(cells, self.chief if chief else self.kinds)

    def sum(self, *cells: Cell | None, label: str = "Total") -> None:
        """The last line of a section."""
        self.page.put(self.row, 0, label, self.sum_label)
        self._figures(cells, self.sums)

    def _figures(self, cells: tuple[Cell | None, ...], styles: dict[Kind, Any]) -> None:
        for column, cell in enumerate(cells, 1):
            if cell is None:
                continue
            source, value, kind = cell
            places = self.figures.build.places if kind is AMOUNT else PLACES
            unit = 10**places
            # The inner rounding takes away the noise of binary fractions, not what counts.
            digits = 6 if kind is AMOUNT else 4
            shown = f"ROUND(ROUND({source}*{unit},{digits}),0)/{unit}"
            shown = f"IFERROR(IF({source}={NOT_KNOWN},{NOT_KNOWN},{shown}),{NOT_FOLLOWED})"
            now: str | Decimal = UNKNOWN if value is None else round_half_up(value, places)
            self.page.put(self.row, column, Formula(shown, now), styles[kind])
        self.row += 1

    def _total(self, label: str, key: str, value: Value, kind: Kind = AMOUNT, **more: bool) -> None:
        self.line(label, (self.totals.cell(key), value, kind), **more)

    def _top(self) -> None:
        sheet, book, build = self.page.sheet, self.page.book, self.figures.build
        for index, width in enumerate(WIDTHS):
            sheet.set_column(index, index, width)
        sheet.freeze_panes(AS_OF_ROW, 0)
        sheet.repeat_rows(0)
        big = book.format(bold=True, font_size=16, num_format="@")
        self.page.text(1, 0, f"Cost sheet of {build.name}, in {build.currency}", big)
        self.page.text(2, 0, "All changes in this workbook are followed here", self.label)
        followed = Formula(self.totals.cell("changes followed"), self.totals.all_is_well)
        self.page.put(2, 1, followed, self.bold)
        self.page.text(AS_OF_ROW, 0, "New prices known up to", self.label)
        day = book.of_kind(Kind.DATE, bg_color=INPUT_COLOUR, border=1, align="right")
        self.page.put(AS_OF_ROW, 1, book.written_on, day)
        self.row = AS_OF_ROW + 1

    def _chief(self) -> None:
        sheet = self.figures
        self.head("The build", "Amount")
        for label, value in (
            ("Material cost", sheet.total.cost),
            ("Retail equivalent", sheet.total.retail_equivalent),
            ("Savings", sheet.savings),
            ("Spent", sheet.spent),
            ("Committed", sheet.committed),
            ("Remaining", sheet.remaining),
        ):
            self._total(label, label.lower(), value, chief=True)

    def _areas(self) -> None:
        measured = [row for row in self.figures.areas if row.area.area is not None]
        if not measured:
            return
        self.head("For each unit of area", "Amount")
        for row in measured:
            label = area_title(row.area.label)
            where = f"per {row.area.unit} of {row.area.label.lower()}"
            self._total(f"Cost {where}", f"cost by {label}", row.cost, RATE)
            self._total(
                f"Cost with own labour {where}",
                f"cost with own labour by {label}",
                row.cost_with_own_labour,
                RATE,
            )
            self._total(
                f"Retail equivalent {where}",
                f"retail equivalent by {label}",
                row.retail_equivalent,
                RATE,
            )

    def _more(self) -> None:
        sheet = self.figures
        unpriced = sum((row.position.known_money for row in sheet.unpriced), Fraction(0))
        self.head("More figures", "Amount")
        same = "cost of the same components"
        self._total("Cost of the components compared with new", same, sheet.total.priced_cost)
        self._total("Savings, %", "savings in per cent", sheet.savings_percent, HOURS)
        for label, value in (
            ("Savings after own labour", sheet.savings_after_own_labour),
            ("Saved per extra hour", sheet.saved_per_extra_hour),
            ("Paid labour", sheet.hours.paid_labour),
        ):
            kind = RATE if "hour" in label else AMOUNT
            self._total(label, label.lower(), value, kind)
        self._total("Own labour at the stated rate", "own labour", sheet.own_labour_value)
        self._total("Hours, all kinds", "hours", sheet.hours.total, HOURS)
        self._total("Budget, contingency apart", "budget", sheet.budget)
        self._total("Contingency", "contingency", sheet.contingency)
        self._total("Forecast, low end", "forecast, low end", sheet.forecast.low)
        self._total("Forecast, high end", "forecast, high end", sheet.forecast.high)
        self._total(
            "Still needed without any price, left out of the forecast",
            "needed without any price",
            len(sheet.forecast.left_out),
            NUMBER,
        )
        without = "components without a new price"
        self._total(
            "Components left out for want of a new price", without, len(sheet.unpriced), NUMBER
        )
        self._total("Their material cost", "their material cost", unpriced)
        unknown = "received lines without a known price"
        self._total("Received lines without a known price", unknown, sheet.unknown_lines, NUMBER)

    def _elements(self) -> None:
        by_key = {row.element.key if row.element else None: row for row in self.figures.elements}
        self.head("By element", "Cost", "Retail equivalent", "Savings", "Budget")
        for at, (element, pk, code, name) in enumerate(self.facts.elements):
            budget = OF_ELEMENTS.cell("budget", element)
            self._element(at, f"{code} {name}", by_key.get(pk), budget)
        if None in by_key:
            self._element(len(self.facts.elements), "No element", by_key[None], "")
        last = max((row for row, *_ in self.facts.elements), default=2)
        stated = [row.element.budget for row in by_key.values() if row.element]
        known = [budget for budget in stated if budget is not None]
        budgets = OF_ELEMENTS.span("budget", 2, last)
        of_all = f"IF(COUNT({budgets})=0,{NOT_KNOWN},SUM({budgets}))"
        self._sum_compared(
            self.figures.total, (of_all, sum(known, Fraction(0)) if known else None, AMOUNT)
        )

    def _sum_compared(self, total: Compared, *more: Cell | None) -> None:
        self.sum(
            (self.totals.cell("material cost"), total.cost, AMOUNT),
            (self.totals.cell("retail equivalent"), total.retail_equivalent, AMOUNT),
            (self.totals.cell("savings"), total.savings, AMOUNT),
            *more,
        )

    def _element(self, at: int, label: str, row: ElementRow | None, budget: str) -> None:
        cost, counts, paid, new = (
            TOTALS.cell(key, self.totals.element_row(at))
            for key in ("value", "counts", "counted_cost", "counted_retail")
        )
        figures = row.figures if row else Compared(Fraction(0), Fraction(0), None)
        stated = row.element.budget if row and row.element else None
        none = f"{counts}=0"
        # What stands in the row of another element is not this one's.
        budget_of = f'IF(ISERROR({cost}),NA(),IF({budget}="",{NOT_KNOWN},{budget}))'
        self.line(
            label,
            (cost, figures.cost, AMOUNT),
            (f"IF({none},{NOT_KNOWN},{new})", figures.retail_equivalent, AMOUNT),
            (f"IF({none},{NOT_KNOWN},{new}-{paid})", figures.savings, AMOUNT),
            (budget_of, stated, AMOUNT) if budget else None,
        )

    def _components(self) -> None:
        by_key = {row.position.component.key: row for row in self.figures.components}
        titles = ("Cost", "Retail equivalent", "Savings", "In the building", "Unit", "Average cost",
                  "Known part of the cost")  # fmt: skip
        self.head("By component", *titles)
        for pk, part in self.facts.parts.items():
            row = by_key.get(pk)
            if row is None:
                raise ChangedMeanwhile

            def cell(key: str, at: int = part.row) -> str:
                return COMPONENTS.cell(key, at)

            position = row.position
            self.page.text(self.row, 5, part.component.unit, self.kinds[Kind.TEXT])
            self.line(
                part.component.name,
                (cell("cost"), position.cost, AMOUNT),
                (cell("retail"), row.retail_equivalent, AMOUNT),
                (cell("savings"), row.savings, AMOUNT),
                (cell("in_building"), position.in_building, NUMBER),
                None,
                (cell("average"), position.average, RATE),
                # So that each known charge stands on a row, and the rows sum to the whole.
                (cell("money"), position.known_money, AMOUNT),
            )
        known = (self.totals.cell("material cost"), self.figures.total.cost, AMOUNT)
        self._sum_compared(self.figures.total, None, None, None, known)
