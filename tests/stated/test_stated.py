"""Nothing that somebody states is lost on any way in, out or through."""

import io
from collections.abc import Callable, Iterator
from datetime import timedelta
from fractions import Fraction
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.db import models, transaction
from django.test import Client, override_settings
from django.urls import reverse

from materials.cutting.calc.flat.store import to_data as flat_to_data
from materials.cutting.calc.store import to_data
from materials.cutting.queries.flat_plans import flat_order_of, work_out_flat
from materials.cutting.queries.plans import order_of, work_out
from materials.cutting.services import save_plan
from materials.exchange.backups import read_build, write_build
from materials.exchange.schema import BUILD_COLUMNS, MOVED_OUT, NOT_CARRIED, SHEETS
from materials.exchange.writer import write_workbook
from materials.forms.short_form import LogForm
from materials.lifecycle.calc.escalation import IndexValue
from materials.lifecycle.services.comparisons import save_life_choice
from materials.lifecycle.services.indexes import save_cost_index
from materials.models import (
    Build,
    BuildArea,
    Change,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    CostIndex,
    CuttingBuy,
    CuttingHand,
    CuttingMethod,
    CuttingNeed,
    CuttingPlan,
    DistanceRate,
    Element,
    Estimate,
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    LifeAlternative,
    LifeChoice,
    Member,
    Move,
    Person,
    Photo,
    Purchase,
    PurchaseLine,
    RetailPrice,
    ShareLink,
    Supplier,
    Takeoff,
    Task,
    WayToMake,
)
from materials.models.lessons import ABOUT
from materials.models.stated import derived_fields, stated_fields, stated_values
from materials.queries.checks import find_differences
from materials.queries.drafts import PRICED, of_purchase
from materials.services.builds import create_build, save_build, save_element
from materials.services.components import save_component
from materials.services.errors import LedgerError
from materials.services.history import record_type
from materials.services.labour import save_labour, save_task
from materials.services.lessons import save_lesson
from materials.services.new_builds import CarryOver, start_from
from materials.services.prices import save_price
from materials.services.purchases import save_purchase
from materials.services.records import delete_record, undo_change
from materials.services.settling import save_payment
from materials.services.short_form import change_state
from materials.services.stock import save_conversion, save_left_over
from materials.services.suppliers import save_supplier
from materials.services.transfers import save_transfer
from materials.services.ways import save_way
from materials.takeoffs.services import save_takeoff
from tests.exchange.small import bring_in
from tests.stated.world import DAY, MODELS, World, rows_of, said_of, tell
from tests.views.screens import Page, Screens

Stated = dict[str, list[dict[str, Any]]]
STATED = [(model, name) for model in MODELS for name in stated_fields(model)]
# What only the service knows: which rows on hand it is taken from, and who moved it.
SET_BY_SERVICE = frozenset({"hand_text", "moved_by"})
MODELS_BY_PREFIX = {
    "lines": PurchaseLine, "charges": Charge, "outputs": ConversionOutput,
    "alternatives": LifeAlternative, "hand": CuttingHand, "buy": CuttingBuy, "needs": CuttingNeed,
}  # fmt: skip


@pytest.fixture(scope="module")
def filled(django_db_setup, django_db_blocker, tmp_path_factory) -> Iterator[World]:
    """Made once; what a test changes is taken back after it."""
    media = tmp_path_factory.mktemp("media")
    with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=media), transaction.atomic():
        actor = get_user_model().objects.create_user("owner", password="pw-for-tests")
        world = World(actor, create_build(actor=actor, values={"name": "Hill shed"}))
        world.fill()
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(filled, db) -> World:
    filled.build.refresh_from_db()
    return filled


@pytest.fixture
def screens(world) -> Screens:
    client = Client()
    client.force_login(world.actor)
    return Screens(client, world.build.pk)


def test_the_world_says_everything(world):
    """Every stated field of every kind of record holds something else than it would anyway."""
    assert list(find_differences(world.build)) == []
    for model, name in STATED:
        field = model._meta.get_field(name)
        usual = (None, "", [], {}, field.get_default())
        lines = [getattr(row, name) for row in rows_of(model, world.build)]
        assert any(value not in usual for value in lines), f"{field} is never stated"


def test_what_is_derived_is_a_field():
    for model in MODELS:
        names = {field.name for field in model._meta.concrete_fields}
        assert derived_fields(model) <= names, model


def changed(result: Stated, *without: tuple[type[models.Model], str]) -> Stated:
    """What was told, but for some fields."""
    return {
        model._meta.label: sorted(
            (
                {name: found for name, found in row.items() if (model, name) not in without}
                for row in result[model._meta.label]
            ),
            key=repr,
        )
        for model in MODELS
    }


def without_on_hand(result: Stated) -> Stated:
    """What is on hand may stand in other rows once something was given back."""
    left_over = LeftOver._meta.label
    return result | {left_over: [row for row in result[left_over] if row["fate"] != "on hand"]}


# --- deleting, changing, undoing

DELETED = (
    Element, Component, RetailPrice, Supplier, Purchase, Conversion, LeftOver, CuttingPlan, Move,
    WayToMake, Lesson,
    Task, Estimate, LabourEntry, HandOver, Takeoff, Photo, LifeChoice, CostIndex,
)  # fmt: skip


@pytest.mark.parametrize("model", DELETED)
def test_deleted_and_brought_back(model, world):
    before, gone = tell(world.build), 0
    for record in rows_of(model, world.build):
        try:
            delete_record(actor=world.actor, build=world.build, record=record)
        except LedgerError:
            # Others use it.
            continue
        gone += 1
        deleted = Change.objects.filter(build=world.build, action="deleted")
        change = deleted.get(record_type=record_type(record), record_id=record.pk)
        undo_change(actor=world.actor, build=world.build, change=change)
    assert gone
    assert tell(world.build) == before
    assert list(find_differences(world.build)) == []


def rows(parent: models.Model, related: str) -> list[dict[str, Any]]:
    """The rows of a record as its service takes them."""
    return [{"pk": row.pk, **stated_values(row)} for row in getattr(parent, related).all()]


def save_cutting(by: dict[str, Any], record: CuttingPlan, values: dict[str, Any]) -> None:
    parts = {name: rows(record, name) for name in ("hand", "buy", "needs")}
    typed = record.hand.all(), record.buy.all(), record.needs.all()
    if values["method"] == CuttingMethod.LENGTHS:
        result = to_data(work_out(order_of(values["kerf_text"], *typed)[0]))
    else:
        texts = values["kerf_text"], values["keep_text"]
        order, _ = flat_order_of(values["method"], texts, *typed)
        result = flat_to_data(work_out_flat(order))
    save_plan(**by, plan=record, values=values, result=result, **parts)


def save_index(by: dict[str, Any], record: CostIndex, values: dict[str, Any]) -> None:
    months = [
        IndexValue(row.month, Fraction(row.value), row.is_preliminary)
        for row in record.months.all()
    ]
    save_cost_index(**by, index=record, values=values, months=months)


Saver = Callable[[dict[str, Any], Any, dict[str, Any]], Any]
SAVERS: dict[type[models.Model], Saver] = {
    Element: lambda by, record, values: save_element(**by, element=record, values=values),
    Component: lambda by, record, values: save_component(**by, component=record, values=values),
    RetailPrice: lambda by, record, values: save_price(
        **by, price=record, values=values | {"component": record.component}
    ),
    Supplier: lambda by, record, values: save_supplier(**by, supplier=record, values=values),
    Purchase: lambda by, record, values: save_purchase(
        **by,
        purchase=record,
        values=values,
        lines=rows(record, "lines"),
        charges=rows(record, "charges"),
    ),
    Conversion: lambda by, record, values: save_conversion(
        **by, conversion=record, values=values, outputs=rows(record, "outputs"), from_stock=True
    ),
    LeftOver: lambda by, record, values: save_left_over(
        **by, left_over=record, values=values, from_stock=True
    ),
    WayToMake: lambda by, record, values: save_way(
        **by, way=record, values=values | {"component": record.component}
    ),
    Lesson: lambda by, record, values: save_lesson(**by, lesson=record, values=values),
    Task: lambda by, record, values: save_task(**by, task=record, values=values),
    LabourEntry: lambda by, record, values: save_labour(**by, entry=record, values=values),
    HandOver: lambda by, record, values: save_payment(**by, payment=record, values=values),
    LifeChoice: lambda by, record, values: save_life_choice(
        **by, choice=record, values=values, alternatives=rows(record, "alternatives")
    ),
    Takeoff: lambda by, record, values: save_takeoff(**by, takeoff=record, values=values),
    CuttingPlan: save_cutting,
    CostIndex: save_index,
    Build: lambda by, record, values: save_build(
        actor=by["actor"],
        build=record,
        values=values,
        areas=[(one.label, one.area_qty, one.area_unit) for one in record.areas.all()],
        rates=[(one.from_on, one.rate) for one in record.distance_rates.all()],
    ),
}
# What a change leaves as it is: it ties the record to others, or could not be undone.
KEPT = {
    (Purchase, "state"), (Conversion, "hand_text"), (LeftOver, "hand_text"),
    (LeftOver, "proceeds_amount"), (Build, "own_hours_count"), (CuttingPlan, "taken_on"),
    (HandOver, "giver"), (HandOver, "receiver"), (Conversion, "source"), (WayToMake, "source"),
    (WayToMake, "component"), *((Lesson, about) for about in ABOUT),
}  # fmt: skip


@pytest.mark.parametrize("model", SAVERS)
def test_saved_and_undone(model, world):
    """Every field is saved with another value, and is what it was when that is undone."""
    *_, record = rows_of(model, world.build)
    before = tell(world.build)
    kept = {name: getattr(record, name) for kind, name in KEPT if kind is model}
    values = world.values(model, n=1, **kept)
    if model is LeftOver:
        values["proceeds_amount"] = None
    by = {"actor": world.actor, "build": world.build}
    SAVERS[model](by, record, values)
    stored = stated_values(model._default_manager.get(pk=record.pk))
    left = {name for name in SET_BY_SERVICE if name in stored}
    assert {k: v for k, v in stored.items() if k not in left} == {
        k: v for k, v in values.items() if k not in left
    }
    assert tell(world.build) != before
    changes = Change.objects.filter(build=world.build, record_type=record_type(record))
    change = next(one for one in changes if one.record_id == record.pk)
    undo_change(actor=world.actor, build=world.build, change=change)
    assert without_on_hand(tell(world.build)) == without_on_hand(before)
    assert list(find_differences(world.build)) == []


# --- pages: saved as they are shown

PAGES = {
    Element: "element_edit", Component: "component_edit", RetailPrice: "price_edit",
    Supplier: "supplier_edit", Purchase: "purchase_edit", Conversion: "conversion_edit",
    WayToMake: "way_to_make_edit", Lesson: "lesson_edit",
    LeftOver: "left_over_edit", CuttingPlan: "cutting_plan_edit", Task: "task_edit",
    LabourEntry: "labour_edit", HandOver: "hand_over_edit", Takeoff: "takeoff_edit",
    LifeChoice: "life_choice_edit", CostIndex: "cost_index_edit", ShareLink: "share_edit",
}  # fmt: skip


@pytest.mark.parametrize("model", PAGES)
def test_a_page_saved_as_it_is_shown_changes_nothing(model, world, screens):
    *_, record = rows_of(model, world.build)
    before = tell(world.build)
    screens.save(PAGES[model], {}, record.pk)
    assert tell(world.build) == before


def test_the_details_of_a_build_saved_as_they_are_shown(world, screens):
    before = tell(world.build)
    screens.save("build_edit", {})
    assert tell(world.build) == before


# What is asked nowhere on the form of its record, and why.
UNASKED: dict[type[models.Model], frozenset[str]] = {
    # It has its own page, so that nobody does it in passing.
    Build: frozenset({"put_away_on", "own_hours_count"}),
    # Where a quantity came from that nobody stated.
    Component: frozenset({"required_from"}),
    # Asked as one: what it is about.
    Lesson: frozenset(ABOUT),
    # Asked as “taken from”.
    Conversion: frozenset({"hand_text"}),
    LeftOver: frozenset({"hand_text"}),
    CuttingPlan: frozenset({"taken_on"}),
    # Chosen before the form.
    Takeoff: frozenset({"shape", "inputs"}),
    ShareLink: frozenset(
        {"token_hash", "created_by", "revoked_at", "last_opened_at", "opened_count"}
    ),
}


@pytest.mark.parametrize("model", PAGES)
def test_a_form_asks_for_every_field(model, world, screens):
    *_, record = rows_of(model, world.build)
    answer = screens.client.get(reverse(PAGES[model], args=[world.build.pk, record.pk]))
    names = set(answer.context["form"].fields)
    assert set(stated_fields(model)) - UNASKED.get(model, frozenset()) <= names
    for part in answer.context.get("formsets") or ():
        formset = part["formset"]
        row = MODELS_BY_PREFIX[formset.prefix]
        assert set(stated_fields(row)) <= set(formset.form.base_fields), row


# --- the short form

# What a line of the short form is never asked; the long form holds it.
LONG_ONLY = frozenset({"lot_weight", "price_breaks", "most_text", "step_text"})


def said_shortly(world: World, **more: Any) -> dict[str, Any]:
    """Every field of a line and of its purchase as the short form takes it."""
    result = world.values(PurchaseLine) | world.values(Purchase, state="received")
    names = {*stated_fields(PurchaseLine), *of_purchase(LogForm.base_fields)}
    typed = {name: result[name] for name in names - PRICED - LONG_ONLY - {"component"}}
    typed = {
        name: value.name if isinstance(value, models.Model) else value
        for name, value in typed.items()
    }
    note = world.values(PurchaseLine)["note"]
    return typed | {"note": note, "what": "Board", "price": "9", "price_for": "each"} | more


def test_the_short_form_asks_for_every_field():
    asked = set(LogForm.base_fields)
    assert set(stated_fields(PurchaseLine)) - PRICED - {"component"} - asked == LONG_ONLY


def test_all_of_the_short_form_is_kept(world, screens):
    typed = said_shortly(world)
    screens.save("log", typed)
    line = PurchaseLine.objects.latest("pk")
    result = stated_values(line)
    for name in set(typed) & set(result) - PRICED:
        assert result[name] == typed[name], name
    own = stated_values(line.purchase)
    for name in of_purchase(LogForm.base_fields):
        found = own[name].name if isinstance(own[name], models.Model) else own[name]
        assert found == typed[name], name


def test_the_short_form_as_a_copy_or_a_long_one_holds_all_of_it(world, screens):
    typed = said_shortly(world, price="", note="")
    screens.save("log", typed)
    line = PurchaseLine.objects.latest("pk")
    page = screens.read(f"{screens.url('log')}?like={line.purchase.pk}")
    screens.send(screens.url("log"), screens.filled(page.form, {}))
    copy = PurchaseLine.objects.latest("pk")
    assert copy.pk != line.pk
    assert said_of(copy) | {"purchase": ""} == said_of(line) | {"purchase": ""}
    asked = set(of_purchase(LogForm.base_fields)) - {"bought_on"}
    for name in asked:
        assert getattr(copy.purchase, name) == getattr(line.purchase, name), name
    sent = screens.filled(page.form, {}) | {"from_short": "1"}
    long = Page(screens.send(screens.url("purchase_add"), sent).content.decode())
    screens.send(screens.url("purchase_add"), screens.filled(long.form, {}))
    longer = PurchaseLine.objects.latest("pk")
    assert longer.pk != copy.pk
    assert said_of(longer) | {"purchase": ""} == said_of(line) | {"purchase": ""}
    for name in asked:
        assert getattr(longer.purchase, name) == getattr(line.purchase, name), name


def test_another_line_leaves_the_others_as_they_are(world, screens):
    offer = Purchase.objects.filter(build=world.build, state="offer").get()
    before = [said_of(row) for row in (*offer.lines.all(), *offer.charges.all())]
    head = said_of(offer)
    asked = set(stated_fields(PurchaseLine))
    typed = {k: v for k, v in said_shortly(world).items() if k in asked | {"what", "price"}}
    url = f"{screens.url('log')}?into={offer.pk}"
    answer = screens.send(url, screens.filled(screens.read(url).form, typed))
    assert answer.status_code == 302
    offer.refresh_from_db()
    assert [said_of(row) for row in (*list(offer.lines.all())[:-1], *offer.charges.all())] == before
    assert said_of(offer) == head


@pytest.mark.parametrize("state", ["ordered", "received", "declined"])
def test_a_change_of_state_keeps_all_else(state, world):
    offer = Purchase.objects.filter(build=world.build, state="offer").get()
    before = tell(world.build)
    by = {"actor": world.actor, "build": world.build}
    change_state(**by, purchase=offer, state=state, on=DAY + timedelta(days=3))
    new = (Purchase, "state"), (Purchase, "bought_on")
    assert changed(tell(world.build), *new) == changed(before, *new)


# --- the workbook

CARRIED = {column.model for sheet in SHEETS for column in sheet.columns if not column.is_shown}
CARRIED |= {Build}
# Their fields are rows of the Build sheet.
ON_BUILD_SHEET = {BuildArea, DistanceRate}


@pytest.mark.parametrize(
    "model", sorted(CARRIED, key=lambda model: model.__name__), ids=lambda model: model.__name__
)
def test_every_field_has_a_column_or_a_reason(model):
    columns = [*BUILD_COLUMNS.values(), MOVED_OUT.column("component"), MOVED_OUT.column("quantity")]
    columns += [column for sheet in SHEETS for column in sheet.columns]
    held = {column.field for column in columns if column.model is model}
    reason = NOT_CARRIED.get(model, frozenset())
    assert set(stated_fields(model)) - held == reason
    assert held - set(stated_fields(model)) <= {"purchase", "component"}


def test_out_as_a_workbook_and_in_again(world):
    stream = io.BytesIO()
    write_workbook(world.build, stream)
    made = bring_in(stream.getvalue(), name="Copy")
    assert list(find_differences(made)) == []
    left = [(model, name) for model, names in NOT_CARRIED.items() for name in names]
    left.append((Build, "name"))
    one, other = (changed(tell(which), *left) for which in (world.build, made))
    for model in CARRIED | ON_BUILD_SHEET:
        assert other[model._meta.label] == one[model._meta.label], model


# --- whole builds


def test_out_as_a_file_and_into_another_build(world):
    stream = io.BytesIO()
    write_build(world.build, stream)
    stream.seek(0)
    made = read_build(stream, actor=world.actor)
    # Accounts and what belongs to them are of one server only.
    accounts = [
        (model, field.name)
        for model in MODELS
        for field in model._meta.concrete_fields
        if field.related_model is get_user_model()
    ]
    one, other = (changed(tell(which), *accounts) for which in (world.build, made))
    for model in set(MODELS) - {Member, ShareLink}:
        assert other[model._meta.label] == one[model._meta.label], model


def test_a_component_moved_for_the_first_time_is_made_as_it_was(world):
    values = {"name": "Tool house", "currency": world.build.currency}
    second = create_build(actor=world.actor, values=values)
    board = Component.objects.get(build=world.build, name="Board")
    values = world.values(Move, component=board, to_component=None, was_on_hand=False)
    save_transfer(
        actor=world.actor, build=world.build, transfer=Move(), values=values, to_build=second
    )
    there = Component.objects.get(build=second, name="Board")
    # What is said of a component as a part of its build does not go along.
    own = {"element", "required_text", "required_from", "waste_percent", "note"}
    for name in set(stated_fields(Component)) - own:
        assert getattr(there, name) == getattr(board, name), name


def test_a_build_begun_from_another_holds_what_is_carried(world):
    carry = CarryOver(budgets=True, persons=True)
    values = {"name": "Next", "currency": world.build.currency}
    made = start_from(actor=world.actor, earlier=world.build, values=values, carry_over=carry)
    new = (Task, "done_percent"), (Component, "required_from")
    one, other = (changed(tell(which), *new) for which in (world.build, made))
    for model in (Element, Component, RetailPrice, Supplier, Person, Task):
        assert other[model._meta.label] == one[model._meta.label], model
