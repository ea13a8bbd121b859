"""From prices and charges to the landed cost of each line, one purchase after the other.

Rows of “Workings lines”, “Workings shares” and “Workings charges” stand beside the rows of
Purchases and Charges they belong to, in rows of the same number.
"""

from decimal import Decimal

from ...queries.exchange import WrittenLine
from ...queries.price_book import distance_in
from ...queries.quantities import exact_base, priced_units
from ..columns import Kind
from ..pages import Page
from . import prices
from .facts import OF_CHARGES, OF_PURCHASES, Facts, Span
from .grids import CHARGES, COMPONENTS, LINES, PURCHASES, SHARES
from .refs import UNKNOWN, Formula, quoted
from .splits import charge_row, lot_row, purchase_row, write_shares
from .typed import Typed

P, C = OF_PURCHASES, OF_CHARGES
Charges = list[tuple[int, str]]


def landed(row: int, now: Decimal | None) -> Formula:
    """A line's landed cost beside it on Purchases; empty where its price is not known."""
    own, price = LINES.cell("landed", row), LINES.cell("price", row)
    return Formula(f'IF({price}={quoted(UNKNOWN)},"",{own})', "" if now is None else now)


class PurchaseWorkings:
    """Takes purchase lines as they are written, and writes the workings of whole purchases."""

    def __init__(self, facts: Facts, pages: dict[str, Page], charges: dict[int, Charges]):
        self.facts, self.charges = facts, charges
        self.lines, self.purchases = pages[LINES.title], pages[PURCHASES.title]
        self.charge_page, self.shares = pages[CHARGES.title], pages[SHARES.title]
        self.row = 2
        self.rows: list[tuple[int, WrittenLine]] = []
        # Rows of lines and of their purchases, by component.
        self.by_part: dict[int, list[tuple[int, int]]] = {}
        self.lines.workings(LINES)
        self.purchases.workings(PURCHASES)
        self.charge_page.workings(CHARGES)
        width = 4 * max(map(len, charges.values()), default=0)
        titles = ["Weight", "Whole units", "Rank of the rest", "Shares so far, in units"]
        self.shares.start(
            [("Purchase", Kind.TEXT, 12), ("Component", Kind.TEXT, 28)]
            + [(f"{titles[i % 4]} ({i // 4 + 1})", Kind.NUMBER, 18) for i in range(width)],
            working=True,
        )

    def add(self, row: int, line: WrittenLine) -> None:
        """The next line; lines of one purchase come together."""
        if self.rows and self.rows[0][1].purchase.pk != line.purchase.pk:
            self.finish()
        self.rows.append((row, line))

    def finish(self) -> None:
        """Write the purchase whose lines are all there."""
        if not self.rows:
            return
        held, self.rows = self.rows, []
        purchase = held[0][1].purchase
        charges = self.charges.pop(purchase.pk, [])
        span = (held[0][0], held[-1][0])
        is_lot = purchase.lot_price_amount is not None or any(
            line.values["unit_price"] is None and line.values["line_price_amount"] is None
            for _, line in held
        )
        # One line bears everything, so nothing has to be split.
        is_split = is_lot or (len(held) > 1 and bool(charges))
        last_share = ""
        for place, (row, line) in enumerate(held):
            if charges and len(held) > 1:
                last_share = write_shares(self.shares, row, place, line, [k for k, _ in charges])
            self._line(row, place, line, is_split=is_split, is_lot=is_lot, charges=charges,
                       last_share=last_share)  # fmt: skip
            self.by_part.setdefault(line.component.pk, []).append((row, self.row))
        for index, (row, distance) in enumerate(charges):
            self._charge(row, index, purchase.number, distance, span)
        spans = (span, (charges[0][0], charges[-1][0]) if charges else None)
        purchase_row(self.purchases, self.facts, self.row, purchase.number, spans,
                     is_split=is_split, is_lot=is_lot)  # fmt: skip
        self.row += 1

    def _typed(self, line: WrittenLine) -> Typed:
        component, per = line.component, line.values["price_per_text"]
        return self.facts.typed.read(
            line.values["quantity_text"],
            (component.pk, per),
            lambda text: exact_base(text, component),
            lambda text: priced_units(text, per, component),
        )

    def _line(
        self, row: int, place: int, line: WrittenLine, *, is_split: bool, is_lot: bool,
        charges: Charges, last_share: str,
    ) -> None:  # fmt: skip
        facts, money = self.facts, self.facts.money
        part = facts.part(line.component.pk)
        typed = self._typed(line)
        base, per_price = typed.scales
        same = f"AND({P.cell('purchase', row)}={LINES.cell('purchase', row)},"
        same += f"{P.cell('component', row)}={LINES.cell('component', row)})"
        count, qty = LINES.cell("count", row), LINES.cell("qty", row)
        unit_price, line_price = P.cell("unit_price", row), P.cell("line_price", row)
        usable = P.cell("usable_percent", row)
        share = f'IF({usable}="",1,{usable}/100)'
        by_unit = "NA()"
        if per_price is not None:
            fits = f"{P.cell('price_per', row)}={quoted(line.values['price_per_text'])}"
            by_unit = f"IF({fits},{money.amount(f'{unit_price}*({per_price.of(count)})')},NA())"
        lot = quoted(UNKNOWN)
        if is_lot:
            lot = lot_row(self.lines, facts, row, place, self.row)
        price = (
            f'IF({unit_price}<>"",{by_unit},IF({line_price}<>"",{money.amount(line_price)},{lot}))'
        )
        then, own = LINES.cell("price_then", row), LINES.cell("price", row)
        new = COMPONENTS.cell("new_per_one", part.row)
        charged = None
        if last_share:
            charged = Formula(f"{last_share}/{money.unit}")
        elif charges:
            charged = Formula(f"SUM({CHARGES.span('amount', charges[0][0], charges[-1][0])})")
        weight = P.cell("lot_weight", row)
        self.lines.work(
            row,
            purchase=line.purchase.number,
            component=line.component.name,
            count=Formula(f"IF({same},{typed.number(P.cell('quantity', row))},NA())"),
            qty=Formula(f"ROUND({base.of(count)},6)" if base else "NA()"),
            price=Formula(price),
            known=Formula(f"IF({own}={quoted(UNKNOWN)},0,{own})"),
            charges=charged,
            landed=Formula(
                f"{LINES.cell('known', row)}+{LINES.cell('charges', row)}"
                if charged
                else LINES.cell("known", row)
            ),
            usable=Formula(f"ROUND({qty}*{share},6)"),
            price_then=Formula(
                prices.near(facts, line.component.pk, PURCHASES.cell("date", self.row))
            )
            if is_split
            else None,
            retail_value=Formula(f"IF({then}={quoted(UNKNOWN)},{then},{qty}*{share}*{new}*{then})")
            if is_split
            else None,
            weight=Formula(f'IF({weight}="",0,{weight})') if is_split else None,
        )

    def _charge(self, row: int, index: int, number: str, distance: str, lines: Span) -> None:
        facts = self.facts
        unit = facts.distance_unit
        text = distance or f"1 {unit.symbol}"
        typed = facts.typed.read(text, unit.symbol, lambda typed: distance_in(typed, unit.symbol))
        scale = typed.scales[0]
        cell = C.cell("distance", row)
        length = scale.of(f"({typed.number(cell)})") if scale else "NA()"
        charge_row(self.charge_page, facts, row, self.row, number, length, index=index, lines=lines)
