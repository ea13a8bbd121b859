"""Whatever a column of somebody's table can hold is kept where it belongs."""

from decimal import Decimal as D
from typing import Any

import pytest
from django.db.models import Model

from materials.exchange.outside_tables.fields import FIELDS
from materials.models import (
    Build,
    Component,
    Element,
    LabourEntry,
    Purchase,
    PurchaseLine,
    RetailPrice,
    TableKind,
)
from materials.models.stated import stated_fields

from .steps import answer, as_text, choose, day, faults, run, upload

LINE, PART, PRICE = PurchaseLine, Component, RetailPrice
# By kind of table and field: what is typed, and which record then says it where.
TYPED: dict[str, dict[str, tuple[str, type, str, Any]]] = {
    TableKind.PURCHASES: {
        "date": ("2026-03-07", Purchase, "bought_on", day("2026-03-07")),
        "supplier": ("Mill Street", Purchase, "supplier.name", "Mill Street"),
        "receipt": ("R17", Purchase, "note", "Receipt R17"),
        "item": ("Joist", LINE, "component.name", "Joist"),
        "quantity": ("14", LINE, "quantity_text", "14 pieces"),
        "unit": ("pieces", LINE, "component.unit", "piece"),
        "unit_price": ("6.50", LINE, "unit_price", D("6.5")),
        "source": ("seconds", LINE, "source", "seconds"),
        "obtained_by": ("overstock", LINE, "obtained_by", "overstock"),
        "state": ("ordered", Purchase, "state", "ordered"),
        "paid_by": ("Cleo", Purchase, "paid_by.name", "Cleo"),
        "usable": ("85", LINE, "usable_percent", D(85)),
        "tax": ("7.25", Purchase, "sales tax", D("7.25")),
        "haulage": ("12", Purchase, "haulage", D(12)),
        "discount": ("3", Purchase, "discount", D(3)),
        "distance": ("42 mi", Purchase, "trip", "42 mi"),
        "note": ("a bit bowed", LINE, "note", "a bit bowed"),
    },
    TableKind.COMPONENTS: {
        "item": ("Rafter", PART, "name", "Rafter"),
        "quantity": ("24", PART, "required_text", "24 pieces"),
        "unit": ("pieces", PART, "unit", "piece"),
        "element": ("B1020", PART, "element.code", "B1020"),
        "contents": ("1 piece = 14 ft", PART, "contents", "1 piece = 14 ft"),
        "waste": ("12", PART, "waste_percent", D(12)),
        "unit_price": ("9.75", PRICE, "price", D("9.75")),
        "date": ("2026-03-08", PRICE, "priced_on", day("2026-03-08")),
        "supplier": ("Mill Street", PRICE, "priced_at", "Mill Street"),
        "note": ("straight ones", PART, "note", "straight ones"),
    },
    TableKind.HOURS: {
        "date": ("2026-03-09", LabourEntry, "worked_on", day("2026-03-09")),
        "person": ("Cleo", LabourEntry, "person.name", "Cleo"),
        "task": ("Roof", LabourEntry, "task.name", "Roof"),
        "labour": ("reworking", LabourEntry, "kind", "reworking"),
        "hours": ("3.5", LabourEntry, "hours", D("3.5")),
        "paid": ("70", LabourEntry, "paid_amount", D(70)),
        "note": ("in the rain", LabourEntry, "note", "in the rain"),
    },
    TableKind.PRICES: {
        "item": ("Stud", PRICE, "component.name", "Stud"),
        "unit_price": ("4.40", PRICE, "price", D("4.4")),
        "unit": ("dozen", PRICE, "per_text", "dozen"),
        "date": ("2026-03-10", PRICE, "priced_on", day("2026-03-10")),
        "supplier": ("Mill Street", PRICE, "priced_at", "Mill Street"),
    },
}
# Two prices in one row contradict each other.
ALONE: dict[tuple[str, str], tuple[str, type, str, Any]] = {
    (TableKind.PURCHASES, "total"): ("91", LINE, "line_price_amount", D(91)),
    # The tax of 7.25 is in it.
    (TableKind.PURCHASES, "gross"): ("91", LINE, "line_price_amount", D("83.75")),
    (TableKind.PURCHASES, "unit_price"): ("30/dozen", LINE, "price_per_text", "dozen"),
}
# Fields that no column of somebody's table is asked for: kept as they are in a new record.
NOT_ASKED: dict[type[Model], set[str]] = {
    # It is numbered as it is written; a lot is one row with its total.
    # Such tables tell of what was bought; deadlines that are to come are typed with the offer.
    Purchase: {
        "number", "lot_price_amount", "lot_split", "expected_hours",
        "ends_on", "ends_time", "fetch_on", "fetch_time",
    },
    # What is said for a lot, an offer's terms or the cautions is typed into the ledger itself.
    LINE: {
        "lot_weight", "origin_year", "through_fire", "price_breaks", "most_text", "step_text",
    },
    # Said of a component once somebody looks at it closely.
    PART: {
        "new_qty_per_one", "would_buy_new", "life_years", "traits", "load_kind", "required_from",
        "kind",
    },
    PRICE: set(),
    LabourEntry: set(),
}  # fmt: skip


@pytest.mark.parametrize("model", NOT_ASKED)
def test_what_somebody_states_of_a_record_is_asked_or_named(model):
    typed = [one for table in TYPED.values() for one in table.values()] + [*ALONE.values()]
    filled = {path.partition(".")[0] for _, kind, path, _ in typed if kind is model}
    assert set(stated_fields(model)) - filled == NOT_ASKED[model]


def stated(record: Any, path: str) -> Any:
    """What a record says; of a purchase also its charges, by kind."""
    if isinstance(record, Purchase):
        charged = {charge.kind: charge.amount for charge in record.charges.exclude(amount=None)}
        trips = [charge.distance_text for charge in record.charges.exclude(distance_text="")]
        charged["trip"] = trips[0] if trips else None
        if path in charged:
            return charged[path]
    for name in path.split("."):
        record = getattr(record, name)
    return record


@pytest.mark.parametrize("kind", FIELDS)
def test_every_field_is_typed_here(kind):
    alone = {key for one, key in ALONE if one == kind}
    assert {field.key for field in FIELDS[kind]} == set(TYPED[kind]) | alone


@pytest.mark.parametrize(("kind", "other"), [(kind, None) for kind in TYPED] + [*ALONE])
def test_every_field_of_a_table_is_kept(kind, other, entries):
    build: Build = entries.build
    entries.component("Stud")
    Element.objects.get_or_create(build=build, code="B1020", defaults={"name": "Roof"})
    typed = dict(TYPED[kind])
    if other:
        del typed["unit_price"]
        typed[other] = ALONE[kind, other]
    labels = {field.key: field.label for field in FIELDS[kind]}
    table = [[labels[key] for key in typed], [cell for cell, *_ in typed.values()]]
    columns = {labels[key]: {"field": key} for key in typed}
    job = choose(entries, upload(entries, as_text(table)), kind=kind)
    job = answer(entries, job, columns, **({"taxed": "on top"} if other == "total" else {}))
    assert faults(job) == []
    run(entries, job)
    for key, (_, model, path, wanted) in typed.items():
        record = model._default_manager.order_by("pk").last()
        assert stated(record, path) == wanted, key
