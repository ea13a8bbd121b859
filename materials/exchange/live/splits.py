"""Splitting a lot price and charges over the lines of a purchase, to the minor unit.

The largest remainder, in formulas: each line gets the whole units of its exact part; what is
left goes, a unit each, to the lines whose rank is as high as the threshold. The rank is the
part's fraction to eight places with the line's place behind it, the earlier line higher, so
that no two ranks are the same and ``LARGE`` finds the threshold.
"""

from ...calc.letters import letters
from ...calc.types import Basis
from ...queries.exchange import WrittenLine
from ..pages import Page
from . import prices
from .facts import OF_CHARGES, OF_PURCHASES, Facts, Span
from .grids import CHARGES, LINES, NUMBER, PURCHASES, SHARES
from .refs import Formula

P, C = OF_PURCHASES, OF_CHARGES
# Above every rank: nobody gets one more.
NOBODY = 10**15
RANKS, PLACES = 10**8, 10**5
# The column of the lines that weighs them by a basis; equally, each weighs one.
WEIGHED_BY = {
    Basis.PRICE: "known",
    Basis.RETAIL_VALUE: "retail_value",
    Basis.QUANTITY: "qty",
    Basis.WEIGHT: "weight",
}


def _whole(units: str, weight: str, weights: str) -> str:
    return f"ROUND({units}*{weight}/{weights},8)"


def _rank(exact: str, whole: str, place: int) -> str:
    return f"ROUND(({exact}-{whole})*{RANKS},0)*{PLACES}+{PLACES - 1 - place}"


def _threshold(left: str, ranks: str) -> str:
    return f"IF({left}>=1,LARGE({ranks},{left}),{NOBODY})"


def _by_basis(basis: str, row: int, price: bool) -> str:
    """The weight of a line for the basis in a cell."""
    pick = "1"
    for one, key in reversed(WEIGHED_BY.items()):
        if price or one is not Basis.PRICE:
            pick = f"IF({basis}={NUMBER[one]},{LINES.cell(key, row)},{pick})"
    return pick


def _stated(split: str, weighed: str, usual: str) -> str:
    """The number of the basis that is stated in a cell."""
    pick = usual
    for basis in reversed(Basis):
        if basis not in (Basis.PRICE, Basis.RETAIL_VALUE):
            number = weighed if basis is Basis.WEIGHT else NUMBER[basis]
            pick = f'IF({split}="{basis}",{number},{pick})'
    return pick


def _usual(is_valued: str) -> str:
    """By retail value where that can be, else equally."""
    return f"IF({is_valued},{NUMBER[Basis.RETAIL_VALUE]},{NUMBER[Basis.EQUAL]})"


def _by_weight(weights: str, usual: str) -> str:
    return f"IF({weights}>0,{NUMBER[Basis.WEIGHT]},{usual})"


def purchase_row(
    page: Page, facts: Facts, row: int, number: str, spans: tuple[Span, Span | None], *,
    is_split: bool, is_lot: bool,
) -> None:  # fmt: skip
    """What a purchase comes to, and what its lot is split by."""
    (first, last), charges = spans

    def lines(key: str) -> str:
        return LINES.span(key, first, last)

    def own(key: str) -> str:
        return PURCHASES.cell(key, row)

    state = P.cell("state", first)
    charged = f"SUM({CHARGES.span('amount', *charges)})" if charges else "0"
    cells = {
        "purchase": number,
        "date": Formula(P.cell("date", first)),
        "state": Formula(f'IF({state}="","received",{state})'),
        "lines": last - first + 1,
        "price": Formula(f"SUM({lines('known')})"),
        "charges": Formula(charged),
        "landed": Formula(f"{own('price')}+{own('charges')}"),
        "payer": Formula(P.cell("paid_by", first)),
    }
    if is_split:
        valued = f"AND({own('valued')}={own('lines')},{own('value')}>0)"
        cells |= {
            "priced": Formula(f"COUNT({lines('price')})"),
            "valued": Formula(f"COUNT({lines('retail_value')})"),
            "value": Formula(f"SUM({lines('retail_value')})"),
            "basis": Formula(_usual(valued)),
        }
    if is_lot:
        price, split = P.cell("lot_price", first), P.cell("lot_split", first)
        in_lot = lines("in_lot")
        value = f"SUMIF({in_lot},1,{lines('retail_value')})"
        valued = f'COUNTIFS({in_lot},1,{lines("retail_value")},">=0")={own("lot_lines")}'
        usual = _usual(f"AND({valued},{value}>0)")
        weights = f"SUMIF({in_lot},1,{lines('weight')})"
        basis = _stated(split, _by_weight(weights, usual), usual)
        left = f'IF({own("lot")}="",0,{own("lot")}-SUM({lines("lot_whole")}))'
        cells |= {
            "lot": Formula(f'IF({price}="","",{facts.money.units(price)})'),
            "lot_lines": Formula(f"SUM({in_lot})"),
            "lot_basis": Formula(basis),
            "lot_weights": Formula(f"SUM({lines('lot_weight')})"),
            "lot_left": Formula(left),
            "lot_from": Formula(_threshold(own("lot_left"), lines("lot_rank"))),
        }
    page.work(row, **cells)


def lot_row(page: Page, facts: Facts, row: int, place: int, purchase: int) -> str:
    """A line's part in its purchase's lot; gives the formula of its price there."""

    def own(key: str) -> str:
        return LINES.cell(key, row)

    def of_lot(key: str) -> str:
        return PURCHASES.cell(key, purchase)

    lot = of_lot("lot")
    priced = f'AND({P.cell("unit_price", row)}="",{P.cell("line_price", row)}="")'
    exact = _whole(lot, own("lot_weight"), of_lot("lot_weights"))
    outside = f'OR({own("in_lot")}=0,{lot}="")'
    weight = _by_basis(of_lot("lot_basis"), row, price=False)
    page.work(
        row,
        in_lot=Formula(f"IF({priced},1,0)"),
        lot_weight=Formula(f"IF({own('in_lot')}=0,0,{weight})"),
        lot_whole=Formula(f"IF({outside},0,INT({exact}))"),
        lot_rank=Formula(f"IF({outside},-1,{_rank(exact, own('lot_whole'), place)})"),
    )
    share = f"{own('lot_whole')}+IF({own('lot_rank')}>={of_lot('lot_from')},1,0)"
    return f'IF({lot}="","not known",({share})/{facts.money.unit})'


def _share_cell(what: int, charge: int, row: int) -> str:
    """A cell of “Workings shares”: 0 weight, 1 whole units, 2 rank, 3 shares so far."""
    return f"{SHARES.prefix}{letters(3 + 4 * charge + what)}{row}"


def _share_span(what: int, charge: int, first: int, last: int) -> str:
    column = letters(3 + 4 * charge + what)
    return f"{SHARES.prefix}${column}${first}:${column}${last}"


def write_shares(page: Page, row: int, place: int, line: WrittenLine, charges: list[int]) -> str:
    """A line's share of each charge of its purchase; gives the cell that sums them, in units."""
    page.put(row, 0, line.purchase.number)
    page.put(row, 1, line.component.name)
    before = ""
    for index, charge in enumerate(charges):
        weight, whole, rank, so_far = (_share_cell(what, index, row) for what in range(4))
        units = CHARGES.cell("units", charge)
        exact = _whole(f"ABS({units})", weight, CHARGES.cell("weights", charge))
        share = f"{whole}+IF({rank}>={CHARGES.cell('from', charge)},1,0)"
        total = f"SIGN({units})*({share})"
        column = 2 + 4 * index
        basis = CHARGES.cell("basis", charge)
        page.put(row, column, Formula(_by_basis(basis, row, price=True)))
        page.put(row, column + 1, Formula(f"INT({exact})"))
        page.put(row, column + 2, Formula(_rank(exact, whole, place)))
        page.put(row, column + 3, Formula(f"{before}+{total}" if before else total))
        before = so_far
    return before


def charge_row(
    page: Page, facts: Facts, row: int, purchase: int, number: str, length: str, *,
    index: int, lines: Span,
) -> None:  # fmt: skip
    """A charge in money and what it is spread by; ``index`` is its place in its purchase."""

    def own(key: str) -> str:
        return CHARGES.cell(key, row)

    def of(key: str) -> str:
        return PURCHASES.cell(key, purchase)

    amount, percent, distance = (C.cell(key, row) for key in ("amount", "percent", "distance"))
    price = of("price")
    so_far = price
    if index:
        so_far = f"({price}+SUM({CHARGES.span('amount', row - index, row - 1)}))"
    on = f'IF({C.cell("percent_on", row)}="price and charges",{so_far},{price})'
    by_size = f'IF({amount}<>"",{amount},NA())'
    by_distance = f'IF({distance}<>"",{length}*{prices.rate_on(facts, of("date"))},{by_size})'
    exact = f'IF({percent}<>"",{percent}/100*{on},{by_distance})'
    same = f"{C.cell('purchase', row)}={own('purchase')}"
    units = facts.money.units(own("exact"))
    lower = facts.money.units(f"ABS({own('exact')})")
    cells = {
        "purchase": number,
        "exact": Formula(f"IF({same},{exact},NA())"),
        "units": Formula(f'IF({C.cell("kind", row)}="discount",-{lower},{units})'),
        "amount": Formula(f"{own('units')}/{facts.money.unit}"),
    }
    first, last = lines
    if last > first:
        by, usual = C.cell("spread_by", row), of("basis")
        all_priced = f'OR({percent}<>"",{of("priced")}={of("lines")})'
        by_price = f"IF(AND({all_priced},{price}>0),{NUMBER[Basis.PRICE]},{usual})"
        weights = f"SUM({LINES.span('weight', first, last)})"
        basis = _stated(by, _by_weight(weights, usual), usual)
        whole = _share_span(1, index, first, last)
        cells |= {
            "basis": Formula(f'IF(OR({by}="",{by}="{Basis.PRICE}"),{by_price},{basis})'),
            "weights": Formula(f"SUM({_share_span(0, index, first, last)})"),
            "left": Formula(f"ABS({own('units')})-SUM({whole})"),
            "from": Formula(_threshold(own("left"), _share_span(2, index, first, last))),
        }
    page.work(row, **cells)
