"""Single cells of a row, by the way their field is read."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from ...calc.money import plain, round_half_up
from ...calc.price_text import EACH, PriceWords
from ...calc.quantities import QuantityError, format_quantity, parse_quantity
from ...calc.units import UnitError, find_unit
from ...forms.prices import per_text_of
from ...queries.quantities import parsed
from ..cells import NUMBER_PLACES, CellError
from ..faults import shown
from .cells import Cell, cell_text, tag_of
from .dates import read_date
from .fields import Field, field_of
from .guess import plain_word
from .mapping import OWN_UNIT, MappedColumn, Mapping
from .numbers import read_digits, read_number, read_price
from .words import CHOICES

_REMARK = re.compile(r"(.*\S)\s*\(([^()]{1,200})\)")
_AMOUNT = re.compile(r"(\d[\d.,' \u00a0]*?)(?=\s*[a-z\"'@]|$)(.*)", re.IGNORECASE | re.DOTALL)
_COUNTED = re.compile(r"(\d+(?:\.\d+)?)\s*([^\W\d_].*)")
_CLOCK = re.compile(r"(\d{1,3})\s*(?::|h|hrs?|hours?)\s*(\d{1,2})?\s*(?:m|min|minutes?)?", re.I)
_MINUTES = re.compile(r"(\d{1,4})\s*(?:m|min|mins|minutes?)", re.IGNORECASE)
_HOURS_WORD = re.compile(r"\s*(?:h|hr|hrs|hour|hours)\.?$", re.IGNORECASE)


@dataclass
class RowRead:
    """What a row says. ``skip``: why it should be left out; ``faults``: field and sentence.

    ``refused``: a quantity that was not understood, ``offers`` what it might mean.
    """

    values: dict[str, Any] = field(default_factory=dict)
    faults: list[list[str]] = field(default_factory=list)
    skip: str = ""
    refused: str = ""
    offers: tuple[str, ...] = ()

    def fault(self, key: str, sentence: str) -> None:
        """Add a fault, one for each field."""
        if not any(known == key for known, _ in self.faults):
            self.faults.append([key, sentence])


class CellReaders:
    """One method for each way of reading; each puts its value into the row, or raises CellError."""

    def __init__(self, mapping: Mapping):
        self.mapping = mapping
        self.by_how: dict[str, Callable[[RowRead, Field, Cell, MappedColumn | None], None]] = {
            "date": self._date, "name": self._text, "text": self._text, "note": self._text,
            "contents": self._text,
            "unit": self._unit, "price": self._price, "total": self._price, "charge": self._price,
            "percent": self._percent, "hours": self._hours, "distance": self._distance,
            "quantity": self._quantity, "source": self._choice, "obtained": self._choice,
            "state": self._choice, "labour": self._choice,
        }  # fmt: skip

    def _date(self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None) -> None:
        order = column.day_first if column else None
        found.values[each.key] = read_date(cell, order, self.mapping.options["year"]).isoformat()

    def _text(self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None) -> None:
        text = cell_text(cell)
        if len(text) > each.max_length:
            raise CellError(
                f"The text has {len(text):,} signs: shorten it to {each.max_length} or fewer."
            )
        if text:
            remark = found.values.get(each.key) if each.how == "note" else ""
            found.values[each.key] = f"{text}; {remark}"[: each.max_length] if remark else text

    def _unit(self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None) -> None:
        text = cell_text(cell).strip(" .")
        if text.casefold().startswith("per "):
            text = text[4:]
        text = self.mapping.options["units"].get(plain_word(text)) or text
        try:
            found.values[each.key] = find_unit(text).symbol
        except UnitError as error:
            raise CellError(str(error)) from None

    def _quantity(
        self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None
    ) -> None:
        if tag_of(cell) in ("d", "t", "b"):
            raise CellError(
                f"The cell holds {shown(cell_text(cell))}instead of a quantity. "
                "Spreadsheet programs turn text like 1/2 or 3-4 into a date. Enter it "
                "like 12 ft."
            )
        text, mark = cell_text(cell), column.mark if column else ""
        if match := _REMARK.fullmatch(text):
            text = match[1]
            _add_note(found, match[2])
        unit = found.values.get("unit", "")
        text = self._known_unit(_plain_amount(cell, text, mark))
        try:
            own = parsed(text)
        except QuantityError as error:
            bare = _bare_number(text)
            if bare is None:
                # What it could mean depends on what it is of: see ``resolve``.
                found.refused, found.offers = text, error.offers
                raise CellError(str(error)) from None
            if bare <= 0:
                raise CellError(f"{shown(text)} is zero: enter a quantity above zero.") from None
            found.values[each.key] = self._with_unit(found, text, unit, column)
            return
        counted = own.unit.symbol
        if unit and unit != counted and not own.size.equivalences:
            raise CellError(
                f"The quantity says {shown(text)}, the unit beside it {shown(unit)}: correct one"
                " of them."
            )
        if own.count <= 0:
            raise CellError(f"{shown(text)} is zero: enter a quantity above zero.")
        found.values[each.key] = own.text

    def _known_unit(self, text: str) -> str:
        """“12 Stk” with the unit that was said to be meant by its word."""
        match = _COUNTED.fullmatch(text)
        meant = self.mapping.options["units"].get(plain_word(match[2].strip(" ."))) if match else ""
        if match is None or not meant:
            return text
        return format_quantity(Decimal(match[1]), find_unit(meant))

    def _with_unit(
        self, found: RowRead, number: str, unit: str, column: MappedColumn | None
    ) -> str:
        if any(key == "unit" for key, _ in found.faults):
            found.values["bare"] = True
            return number
        chosen = unit or (column.unit if column else "") or self.mapping.options["unit"]
        if chosen == OWN_UNIT:
            found.values["bare"] = True
            return number
        if not chosen:
            raise CellError(
                f"{shown(number)} has no unit: enter it like {number} ft or {number} "
                "pieces, or choose above what numbers without a unit are."
            )
        try:
            # As one would write it: 4 pieces, not 4 piece.
            return parsed(format_quantity(Decimal(number), find_unit(chosen))).text
        except QuantityError as error:
            raise CellError(str(error)) from None

    def _price(self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None) -> None:
        mark, named = (column.mark, column.currency) if column else ("", "")
        own = bool(column and column.own_money)
        price = read_price(cell, "" if own else self.mapping.currency, mark, named)
        if price.remark:
            _add_note(found, price.remark)
        per, is_one = price.per, bool(price.per or price.is_each)
        if is_one and each.key == "total" and "unit_price" not in found.values:
            # In a column of both, a price of one is what its writer says it is.
            each = field_of(self.mapping.kind, "unit_price") or each
        if price.is_total and each.how == "price":
            whole = field_of(self.mapping.kind, "total")
            if whole is None or "total" in found.values:
                raise CellError(
                    f"{shown(cell_text(cell))} is the price of all of it, but this column "
                    "holds prices of one. Enter what one costs."
                )
            each = whole
        if each.how == "price" and (price.is_each or price.per.isdigit()):
            words = PriceWords("", price.per or EACH)
            per = per_text_of(words, found.values.get("quantity", ""))
        if each.how != "price" and is_one:
            raise CellError(
                f"{shown(cell_text(cell))} is a price per {price.per or 'piece'}, but "
                "this column holds prices of whole lines. Enter the price of the line."
            )
        if price.value is None:
            found.values.setdefault("unknown", []).append(each.key)
            return
        places = NUMBER_PLACES if each.how == "price" else self.mapping.places
        found.values[each.key] = plain(round_half_up(price.value, places))
        if each.how == "price":
            per = per or (column.unit if column and column.unit else "")
            if per:
                found.values["per"] = per

    def _percent(
        self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None
    ) -> None:
        text = cell_text(cell)
        is_text = tag_of(cell) == "s"
        value = read_number(
            text.strip().removesuffix("%").strip() if is_text else cell,
            column.mark if column else "",
            "The percentage",
        )
        if not 0 <= value <= (100 if each.key == "usable" else 1000):
            raise CellError(f"{shown(text)} cannot be a percentage here: enter it like 85.")
        if 0 < value < 1 and "%" not in text:
            raise CellError(
                f"{shown(text)} is below 1%: enter {plain(value * 100)} for {plain(value * 100)}%."
            )
        found.values[each.key] = plain(round_half_up(value, 4))

    def _hours(self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None) -> None:
        text = cell_text(cell)
        if tag_of(cell) == "t":
            value = Decimal(int(cell[1])) / 3600
        elif match := _MINUTES.fullmatch(text.strip()):
            value = Decimal(int(match[1])) / 60
        elif (match := _CLOCK.fullmatch(text.strip())) and match[2]:
            if int(match[2]) > 59:
                raise CellError(f"{shown(text)} has more than 59 minutes: enter it like 4.5.")
            value = int(match[1]) + Decimal(int(match[2])) / 60
        else:
            number = _HOURS_WORD.sub("", text) if tag_of(cell) == "s" else cell
            value = read_number(number, column.mark if column else "", "The hours")
        value = round_half_up(value, 4)
        if value <= 0:
            raise CellError(f"{shown(text)} is no work: enter more than 0, or leave the row out.")
        if value > 10_000:
            raise CellError(f"{shown(text)} is too long for one entry: check the number.")
        found.values[each.key] = plain(value)

    def _distance(
        self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None
    ) -> None:
        text = _plain_amount(cell, cell_text(cell), column.mark if column else "")
        unit = find_unit((column.unit if column else "") or self.mapping.distance_unit)
        try:
            distance = parse_quantity(text, unit)
        except QuantityError as error:
            raise CellError(str(error)) from None
        if distance.unit.dimension is not unit.dimension:
            raise CellError(f"{shown(text)} is not a distance: enter it like 84 mi.")
        if distance.count:
            bare = _bare_number(text) is not None
            found.values[each.key] = f"{text} {unit.symbol}" if bare else distance.text

    def _choice(self, found: RowRead, each: Field, cell: Cell, column: MappedColumn | None) -> None:
        words, hint = CHOICES[each.how]
        text = cell_text(cell)
        value = words.get(text.casefold().strip(" .!"))
        if value is None:
            raise CellError(f"{shown(text)} is not known here: enter {hint}.")
        if each.how == "source":
            found.values["source"], how = str(value[0]), str(value[1])
            if how:
                found.values.setdefault("obtained_by", how)
        else:
            found.values[each.key] = str(value)


def _add_note(found: RowRead, remark: str) -> None:
    known = found.values.get("note", "")
    found.values["note"] = f"{known}; {remark}" if known else remark


def _plain_amount(cell: Cell, text: str, mark: str) -> str:
    """The text with the number it begins with written plainly. Raises CellError."""
    if tag_of(cell) == "n":
        return text
    match = _AMOUNT.fullmatch(text)
    if match is None or not re.search(r"[.,']", match[1]):
        return text
    return f"{plain(read_digits(match[1].strip(), mark))}{match[2]}"


def _bare_number(text: str) -> Decimal | None:
    try:
        return read_number(text)
    except CellError:
        return None
