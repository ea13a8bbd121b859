"""What a column of somebody's table can be, and the words people head such columns with."""

from dataclasses import dataclass, replace

from ...models import TableKind
from .trade_words import HEADINGS


@dataclass(frozen=True)
class Field:
    """One thing a column can hold. ``how``: the way its cells are read.

    ``repeats``: an empty cell may stand for the one above it. ``words``: headings, the plainest
    first; each is a set of words that may stand in any order.
    """

    key: str
    label: str
    how: str = "text"
    words: str = ""
    needed: bool = False
    repeats: bool = False
    max_length: int = 0


_DATE = (
    "date|day|when|bought|bought on|date bought|purchase date|date purchased|"
    "purchased|order date|acquired|date acquired|picked up|on"
)
_WHERE = (
    "supplier|vendor|store|shop|seller|where|where from|where bought|from|"
    "bought from|bought at|yard|merchant|dealer|place|retailer|company|"
    "purchased from|got from|source of material|who from|location|payee|paid to|source"
)
_ITEM = (
    "item|component|description|material|materials|what|product|article|part|name|"
    "item name|item description|thing|stuff|goods|things|items|details|desc"
)
_QTY = (
    "quantity|qty|how many|how much|count|number|no|pcs|pieces|units|no of|"
    "number of|#|quant|amount bought|qnty|quan"
)
_UNIT = "unit|uom|units|measure|unit of measure|um|per unit|size unit|in"
_EACH = (
    "price each|unit price|price per unit|each|price|cost each|unit cost|rate|"
    "price ea|cost per|cost per unit|price per|ea|cost/unit|price/unit|per piece|"
    "price per piece|@|per each|$ each|$ ea"
)
_TOTAL = (
    "total|total price|total cost|cost|line total|amount|sum|subtotal|paid|"
    "amount paid|price paid|total paid|spent|value|extended|ext price|line price|"
    "cost total|price total|$|money|we paid|i paid|ext"
)
_LINK = "links|link|url|web page|web address"
_NOTE = "note|notes|comment|comments|remark|remarks|memo|details|other|info|misc|" + _LINK
_PAYER = (
    "who paid|paid by|payer|paid|whose money|who bought|bought by|by|purchased by|"
    "purchaser|buyer|card|account"
)
_PERSON = "person|who|name|worker|by|by whom|builder|helper|people|labourer|laborer|employee"

PURCHASES = (
    Field("date", "Date", "date", _DATE, needed=True, repeats=True),
    Field("supplier", "Supplier", "name", _WHERE, repeats=True, max_length=120),
    Field(
        "receipt",
        "Receipt number",
        "text",
        (
            "receipt|receipt no|receipt number|receipt #|invoice|invoice no|invoice number|"
            "order|order no|order number|ref|reference|ticket|bill|po|rcpt"
        ),
        repeats=True,
        max_length=80,
    ),
    Field("item", "Component: what you got", "name", _ITEM, needed=True, max_length=120),
    Field("quantity", "Quantity", "quantity", _QTY, needed=True),
    Field("unit", "Unit of the quantity", "unit", _UNIT),
    Field("unit_price", "Price of one", "price", _EACH),
    Field("total", "Price of the whole line", "total", _TOTAL),
    Field(
        "gross",
        "Price of the whole line, tax included",
        "total",
        (
            "price with tax|total with tax|cost with tax|with tax|total incl tax|incl tax|"
            "price incl tax|including tax|total including tax|inc tax|after tax|total after tax|"
            "gross|gross total|total paid with tax|plus tax"
        ),
    ),
    Field(
        "source",
        "Source: salvage, seconds or retail",
        "source",
        ("source|type|kind|category|new or used|new/used|condition|salvage|new|used|origin|class"),
        repeats=False,
    ),
    Field(
        "obtained_by",
        "Obtained by",
        "obtained",
        "obtained by|obtained|how|how got|how obtained|method|acquired by|acquired how",
    ),
    Field(
        "state",
        "State: offer, ordered, received",
        "state",
        "state|status|received|arrived|got it|delivered|stage|progress",
    ),
    Field("paid_by", "Who paid", "name", _PAYER, repeats=True, max_length=80),
    Field(
        "usable",
        "Usable, %",
        "percent",
        "usable|usable %|% usable|good|% good|yield|good %|usable share|percent usable",
    ),
    Field("tax", "Sales tax, amount", "charge", "tax|sales tax|vat|gst|hst|tax paid|taxes|pst"),
    Field(
        "haulage",
        "Haulage or delivery, amount",
        "charge",
        (
            "delivery|haulage|freight|shipping|hauling|gas|fuel|transport|delivery fee|"
            "delivery cost|shipping cost|postage|cartage"
        ),
    ),
    Field("discount", "Discount, amount", "charge", "discount|rebate|off|coupon|reduction|savings"),
    Field(
        "distance",
        "Distance driven",
        "distance",
        (
            "miles|mi|distance|miles driven|mileage|km|kilometres|kilometers|drive|trip|"
            "trip miles|round trip|miles there and back"
        ),
        repeats=False,
    ),
    Field("note", "Note", "note", _NOTE, max_length=500),
)
COMPONENTS = (
    Field("item", "Component", "name", _ITEM, needed=True, max_length=120),
    Field(
        "quantity",
        "Required quantity",
        "quantity",
        (
            "required|needed|need|qty needed|quantity needed|qty required|"
            "quantity required|to buy|planned|plan|estimate|estimated|"
        )
        + _QTY,
    ),
    Field("unit", "Unit", "unit", _UNIT),
    Field(
        "element",
        "Element, by code or name",
        "text",
        ("element|section|division|category|area|part of building|system|phase|trade|group|code"),
        repeats=True,
        max_length=120,
    ),
    Field(
        "contents",
        "What one holds",
        "contents",
        "contents|holds|pack size|size|per pack|coverage|covers|dimensions",
        max_length=500,
    ),
    Field(
        "waste",
        "Waste allowance, %",
        "percent",
        "waste|waste %|waste factor|allowance|overage|extra %|cutting waste",
    ),
    Field(
        "unit_price",
        "New price of one",
        "price",
        "new price|retail|retail price|list price|store price|market price|" + _EACH + "|cost",
    ),
    Field(
        "date",
        "Priced on",
        "date",
        "priced on|price date|date|checked|checked on|as of|when",
        repeats=True,
    ),
    Field(
        "supplier",
        "Priced at",
        "text",
        f"priced at|seen at|found at|{_WHERE}|{_LINK}",
        repeats=True,
        max_length=120,
    ),
    Field("note", "Note", "note", _NOTE, max_length=500),
)
HOURS = (
    Field(
        "date", "Date", "date", "date|day|when|worked on|work date|on", needed=True, repeats=True
    ),
    Field("person", "Person", "name", _PERSON, needed=True, repeats=True, max_length=80),
    Field(
        "task",
        "Task",
        "name",
        ("task|job|work|activity|what|doing|work done|description|project|what we did|what i did"),
        repeats=False,
        max_length=120,
    ),
    Field("labour", "Kind of work", "labour", "kind|type|kind of work|category|sort|class"),
    Field(
        "hours",
        "Hours",
        "hours",
        "hours|hrs|hr|time|hours worked|total hours|duration|time spent|h|length",
        needed=True,
    ),
    Field(
        "paid",
        "Paid for the work",
        "total",
        "paid|pay|wage|wages|amount paid|amount|cost|cash|earned|$",
    ),
    Field("note", "Note", "note", _NOTE, max_length=500),
)
PRICES = (
    Field("item", "Component", "name", _ITEM, needed=True, max_length=120),
    Field(
        "unit_price",
        "New price",
        "price",
        (
            "new price|price|retail|retail price|list price|cost|unit price|store price|"
            "each|rate|market price|quote|amount|$"
        ),
        needed=True,
    ),
    Field(
        "unit",
        "What the price is for",
        "unit",
        "per|unit|uom|units|price per|sold by|pack|sold per|unit of measure|measure",
    ),
    Field(
        "date",
        "Priced on",
        "date",
        "priced on|price date|date|checked|checked on|as of|when|quoted|updated",
        repeats=True,
    ),
    Field(
        "supplier",
        "Priced at",
        "text",
        f"priced at|seen at|found at|{_WHERE}|{_LINK}",
        repeats=True,
        max_length=120,
    ),
)
FIELDS: dict[str, tuple[Field, ...]] = {
    kind: tuple(
        replace(each, words=f"{each.words}|{HEADINGS[each.key]}") if each.key in HEADINGS else each
        for each in fields
    )
    for kind, fields in {
        TableKind.PURCHASES: PURCHASES,
        TableKind.COMPONENTS: COMPONENTS,
        TableKind.HOURS: HOURS,
        TableKind.PRICES: PRICES,
    }.items()
}
# Ways of reading that take numbers, whose decimal mark may have to be asked for.
NUMERIC = frozenset({"quantity", "price", "total", "charge", "percent", "hours", "distance"})


def field_of(kind: str, key: str) -> Field | None:
    """A field of a kind of table."""
    return next((field for field in FIELDS.get(kind, ()) if field.key == key), None)
