"""What the columns of a table were said to be, and the settings that go with them.

Kept as JSON: ``columns`` by place in the file, each ``{"field", "day_first", "mark"}``, and
``options``. Between imports columns are remembered by their headings.
"""

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any

from ...choices import State
from ...models import TableKind
from .fields import FIELDS, NUMERIC, Field, field_of
from .guess import guess_columns
from .numbers import may_be
from .trade_words import UNITS as TRADE_UNITS
from .words import CHOICES

OPTIONS: dict[str, Any] = {
    # A unit for numbers that have none; OWN_UNIT is that of the component.
    "unit": "",
    "quantity": "",
    "year": None,
    "date": "",
    "source": "",
    "state": State.RECEIVED.value,
    "supplier": "",
    "paid_by": "",
    "person": "",
    "labour": "",
    # An empty date, supplier … repeats the row above.
    "repeat": False,
    # Rows of one day and supplier become one purchase.
    "together": True,
    # Where price of one × quantity and the whole price differ: ask, each or total.
    "differ": "ask",
    # Whether whole prices hold the tax that stands beside them: on top or included.
    "taxed": "",
    # What words mean that are no units here, by the word.
    "units": {},
    # Whether rows are taken in that the sheet strikes out or hides.
    "struck": False,
    "hidden": False,
}
# What holds for one file only, and is said anew for the next.
_OF_ONE_FILE = frozenset({"date", "struck", "hidden"})
# Ways of reading that take money.
_MONEY = frozenset({"price", "total", "charge"})
OWN_UNIT = "own"


@dataclass(frozen=True)
class MappedColumn:
    """One column that is read."""

    place: int
    field: Field
    day_first: bool | None = None
    mark: str = ""
    unit: str = ""
    currency: str = ""
    heading: str = ""
    # Amounts with another currency's sign were said to be in the build's own.
    own_money: bool = False


@dataclass(frozen=True)
class Mapping:
    """All of it, ready for reading rows. ``by_field``: columns of a field in file order."""

    kind: str
    currency: str
    places: int
    distance_unit: str
    by_field: dict[str, list[MappedColumn]]
    options: dict[str, Any]
    headings: tuple[tuple[int, str], ...] = field(default=())

    @property
    def fields(self) -> tuple[Field, ...]:
        """All fields of the kind of table."""
        return FIELDS[self.kind]

    def column(self, key: str) -> MappedColumn | None:
        """The first column of a field."""
        return next(iter(self.by_field.get(key, ())), None)


def make_mapping(
    kind: str,
    stored: dict[str, Any],
    profile: Sequence[dict[str, Any]],
    *,
    currency: str,
    places: int,
    distance_unit: str,
) -> Mapping:
    """The stored mapping with what the headings say."""
    by_field: dict[str, list[MappedColumn]] = {}
    for place, column in enumerate(stored.get("columns", ())):
        found = field_of(kind, column.get("field", ""))
        if found is None or place >= len(profile):
            continue
        seen = profile[place]
        by_field.setdefault(found.key, []).append(
            MappedColumn(
                place,
                found,
                column.get("day_first"),
                column.get("mark", ""),
                seen["unit"],
                seen["currency"],
                seen["heading"],
                column.get("money") == "build",
            )
        )
    headings = tuple(
        (column.place, column.heading.casefold())
        for columns in by_field.values()
        for column in columns
    )
    options = OPTIONS | stored.get("options", {})
    return Mapping(kind, currency, places, distance_unit, by_field, options, headings)


def headings_key(profile: Sequence[dict[str, Any]]) -> str:
    """The set of headings, whatever their order."""
    keys = sorted(column["key"] for column in profile)
    return hashlib.sha256("\n".join(keys).encode()).hexdigest()


def propose(
    kind: str, profile: Sequence[dict[str, Any]], remembered: dict[str, Any] | None
) -> dict[str, Any]:
    """A mapping to begin with: the one remembered for these headings, or a guess."""
    if remembered is not None:
        known = remembered.get("by_heading", {})
        columns = [dict(known.get(column["key"], {"field": ""})) for column in profile]
        return {"columns": columns, "options": OPTIONS | remembered.get("options", {})}
    guessed = guess_columns(kind, profile)
    columns = []
    for place, column in enumerate(profile):
        found = field_of(kind, guessed.get(place, ""))
        columns.append({"field": found.key if found else "", **propose_styles(column, found)})
    options = dict(OPTIONS)
    quantity = next((p for p, key in guessed.items() if key == "quantity"), None)
    if quantity is not None:
        options["unit"] = profile[quantity]["unit"]
    by_field = {key: profile[place] for place, key in guessed.items()}
    options["units"] = {
        word: TRADE_UNITS[word]
        for key, column in by_field.items()
        for word in strange_units(column, field_of(kind, key))
        if word in TRADE_UNITS
    }
    if day := by_field.get("date"):
        rows = max((column["filled"] for column in profile), default=0)
        options["repeat"] = day["filled"] * 5 < rows * 4
    return {"columns": columns, "options": options}


def propose_styles(column: dict[str, Any], found: Field | None) -> dict[str, Any]:
    """What the rows that can be read in one way only say of those that could be read in two."""
    styles: dict[str, Any] = {}
    if found is None:
        return styles
    dates, numbers = column["dates"], column["numbers"]
    if found.how == "date" and bool(dates.get("day")) != bool(dates.get("month")):
        styles["day_first"] = bool(dates.get("day"))
    if found.how in NUMERIC and bool(numbers.get("point")) != bool(numbers.get("comma")):
        styles["mark"] = "." if numbers.get("point") else ","
    return styles


def asks_day_order(column: dict[str, Any], found: Field | None) -> bool:
    """Whether a column holds days that can be read in two ways."""
    if found is None or found.how != "date":
        return False
    return bool(column["dates"].get("either") or column["dates"].get("no year"))


def asks_mark(column: dict[str, Any], found: Field | None) -> bool:
    """Whether a column holds numbers that can be read in two ways."""
    return found is not None and found.how in NUMERIC and bool(column["numbers"].get("either"))


def foreign_money(column: dict[str, Any], found: Field | None, currency: str) -> dict[str, int]:
    """Signs of other currencies by how many amounts of a column show them."""
    if found is None or found.how not in _MONEY:
        return {}
    seen = dict(column.get("money", {}))
    if column["currency"]:
        seen = {column["currency"]: column["filled"]} | seen
    return {sign: n for sign, n in seen.items() if not may_be(sign, currency)}


def money_question(column: dict[str, Any], found: Field | None, currency: str) -> str:
    """The help to the question which currency amounts are in, empty when it need not be asked."""
    signs = foreign_money(column, found, currency)
    said = " and ".join(
        f"{sign} ({count:,} of {column['filled']:,})" for sign, count in signs.items()
    )
    return f"Amounts here show {said}. This build counts in {currency}." if said else ""


def remember(profile: Sequence[dict[str, Any]], mapping: dict[str, Any]) -> dict[str, Any]:
    """A mapping by headings instead of places, without what holds for one file only."""
    pairs = zip(profile, mapping["columns"], strict=True)
    options = {key: value for key, value in mapping["options"].items() if key not in _OF_ONE_FILE}
    by_heading = {
        column["key"]: {key: value for key, value in said.items() if key != "money"}
        for column, said in pairs
    }
    return {"by_heading": by_heading, "options": options}


# Options that are asked for each kind of table, and fields that an option stands in for.
SHOWN = {
    TableKind.PURCHASES: "unit quantity source state supplier paid_by date differ repeat together",
    TableKind.COMPONENTS: "unit repeat",
    TableKind.HOURS: "person labour date repeat",
    TableKind.PRICES: "supplier date repeat",
}


def shown_options(
    kind: str, profile: Sequence[dict[str, Any]], columns: Collection[str] = ()
) -> list[str]:
    """Options that matter for a table whose columns are these fields."""
    shown = SHOWN[TableKind(kind)].split()
    if _asks_taxed(columns):
        shown.append("taxed")
    if any(column["dates"].get("no year") for column in profile):
        shown.append("year")
    return shown


def mapping_faults(
    kind: str, profile: Sequence[dict[str, Any]], mapping: dict[str, Any], currency: str
) -> list[tuple[str, str]]:
    """What is still to be said before rows can be read: name of the form's field and sentence.

    ``currency``: the build's.
    """
    faults: list[tuple[str, str]] = []
    used: dict[str, int] = {}
    for place, said in enumerate(mapping["columns"]):
        found, column = field_of(kind, said.get("field", "")), profile[place]
        if found is None:
            continue
        if found.key in used and found.how != "note":
            other = profile[used[found.key]]["heading"]
            faults.append(
                (f"field_{place}", f"The column “{other}” is that already: choose one of them.")
            )
        used.setdefault(found.key, place)
        faults += _unsaid(place, column, found, said, currency)
        faults += _unread(place, column, found, OPTIONS | mapping["options"])
    faults += _for_all(kind, profile, mapping, used)
    for found in FIELDS[kind]:
        given = mapping["options"].get(found.key)
        if found.needed and found.key not in used and not given:
            option = found.key if found.key in SHOWN[TableKind(kind)].split() else ""
            say = ", or choose below what applies to all rows" if option else ""
            faults.append((option, f"No column is “{found.label}”: choose the one that is{say}."))
    for key, what in (("source", "Source"), ("labour", "Kind of work")):
        asked = key in SHOWN[TableKind(kind)].split() and key not in used
        if asked and not mapping["options"].get(key):
            faults.append((key, f"{what} has no column: choose one value for all rows."))
    return faults


def _unsaid(
    place: int, column: dict[str, Any], found: Field, said: dict[str, Any], currency: str
) -> list[tuple[str, str]]:
    """What can be read in two ways and was not answered."""
    faults = []
    if asks_day_order(column, found) and said.get("day_first") is None:
        faults.append(
            (f"day_{place}", "Choose day or month first: some dates here can be read in two ways.")
        )
    if asks_mark(column, found) and not said.get("mark"):
        faults.append(
            (f"mark_{place}", "Choose the decimal separator: some numbers can be read in two ways.")
        )
    if foreign_money(column, found, currency) and not said.get("money"):
        faults.append((f"money_{place}", "Choose the currency of these amounts."))
    return faults


def _for_all(
    kind: str, profile: Sequence[dict[str, Any]], mapping: dict[str, Any], used: dict[str, int]
) -> list[tuple[str, str]]:
    """Questions about all rows at once."""
    faults: list[tuple[str, str]] = []
    options = mapping["options"]
    if _asks_taxed(used) and "unit_price" not in used and not options.get("taxed"):
        faults.append(("taxed", "Choose whether whole prices include the tax beside them."))
    quantity = profile[used["quantity"]] if "quantity" in used else None
    if quantity is not None and "unit" not in used and not options.get("unit"):
        bare = quantity.get("kinds", {}).get("bare", 0)
        if quantity["filled"] and bare == quantity["filled"] and not quantity["unit"]:
            faults.append(("unit", "No quantity here has a unit: choose what the numbers count."))
    return faults


def strange_units(column: dict[str, Any], found: Field | None) -> list[str]:
    """Words where units stand that are none known here."""
    if found is None or found.how not in ("unit", "quantity"):
        return []
    return list(column.get("units", ()))


def _asks_taxed(columns: Collection[str]) -> bool:
    # A price with tax beside both tells by itself.
    return {"total", "tax"} <= set(columns) and "gross" not in columns


def _unread(
    place: int, column: dict[str, Any], found: Field, options: dict[str, Any]
) -> list[tuple[str, str]]:
    """What would fault every row of a column, asked once instead."""
    kinds = column.get("kinds")
    if kinds is None or column["filled"] == kinds.get("unreadable", 0):
        return []
    dates, numbers = sum(column["dates"].values()), sum(column["numbers"].values())
    name, heading = f"field_{place}", column["heading"]
    if found.how in CHOICES and not kinds.get(found.how):
        hint = CHOICES[found.how][1]
        return [(name, f"Nothing in “{heading}” is {hint}: choose what it is, or Not read.")]
    if found.how == "date" and not dates and not numbers:
        return [(name, f"Nothing in “{heading}” is a date: choose what it is, or Not read.")]
    if found.how in ("price", "total", "charge") and not kinds.get("price"):
        return [(name, f"Nothing in “{heading}” is a price: choose what it is, or Not read.")]
    if found.how == "unit" and not kinds.get("unit"):
        known = any(options["units"].get(word) for word in column.get("units", ()))
        if not known:
            field = f"unitword_{place}_0" if column.get("units") else name
            return [(field, f"No unit in “{heading}” is known here: choose what its words mean.")]
    return []


def evidence(column: dict[str, Any], styles: dict[str, int], words: dict[str, str]) -> str:
    """A sentence on what the other cells of a column tell."""
    reasons = [
        f"{styles[key]:,} can only be {said}" for key, said in words.items() if styles.get(key)
    ]
    example = column["examples"]
    either = (
        example.get("date either") or example.get("number either") or example.get("date no year")
    )
    begin = f"{either} can be read in two ways. " if either else ""
    if reasons:
        return f"{begin}Of the others, {' and '.join(reasons)}."
    return f"{begin}No other cell helps."


def day_question(column: dict[str, Any], found: Field | None) -> str:
    """The help to the question which comes first, empty when it need not be asked."""
    dates = column["dates"]
    count = dates.get("either", 0) + dates.get("no year", 0)
    looks = sum(dates.values()) * 2 >= (column["filled"] or 1)
    if not count or not (asks_day_order(column, found) or (found is None and looks)):
        return ""
    return evidence(column, dates, {"day": "day first", "month": "month first"})


def mark_question(column: dict[str, Any], found: Field | None) -> str:
    """The help to the question what marks decimals, empty when it need not be asked."""
    if not asks_mark(column, found):
        return ""
    words = {"point": "with a decimal point", "comma": "with a decimal comma"}
    return evidence(column, column["numbers"], words)
