"""Every action leaves one line of history; deleting and changing can be undone."""

from decimal import Decimal as D

import pytest
from django.apps import apps
from django.db.models.functions import Lower

from materials.choices import Fate
from materials.models import Change, Component, LeftOver, Purchase, RetailPrice
from materials.queries.checks import find_differences
from materials.queries.history import FIELD_WORDS, ROW_WORDS
from materials.services.builds import get_or_add_person, save_build
from materials.services.errors import LedgerError
from materials.services.history import take_snapshot
from materials.services.purchases import save_purchase
from materials.services.records import delete_record, undo_change
from materials.services.stock import save_conversion
from materials.services.versions import version_of
from tests.entries import DAY, line


def last(build) -> Change:
    return Change.objects.filter(build=build).first()


def undo(entries, change: Change) -> None:
    undo_change(**entries.by, change=change)


def delete(entries, record) -> None:
    delete_record(**entries.by, record=record)


def lines_of(purchase) -> list[dict]:
    """A purchase's lines as a form gives them back."""
    names = ("pk", "component", "quantity_text", "source", "unit_price", "usable_percent")
    return [{name: getattr(row, name) for name in names} for row in purchase.lines.all()]


ADDED = {
    "element": lambda e: e.element("Q1"),
    "component": lambda e: e.component("Beam"),
    "price": lambda e: e.price(Component.objects.get(name="Shelf"), 5),
    "supplier": lambda e: e.supplier("Mill"),
    "person": lambda e: get_or_add_person(**e.by, name="Cleo"),
    "purchase": lambda e: e.purchase("P2", line(Component.objects.get(name="Shelf"), "1 piece")),
    "conversion": lambda e: e.conversion(
        "C2", *two_components(), (Component.objects.get(name="Shelf"), "1 piece")
    ),
    "way to make": lambda e: e.way(
        *two_components(), Component.objects.get(name="Shelf"), "3 pieces"
    ),
    "left over": lambda e: e.left_over(Component.objects.get(name="Board"), "1 piece"),
    "task": lambda e: e.task("Roof"),
    "labour": lambda e: e.labour("Ann", 3),
    "hand-over": lambda e: e.hand_over("Ann", "Ben", 20),
    "takeoff": lambda e: e.takeoff("South wall", length="20 ft", height="8 ft"),
    "life choice": lambda e: e.life_choice("Roof"),
    "cost index": lambda e: e.cost_index("Steel"),
}


def two_components():
    return Component.objects.get(name="Board"), "1 piece"


@pytest.mark.parametrize("kind", ADDED)
def test_adding_is_one_line_that_undoing_takes_back(kind, entries, records):
    count = Change.objects.count()
    record = ADDED[kind](entries)
    change = last(entries.build)
    assert Change.objects.count() == count + 1
    assert (change.record_type, change.action, change.record_id) == (kind, "added", record.pk)
    assert (change.before, change.actor) == (None, entries.actor)
    assert change.after == take_snapshot(record)
    undo(entries, change)
    assert not type(record).objects.filter(pk=record.pk).exists()
    assert last(entries.build).action == "deleted"
    assert list(find_differences(entries.build)) == []


@pytest.mark.parametrize(
    "kind",
    [
        "purchase",
        "conversion",
        "left-over",
        "way-to-make",
        "lesson",
        "labour",
        "price",
        "hand-over",
        "takeoff",
        "life-choice",
        "cost-index",
    ],
)
def test_deleting_and_bringing_back(kind, entries, records):
    record = records[kind]
    if kind == "purchase":
        record = entries.purchase("P2", line(records["component"], "3 pieces"))
    elif kind == "conversion":
        shelf = Component.objects.get(name="Shelf")
        record = entries.conversion("C2", records["component"], "1 piece", (shelf, "2 pieces"))
    model, before = type(record), take_snapshot(record)
    delete(entries, record)
    assert not model.objects.filter(pk=before[0]["pk"]).exists()
    change = last(entries.build)
    assert (change.action, change.before, change.after) == ("deleted", before, None)
    undo(entries, change)
    assert take_snapshot(model.objects.get(pk=before[0]["pk"])) == before
    assert last(entries.build).action == "undone"
    assert list(find_differences(entries.build)) == []


def test_a_purchase_comes_back_with_lines_charges_and_figures(entries):
    board = entries.component("Board")
    purchase = entries.purchase(
        "P1",
        line(board, "3 pieces", unit_price=D(2)),
        line(board, "1 piece", unit_price=D(4)),
        charges=[{"kind": "haulage", "amount": D(5)}],
    )
    before = take_snapshot(purchase)
    assert [row["model"].rpartition(".")[2] for row in before] == [
        "purchase",
        "purchaseline",
        "purchaseline",
        "charge",
    ]
    delete(entries, purchase)
    assert not Purchase.objects.exists()
    undo(entries, last(entries.build))
    back = Purchase.objects.get()
    assert take_snapshot(back) == before
    assert [row.landed_amount for row in back.lines.all()] == [D(9), D(6)]
    assert back.landed_amount == 15
    assert list(find_differences(entries.build)) == []


def test_a_component_comes_back_with_its_prices(entries):
    shelf = entries.component("Shelf")
    entries.price(shelf, 4)
    entries.price(shelf, 5, DAY.replace(day=5))
    before = take_snapshot(shelf)
    delete(entries, shelf)
    assert not RetailPrice.objects.exists()
    undo(entries, last(entries.build))
    assert take_snapshot(Component.objects.get()) == before
    assert [price.price for price in RetailPrice.objects.all()] == [5, 4]


def test_a_change_is_kept_from_what_to_what_and_undone(entries, records):
    purchase = records["purchase"]
    before = take_snapshot(purchase)
    values = {"number": "P1", "bought_on": DAY, "note": "from the barn"}
    kept = [row | {"quantity_text": "14 pieces"} for row in lines_of(purchase)]
    save_purchase(**entries.by, purchase=purchase, values=values, lines=kept)
    change = last(entries.build)
    assert (change.action, change.before) == ("changed", before)
    assert change.after == take_snapshot(purchase) != before
    undo(entries, change)
    assert take_snapshot(purchase) == before
    assert list(find_differences(entries.build)) == []


def test_undoing_takes_out_rows_that_a_change_had_added(entries, records):
    purchase = records["purchase"]
    values = {"number": "P1", "bought_on": DAY}
    more = line(records["component"], "1 piece", unit_price=D(9))
    save_purchase(
        **entries.by,
        purchase=purchase,
        values=values,
        lines=[*lines_of(purchase), more],
        charges=[{"kind": "other", "amount": D(1)}],
    )
    assert purchase.lines.count() == 2
    undo(entries, last(entries.build))
    assert (purchase.lines.count(), purchase.charges.count()) == (1, 0)
    assert list(find_differences(entries.build)) == []


def test_undoing_an_undoing(entries, records):
    task = records["task"]
    delete(entries, records["labour"])
    delete(entries, task)
    undo(entries, last(entries.build))
    undo(entries, last(entries.build))
    assert not type(task).objects.exists()


def test_nothing_changed_is_no_line(entries, records):
    count = Change.objects.count()
    purchase = records["purchase"]
    values = {"number": "P1", "bought_on": DAY, "supplier": purchase.supplier}
    save_purchase(**entries.by, purchase=purchase, values=values, lines=lines_of(purchase))
    entries.change(records["component"], name="Board")
    assert Change.objects.count() == count


def test_undoing_is_refused_when_changed_since(entries, records):
    board = records["component"]
    entries.change(board, name="Board", waste_percent=D(5))
    older = last(entries.build)
    entries.change(board, name="Board", waste_percent=D(9))
    with pytest.raises(LedgerError, match="changed again since"):
        undo(entries, older)
    added = Change.objects.get(record_type="component", action="added", record_id=board.pk)
    with pytest.raises(LedgerError, match="changed again since"):
        undo(entries, added)
    board.refresh_from_db()
    assert board.waste_percent == 9


def test_undoing_is_refused_when_the_name_is_taken(entries, records):
    task = entries.task("Roof")
    delete(entries, task)
    entries.task("roof")
    change = Change.objects.get(record_type="task", action="deleted")
    with pytest.raises(LedgerError, match="cannot be brought back as it was"):
        undo(entries, change)


@pytest.mark.parametrize("kind", ["purchase", "conversion"])
def test_what_comes_back_to_find_its_number_taken_gets_the_next(kind, entries, records):
    gone = ADDED[kind](entries)
    number, pk = gone.number, gone.pk
    delete(entries, gone)
    change = last(entries.build)
    newer = ADDED[kind](entries)
    assert newer.number == number
    type(newer).objects.update(number=Lower("number"))
    said = undo_change(**entries.by, change=change)
    back = type(gone).objects.get(pk=pk)
    assert back.number.lower() != number.lower()
    assert said == [f"{number} is another {kind} now, so this one is {back.number}."]
    assert list(find_differences(entries.build)) == []
    # And that can be undone in its turn, like any change.
    undo(entries, last(entries.build))
    assert not type(gone).objects.filter(pk=pk).exists()


def test_undoing_is_refused_when_what_it_belongs_to_is_gone(entries, records):
    delete(entries, records["labour"])
    change = last(entries.build)
    delete(entries, records["task"])
    with pytest.raises(LedgerError, match="cannot be brought back as it was"):
        undo(entries, change)


def test_undoing_is_refused_when_the_material_was_used(entries, records):
    added = Change.objects.get(record_type="purchase", action="added")
    with pytest.raises(LedgerError, match="more Board than there is"):
        undo(entries, added)
    assert Purchase.objects.filter(number="P1").exists()
    assert list(find_differences(entries.build)) == []


def test_an_import_and_another_builds_entry_cannot_be_undone(entries, records, other_build):
    imported = Change.objects.create(build=entries.build, action="imported", record_type="build")
    with pytest.raises(LedgerError, match="cannot be undone on its own"):
        undo(entries, imported)
    with pytest.raises(LedgerError, match="cannot be undone on its own"):
        undo_change(actor=entries.actor, build=other_build, change=records["change"])


def test_a_builds_details_are_undone_with_areas_and_rates(entries):
    build = entries.build
    save_build(**entries.by, values={"name": "New name"}, areas=[("Wall", D(5), "sq ft")])
    undo(entries, last(build))
    build.refresh_from_db()
    assert build.name == "Hill shed"
    assert [str(area) for area in build.areas.all()] == ["Floor area"]
    assert [rate.rate for rate in build.distance_rates.all()] == [D("0.7")]


def test_what_comes_back_is_derived_with_the_contents_of_today(entries):
    """Contents were changed while a record was deleted."""
    lath = entries.component("Lath", contents="1 bundle = 10 pieces")
    strip = entries.component("Strip")
    purchase = entries.purchase("P1", line(lath, "4 bundles"))
    gone = {
        "left over": entries.left_over(lath, "1 bundle", Fate.ON_HAND),
        "price": entries.price(lath, 20, per_text="bundle"),
        "conversion": entries.conversion("C1", lath, "1 bundle", (strip, "5 pieces")),
        "purchase": purchase,
    }
    for record in gone.values():
        delete(entries, record)
    entries.change(lath, contents="1 bundle = 12 pieces")
    for kind in reversed(gone):
        undo(entries, Change.objects.get(record_type=kind, action="deleted"))
    assert list(find_differences(entries.build)) == []
    assert LeftOver.objects.get().base_qty == 12


def test_a_purchase_can_be_undone_after_a_new_price_shared_its_lot_anew(entries):
    """The price changed derived figures of the purchase, which nobody touched."""
    board, sash = entries.component("Board"), entries.component("Sash")
    entries.price(board, 1)
    purchase = entries.purchase(
        "P1", line(board, "1 piece"), line(sash, "1 piece"), lot_price_amount=D(10)
    )
    added = last(entries.build)
    entries.price(sash, 4)
    assert [row.landed_amount for row in purchase.lines.all()] == [2, 8]
    undo(entries, added)
    assert not Purchase.objects.exists()


def test_rows_of_another_purchase_are_refused(entries, records):
    other = entries.purchase("P2", line(records["component"], "1 piece"))
    rows = [row | {"pk": other.lines.get().pk} for row in lines_of(records["purchase"])]
    values = {"number": "P1", "bought_on": DAY}
    with pytest.raises(LedgerError, match="deleted meanwhile"):
        save_purchase(**entries.by, purchase=records["purchase"], values=values, lines=rows)


def test_one_row_sent_twice_is_refused(entries, records):
    rows = lines_of(records["purchase"]) * 2
    values = {"number": "P1", "bought_on": DAY}
    with pytest.raises(LedgerError, match="Open the page again"):
        save_purchase(**entries.by, purchase=records["purchase"], values=values, lines=rows)


def test_a_refused_change_leaves_no_line(entries, records):
    count = Change.objects.count()
    conversion = records["conversion"]
    with pytest.raises(LedgerError, match="more Board than there is"):
        save_conversion(
            **entries.by,
            conversion=conversion,
            values={"used_text": "13 pieces"},
            outputs=[{"component": Component.objects.get(name="Shelf"), "made_text": "1 piece"}],
        )
    assert Change.objects.count() == count
    conversion.refresh_from_db()
    assert conversion.used_text == "4 pieces"


class TestReading:
    def test_history_of_one_record_also_when_it_is_deleted(self, entries, build, clients):
        supplier = entries.supplier("Gravel pit")
        entries.supplier("Sand pit")
        delete(entries, supplier)
        answer = clients["viewer"].get(f"/builds/{build.pk}/history/of/supplier/{supplier.pk}/")
        text = answer.content.decode()
        assert "History of Gravel pit" in text
        assert "Sand pit" not in text
        assert [row.action for row in answer.context["table"].data] == ["deleted", "added"]

    def test_filtered_by_kind_person_and_day(self, entries, build, clients):
        entries.supplier("Gravel pit")
        entries.element("Q1")
        url = f"/builds/{build.pk}/history/"
        found = clients["viewer"].get(url, {"record_type": "supplier", "actor_name": "owner"})
        assert [row.summary for row in found.context["table"].data] == ["Gravel pit"]
        assert not clients["viewer"].get(url, {"until": "2020-01-01"}).context["table"].data
        # A choice that nobody has filters nothing and is no fault of the server.
        assert clients["viewer"].get(url, {"actor_name": "nobody"}).status_code == 200

    def test_it_outlives_the_account(self, entries, build, cast, clients):
        entries.supplier("Gravel pit")
        cast["owner"].delete()
        change = last(build)
        assert change.actor is None
        text = clients["viewer"].get(f"/builds/{build.pk}/history/{change.pk}/").content.decode()
        assert "owner" in text


def test_words_of_the_history_are_of_fields_and_models_there_are():
    models = list(apps.get_app_config("materials").get_models())
    fields = {field.name for model in models for field in model._meta.get_fields()}
    assert set(FIELD_WORDS) <= fields
    assert set(ROW_WORDS) <= {model._meta.model_name for model in models}
    # The tools' own are among them.
    assert {"kerf_text", "study_years", "inputs"} <= set(FIELD_WORDS)
    assert {"cuttingneed", "lifealternative", "takeoffuse"} <= set(ROW_WORDS)


def test_uses_of_a_takeoff_are_no_part_of_its_version(entries):
    takeoff = entries.takeoff("North wall", length="20 ft", height="8 ft")
    before = version_of(takeoff)
    entries.use(takeoff, "net", entries.component("Lime", unit="sq ft"))
    takeoff.refresh_from_db()
    assert version_of(takeoff) == before
