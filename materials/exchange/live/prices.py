"""Dated new prices of one base unit, those of a component together, the newest first.

Below them stand the distance rates, the oldest first.
"""

from datetime import date

from ...models import RetailPrice
from .. import schema
from ..pages import Page
from .facts import OF_COMPONENTS, Facts, PriceRow
from .grids import PRICES
from .refs import UNKNOWN, Formula, Grid, quoted


def write(page: Page, facts: Facts) -> None:
    """Every price row, by component, and the distance rates; tells each part its rows."""
    page.workings(PRICES)
    row = 2
    for pk, part in facts.parts.items():
        listed = facts.prices.get(pk, [])
        listed.sort(key=lambda price: (price.on, price.pk), reverse=True)
        part.prices = (row, row + len(listed) - 1)
        for price in listed:
            _write_row(page, facts, row, part.component.name, price)
            row += 1
    facts.rate_span = (row, row + len(facts.rates) - 1)
    for at, (from_on, stated) in enumerate(facts.rates, row):
        cell = f"{schema.BUILD}!$B${stated}"
        page.work(
            at,
            component=schema.DISTANCE_RATE.title,
            on=from_on or 0,
            price=Formula(f'IF({cell}="",{quoted(UNKNOWN)},{cell})'),
        )


def rate_on(facts: Facts, day: str) -> str:
    """The distance rate that holds on the day in a cell; #N/A where there is none."""
    on, price = (PRICES.span(key, *facts.rate_span) for key in ("on", "price"))
    rate = f'INDEX({price},COUNTIF({on},"<="&{day}))'
    return f"IF({rate}={quoted(UNKNOWN)},NA(),{rate})"


def _write_row(page: Page, facts: Facts, row: int, name: str, price: PriceRow) -> None:
    grid, at = price.grid, price.row
    key = "name" if grid is OF_COMPONENTS else "component"
    amount, day = grid.cell("new_price", at), grid.cell("priced_on", at)
    # A price without a day is of today; no price at all is marked by a day of 0.
    on = f'IF({amount}="",0,IF({day}="",{facts.as_of},{day}))'
    fits = (
        f"AND({grid.cell(key, at)}={PRICES.cell('component', row)},"
        f"{grid.cell('new_price_per', at)}={quoted(price.per_text)})"
    )
    own = PRICES.cell("on", row)
    page.work(
        row,
        component=name,
        on=Formula(on),
        price=Formula(f'IF({amount}="",{quoted(UNKNOWN)},IF({fits},{amount}/{price.per},NA()))'),
        early=Formula(f"IF({own}<={facts.as_of},{own},0)"),
    )


def as_of(facts: Facts, pk: int) -> str:
    """The newest price of a component up to the day of the cost sheet, or “not known”."""
    first, last = facts.parts[pk].prices
    price, early = PRICES.span("price", first, last), PRICES.span("early", first, last)
    if first == last:
        return (
            f"IF({PRICES.cell('early', first)}=0,{quoted(UNKNOWN)},{PRICES.cell('price', first)})"
        )
    # Of several prices of one day the one entered last stands first.
    newest = f"INDEX({price},MATCH(MAX({early}),{PRICES.span('on', first, last)},0))"
    return f"IF(MAX({early})=0,{quoted(UNKNOWN)},{newest})"


def near(facts: Facts, pk: int, day: str) -> str:
    """The newest price up to a day; where there is none, the earliest after it."""
    first, last = facts.parts[pk].prices
    price, on = PRICES.span("price", first, last), PRICES.span("on", first, last)
    if first == last:
        return f"IF({PRICES.cell('on', first)}=0,{quoted(UNKNOWN)},{PRICES.cell('price', first)})"
    # Counted from the earliest day: those without a price come first.
    place = f'MAX(COUNTIF({on},"<="&{day}),COUNTIF({on},0)+1)'
    found = f"INDEX({price},MATCH(SMALL({on},{place}),{on},0))"
    return f"IF(MAX({on})=0,{quoted(UNKNOWN)},{found})"


def collect(facts: Facts, grid: Grid, row: int, pk: int, price: RetailPrice | None) -> None:
    """Note a price row; without a price the row is where one may be typed."""
    if price is None:
        found = PriceRow(grid, row, date.max, 0, "", "1")
    else:
        per = f"{price.per_qty.normalize():f}"
        found = PriceRow(grid, row, price.priced_on, price.pk, price.per_text, per)
    facts.prices.setdefault(pk, []).append(found)
