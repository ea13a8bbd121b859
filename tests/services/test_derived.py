"""Derived figures are right straight after what they hang on was changed."""

from datetime import timedelta
from decimal import Decimal as D
from io import StringIO

import pytest
from django.core.management import call_command
from django.db.models import F

from materials.choices import Fate
from materials.models import (
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    LeftOver,
    LineTotal,
    Purchase,
    PurchaseLine,
    RetailPrice,
)
from materials.queries.checks import find_differences
from materials.services.builds import create_build, save_build
from materials.services.errors import LedgerError
from materials.services.prices import save_price
from materials.services.purchases import save_purchase
from materials.services.records import delete_record
from tests.entries import DAY, line


def landed(purchase: Purchase) -> list[D]:
    return list(purchase.lines.values_list("landed_amount", flat=True))


@pytest.fixture
def lot(entries) -> Purchase:
    """A lot of 100.00 over one board and one sash; only the board has a new price."""
    board, sash = entries.component("Board"), entries.component("Sash")
    entries.price(board, 10)
    return entries.purchase(
        "P1", line(board, "1 piece"), line(sash, "1 piece"), lot_price_amount=D(100)
    )


def test_prices_added_changed_and_deleted_share_a_lot_anew(entries, lot):
    assert landed(lot) == [50, 50]
    sash = Component.objects.get(name="Sash")
    price = entries.price(sash, 30)
    assert landed(lot) == [25, 75]
    values = {"component": sash, "price": D(90), "priced_on": DAY}
    save_price(**entries.by, price=price, values=values)
    assert landed(lot) == [10, 90]
    entries.price(sash, 10, DAY - timedelta(days=1))
    assert landed(lot) == [10, 90], "the newest one up to the purchase counts"
    delete_record(**entries.by, record=price)
    assert landed(lot) == [50, 50]
    assert list(find_differences(entries.build)) == []


def test_a_price_moved_to_another_component_shares_both_lots_anew(entries, lot):
    price = RetailPrice.objects.get()
    sash = Component.objects.get(name="Sash")
    entries.price(sash, 30)
    assert landed(lot) == [25, 75]
    values = {"component": sash, "price": D(10), "priced_on": DAY}
    save_price(**entries.by, price=price, values=values)
    assert landed(lot) == [50, 50]
    assert list(find_differences(entries.build)) == []


def test_new_quantity_per_one_shares_a_lot_anew(entries, lot):
    entries.price(Component.objects.get(name="Sash"), 10)
    assert landed(lot) == [50, 50]
    entries.change(Component.objects.get(name="Sash"), new_qty_per_one=D(3))
    assert landed(lot) == [25, 75]


def test_changed_contents_convert_every_quantity_again(entries):
    lath = entries.component("Lath", contents="1 bundle = 10 pieces", required_text="9 bundles")
    strip = entries.component("Strip", contents="1 box = 5 pieces")
    price = entries.price(lath, 20, per_text="bundle")
    purchase = entries.purchase("P1", line(lath, "4 bundles", usable_percent=D(50)))
    conversion = entries.conversion("C1", lath, "1 bundle", (strip, "2 boxes"))
    left = entries.left_over(lath, "0.5 bundle", Fate.ON_HAND)
    entries.change(lath, contents="1 bundle = 12 pieces", required_text="9 bundles")
    entries.change(strip, contents="1 box = 4 pieces")
    for row in (lath, price, purchase, conversion, left):
        row.refresh_from_db()
    assert lath.required_qty == 108
    assert price.per_qty == 12
    assert (purchase.lines.get().base_qty, purchase.lines.get().usable_qty) == (48, 24)
    assert conversion.used_qty == 12
    assert conversion.outputs.get().made_qty == 8
    assert left.base_qty == 6
    assert LineTotal.objects.get().usable_qty == 24
    assert list(find_differences(entries.build)) == []


def test_contents_that_no_longer_fit_are_refused(entries):
    lath = entries.component("Lath", contents="1 bundle = 10 pieces")
    entries.purchase("P7", line(lath, "4 bundles"))
    with pytest.raises(LedgerError, match="P7"):
        entries.change(lath, contents="")
    assert Component.objects.get().contents == "1 bundle = 10 pieces"


def test_contents_that_leave_less_than_was_used_are_refused(entries):
    lath = entries.component("Lath", contents="1 bundle = 10 pieces")
    entries.purchase("P1", line(lath, "4 bundles"))
    entries.left_over(lath, "40 pieces")
    with pytest.raises(LedgerError, match="more Lath than there is"):
        entries.change(lath, contents="1 bundle = 9 pieces")
    assert list(find_differences(entries.build)) == []


def test_a_changed_distance_rate_costs_haulage_again(entries):
    board = entries.component("Board")
    haulage = [{"kind": "haulage", "distance_text": "40 mi"}]
    early = entries.purchase("P1", line(board, "1 piece", unit_price=D(5)), charges=haulage)
    late = entries.purchase(
        "P2", line(board, "1 piece"), charges=haulage, bought_on=DAY + timedelta(days=60)
    )
    assert (landed(early), landed(late)) == ([33], [28])
    rates = [(None, D("0.50")), (DAY + timedelta(days=30), D("0.60"))]
    save_build(**entries.by, values={}, rates=rates)
    assert (landed(early), landed(late)) == ([25], [24])
    with pytest.raises(LedgerError, match="Purchase P1: A distance needs"):
        save_build(**entries.by, values={}, rates=rates[1:])
    assert entries.build.distance_rates.count() == 2
    assert list(find_differences(entries.build)) == []


def test_another_currency_rounds_again(entries):
    board = entries.component("Board")
    purchase = entries.purchase("P1", line(board, "3 pieces", unit_price=D("0.335")))
    assert landed(purchase) == [D("1.01")]
    save_build(**entries.by, values={"currency": "JPY"}, rates=[])
    assert landed(purchase) == [1]
    assert list(find_differences(entries.build)) == []


def test_totals_follow_state_source_component_and_rows(entries):
    """Each kind of change moves lines from one running total to another."""
    board, nail = entries.component("Board"), entries.component("Nail")
    purchase = entries.purchase("P1", line(board, "3 pieces", unit_price=D(2)), state="ordered")
    steps = [
        ({"state": "received"}, [line(board, "3 pieces", unit_price=D(2))]),
        ({}, [line(board, "4 pieces", unit_price=D("2.5"), source="retail")]),
        ({}, [line(board, "1 piece"), line(nail, "2 pieces", unit_price=D(1))]),
        ({"state": "offer"}, [line(nail, "2 pieces", unit_price=D(1))]),
    ]
    for values, rows in steps:
        values = {"number": "P1", "bought_on": DAY} | values
        save_purchase(**entries.by, purchase=purchase, values=values, lines=rows)
        assert list(find_differences(entries.build)) == []
        held = LineTotal.objects.exclude(line_count=0).values_list("component__name", "usable_qty")
        assert sorted(held) == sorted(
            purchase.lines.values_list("component__name", "usable_qty").distinct()
        )
    delete_record(**entries.by, record=purchase)
    assert not LineTotal.objects.exclude(line_count=0, usable_qty=0, landed_amount=0).exists()


# What is said to be wrong -> the tampering.
TAMPERED = {
    "component Board 000, required: stored 1.000000, worked out 9": lambda: (
        Component.objects.filter(name="Board 000").update(required_qty=D(1))
    ),
    "new price of Board 000 on 2026-05-04: stored 2": lambda: RetailPrice.objects.update(
        per_qty=D(2)
    ),
    "purchase P000, Board 000, base_qty: stored 1": lambda: PurchaseLine.objects.update(
        base_qty=D(1)
    ),
    "purchase P000, Board 000, usable_qty: stored 1": lambda: PurchaseLine.objects.update(
        usable_qty=D(1)
    ),
    "purchase P000, Board 000, price_amount: stored None": lambda: PurchaseLine.objects.update(
        price_amount=None
    ),
    "purchase P000, Board 000, charges_amount: stored 0.01": lambda: PurchaseLine.objects.update(
        charges_amount=D("0.01")
    ),
    "purchase P000, Board 000, landed_amount: stored": lambda: PurchaseLine.objects.update(
        landed_amount=F("charges_amount")
    ),
    "purchase P000, Haulage: stored 0": lambda: Charge.objects.update(charged_amount=D(0)),
    "conversion C000, quantity used: stored 1": lambda: Conversion.objects.update(used_qty=D(1)),
    "conversion C000, made: stored 1": lambda: ConversionOutput.objects.update(made_qty=D(1)),
    "leftovers Board 000 of 2026-05-04: stored 0.000001": lambda: LeftOver.objects.update(
        base_qty=D("0.000001")
    ),
    "purchase P000, landed_amount: stored 0": lambda: Purchase.objects.update(landed_amount=D(0)),
    "usable: stored 1": lambda: LineTotal.objects.update(usable_qty=D(1)),
    "lines: stored 0, worked out 1": lambda: LineTotal.objects.all().delete(),
}


@pytest.mark.parametrize("what", TAMPERED)
def test_check_ledger_finds_a_figure_tampered_with(what, entries, capsys):
    entries.fill(range(1))
    out, err = StringIO(), StringIO()
    call_command("check_ledger", stdout=out, stderr=err)
    assert (out.getvalue().strip(), err.getvalue()) == ("Builds checked: 1. Differences: none.", "")
    TAMPERED[what]()
    with pytest.raises(SystemExit) as ended:
        call_command("check_ledger", stdout=out, stderr=err)
    assert ended.value.code == 1
    assert all(text.startswith("Hill shed: ") for text in err.getvalue().splitlines())
    assert what in err.getvalue()


def test_check_ledger_looks_at_every_build(cast, entries):
    create_build(actor=cast["owner"], values={"name": "A first one"})
    entries.fill(range(1))
    PurchaseLine.objects.update(landed_amount=D(1))
    err = StringIO()
    with pytest.raises(SystemExit):
        call_command("check_ledger", stdout=StringIO(), stderr=err)
    assert "Hill shed: purchase P000" in err.getvalue()
