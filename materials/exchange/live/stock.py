"""Conversions and left over: what each took, made and cost, and that by component."""

from dataclasses import dataclass
from decimal import Decimal

from ...choices import Fate
from ...models import ConversionOutput, LeftOver, Move
from ...queries.quantities import exact_base
from ...queries.totals import Sums, TotalKey
from ..pages import Page
from . import prices
from .facts import OF_CONVERSIONS, OF_LEFT_OVER, OF_MOVED_IN, OF_PURCHASES, Facts, Part
from .grids import COMPONENTS, CONVERSIONS, LINES, PURCHASES, STOCK
from .refs import UNKNOWN, Formula, quoted

# What is compared with new when it comes in; what conversions made came in before.
CAME_IN = ("lines", "moved_in")
K, L, M = OF_CONVERSIONS, OF_LEFT_OVER, OF_MOVED_IN


def _quantity(facts: Facts, text: str, part: Part, cell: str) -> str:
    """The formula of a typed quantity in its component's base unit."""
    component = part.component
    typed = facts.typed.read(text, component.pk, lambda text: exact_base(text, component))
    scale = typed.scales[0]
    return f"ROUND({scale.of(f'({typed.number(cell)})')},6)" if scale else "NA()"


class ConversionWorkings:
    """Takes what conversions made as it is written, and writes the workings beside it."""

    def __init__(self, facts: Facts, page: Page):
        self.facts, self.page = facts, page
        self.rows: list[tuple[int, ConversionOutput]] = []
        self.made: dict[int, list[int]] = {}
        self.used: dict[int, list[int]] = {}
        page.workings(CONVERSIONS)

    def add(self, row: int, output: ConversionOutput) -> None:
        """The next output; those of one conversion come together."""
        if self.rows and self.rows[0][1].conversion_id != output.conversion_id:
            self.finish()
        self.rows.append((row, output))

    def finish(self) -> None:
        """Write the conversion whose outputs are all there."""
        if not self.rows:
            return
        held, self.rows = self.rows, []
        first, last = held[0][0], held[-1][0]
        source = self.facts.part(held[0][1].conversion.source_id)
        self.used.setdefault(source.component.pk, []).append(first)
        for row, output in held:
            self._row(row, (first, last), source, output)
            self.made.setdefault(output.component_id, []).append(row)

    def _row(self, row: int, span: tuple[int, int], source: Part, output: ConversionOutput) -> None:
        facts, (first, last) = self.facts, span
        conversion, part = output.conversion, facts.part(output.component_id)

        def own(key: str, at: int = row) -> str:
            return CONVERSIONS.cell(key, at)

        cells = {
            "conversion": conversion.number,
            "component": part.component.name,
            "unknown": Formula(own("unknown", first)) if row > first else None,
        }
        known, average = (COMPONENTS.cell(key, source.row) for key in ("known_average", "average"))
        if row == first:
            extra = K.cell("extra_cost", row)
            used = _quantity(facts, conversion.used_text, source, K.cell("used", row))
            same = f"AND({K.cell('conversion', row)}={own('conversion')},"
            same += f"{K.cell('source', row)}={own('source')})"
            cells |= {
                "source": source.component.name,
                "used": Formula(f"IF({same},{used},NA())"),
                "value": Formula(f"{own('used')}*{known}"),
                "extra": Formula(f'IF({extra}="",0,{facts.money.amount(extra)})'),
                "whole": Formula(f"{own('value')}+{own('extra')}"),
                "unknown": Formula(f"IF(AND({own('used')}>0,{average}={quoted(UNKNOWN)}),1,0)"),
            }
        made = _quantity(facts, output.made_text, part, K.cell("made", row))
        same = f"AND({K.cell('conversion', row)}={own('conversion')},"
        same += f"{K.cell('component', row)}={own('component')})"
        cells["made"] = Formula(f"IF({same},{made},NA())")
        whole = own("whole", first)
        if first == last:
            cells["cost"] = Formula(whole)
        else:
            day = K.cell("date", first)
            then, new = own("price_then"), COMPONENTS.cell("new_per_one", part.row)
            value = f"IF({then}={quoted(UNKNOWN)},{then},{own('made')}*{new}*{then})"
            values = CONVERSIONS.span("retail_value", first, last)
            all_valued = f"AND(COUNT({values})={last - first + 1},SUM({values})>0)"
            by_value = f"{own('retail_value')}/SUM({values})"
            by_quantity = f"{own('made')}/SUM({CONVERSIONS.span('made', first, last)})"
            cells |= {
                "price_then": Formula(prices.near(facts, output.component_id, day)),
                "retail_value": Formula(value),
                "cost": Formula(f"{whole}*IF({all_valued},{by_value},{by_quantity})"),
            }
        self.page.work(row, **cells)


@dataclass
class Movements:
    """Rows of all that came and went, by component; ``summed`` where lines are not followed."""

    lines: dict[int, list[tuple[int, int]]]
    summed: dict[int, list[tuple[TotalKey, Sums]]]
    made: dict[int, list[int]]
    used: dict[int, list[int]]
    left: dict[int, list[tuple[int, LeftOver | Move]]]
    moved_in: dict[int, list[tuple[int, Move]]]


def write_stock(page: Page, facts: Facts, transfers: Movements) -> int:
    """Everything that came of each component and went, together; tells each part its rows.

    Gives the last row.
    """
    page.workings(STOCK)
    row = 1
    for pk, part in facts.parts.items():
        listed = (
            (
                "lines",
                [_bought(*rows) for rows in transfers.lines.get(pk, ())]
                + [_summed(key, sums) for key, sums in transfers.summed.get(pk, ())],
            ),
            ("made", [_made(at) for at in transfers.made.get(pk, ())]),
            ("used", [_used(at) for at in transfers.used.get(pk, ())]),
            ("left", [_left(facts, part, *entry) for entry in transfers.left.get(pk, ())]),
            ("moved_in", [_moved_in(facts, part, *m) for m in transfers.moved_in.get(pk, ())]),
        )
        for name, cells in listed:
            if cells:
                setattr(part, name, (row + 1, row + len(cells)))
            for values in cells:
                row += 1
                if name in CAME_IN:
                    values |= _against_new(part, row)
                page.work(row, component=part.component.name, **values)
    return row


def _against_new(part: Part, row: int) -> dict[str, str]:
    """What would have been paid new for what came in, built in or not."""
    worth, compared = COMPONENTS.cell("worth", part.row), STOCK.cell("compared", row)
    return {
        "worth": Formula(f"IF({compared}=1,{STOCK.cell('qty', row)}*{worth},0)"),
        "compared": Formula(f"IF({worth}={quoted(UNKNOWN)},0,1)"),
    }


def _bought(line: int, purchase: int) -> dict[str, str]:
    price = LINES.cell("price", line)
    return {
        "what": "purchase",
        "number": Formula(PURCHASES.cell("purchase", purchase)),
        "state": Formula(PURCHASES.cell("state", purchase)),
        "source": Formula(OF_PURCHASES.cell("source", line)),
        "qty": Formula(LINES.cell("usable", line)),
        "cost": Formula(LINES.cell("landed", line)),
        "unknown": Formula(f"IF({price}={quoted(UNKNOWN)},1,0)"),
    }


def _summed(key: TotalKey, sums: Sums) -> dict[str, str | Decimal | int]:
    return {
        "what": "purchases",
        "state": key.state,
        "source": key.source,
        "qty": sums.usable,
        "cost": sums.landed,
        "unknown": sums.unknown,
    }


def _made(row: int) -> dict[str, str]:
    return {
        "what": "made",
        "number": Formula(CONVERSIONS.cell("conversion", row)),
        "qty": Formula(CONVERSIONS.cell("made", row)),
        "cost": Formula(CONVERSIONS.cell("cost", row)),
        "unknown": Formula(CONVERSIONS.cell("unknown", row)),
    }


def _used(row: int) -> dict[str, str]:
    return {
        "what": "used",
        "number": Formula(CONVERSIONS.cell("conversion", row)),
        "qty": Formula(CONVERSIONS.cell("used", row)),
        "cost": Formula(CONVERSIONS.cell("value", row)),
    }


def _left(facts: Facts, part: Part, row: int, entry: LeftOver | Move) -> dict[str, str]:
    qty = _quantity(facts, entry.quantity_text, part, L.cell("quantity", row))
    same = f"{L.cell('component', row)}={COMPONENTS.cell('component', part.row)}"
    proceeds, fate, value = (L.cell(key, row) for key in ("proceeds", "fate", "value"))
    is_valued = f'AND({fate}={quoted(Fate.MOVED)},{value}<>"")'
    return {
        "what": "left over",
        "state": Formula(fate),
        "qty": Formula(f"IF({same},{qty},NA())"),
        "cost": Formula(f'IF({proceeds}="",0,{facts.money.amount(proceeds)})'),
        "value": Formula(f"IF({is_valued},{facts.money.amount(value)},0)"),
        "valued": Formula(f"IF({is_valued},{qty},0)"),
    }


def _moved_in(facts: Facts, part: Part, row: int, transfer: Move) -> dict[str, str]:
    """Material of another build; without a cost it is not known."""
    qty = _quantity(facts, transfer.to_text, part, M.cell("quantity", row))
    same = f"{M.cell('component', row)}={COMPONENTS.cell('component', part.row)}"
    cost = M.cell("cost", row)
    return {
        "what": "moved in",
        "qty": Formula(f"IF({same},{qty},NA())"),
        "cost": Formula(f'IF({cost}="",0,{facts.money.amount(cost)})'),
        "unknown": Formula(f'IF({cost}="",1,0)'),
    }
