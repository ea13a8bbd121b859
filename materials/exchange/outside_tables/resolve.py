"""Rows as read, against what the build holds: names, quantities, prices, doubles, purchases."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

from ...calc import uniformat
from ...calc.kinds import Kind, guess_kind, kind_of
from ...calc.money import MAX_AMOUNT, plain, round_half_up
from ...calc.quantities import (
    QuantityError,
    format_quantity,
    meanings,
    parse_contents,
    parse_quantity,
)
from ...calc.units import UNITS, find_unit
from ...models import NameKind
from ...queries.exchange import name_key
from ...queries.imports import Known, KnownComponent
from ...queries.price_book import distance_in
from ...queries.quantities import base_quantity, price_per, priced_units
from ..faults import shown
from .mapping import Mapping
from .names import Reference, names_in, unit_of
from .read_cells import RowRead


@dataclass
class Resolved:
    """A row ready for its state: what to compare it by, and the purchase it belongs to."""

    found: RowRead
    fingerprint: str = ""
    group: str = ""
    existing: str = ""
    compare: tuple[Any, ...] | None = None
    names: dict[str, Reference] = field(default_factory=dict)


class Resolver:
    """Resolves rows; ``refer`` finds the record of a name (kind, name, quantity for its unit)."""

    def __init__(self, mapping: Mapping, known: Known, refer: Callable[[str, str, str], Reference]):
        self.mapping, self.known, self.refer = mapping, known, refer
        self._bases: dict[tuple[str, str, str, str], Decimal] = {}

    def resolve(self, found: RowRead) -> Resolved:
        """Complete the values of a row, or add faults."""
        row = Resolved(found)
        values = found.values
        asked = self._ask_which(found)
        for kind, key, name in names_in(self.mapping, found):
            # A quantity that is asked about does not say what a new component is counted in.
            is_said = not values.get("bare") and not asked
            quantity = values.get("quantity", "") if is_said else ""
            unit = values.get("unit", "")
            hint = quantity or (f"1 {unit}" if unit and not asked else "")
            row.names[key] = self.refer(kind, name, hint if key == "item" else "")
        step = {
            "purchases": self._purchase,
            "components": self._component,
            "hours": self._hours,
            "prices": self._price,
        }[self.mapping.kind]
        step(row)
        return row

    def _ask_which(self, found: RowRead) -> bool:
        """Whether the quantity could mean several things of what it is of; then that is asked."""
        values = found.values
        text = found.refused or values.get("quantity", "")
        if not text or values.get("bare") or "item" not in values:
            return False
        part = self._part(values["item"])
        unit = (part.unit if part else "") or unit_of(text) or "piece"
        kind = (
            kind_of(part.kind, values["item"], part.unit, part.contents)
            if part
            else guess_kind(values["item"], "")
        )
        if offers := _meanings(text, kind, unit):
            said = " or ".join(offers)
            found.faults = [each for each in found.faults if each[0] != "quantity"]
            found.fault(
                "quantity", f"{shown(text)} could mean another quantity. Did you mean {said}?"
            )
        # What was refused says already what it might mean.
        if offers := offers or found.offers:
            values["offers"] = list(offers)
        return bool(offers)

    def _part(self, name: str) -> KnownComponent | None:
        """What is known of a component before this row; it may be the first to name it."""
        return self.refer(NameKind.COMPONENT, name, "").part

    def _purchase(self, row: Resolved) -> None:
        found, values = row.found, row.found.values
        item = row.names.get("item")
        quantity = self._quantity(row, item)
        price = self._line_price(row, item) if quantity is not None else None
        self._distance(row)
        self._lowered(row)
        if found.faults:
            return
        supplier = row.names.get("supplier")
        day = date.fromisoformat(values["date"])
        row.fingerprint = _digest(
            values["date"], supplier and supplier.tag, item and item.tag, quantity, price,
            values.get("receipt", ""),
        )  # fmt: skip
        if item and item.pk and (supplier is None or supplier.pk):
            row.compare = (day, supplier.pk if supplier else None, item.pk, quantity, price)
        payer = row.names.get("paid_by")
        row.group = _digest(
            values["date"], supplier and supplier.tag, values.get("receipt", ""),
            payer and payer.tag, values["state"],
        )  # fmt: skip

    def _component(self, row: Resolved) -> None:
        found, values = row.found, row.found.values
        item = row.names.get("item")
        if "element" in values:
            self._element(row)
        unit = values.get("unit") or self._own_unit(values) or self.mapping.options["unit"]
        if not unit or unit == "own":
            found.fault("unit", "This is missing: enter a unit, like piece, ft or gal.")
            return
        values["unit"] = unit
        contents = values.get("contents", "")
        try:
            parse_contents(contents)
        except QuantityError as error:
            found.fault("contents", str(error))
            contents = ""
        part = KnownComponent(None, values.get("item", ""), unit, contents)
        if "quantity" in values and "offers" not in values:
            if values.pop("bare", False):
                values["quantity"] = f"{values['quantity']} {unit}"
            try:
                values["base"] = str(base_quantity(values["quantity"], part))
            except QuantityError as error:
                found.fault("quantity", str(error))
        self._new_price(row, part)
        if item and item.pk:
            row.existing = f"{shown(values['item'])} exists already and stays as it is."
        elif item:
            row.fingerprint = _digest(item.tag)

    def _hours(self, row: Resolved) -> None:
        values = row.found.values
        if row.found.faults:
            return
        person, task = row.names["person"], row.names.get("task")
        hours = Decimal(values["hours"])
        row.fingerprint = _digest(values["date"], person.tag, task and task.tag, hours)
        if person.pk and (task is None or task.pk):
            day = date.fromisoformat(values["date"])
            row.compare = (day, person.pk, task.pk if task else None, round_half_up(hours, 4))

    def _price(self, row: Resolved) -> None:
        values, item = row.found.values, row.names.get("item")
        if "unit_price" not in values and "unknown" in values:
            row.found.fault("unit_price", "A price list needs prices: leave the row out.")
        if item is None or item.part is None:
            return
        if not item.part.unit:
            row.found.fault(
                "unit", f"{shown(values['item'])} is new: enter its unit, like piece, ft or gal."
            )
            return
        if values.get("unit") and "per" not in values:
            values["per"] = values["unit"]
        self._new_price(row, item.part)
        if row.found.faults:
            return
        row.fingerprint = _digest(item.tag, values.get("date"), values["unit_price"])
        if item.pk and "date" in values:
            day = date.fromisoformat(values["date"])
            row.compare = (item.pk, day, round_half_up(Decimal(values["unit_price"]), 6))

    def _quantity(self, row: Resolved, item: Reference | None) -> Decimal | None:
        found, values = row.found, row.found.values
        if "quantity" not in values or "offers" in values or item is None or item.part is None:
            return None
        if values.pop("bare", False):
            if item.pk is None and not item.part.unit:
                number = values["quantity"]
                found.fault(
                    "quantity",
                    f"{shown(number)} has no unit, and {shown(values['item'])} is new: "
                    f"enter it like {number} ft or {number} pieces.",
                )
                return None
            unit = find_unit(item.part.unit)
            values["quantity"] = format_quantity(Decimal(values["quantity"]), unit)
        text, part = values["quantity"], item.part
        known = (item.tag, part.unit, part.contents, text)
        if known not in self._bases:
            try:
                self._bases[known] = base_quantity(text, part)
            except QuantityError as error:
                found.fault("quantity", str(error))
                return None
        return self._bases[known]

    def _line_price(self, row: Resolved, item: Reference | None) -> Decimal | None:
        """What the line costs before tax, None when it is not known."""
        if not self._take_tax_out(row.found):
            return None
        return self._with_tax(row.found, self._net_price(row, item))

    def _take_tax_out(self, found: RowRead) -> bool:
        """Lower a whole price by the tax it holds, or ask whether it does."""
        values, taxed = found.values, self.mapping.options["taxed"]
        tax = Decimal(values.get("tax", 0))
        if "total" not in values or "unit_price" in values or not tax or "gross" in values:
            return True
        if not taxed:
            found.fault(
                "total",
                f"Is the tax of {plain(tax)} in the {plain(Decimal(values['total']))}? "
                "Choose above whether whole prices include it, or enter the price "
                "without tax.",
            )
        elif taxed == "included":
            return self._lower(found, "total", tax)
        return not found.faults

    def _lower(self, found: RowRead, key: str, tax: Decimal) -> bool:
        net = Decimal(found.values[key]) - tax
        if net < 0:
            found.fault(key, f"The tax of {plain(tax)} is more than this: correct one of them.")
            return False
        found.values["total"] = plain(net)
        return True

    def _with_tax(self, found: RowRead, net: Decimal | None) -> Decimal | None:
        """Set a price with tax against the one without: the difference is the tax."""
        values = found.values
        if "gross" not in values or found.faults:
            values.pop("gross", None)
            return net
        gross, tax = Decimal(values["gross"]), Decimal(values.get("tax", 0))
        if net is None:
            if not self._lower(found, "gross", tax):
                return None
            del values["gross"]
            return gross - tax
        del values["gross"]
        rest = gross - net
        close = Decimal(1).scaleb(-self.mapping.places)
        if "tax" not in values and 0 <= rest <= net / 3:
            if rest:
                values["tax"] = plain(rest)
        elif abs(rest - tax) > close:
            found.fault(
                "gross",
                f"{plain(net)} and tax of {plain(tax)} come to {plain(net + tax)}, but"
                f" {plain(gross)} is here: correct one, or empty it.",
            )
        return net

    def _net_price(self, row: Resolved, item: Reference | None) -> Decimal | None:
        """What the line costs by itself. Keeps one of price of one and total."""
        found, values = row.found, row.found.values
        each, total = values.get("unit_price"), values.get("total")
        if each is None or item is None or item.part is None:
            values.pop("per", None)
            return None if total is None else Decimal(total)
        try:
            units = priced_units(values["quantity"], values.get("per", ""), item.part)
        except QuantityError as error:
            found.fault("unit_price", str(error))
            return None
        exact = Fraction(Decimal(each)) * units
        if exact >= MAX_AMOUNT:
            found.fault("unit_price", f"This comes to {MAX_AMOUNT:,} or more: correct the price.")
            return None
        worked = round_half_up(exact, self.mapping.places)
        if total is None:
            return worked
        if not self._agree(row, Decimal(each), units, worked, Decimal(total)):
            return None
        return worked if "unit_price" in values else Decimal(total)

    def _agree(
        self, row: Resolved, each: Decimal, units: Fraction, worked: Decimal, total: Decimal
    ) -> bool:
        values, differ = row.found.values, self.mapping.options["differ"]
        smallest = Decimal(1).scaleb(-self.mapping.places)
        # A price of one that was rounded to the cent is out by half a cent for each.
        rounding = Fraction(smallest) / 2 * (units + 1)
        charged = (
            Decimal(values.get("tax", 0))
            + Decimal(values.get("haulage", 0))
            - Decimal(values.get("discount", 0))
        )
        tax = Decimal(values.get("tax", 0))
        explained = {worked + tax, worked + charged} - {worked}
        if worked == total or differ == "each":
            del values["total"]
        elif any(abs(Fraction(total) - Fraction(sum_)) <= rounding for sum_ in explained):
            # What stands beside it as tax and the like makes up the difference.
            del values["total"]
        elif abs(Fraction(worked) - Fraction(total)) <= rounding or differ == "total":
            del values["unit_price"]
            values.pop("per", None)
        else:
            row.found.fault(
                "total",
                f"{plain(each)} each for {values['quantity']} comes to {plain(worked)}, but"
                f" {plain(total)} is here: correct one, or empty one of them.",
            )
            return False
        return True

    def _new_price(self, row: Resolved, part: KnownComponent) -> None:
        found, values = row.found, row.found.values
        if "unit_price" not in values:
            values.pop("per", None)
            return
        try:
            values["per_qty"] = str(round_half_up(price_per(values.get("per", ""), part), 6))
        except QuantityError as error:
            found.fault("unit_price", str(error))
        if Decimal(values["unit_price"]) >= MAX_AMOUNT:
            found.fault("unit_price", f"The price is {MAX_AMOUNT:,} or more: correct it.")

    def _distance(self, row: Resolved) -> None:
        found, values = row.found, row.found.values
        if "distance" not in values:
            return
        try:
            miles = distance_in(values["distance"], self.mapping.distance_unit)
        except QuantityError as error:
            found.fault("distance", str(error))
            return
        days = [on for on, _ in self.known.rates]
        if not days:
            found.fault(
                "distance",
                "The build has no distance rate: add one under Build details, or leave "
                "the column of distances out.",
            )
        elif "date" in values and min(days) > date.fromisoformat(values["date"]):
            found.fault(
                "distance",
                f"The build's first distance rate holds from {min(days)}, after this day: add an"
                " earlier rate, or empty this.",
            )
        elif miles * Fraction(max(rate for _, rate in self.known.rates)) >= MAX_AMOUNT:
            found.fault("distance", f"This comes to {MAX_AMOUNT:,} or more: correct it.")

    def _lowered(self, row: Resolved) -> None:
        values = row.found.values
        if Decimal(values.get("discount", 0)) and not ("unit_price" in values or "total" in values):
            row.found.fault("discount", "There is a discount, but no price to take it from.")

    def _element(self, row: Resolved) -> None:
        text = row.found.values["element"]
        key = name_key(text)
        named = self.known.element_names.get(key, [])
        if key in self.known.elements:
            row.found.values["element_id"] = self.known.elements[key]
        elif len(named) == 1:
            row.found.values["element_id"] = named[0]
        elif not named and uniformat.name_of(text.upper()):
            row.found.values["element_code"] = text.upper()
        else:
            why = "names several elements" if named else "is not an element of this build"
            row.found.fault(
                "element", f"{shown(text)} {why}: enter the code of one, like B2010, or empty it."
            )

    @staticmethod
    def _own_unit(values: dict[str, Any]) -> str:
        if values.get("bare") or "quantity" not in values:
            return ""
        try:
            return parse_quantity(values["quantity"]).unit.symbol
        except QuantityError:
            return ""


@lru_cache(maxsize=4096)
def _meanings(text: str, kind: Kind | None, unit: str) -> tuple[str, ...]:
    return meanings(text, kind, UNITS[unit])


def _digest(*parts: object) -> str:
    text = "\x1f".join("" if part is None else str(part) for part in parts)
    return hashlib.sha1(text.encode(), usedforsecurity=False).hexdigest()
