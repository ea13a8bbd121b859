"""The sheets of workings and their columns.

Rows of “Workings lines”, “Workings shares” and “Workings charges” have the numbers of the rows
of Purchases and Charges they belong to, those of “Workings conversions” and “Workings
components” likewise; the others are in the order of the components, so that what belongs to one
stands together and can be summed without searching.
"""

from ...calc.types import Basis
from ...choices import Fate
from ..columns import Kind
from .refs import Grid, Heading

AMOUNT, RATE, TEXT = Kind.AMOUNT, Kind.RATE, Kind.TEXT
# Formulas name a basis by its number.
NUMBER = {basis: number for number, basis in enumerate(Basis, 1)}


def _numbered(*bases: Basis) -> str:
    return ", ".join(f"{NUMBER[basis]} {basis}" for basis in bases)


def heading(key: str, title: str, kind: Kind = Kind.NUMBER, width: int = 12) -> Heading:
    """A column of workings."""
    return Heading(key, title, kind, width)


PRICES = Grid(
    "Workings prices",
    (
        heading("component", "Component", TEXT, 28),
        heading("on", "Priced on", Kind.DATE),
        heading("price", "New price of one base unit", RATE),
        heading("early", "Priced on, where not after the day of the cost sheet", Kind.DATE),
    ),
)
PURCHASES = Grid(
    "Workings purchases",
    (
        heading("purchase", "Purchase", TEXT),
        heading("date", "Date", Kind.DATE),
        heading("state", "State", TEXT),
        heading("lines", "Lines"),
        heading("price", "Known price", AMOUNT),
        heading("charges", "Charges", AMOUNT),
        heading("landed", "Landed cost", AMOUNT),
        heading("priced", "Lines with a known price"),
        heading("valued", "Lines with a retail value"),
        heading("value", "Retail value"),
        heading(
            "basis",
            f"Basis where the stated one fails ({_numbered(Basis.RETAIL_VALUE, Basis.EQUAL)})",
        ),
        heading("lot", "Lot price in minor units"),
        heading("lot_lines", "Lines in the lot"),
        heading(
            "lot_basis",
            f"Basis of the lot ({_numbered(*(one for one in Basis if one != Basis.PRICE))})",
        ),
        heading("lot_weights", "Sum of weights"),
        heading("lot_left", "Units left over"),
        heading("lot_from", "Lowest rank that gets one more", width=20),
        heading("payer", "Paid by", TEXT),
    ),
)
LINES = Grid(
    "Workings lines",
    (
        heading("purchase", "Purchase", TEXT),
        heading("component", "Component", TEXT, 28),
        heading("count", "First number of the quantity"),
        heading("qty", "Quantity in the base unit"),
        heading("price", "Price", AMOUNT),
        heading("known", "Known price", AMOUNT),
        heading("charges", "Charges", AMOUNT),
        heading("landed", "Landed cost", AMOUNT),
        heading("usable", "Usable quantity"),
        heading("price_then", "New price around that day", RATE),
        heading("retail_value", "Retail value", RATE),
        heading("weight", "Lot weight"),
        heading("in_lot", "In the lot"),
        heading("lot_weight", "Weight in the lot"),
        heading("lot_whole", "Whole units of the lot"),
        heading("lot_rank", "Rank of the rest", width=20),
    ),
)
CHARGES = Grid(
    "Workings charges",
    (
        heading("purchase", "Purchase", TEXT),
        heading("exact", "Amount before rounding", RATE),
        heading("units", "Amount in minor units"),
        heading("amount", "Amount", AMOUNT),
        heading("basis", f"Basis ({_numbered(*Basis)})"),
        heading("weights", "Sum of weights"),
        heading("left", "Units left over"),
        heading("from", "Lowest rank that gets one more", width=20),
    ),
)
CONVERSIONS = Grid(
    "Workings conversions",
    (
        heading("conversion", "Conversion", TEXT),
        heading("source", "From", TEXT, 28),
        heading("component", "To", TEXT, 28),
        heading("used", "Used, in the base unit"),
        heading("value", "Value of what was used", RATE),
        heading("extra", "Extra cost", AMOUNT),
        heading("whole", "Value and extra cost", RATE),
        heading("made", "Made, in the base unit"),
        heading("price_then", "New price around that day", RATE),
        heading("retail_value", "Retail value", RATE),
        heading("cost", "Cost handed on", RATE),
        heading("unknown", "Cost not known"),
    ),
)

SHARES = Grid("Workings shares")
COMPONENTS = Grid(
    "Workings components",
    (
        heading("component", "Component", TEXT, 28),
        heading("unit", "Unit when written", TEXT),
        heading("contents", "Contents when written", TEXT, 20),
        heading("same", "1: both as when written"),
        heading("new_per_one", "New quantity per one"),
        heading("price", "New price of one base unit", RATE),
        heading("bought_new", "Landed cost of one bought new", RATE),
        heading("new", "New, doing the work of one, with tax", RATE),
        heading("received", "Received, usable"),
        heading("received_cost", "Landed cost received", AMOUNT),
        heading("unknown", "Lines and conversions without a known cost"),
        heading("ordered", "Ordered, usable"),
        heading("ordered_cost", "Landed cost ordered", AMOUNT),
        heading("made", "Converted in"),
        heading("made_cost", "Cost converted in", RATE),
        heading("moved_in", "Moved in"),
        heading("moved_in_cost", "Cost moved in", AMOUNT),
        heading("known_average", "Average landed cost, as far as known", RATE),
        heading("average", "Average landed cost", RATE),
        heading("used", "Converted out"),
        heading("used_cost", "Cost converted out", RATE),
        *(heading(fate.name.lower(), fate.label) for fate in Fate),
        heading("moved_value", "Value moved out", RATE),
        heading("proceeds", "Proceeds", AMOUNT),
        heading("in_building", "In the building"),
        heading("money", "Known money in the building", RATE),
        heading("cost", "Material cost", RATE),
        heading("worth", "Retail equivalent of one", RATE),
        heading("retail", "Retail equivalent", RATE),
        heading("savings", "Savings", RATE),
        heading("counts", "1: compared with new"),
        heading("counted_cost", "Material cost compared", RATE),
        heading("counted_retail", "Retail equivalent compared", RATE),
        heading("left_out", "1: left out for want of a new price"),
        heading("needed", "Still needed"),
        heading("low", "Still needed, at prices so far", RATE),
        heading("high", "Still needed, new", RATE),
        heading("unforecast", "1: needed and without any price"),
    ),
)
STOCK = Grid(
    "Workings stock",
    (
        heading("component", "Component", TEXT, 28),
        heading("what", "What happened", TEXT),
        heading("number", "Purchase or conversion", TEXT),
        heading("state", "State or fate", TEXT),
        heading("source", "Source", TEXT),
        heading("qty", "Usable quantity in the base unit"),
        heading("cost", "Landed cost, cost handed on, value used, or proceeds", RATE, 18),
        heading("unknown", "1: cost not known"),
        heading("value", "Value stated of what was moved", AMOUNT),
        heading("valued", "Quantity moved at a stated value"),
        heading("worth", "Retail equivalent of what came in", RATE),
        heading("compared", "1: compared with new"),
    ),
)
# The totals first, then a row for each element.
TOTALS = Grid(
    "Workings totals",
    (
        heading("name", "Figure or element", TEXT, 44),
        heading("value", "Unrounded, or material cost", RATE, 18),
        heading("counts", "Components compared with new"),
        heading("counted_cost", "Material cost compared", RATE),
        heading("counted_retail", "Retail equivalent compared", RATE),
    ),
)
WORKINGS: tuple[Grid, ...] = (
    TOTALS, COMPONENTS, STOCK, PURCHASES, LINES, CHARGES, SHARES, CONVERSIONS, PRICES,
)  # fmt: skip
# Left out where there are too many purchase lines.
BY_LINE: tuple[Grid, ...] = (PURCHASES, LINES, CHARGES, SHARES)
