"""Types the rows of a workbook into the screens, one form after another."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.test import Client

from tests.views.screens import Page, Screens

Rows = list[list[object]]

BUILD = {
    "Name": "name",
    "Currency": "currency",
    "Floor area": "floor_area",
    "Envelope area": "envelope_area",
    "Budget": "budget_amount",
    "Contingency %": "contingency_percent",
    "Retail tax %": "retail_tax_percent",
    "Own labour rate": "own_labour_rate",
    "Distance rate": "distance_rate",
}
ELEMENT = {"Code": "code", "Name": "name", "Budget": "budget_amount"}
COMPONENT = {
    "Component": "name",
    "Unit": "unit",
    "Required": "required_text",
    "Waste %": "waste_percent",
    "Contents": "contents",
    "New quantity per one": "new_qty_per_one",
    "Life years": "life_years",
    "Heaped as": "load_kind",
    "Kind of material": "kind",
}
PRICE = {
    "Component": "component",
    "New price": "price",
    "New price per": "per_text",
    "Priced on": "priced_on",
    "Priced at": "priced_at",
}
PURCHASE = {
    "Purchase": "number",
    "Date": "bought_on",
    "Supplier": "supplier",
    "Paid by": "paid_by",
    "Lot price": "lot_price_amount",
    "Lot split": "lot_split",
}
LINE = {
    "Component": "component",
    "Quantity": "quantity_text",
    "Source": "source",
    "Obtained by": "obtained_by",
    "Usable %": "usable_percent",
    "Unit price": "unit_price",
    "Price per": "price_per_text",
    "Line price": "line_price_amount",
    "Lot weight": "lot_weight",
    "Price breaks": "price_breaks",
    "At most": "most_text",
    "Sold by": "step_text",
    "Note": "note",
}
CHARGE = {
    "Kind": "kind",
    "Amount": "amount",
    "Percent": "percent",
    "On": "percent_on",
    "Distance": "distance_text",
    "Spread by": "spread_by",
}
CONVERSION = {
    "Conversion": "number",
    "Date": "converted_on",
    "From": "source",
    "Quantity used": "used_text",
    "Extra cost": "extra_cost_amount",
    "Hours": "hours",
}
OUTPUT = {"To": "component", "Quantity made": "made_text"}
LEFT_OVER = {
    "Date": "noted_on",
    "Component": "component",
    "Quantity": "quantity_text",
    "Fate": "fate",
    "Proceeds": "proceeds_amount",
}
TASK = {"Task": "name", "Planned hours": "planned_hours", "Done %": "done_percent"}
LABOUR = {
    "Date": "worked_on",
    "Person": "person",
    "Task": "task",
    "Kind": "kind",
    "Hours": "hours",
    "Paid": "paid_amount",
}


def rows_of(sheet: Rows) -> Iterable[dict[str, object]]:
    """Rows by heading, blank cells left out."""
    headings = [str(name) for name in sheet[0]]
    for row in sheet[1:]:
        yield {k: v for k, v in zip(headings, row, strict=True) if v is not None}


def typed(row: dict[str, object], fields: dict[str, str], prefix: str = "") -> dict[str, Any]:
    """The cells of a row that a form takes, by the form's field names."""
    return {f"{prefix}{fields[name]}": value for name, value in row.items() if name in fields}


class Typist:
    """Types a whole build, in an order in which a person could."""

    def __init__(self, client: Client, sheets: dict[str, Rows]):
        self.client, self.sheets = client, sheets
        self.screens = Screens(client)

    def type_build(self) -> int:
        """Type everything; the new build's key."""
        answer = self.screens.save("build_add", typed(dict(self.sheets["Build"]), BUILD))
        build_id = int(answer.url.split("/")[2])
        self.screens = Screens(self.client, build_id)
        self._elements()
        self._components()
        self._purchases()
        self._conversions()
        for row in rows_of(self.sheets["Left over"]):
            data = typed(row, LEFT_OVER)
            if "taken_from" in self.screens.open("left_over_add").form.boxes:
                # The rows of a workbook stand as they are written.
                data["taken_from"] = "built in"
            self.screens.save("left_over_add", data)
        self._labour()
        return build_id

    def _elements(self) -> None:
        """A new build has the usual elements already: those are changed, the others added."""
        there = {text: href for href, text in self.screens.open("elements").links}
        self.elements = {}
        for row in rows_of(self.sheets["Elements"]):
            code = str(row["Code"])
            if code in there:
                key = int(there[code].rstrip("/").rpartition("/")[2])
                self.screens.save("element_edit", typed(row, ELEMENT), key)
            else:
                self.screens.save("element_add", typed(row, ELEMENT))
            self.elements[code] = f"{code} {row['Name']}"

    def _components(self) -> None:
        for row in rows_of(self.sheets["Components"]):
            data = typed(row, COMPONENT)
            if "Element" in row:
                data["element"] = self.elements[str(row["Element"])]
            if row.get("Would buy new") == "no":
                data["would_buy_new"] = False
            self.screens.save("component_add", data)
            if "New price" in row:
                self.screens.save("price_add", typed(row, PRICE))

    def _purchases(self) -> None:
        charges = defaultdict(list)
        for row in rows_of(self.sheets["Charges"]):
            charges[row["Purchase"]].append(row)
        for number, rows in grouped(self.sheets["Purchases"], "Purchase").items():
            data = typed(rows[0], PURCHASE)
            data["state"] = rows[0].get("State", "received")
            form = {"lines": (rows, LINE), "charges": (charges[number], CHARGE)}
            self._save_with_rows("purchase_add", data, form)

    def _conversions(self) -> None:
        for rows in grouped(self.sheets["Conversions"], "Conversion").values():
            data = typed(rows[0], CONVERSION)
            self._save_with_rows("conversion_add", data, {"outputs": (rows, OUTPUT)})

    def _save_with_rows(self, name: str, data: dict[str, Any], forms: dict[str, Any]) -> None:
        """Fill in the head and the first rows, and ask for one more row as long as one lacks."""
        url = self.screens.url(name)
        page = self.screens.read(url)
        for prefix, (rows, fields) in forms.items():
            for i, row in enumerate(rows):
                if i >= int(page.form.fields[f"{prefix}-TOTAL_FORMS"]):
                    sent = self.screens.filled(page.form, data) | {"add_row": prefix}
                    page = page_of(self.screens.send(url, sent))
                data |= typed(row, fields, f"{prefix}-{i}-")
        answer = self.screens.send(url, self.screens.filled(page.form, data))
        assert answer.status_code == 302, page_of(answer).faults

    def _labour(self) -> None:
        tasks = set()
        for row in rows_of(self.sheets["Tasks"]):
            data = typed(row, TASK)
            if "Element" in row:
                data["element"] = self.elements[str(row["Element"])]
            self.screens.save("task_add", data)
            tasks.add(row["Task"])
        for row in rows_of(self.sheets["Labour"]):
            if row.get("Task") not in {None, *tasks}:
                self.screens.save("task_add", {"name": row["Task"]})
                tasks.add(row["Task"])
            self.screens.save("labour_add", typed(row, LABOUR))


def grouped(sheet: Rows, by: str) -> dict[object, list[dict[str, object]]]:
    """Rows with the same number, in order."""
    groups: dict[object, list[dict[str, object]]] = defaultdict(list)
    for row in rows_of(sheet):
        groups[row[by]].append(row)
    return groups


def page_of(answer: Any) -> Page:
    """The page of an answer."""
    return Page(answer.content.decode())
