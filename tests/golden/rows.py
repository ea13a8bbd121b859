"""Rows of the golden build's sheets, written short."""

from decimal import Decimal as D

Row = dict[str, object]


def named(columns: dict[str, object]) -> Row:
    """Keyword names as headings: Usable_pct -> Usable %."""
    return {k.replace("_pct", " %").replace("_", " "): v for k, v in columns.items()}


def sheet(headings: str, *rows: Row) -> list[list[object]]:
    """Rows under the headings (parted by " | "); a cell not named is blank."""
    names = headings.split(" | ")
    unknown = {name for row in rows for name in row} - set(names)
    if unknown:
        raise KeyError(f"no such column: {sorted(unknown)}")
    return [list(names), *([row.get(name) for name in names] for row in rows)]


def component(
    name: str, element: str | None, unit: str, required: str | None, **more: object
) -> Row:
    row: Row = {"Component": name, "Element": element, "Unit": unit}
    row["Required"] = required
    if "New_price" in more:
        row |= {"Priced on": "2026-03-01", "Priced at": "Yard price list"}
    return row | named(more)


def line(component: str, quantity: str, source: str, how: str | None, **more: object) -> Row:
    row: Row = {"Component": component, "Quantity": quantity, "Source": source}
    return row | {"Obtained by": how} | named(more)


def purchase(number: int, date: str, supplier: str, *lines: Row, **own: object) -> list[Row]:
    """The lines of one purchase; its own columns stand on the first."""
    head: Row = {"Date": date, "Supplier": supplier} | named(own)
    first, *others = lines
    return [
        {"Purchase": number} | head | first,
        *({"Purchase": number} | other for other in others),
    ]


def charge(number: int, kind: str, **more: object) -> Row:
    return {"Purchase": number, "Kind": kind} | named(more)


def left(date: str, name: str, quantity: str, fate: str, proceeds: D | None = None) -> Row:
    row: Row = {"Date": date, "Component": name, "Quantity": quantity}
    return row | {"Fate": fate, "Proceeds": proceeds}


def labour(date: str, who: str, task: str | None, kind: str, hours: object, paid: object) -> Row:
    row: Row = {"Date": date, "Person": who, "Task": task, "Kind": kind}
    return row | {"Hours": hours, "Paid": paid}
