"""Out and in again gives an equal build, and no text turns into anything else on the way.

Cells that begin like formulas: OWASP ASVS 5.0.0 requirement 1.2.10 (= + - @ tab and NUL).
"""

import io
import json
from datetime import date
from decimal import Decimal

import pytest
from django.core.management import call_command
from openpyxl import load_workbook

from materials.exchange.writer import write_workbook
from materials.models import (
    Build,
    Change,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    HandOver,
    LabourEntry,
    LeftOver,
    Member,
    PurchaseLine,
    RetailPrice,
    Share,
    Supplier,
    Task,
)
from materials.services.imports import import_plan
from materials.services.ledger import cost_purchases

from .small import NAME, bring_in, check, put, small_sheets

pytestmark = pytest.mark.django_db


def export(build: Build) -> bytes:
    stream = io.BytesIO()
    write_workbook(build, stream)
    return stream.getvalue()


def report(name: str) -> dict:
    out = io.StringIO()
    call_command("cost_report", "--build", name, "--json", stdout=out)
    return json.loads(out.getvalue()) | {"build": ""}


def facts(build: Build) -> dict[str, list]:
    """Everything a build holds, without keys."""
    own = {"build": build}
    lines = PurchaseLine.objects.filter(purchase__build=build).order_by("pk")
    charges = Charge.objects.filter(purchase__build=build).order_by("pk")
    fields = {
        "build": Build.objects.filter(pk=build.pk).values_list(
            "currency", "budget_amount", "contingency_percent", "retail_tax_percent",
            "own_labour_rate", "own_hours_count", "distance_unit",
        ),
        "areas": build.areas.values_list("label", "area_qty", "area_unit"),
        "rates": build.distance_rates.values_list("from_on", "rate"),
        "elements": build.elements.values_list("code", "name", "budget_amount"),
        "suppliers": Supplier.objects.filter(**own).values_list(
            "name", "place", "contact", "is_gone", "note"
        ),
        "components": Component.objects.filter(**own).values_list(
            "name", "element__code", "unit", "contents", "required_text", "required_qty",
            "waste_percent", "new_qty_per_one", "would_buy_new", "life_years", "load_kind", "note",
            "kind",
        ),
        "prices": RetailPrice.objects.filter(component__build=build)
        .order_by("component__name", "priced_on")
        .values_list("component__name", "price", "per_text", "per_qty", "priced_on", "priced_at"),
        "lines": lines.values_list(
            "purchase__number", "purchase__bought_on", "purchase__supplier__name",
            "purchase__state", "purchase__paid_by__name", "purchase__lot_price_amount",
            "purchase__lot_split", "purchase__note", "position", "component__name",
            "quantity_text", "source", "obtained_by", "usable_percent", "unit_price",
            "price_per_text", "line_price_amount", "lot_weight", "price_breaks",
            "most_text", "step_text", "note", "base_qty",
            "usable_qty", "price_amount", "charges_amount", "landed_amount",
        ),
        "charges": charges.values_list(
            "purchase__number", "position", "kind", "amount", "percent", "percent_on",
            "distance_text", "spread_by", "charged_amount",
        ),
        "conversions": Conversion.objects.filter(**own).values_list(
            "number", "converted_on", "source__name", "used_text", "used_qty",
            "extra_cost_amount", "hours", "note",
        ),
        "outputs": ConversionOutput.objects.filter(conversion__build=build)
        .order_by("pk")
        .values_list("conversion__number", "component__name", "made_text", "made_qty"),
        "left over": LeftOver.objects.filter(component__build=build).values_list(
            "component__name", "noted_on", "quantity_text", "base_qty", "fate",
            "proceeds_amount", "note",
        ),
        "tasks": Task.objects.filter(**own).values_list(
            "name", "element__code", "planned_hours", "done_percent"
        ),
        "labour": LabourEntry.objects.filter(**own).values_list(
            "worked_on", "person__name", "task__name", "kind", "hours", "paid_amount", "note"
        ),
        "shares": Share.objects.filter(**own).values_list("person__name", "weight"),
        "handed over": HandOver.objects.filter(**own).values_list(
            "handed_on", "giver__name", "receiver__name", "amount", "note"
        ),
    }  # fmt: skip
    return {what: list(rows) for what, rows in fields.items()}


def test_a_whole_build_goes_out_and_in_again():
    first = bring_in(small_sheets())
    second = bring_in(export(first), name="Again")
    assert facts(second) == facts(first)
    assert report("Again") == report(NAME)
    assert all(facts(first).values())


def test_the_golden_build_goes_out_and_in_again():
    golden = pytest.importorskip("tests.golden.build")
    first = bring_in(golden.SHEETS, name="Golden")
    second = bring_in(export(first), name="Again")
    assert facts(second) == facts(first)
    assert report("Again") == report("Golden")


def test_derived_figures_are_those_of_the_ledger():
    build = bring_in(small_sheets())
    before = facts(build)
    cost_purchases(build)
    assert facts(build) == before
    call_command("check_ledger", stdout=io.StringIO())
    landed = [line[-1] for line in before["lines"]]
    assert all(amount is not None for amount in landed)


def test_a_kilometre_build_goes_out_and_in_again():
    sheets = small_sheets()
    put(sheets, "Build", 0, "Distance rate", "0.40 / km")
    put(sheets, "Charges", 2, "Distance", 56)
    first = bring_in(sheets)
    assert first.distance_unit == "km"
    assert Charge.objects.get(kind="haulage").distance_text == "56 km"
    assert facts(bring_in(export(first), name="Again")) == facts(first)


HOSTILE = ["=1+1", "@SUM(A1)", "-5+cmd|' /C calc'!A0", "+1", "'quoted", "#N/A", "_x0041_", "007"]


@pytest.mark.parametrize("text", HOSTILE)
def test_text_stays_text(text):
    """ASVS 1.2.10; F08: a string is a cell of type text, never a formula."""
    sheets = small_sheets()
    build = bring_in(sheets)
    component = build.components.get(name="Plank")
    component.note = text
    component.save()
    data = export(build)
    page = load_workbook(io.BytesIO(data))["Components"]
    cell = next(row[13] for row in page.iter_rows() if row[0].value == "Plank")
    assert cell.data_type in ("s", "inlineStr")
    again = bring_in(data, name="Again")
    assert again.components.get(name="Plank").note == text


@pytest.mark.parametrize("mark", ["\t", "\0"])
def test_control_characters_that_got_in_are_not_written(mark):
    """ASVS 1.2.10: tab and NUL."""
    build = bring_in(small_sheets())
    component = build.components.get(name="Plank")
    component.note = f"{mark}=1+1" if mark == "\t" else "a\x1bb"
    component.save()
    note = bring_in(export(build), name="Again").components.get(name="Plank").note
    assert note in ("=1+1", "ab")


def test_numbers_and_dates_are_written_as_such_and_headings_stay_in_view():
    book = load_workbook(io.BytesIO(export(bring_in(small_sheets()))))
    purchases = book["Purchases"]
    assert purchases.freeze_panes == "A2"
    assert purchases.column_dimensions["H"].width > len("Component")
    first = dict(zip([c.value for c in purchases[1]], purchases[2], strict=True))
    assert first["Date"].value.date() == date(2026, 2, 3)
    assert first["Lot price"].value == 210.99
    assert first["Quantity"].value == "20 pieces"
    # A lot line's price is derived, so it is not written.
    assert first["Line price"].value is None
    second = dict(zip([c.value for c in purchases[1]], purchases[3], strict=True))
    assert second["Date"].value is None
    # Read by people, never by an import: a line's landed cost, as a formula.
    assert str(first["Landed cost"].value).startswith("=IF(")
    assert [row[0].value for row in book["Build"]][:2] == ["Name", "Currency"]


def test_the_queries_of_an_export_do_not_grow(django_assert_max_num_queries):
    sheets = small_sheets()
    for number in range(30):
        sheets["Purchases"].append(["X" + str(number), *sheets["Purchases"][4][1:]])
    build = bring_in(sheets)
    with django_assert_max_num_queries(45):
        export(build)


def test_the_import_leaves_one_line_of_history_and_an_owner(django_user_model):
    user = django_user_model.objects.create_user("ida")
    build = import_plan(actor=user, plan=check(small_sheets()).plan, owner=user)
    change = Change.objects.get(build=build)
    assert change.actor == user
    assert "4 components" in change.summary
    assert Member.objects.get(build=build).user == user


# --- into a build that is there already


def test_more_rows_into_an_existing_build():
    build = bring_in(small_sheets())
    more = {
        "Components": [
            ["Component", "Unit", "New price", "Priced on"],
            ["plank", "feet", 1.5, "2026-08-01"],
            ["Nail", "lb", None, None],
        ],
        "Purchases": [
            ["Purchase", "Date", "Supplier", "Component", "Quantity", "Source", "Line price"],
            ["P9", "2026-08-02", "RIVER YARD", "Nail", "5 lb", "retail", 12],
        ],
        "Left over": [
            ["Date", "Component", "Quantity", "Fate"],
            ["2026-08-03", "Plank", "10 ft", "scrapped"],
        ],
    }
    same = bring_in(more, build=build)
    assert same == build
    assert build.components.count() == 5
    assert build.suppliers.count() == 4
    assert RetailPrice.objects.filter(component__name="Plank").count() == 4
    assert build.components.get(name="Plank").note == "cedar"


def test_an_existing_build_refuses_what_does_not_agree():
    build = bring_in(small_sheets())
    sheets = small_sheets()
    put(sheets, "Build", 0, "Currency", "EUR")
    put(sheets, "Components", 2, "Unit", "piece")
    found = [str(fault) for fault in check(sheets, build=build).faults]
    assert any(text.startswith("Build, Currency: The build is in USD") for text in found)
    assert any(
        text.startswith("Components row 2, Unit: “Plank” is counted in ft") for text in found
    )
    for number, row in (("P1", 2), ("P2", 4), ("P3", 5), ("P4", 6)):
        start = f"Purchases row {row}, Purchase: Purchase “{number}” is in this build already"
        assert any(text.startswith(start) for text in found)
    assert any("Conversion “K1” is in this build already" in text for text in found)


def test_an_existing_build_counts_in_the_balance_and_the_circles():
    build = bring_in(small_sheets())
    more = {
        "Conversions": [
            ["Conversion", "Date", "From", "Quantity used", "To", "Quantity made"],
            ["K9", "2026-08-03", "Batten", "1 ft", "Plank", "0.1 ft"],
        ],
        "Left over": [
            ["Date", "Component", "Quantity", "Fate"],
            ["2026-08-03", "Plank", "165 ft", "scrapped"],
        ],
    }
    (circle,) = check(more, build=build).faults
    assert "“K9” closes a circle" in circle.text
    del more["Conversions"]
    # 216 ft came in, 40 were worked, 12 sold: 164 left.
    (short,) = check(more, build=build).faults
    assert "That is 1 ft more “Plank” than there is" in short.text


def test_shares_stay_and_hand_overs_are_added_in_an_existing_build():
    build = bring_in(small_sheets())
    shares = list(build.shares.values_list("person__name", "weight"))
    more = {
        "Build": [["Own hours count", "no"]],
        "Shares": [["Person", "Share"], ["Somebody else", 5]],
        "Handed over": [
            ["date", "to", "from", "AMOUNT"],
            ["2026-08-03", "IDA", "Petra", "12,50"],
        ],
    }
    assert "The build exists: its shares stay as they are." in check(more, build=build).notes
    bring_in(more, build=build)
    build.refresh_from_db()
    assert build.own_hours_count
    assert list(build.shares.values_list("person__name", "weight")) == shares
    assert not build.persons.filter(name="Somebody else").exists()
    row = build.hand_overs.get(giver__name="Petra")
    assert (row.receiver.name, row.amount) == ("Ida", Decimal("12.5"))
    assert row.handed_on == date(2026, 8, 3)


def test_shares_and_hand_overs_bear_on_the_report():
    """Own hours at 18: Ida 6.5 and Max 2; Jo's were paid for. Shares 2 : 1.5 : 0.000001."""
    build = bring_in(small_sheets())
    people = {row["person"]: row for row in report(NAME)["by_person"]}
    paid = {name: Decimal(row["paid_out"]) for name, row in people.items()}
    whole = paid["Ida"] + paid["Max"] + Decimal("8.5") * 18
    share = (whole * Decimal("1.5") / Decimal("3.500001")).quantize(Decimal("0.01"))
    assert Decimal(people["Max"]["share"]) == share
    assert Decimal(people["Max"]["balance"]) == paid["Max"] + 36 - share + Decimal("40.5")
    assert people["Jo"]["share"] == people["Noor"]["share"] == "0.00"
    assert people["Olga"]["balance"] == "-3.00"
    assert sum(Decimal(row["balance"]) for row in people.values()) == 0
    assert build.shares.count() == 3
