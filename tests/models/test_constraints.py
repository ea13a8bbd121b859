"""Each constraint of the database, broken once."""

from datetime import UTC, date, datetime, time
from decimal import Decimal as D

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from materials.models import (
    Alerts,
    BuildArea,
    Component,
    Conversion,
    ConversionOutput,
    CostIndex,
    CostIndexValue,
    CuttingBuy,
    CuttingHand,
    CuttingNeed,
    CuttingPlan,
    DistanceRate,
    Element,
    HandOver,
    ImportJob,
    ImportMapping,
    ImportName,
    ImportRow,
    Invitation,
    LabourEntry,
    LeftOver,
    Lesson,
    LifeAlternative,
    LifeChoice,
    LineTotal,
    Member,
    Move,
    Person,
    Photo,
    Purchase,
    PurchaseLine,
    RecoveryCode,
    Reminder,
    RetailPrice,
    SentForm,
    Share,
    ShareLink,
    Supplier,
    TakeoffUse,
    Task,
    Timer,
    WayToMake,
)
from tests.world import once

pytestmark = once("records")
DAY = date(2026, 5, 4)
NOW = datetime(2026, 5, 4, 12, tzinfo=UTC)


def second_reminder(build, records):
    """Another mail to the same member of the same deadline."""
    what = {"member": build.members.first(), "purchase": records["purchase"], "due_at": NOW}
    Reminder.objects.create(**what, claimed_at=NOW)
    return Reminder(**what, claimed_at=NOW)


def twin(model, **values):
    """A second row with the same name in another case."""
    return lambda build, records: model(build=build, **values)


def changed(model, **values):
    """A stored row of the model with other values."""

    def make(build, records):
        row = model.objects.first()
        for name, value in values.items():
            setattr(row, name, value)
        return row

    return make


def a_move(**values):
    """A move between two components with other values."""

    def make(build, records):
        board, shelf = records["component"], Component.objects.get(name="Shelf")
        right = {"component": board, "base_qty": D(1), "to_component": shelf, "to_qty": D(1)}
        return Move(**{"moved_on": DAY, **right, **values})

    return make


def second_rate(build, records):
    """A second rate from the same day on."""
    DistanceRate.objects.create(build=build, from_on=DAY, rate=D(1))
    return DistanceRate(build=build, from_on=DAY, rate=D(2))


def second_timer(build, records):
    """A second running watch of one user."""
    values = {"user": build.members.first().user, "kind": "sourcing", "started_at": NOW}
    Timer.objects.create(build=build, **values)
    return Timer(build=build, **values)


def share(weight, times=1):
    """Shares of one person."""

    def make(build, records):
        rows = [
            Share(build=build, person=records["labour"].person, weight=D(weight))
            for _ in range(times)
        ]
        for row in rows[:-1]:
            row.save()
        return rows[-1]

    return make


def second_of_job(model, **values):
    """A second row of a table on its way in, with the same place or name."""

    def make(build, records):
        job = ImportJob.objects.create(build=build, content="text")
        model.objects.create(job=job, **values)
        return model(job=job, **values)

    return make


TAKEN = {"figure": "net", "quantity_text": "9 sq ft"}


def to_themselves(build, records):
    """Money that somebody hands to nobody but themselves."""
    row = records["hand-over"]
    row.receiver = row.giver
    return row


def without_a_rate(build, records):
    """Own hours that count at no rate."""
    build.own_hours_count, build.own_labour_rate = True, None
    return build


def second_record(build, records):
    """A form of one user recorded a second time."""
    values = {"user": build.members.first().user, "token": "a" * 22}
    SentForm.objects.create(**values)
    return SentForm(**values)


def second_code(build, records):
    """One recovery code of an account twice."""
    values = {"user": build.members.first().user, "salt": "0" * 32, "digest": "0" * 64}
    RecoveryCode.objects.create(**values)
    return RecoveryCode(**values)


def second_of_month(build, records):
    """A second value of an index for one month."""
    row = CostIndexValue.objects.first()
    return CostIndexValue(index=row.index, month=row.month, value=D(2))


def use(**values):
    """A use of a takeoff's figure, beside one for a component and one for an area."""

    def make(build, records):
        for given in ({"component": records["component"]}, {"area_label": "Floor area"}):
            TakeoffUse.objects.create(**TAKEN, takeoff=records["takeoff"], **given)
        summary = {"component": records["component"]} if values.get("component") else {}
        return TakeoffUse(**TAKEN, takeoff=records["takeoff"], **(values | summary))

    return make


def second_mapping(build, records):
    """A second mapping of one set of headings."""
    ImportMapping.objects.create(build=build, headings_key="x", kind="hours")
    return ImportMapping(build=build, headings_key="x", kind="prices")


# Name of a constraint -> a row that breaks it, given the build and one record of each kind.
BREAKS = {
    "one_area_per_label": twin(BuildArea, label="FLOOR area", area_qty=D(1), area_unit="sq ft"),
    "area_above_zero": changed(BuildArea, area_qty=D(0)),
    "one_rate_per_date": second_rate,
    "one_rate_from_the_beginning": twin(DistanceRate, from_on=None, rate=D(1)),
    "one_timer_per_user": second_timer,
    "one_record_per_form": second_record,
    "one_recovery_code_once": second_code,
    "photo_of_one_record": lambda build, records: Photo(
        build=build,
        purchase=records["purchase"],
        conversion=records["conversion"],
        width=1,
        height=1,
    ),
    "invited_to_no_ownership": twin(Invitation, role="owner", digest="d", expires_at=NOW),
    "invitation_used_or_revoked": twin(
        Invitation, role="viewer", digest="d", expires_at=NOW, used_at=NOW, revoked_at=NOW
    ),
    "one_element_per_code": twin(Element, code="a10", name="Twin"),
    "one_role_per_member": lambda build, records: Member(
        build=build, user=build.members.first().user, role="viewer"
    ),
    "one_person_per_name": twin(Person, name="ANN"),
    "one_component_per_name": twin(Component, name="bOARD", unit="piece"),
    "one_supplier_per_name": twin(Supplier, name="yard"),
    "one_task_per_name": twin(Task, name="FRAME"),
    "one_running_total": lambda build, records: LineTotal(
        build=build, component=records["component"], source="salvage", state="received"
    ),
    "one_purchase_per_number": twin(Purchase, number="p1", bought_on=DAY),
    "one_conversion_per_number": lambda build, records: Conversion(
        build=build,
        number="c1",
        converted_on=DAY,
        source=records["component"],
        used_text="1 piece",
        used_qty=D(1),
    ),
    "price_per_something": changed(RetailPrice, per_qty=D(0)),
    "price_not_negative": changed(RetailPrice, price=D("-0.01")),
    "line_above_zero": changed(PurchaseLine, base_qty=D(0)),
    "usable_share_within_one": changed(PurchaseLine, usable_percent=D("100.0001")),
    "one_price_per_line": changed(PurchaseLine, unit_price=D(1), line_price_amount=D(1)),
    "one_way_from_to": lambda build, records: WayToMake(
        build=build,
        source=records["component"],
        component=records["way-to-make"].component,
        used_text="1 piece",
        made_text="2 pieces",
    ),
    "way_from_another": lambda build, records: WayToMake(
        build=build,
        source=records["component"],
        component=records["component"],
        used_text="1 piece",
        made_text="2 pieces",
    ),
    "way_leaves_something": changed(WayToMake, lost_percent=D(100)),
    "way_hours_not_negative": changed(WayToMake, hours_each=D("-0.1")),
    "way_extra_not_negative": changed(WayToMake, extra_each=D("-0.01")),
    "lesson_about_one": lambda build, records: Lesson(
        build=build,
        text="Both",
        noted_on=DAY,
        component=records["component"],
        supplier=records["supplier"],
    ),
    "lesson_amount_not_negative": changed(Lesson, amount=D("-0.01")),
    "lesson_hours_not_negative": changed(Lesson, hours=D("-0.1")),
    "one_cutting_plan_per_name": lambda build, records: CuttingPlan(
        build=build,
        name="CUTS 1",
        component=records["component"],
        planned_on=DAY,
        kerf_text="1/8 in",
    ),
    "cutting_method_known": changed(CuttingPlan, method="torn"),
    "cutting_hand_above_zero": changed(CuttingHand, count=0),
    "cutting_need_above_zero": changed(CuttingNeed, count=0),
    "cutting_price_not_negative": lambda build, records: CuttingBuy(
        plan=records["cutting-plan"], length_text="16 ft", price=D("-1")
    ),
    "cutting_most_above_zero": lambda build, records: CuttingBuy(
        plan=records["cutting-plan"], length_text="16 ft", most=0
    ),
    "conversion_uses_something": changed(Conversion, used_qty=D(0)),
    "conversion_makes_something": changed(ConversionOutput, made_qty=D("-1")),
    "move_out_above_zero": a_move(base_qty=D(0)),
    "move_in_above_zero": a_move(to_qty=None),
    "move_has_a_side": a_move(component=None, base_qty=None, to_component=None, to_qty=None),
    "one_import_row_per_number": second_of_job(ImportRow, number=2),
    "one_import_name": second_of_job(ImportName, kind="supplier", key="yard", name="Yard"),
    "one_import_mapping": second_mapping,
    "left_over_above_zero": changed(LeftOver, base_qty=D(0)),
    "no_time_without_a_day": changed(Purchase, ends_time=time(18)),
    "calendar_address_has_a_day": lambda build, records: Alerts(
        member=build.members.first(), token_hash="0" * 64
    ),
    "one_reminder_per_deadline": second_reminder,
    "opened_link_has_a_time": lambda build, records: ShareLink(
        build=build, label="Ann", token_hash="0" * 64, opened_count=1
    ),
    "studied_for_years": changed(LifeChoice, study_years=101),
    "nominal_rate_has_inflation": changed(LifeChoice, rate_kind="nominal"),
    "rates_within_reason": changed(LifeChoice, rate_percent=D(-51)),
    "lasts_whole_years": changed(LifeAlternative, life_high_years=0),
    "what_is_dragged_has_a_name": changed(LifeAlternative, drag_hours=D(1)),
    "upkeep_changes_within_reason": changed(LifeAlternative, upkeep_change_percent=D(201)),
    "one_cost_index_per_name": twin(CostIndex, name="LUMBER"),
    "takeoff_goes_to_one": use(component=True, area_label="Floor area"),
    "one_use_for_a_component": use(component=True),
    "one_use_for_an_area": use(area_label="Floor area"),
    "one_index_value_per_month": second_of_month,
    "index_value_above_zero": changed(CostIndexValue, value=D(0)),
    "hours_above_zero": changed(LabourEntry, hours=D(0)),
    "own_hours_need_a_rate": without_a_rate,
    "one_share_per_person": share(1, times=2),
    "share_above_zero": share(0),
    "hand_over_above_zero": changed(HandOver, amount=D(0)),
    "hand_over_between_two": to_themselves,
}


def constraints() -> set[str]:
    return {
        constraint.name
        for model in apps.get_app_config("materials").get_models()
        for constraint in model._meta.constraints
    }


def test_every_constraint_has_a_row():
    assert constraints() == set(BREAKS)


@pytest.mark.parametrize("name", sorted(BREAKS))
def test_the_database_refuses(name, build, records):
    row = BREAKS[name](build, records)
    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        row.save()
    text = str(refused.value)
    if "UNIQUE" not in text:
        assert name in text


def test_a_share_below_nothing_is_refused(records):
    with pytest.raises(IntegrityError, match="usable_share_within_one"), transaction.atomic():
        PurchaseLine.objects.update(usable_percent=D("-0.0001"))


def test_names_are_free_on_another_build(other_build, records):
    for model, values in (
        (Component, {"name": "Board", "unit": "piece"}),
        (Supplier, {"name": "Yard"}),
        (Task, {"name": "Frame"}),
        (Purchase, {"number": "P1", "bought_on": DAY}),
    ):
        assert model.objects.create(build=other_build, **values).pk


def test_what_is_used_cannot_be_deleted(records):
    for kind in ("component", "supplier", "task"):
        with pytest.raises(ProtectedError), transaction.atomic():
            records[kind].delete()


def test_one_person_is_one_member(build, records):
    """A one-to-one field: its constraint has no name of ours."""
    ann = Person.objects.get(name="Ann")
    first, second = build.members.all()[:2]
    Member.objects.filter(pk=first.pk).update(person=ann)
    with pytest.raises(IntegrityError), transaction.atomic():
        Member.objects.filter(pk=second.pk).update(person=ann)


def test_two_invitations_never_have_one_secret(build):
    values = {"build": build, "role": "viewer", "digest": "d" * 64, "expires_at": NOW}
    Invitation.objects.create(**values)
    with pytest.raises(IntegrityError), transaction.atomic():
        Invitation.objects.create(**values)
