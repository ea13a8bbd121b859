"""The figures of the whole build, unrounded, and what tells whether all changes are followed."""

from fractions import Fraction

from ...calc.quantities import parse_quantity
from ...calc.sources import MOVED_IN, SOURCES
from ...choices import LabourKind, State
from .. import schema
from ..pages import SPARE_ROWS, Page
from .facts import OF_BUILD, OF_COMPONENTS, OF_CONVERSIONS, OF_ELEMENTS, OF_LABOUR, Facts
from .grids import COMPONENTS, CONVERSIONS, STOCK, TOTALS
from .refs import UNKNOWN, Formula, Grid, quoted

NOT_KNOWN = quoted(UNKNOWN)
EXTRA = (LabourKind.SOURCING, LabourKind.PREPARING)
RATE = "Own labour rate"
# Sheets whose every row has a row of workings.
BY_ROW = (
    schema.COMPONENTS, schema.PRICES, schema.PURCHASES, schema.CHARGES, schema.CONVERSIONS,
    schema.LEFT_OVER, schema.MOVED_IN,
)  # fmt: skip
# What is summed over the components of an element, and where.
SUMMED = {
    "value": "money",
    "counts": "counts",
    "counted_cost": "counted_cost",
    "counted_retail": "counted_retail",
}


def _unless_unknown(formula: str, *cells: str) -> str:
    """A formula; “not known” where one of the cells is."""
    any_unknown = ",".join(f"{cell}={NOT_KNOWN}" for cell in cells)
    return f"IF(OR({any_unknown}),{NOT_KNOWN},{formula})"


class Totals:
    """Formulas of the totals by key, in the order of their rows."""

    def __init__(self, facts: Facts):
        self.facts = facts
        rows = [part.row for part in facts.parts.values()]
        self.span = (min(rows, default=2), max(rows, default=2))
        # What the cost sheet says as long as every change is followed that can be.
        self.all_is_well = "yes" if facts.follows_lines else "all but those of purchase lines"
        self.formulas: dict[str, str] = {}
        self.rows: dict[str, int] = {}
        self._materials()
        self._labour()
        self._money()
        self._areas()
        self._sources()
        self._checks()

    def cell(self, key: str) -> str:
        """Where a total stands."""
        return TOTALS.cell("value", self.rows[key])

    def _add(self, key: str, formula: str) -> None:
        self.rows[key] = len(self.formulas) + 2
        self.formulas[key] = formula

    def _sum(self, key: str) -> str:
        return f"SUM({COMPONENTS.span(key, *self.span)})"

    def _materials(self) -> None:
        self._add("material cost", self._sum("money"))
        self._add("components compared with new", self._sum("counts"))
        none = f"{self.cell('components compared with new')}=0"
        new, paid = self._sum("counted_retail"), self._sum("counted_cost")
        self._add("retail equivalent", f"IF({none},{NOT_KNOWN},{new})")
        self._add("savings", f"IF({none},{NOT_KNOWN},{new}-{paid})")
        new, saved = self.cell("retail equivalent"), self.cell("savings")
        share = f"IF({new}=0,{NOT_KNOWN},{saved}/{new}*100)"
        self._add("cost of the same components", paid)
        self._add("savings in per cent", _unless_unknown(share, saved))
        self._add("components without a new price", self._sum("left_out"))
        left, money = (COMPONENTS.span(key, *self.span) for key in ("left_out", "money"))
        self._add("their material cost", f"SUMIF({left},1,{money})")
        unknown = "0"
        last = self.facts.counts[STOCK.title]
        if last > 1:
            # Only purchases have a state of that name.
            state, unpriced = (STOCK.span(key, 2, last) for key in ("state", "unknown"))
            unknown = f"SUMIF({state},{quoted(State.RECEIVED)},{unpriced})"
        self._add("received lines without a known price", unknown)

    def _labour(self) -> None:
        last = self.facts.counts[schema.LABOUR.title] + 1 + SPARE_ROWS
        hours, kind, paid = (OF_LABOUR.span(key, 2, last) for key in ("hours", "kind", "paid"))
        rows = self.facts.counts[schema.CONVERSIONS.title] + 1
        worked = f"SUM({OF_CONVERSIONS.span('hours', 2, max(2, rows))})"

        def numbers(cells: str, formula: str) -> str:
            """A text among numbers would silently be left out of a sum."""
            return f"IF(COUNTA({cells})=COUNT({cells}),{formula},NA())"

        def of(what: str, *more: str) -> str:
            chosen = [",".join((kind, quoted(each), *more)) for each in EXTRA]
            return "+".join(f"SUMIFS({what},{each})" for each in chosen)

        above = (paid, '">0"')
        # Each amount is rounded by itself, as it is when it is read in.
        amounts = self.facts.money.amount(paid)
        extra = "+".join(f"({kind}={quoted(each)})" for each in EXTRA)
        self._add("paid labour", numbers(paid, f"SUMPRODUCT({amounts})"))
        self._add("hours", numbers(hours, f"SUM({hours})+{worked}"))
        self._add("own hours", f'{self.cell("hours")}-SUMIF({paid},">0",{hours})')
        self._add("extra hours", f"{of(hours)}+{worked}")
        self._add("own extra hours", f"{self.cell('extra hours')}-({of(hours, *above)})")
        self._add("paid extra labour", f"SUMPRODUCT(({extra})*{amounts})")
        self._add("own labour", self._at_rate("own hours"))
        self._add("own extra labour", self._at_rate("own extra hours"))
        saved, own, extra = map(self.cell, ("savings", "own extra labour", "extra hours"))
        after = f"{saved}-{own}-{self.cell('paid extra labour')}"
        self._add("savings after own labour", _unless_unknown(after, saved, own))
        each = f"IF({extra}=0,{NOT_KNOWN},{saved}/{extra})"
        self._add("saved per extra hour", _unless_unknown(each, saved))

    def _at_rate(self, key: str) -> str:
        hours, rate = self.cell(key), self.facts.value(RATE)
        return f'IF({hours}=0,0,IF({rate}="",{NOT_KNOWN},{hours}*{rate}))'

    def _money(self) -> None:
        rows = self.facts.counts[schema.CONVERSIONS.title] + 1
        extra = f"SUM({CONVERSIONS.span('extra', 2, max(2, rows))})"
        stated, share = self.facts.value("Budget"), self.facts.value("Contingency %")
        received, proceeds = self._sum("received_cost"), self._sum("proceeds")
        self._add("spent", f"{received}+{self.cell('paid labour')}+{extra}-{proceeds}")
        self._add("committed", self._sum("ordered_cost"))
        self._add("budget", f'IF({stated}="",{NOT_KNOWN},{self.facts.money.amount(stated)})')
        budget = self.cell("budget")
        reserve = f"{budget}*{share}/100"
        self._add("contingency", f'IF(OR({stated}="",{share}=""),{NOT_KNOWN},{reserve})')
        out = f"{self.cell('spent')}+{self.cell('committed')}"
        self._add("remaining", _unless_unknown(f"{budget}-({out})", budget))
        self._add("at prices so far", f"{out}+{self._sum('low')}")
        self._add("bought new", f"{out}+{self._sum('high')}")
        ends = f"{self.cell('at prices so far')},{self.cell('bought new')}"
        self._add("forecast, low end", f"MIN({ends})")
        self._add("forecast, high end", f"MAX({ends})")
        self._add("needed without any price", self._sum("unforecast"))

    def _areas(self) -> None:
        cost = f"({self.cell('material cost')}+{self.cell('paid labour')})"
        own, new = self.cell("own labour"), self.cell("retail equivalent")
        for label, text in self.facts.areas.items():
            if not text:
                continue
            typed = self.facts.typed.read(text, "area", _leading)
            scale = typed.scales[0]
            number = f"({typed.number(self.facts.value(label))})"
            same = f"{OF_BUILD.cell('name', self.facts.build_rows[label])}={quoted(label)}"
            size = scale.of(number) if scale else "NA()"
            self._add(label, f"IF({same},{size},NA())")
            area = self.cell(label)
            self._add(f"cost by {label}", f"{cost}/{area}")
            with_own = _unless_unknown(f"({cost}+{own})/{area}", own)
            self._add(f"cost with own labour by {label}", with_own)
            self._add(f"retail equivalent by {label}", _unless_unknown(f"{new}/{area}", new))

    def _sources(self) -> None:
        """What came in of each kind, beside what the same would have cost new."""
        last = max(2, self.facts.counts[STOCK.title])

        def span(key: str) -> str:
            return STOCK.span(key, 2, last)

        kinds = {source: ("source", str(source)) for source in SOURCES}
        for kind, (key, value) in (kinds | {MOVED_IN: ("what", MOVED_IN)}).items():
            of = f"{span(key)},{quoted(value)}"
            if kind != MOVED_IN:
                of += f",{span('state')},{quoted(State.RECEIVED)}"
            self._add(f"landed cost, {kind}", f"SUMIFS({span('cost')},{of})")
            priced = f"{of},{span('compared')},1"
            new = f"SUMIFS({span('worth')},{priced})"
            nothing = f"AND(COUNTIFS({of})>0,COUNTIFS({priced})=0)"
            self._add(f"retail equivalent, {kind}", f"IF({nothing},{NOT_KNOWN},{new})")
            paid = f"SUMIFS({span('cost')},{priced})"
            self._add(f"without a new price, {kind}", f"{self.cell(f'landed cost, {kind}')}-{paid}")

    def _checks(self) -> None:
        parts = []
        for sheet in BY_ROW:
            count = self.facts.counts[sheet.title]
            first = sheet.columns[0].key
            cells = Grid.of(sheet).span(first, 2, count + 1 + SPARE_ROWS)
            parts.append(f"ABS(COUNTA({cells})-{count})")
        for name, row in self.facts.build_rows.items():
            if name not in schema.BUILD_COLUMNS:
                continue
            parts.append(f"IF({OF_BUILD.cell('name', row)}={quoted(name)},0,1)")
        self._add("rows more or fewer than when written", "+".join(parts))
        # Two more totals follow before the elements.
        top = len(self.formulas) + 2 + 2
        elements = TOTALS.span("value", top, top + len(self.facts.elements))
        cost = self.cell("material cost")
        self._add("cost of no element of the list", f"ROUND(SUM({elements})-{cost},4)")
        rows, stray = (
            self.cell("rows more or fewer than when written"),
            self.cell("cost of no element of the list"),
        )
        broken = "+".join(
            f"IF(ISERROR({self.cell(key)}),1,0)"
            for key in ("material cost", "retail equivalent", "spent", "committed", "remaining",
                        "bought new", "cost of no element of the list")
        )  # fmt: skip
        self._add(
            "changes followed",
            f'IF({broken}>0,"no: a text was changed that no formula can follow",'
            f'IF({rows}>0,"no: rows were added or taken away",'
            f'IF({stray}<>0,"no: a component names an element that is not listed",'
            f"{quoted(self.all_is_well)})))",
        )

    def element_row(self, place: int) -> int:
        """The row of an element by its place in the list; after the last: no element."""
        return len(self.formulas) + 2 + place

    def write(self, page: Page) -> None:
        """A row for each total, then one for each element and for components without one."""
        page.workings(TOTALS)
        for key, formula in self.formulas.items():
            page.work(self.rows[key], name=key, value=Formula(formula))
        named = OF_COMPONENTS.span("element", *self.span)
        listed = []
        for row, _, code, name in self.facts.elements:
            by_code, by_name = (OF_ELEMENTS.cell(key, row) for key in ("code", "name"))
            among = f"({named}={by_code})+({named}={by_name})>0"
            listed.append((f"{code} {name}", among, f'{by_code}&" "&{by_name}'))
        listed.append(("No element", f'{named}=""', ""))
        for place, (label, among, called) in enumerate(listed):
            at = self.element_row(place)
            same = f"{called}={TOTALS.cell('name', at)}" if called else "TRUE"
            sums = {}
            for key, column in SUMMED.items():
                cells = COMPONENTS.span(column, *self.span)
                sums[key] = Formula(f"IF({same},SUMPRODUCT(({among})*{cells}),NA())")
            page.work(at, name=label, **sums)


def _leading(text: str) -> Fraction:
    """The number an area begins with, in its own unit."""
    return parse_quantity(text).count
