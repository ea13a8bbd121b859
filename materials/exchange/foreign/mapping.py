"""What the columns of a table were said to be, and the settings that go with them.

Kept as JSON: ``columns`` by place in the file, each ``{"field", "day_first", "mark"}``, and
``options``. Between imports columns are remembered by their headings.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from ...choices import State
from ...models import TableKind
from .fields import FIELDS, NUMERIC, Field, field_of
from .guess import guess_columns

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
}
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

    @property
    def default_date(self) -> date | None:
        """The day of rows that have none."""
        text = self.options["date"]
        return date.fromisoformat(text) if text else None


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


def remember(profile: Sequence[dict[str, Any]], mapping: dict[str, Any]) -> dict[str, Any]:
    """A mapping by headings instead of places. The day given for all rows is not kept."""
    pairs = zip(profile, mapping["columns"], strict=True)
    options = {key: value for key, value in mapping["options"].items() if key != "date"}
    return {"by_heading": {column["key"]: said for column, said in pairs}, "options": options}


def needs_source(kind: str) -> bool:
    """Whether rows of this kind need a source."""
    return kind == TableKind.PURCHASES
