"""Takeoffs kept, changed and undone, and the requirements and areas that follow them."""

from decimal import Decimal as D

import pytest
from django.db import IntegrityError, transaction

from materials.models import BuildArea, Change, Component, Takeoff, TakeoffUse
from materials.queries.checks import find_differences
from materials.services.errors import LedgerError
from materials.services.records import delete_record, undo_change
from materials.takeoffs.calc.takeoff import SHAPES
from materials.takeoffs.queries import requirement_of
from materials.takeoffs.services import (
    UseMode,
    remove_use,
    save_takeoff,
    use_for_area,
    use_for_component,
)


@pytest.fixture
def wall(entries) -> Takeoff:
    """120 sq ft."""
    return entries.takeoff("Wall north", length="15 ft", height="8 ft")


@pytest.fixture
def other(entries) -> Takeoff:
    """200 sq ft."""
    return entries.takeoff("Wall south", length="25 ft", height="8 ft")


@pytest.fixture
def siding(entries) -> Component:
    return entries.component("Siding", "sq ft")


@pytest.fixture
def give(entries):
    """Give a figure of a takeoff to a component."""

    def do(takeoff, component, how=UseMode.ADD, figure="net", **values):
        return use_for_component(
            **entries.by,
            takeoff=takeoff,
            figure=figure,
            component=component,
            how=how,
            values=values,
        )

    return do


def measure(entries, takeoff, **typed) -> list[str]:
    values = {"name": takeoff.name, "note": "", "inputs": takeoff.inputs | typed}
    return save_takeoff(**entries.by, takeoff=takeoff, values=values)


def required(component: Component) -> tuple[str, D | None]:
    component.refresh_from_db()
    return component.required_text, component.required_qty


def parts(component: Component) -> tuple[list[tuple[str, int]], int]:
    component.refresh_from_db()
    found = requirement_of(component)
    return [(part.use.takeoff.name, part.base) for part in found.parts], found.rest


def test_it_is_kept_with_its_measures_and_figures(wall, build):
    stored = Takeoff.objects.get()
    assert stored.inputs["length"] == "15 ft"
    assert [(row["key"], row["typed"]) for row in stored.figures] == [("net", "120 sq ft")]
    assert stored.figures[0]["formula"] == "15 ft × 8 ft"
    entry = Change.objects.filter(build=build).first()
    assert (entry.action, entry.record_type, entry.summary) == ("added", "takeoff", "Wall north")


def test_measures_that_make_no_shape_are_refused_at_their_box(entries, wall):
    changes = Change.objects.count()
    with pytest.raises(LedgerError) as error:
        measure(entries, wall, length="long")
    assert error.value.field == "length"
    assert Change.objects.count() == changes


class TestRequirements:
    def test_figures_add_up_and_say_where_they_come_from(self, give, wall, other, siding, entries):
        give(wall, siding)
        assert required(siding) == ("120 sq ft", D(120))
        give(other, siding)
        assert required(siding) == ("320 sq ft", D(320))
        entries.change(siding, required_text="412 sq ft")
        assert parts(siding) == ([("Wall north", 120), ("Wall south", 200)], 92)

    def test_a_requirement_set_lower_since_is_told(self, give, wall, siding, entries):
        give(wall, siding)
        entries.change(siding, required_text="100 sq ft")
        found = requirement_of(siding)
        assert (found.is_short, found.missing) == (True, 20)

    def test_replacing_takes_other_takeoffs_out(self, give, wall, other, siding):
        give(wall, siding)
        give(other, siding, UseMode.REPLACE)
        assert required(siding) == ("200 sq ft", D(200))
        assert parts(siding) == ([("Wall south", 200)], 0)
        assert not wall.uses.exists()

    def test_what_holds_it_already_stays(self, give, wall, entries):
        siding = entries.component("Siding", "sq ft", required_text="820 sq ft")
        give(wall, siding, UseMode.KEEP)
        assert required(siding) == ("820 sq ft", D(820))
        assert parts(siding) == ([("Wall north", 120)], 700)

    def test_a_new_component_is_made(self, give, wall, build):
        made = give(wall, Component(build=build), UseMode.KEEP, name="Cladding", unit="sq ft")
        assert (made.name, made.unit, required(made)[1]) == ("Cladding", "sq ft", 120)

    def test_a_name_that_is_taken(self, give, wall, siding, build):
        with pytest.raises(LedgerError) as error:
            give(wall, Component(build=build), name="siding", unit="sq ft")
        assert error.value.field == "new_name"
        assert not TakeoffUse.objects.exists()

    def test_units_go_through_the_contents(self, give, entries):
        sheet = entries.component("Sheet", "sheet", contents="1 sheet = 32 sq ft")
        give(entries.takeoff("Wall", length="20 ft", height="8 ft"), sheet)
        assert required(sheet) == ("160 sq ft", D(5))
        framed = entries.takeoff("Frame", "framed-wall", length="24 ft", height="8 ft")
        stud = entries.component("Stud", "ft")
        give(framed, stud, figure="studs")
        # 18 + 1 and two at each of two corners, of 7.625 ft each.
        assert required(stud) == ("23 @ 7.625 ft", 23 * D("7.625"))

    def test_what_does_not_convert_is_said_and_nothing_is_kept(self, give, wall, entries):
        nail = entries.component("Nail", "lb")
        changes = Change.objects.count()
        with pytest.raises(LedgerError, match="contents") as error:
            give(wall, nail)
        assert error.value.field == "target"
        assert (Change.objects.count(), TakeoffUse.objects.count()) == (changes, 0)

    def test_the_same_figure_twice(self, give, wall, siding):
        give(wall, siding)
        with pytest.raises(LedgerError, match="holds this figure already"):
            give(wall, siding)
        assert required(siding)[1] == 120

    def test_a_figure_that_is_not_there(self, give, wall, siding):
        with pytest.raises(LedgerError, match="no longer has that figure"):
            give(wall, siding, figure="gross")


class TestChanged:
    def test_requirements_follow(self, give, wall, other, siding, entries):
        give(wall, siding)
        give(other, siding)
        entries.change(siding, required_text="330 sq ft")
        result = measure(entries, wall, length="20 ft")
        assert result == ["Siding requires 370 sq ft now."]
        assert required(siding) == ("370 sq ft", D(370))
        assert parts(siding) == ([("Wall north", 160), ("Wall south", 200)], 10)

    def test_the_only_part_is_kept_as_it_reads(self, give, entries):
        framed = entries.takeoff("Frame", "framed-wall", length="24 ft", height="8 ft")
        stud = entries.component("Stud", contents="1 piece = 8 ft")
        give(framed, stud, figure="studs")
        measure(entries, framed, corners="0")
        assert required(stud)[0] == "19 @ 7.625 ft"

    def test_one_that_was_set_lower_since_stays(self, give, wall, siding, entries):
        give(wall, siding)
        entries.change(siding, required_text="50 sq ft")
        (result,) = measure(entries, wall, length="20 ft")
        assert "stays at 50 sq ft" in result
        assert required(siding)[1] == 50

    def test_a_figure_that_is_gone_is_told(self, give, siding, entries):
        wall = entries.takeoff("Wall", length="15 ft", height="8 ft", openings="20 sq ft")
        give(wall, siding, figure="gross")
        (result,) = measure(entries, wall, openings="")
        assert result == "Siding keeps 120 sq ft: the takeoff no longer has that figure."
        assert required(siding)[1] == 120

    def test_renaming_alone_changes_no_requirement(self, give, wall, siding, entries):
        give(wall, siding)
        before = Change.objects.filter(record_type="component").count()
        wall.name = "North"
        assert measure(entries, wall) == []
        assert Change.objects.filter(record_type="component").count() == before

    def test_taking_it_out(self, give, wall, other, siding, entries):
        give(wall, siding)
        give(other, siding)
        use = wall.uses.get()
        result = remove_use(**entries.by, takeoff=wall, use_id=use.pk)
        assert result == "Siding requires 200 sq ft now."
        assert parts(siding) == ([("Wall south", 200)], 0)
        remove_use(**entries.by, takeoff=other, use_id=other.uses.get().pk)
        assert required(siding) == ("", None)
        assert requirement_of(siding) is None


class TestAreas:
    def area(self, entries, wall, label, how=UseMode.ADD):
        return use_for_area(**entries.by, takeoff=wall, figure="net", label=label, how=how)

    def test_floor_and_envelope(self, entries, build, wall):
        made = self.area(entries, wall, BuildArea.ENVELOPE)
        assert (made.area_qty, made.area_unit) == (120, "sq ft")
        # The build has 200 sq ft of floor.
        floor = self.area(entries, wall, BuildArea.FLOOR)
        assert floor.area_qty == 320
        assert wall.uses.filter(area_label="Floor area").count() == 1

    def test_in_the_unit_it_is_stated_in(self, entries, build):
        metric = entries.takeoff("Wall", length="4 m", height="2.5 m")
        floor = self.area(entries, metric, BuildArea.FLOOR, UseMode.REPLACE)
        assert floor.area_unit == "sq ft"
        assert floor.area_qty == D("107.639104")

    def test_kept_and_replaced(self, entries, build, wall, other):
        assert self.area(entries, wall, BuildArea.FLOOR, UseMode.KEEP).area_qty == 200
        assert self.area(entries, other, BuildArea.FLOOR, UseMode.REPLACE).area_qty == 200
        assert not wall.uses.exists()
        with pytest.raises(LedgerError, match="already"):
            self.area(entries, other, BuildArea.FLOOR)

    def test_a_length_is_no_area(self, entries, build):
        gable = entries.takeoff("Gable", "gable-wall", width="20 ft", height="8 ft")
        with pytest.raises(LedgerError, match="no area"):
            use_for_area(
                **entries.by, takeoff=gable, figure="peak", label="Floor area", how=UseMode.ADD
            )

    def test_the_area_is_in_the_history_and_undone(self, entries, build, wall):
        self.area(entries, wall, BuildArea.FLOOR)
        entry = Change.objects.filter(build=build, record_type="build").first()
        undo_change(**entries.by, change=entry)
        assert build.areas.get(label="Floor area").area_qty == 200

    def test_taking_it_out_leaves_the_area(self, entries, build, wall):
        self.area(entries, wall, BuildArea.FLOOR)
        result = remove_use(**entries.by, takeoff=wall, use_id=wall.uses.get().pk)
        assert "stays as it is" in result
        assert build.areas.get(label="Floor area").area_qty == 320
        (result,) = [*measure_with_area(entries, wall)]
        assert "enter the new figure there" in result


def measure_with_area(entries, wall) -> list[str]:
    use_for_area(**entries.by, takeoff=wall, figure="net", label="Floor area", how=UseMode.KEEP)
    return measure(entries, wall, length="16 ft")


class TestHistory:
    def test_deleted_and_brought_back_with_what_it_is_part_of(self, give, wall, siding, entries):
        give(wall, siding)
        delete_record(**entries.by, record=wall)
        assert requirement_of(siding) is None
        assert required(siding)[1] == 120
        undo_change(**entries.by, change=Change.objects.filter(record_type="takeoff").first())
        assert parts(siding) == ([("Wall north", 120)], 0)

    def test_a_change_of_measures_is_undone(self, wall, entries):
        measure(entries, wall, length="20 ft")
        undo_change(**entries.by, change=Change.objects.filter(record_type="takeoff").first())
        stored = Takeoff.objects.get()
        assert stored.inputs["length"] == "15 ft"
        assert stored.figures[0]["typed"] == "120 sq ft"
        assert list(find_differences(entries.build)) == []

    def test_a_component_in_use_is_not_deleted(self, give, wall, siding, entries):
        give(wall, siding)
        with pytest.raises(LedgerError, match="still used by takeoff"):
            delete_record(**entries.by, record=siding)


def test_wrong_figures_are_told_by_the_check(wall, build):
    assert list(find_differences(build)) == []
    Takeoff.objects.update(figures=[{"key": "net", "typed": "9 sq ft"}])
    assert ["Wall north" in found for found in find_differences(build)] == [True]
    Takeoff.objects.update(shape="castle")
    assert "no such shape" in next(find_differences(build))


def test_a_use_is_of_one_thing(wall, siding):
    for values in ({}, {"component": siding, "area_label": "Floor area"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            TakeoffUse.objects.create(takeoff=wall, figure="net", quantity_text="1 sq ft", **values)
    for values in ({"component": siding}, {"area_label": "Floor area"}):
        TakeoffUse.objects.create(takeoff=wall, figure="net", quantity_text="1 sq ft", **values)
        with pytest.raises(IntegrityError), transaction.atomic():
            TakeoffUse.objects.create(takeoff=wall, figure="net", quantity_text="1 sq ft", **values)


def test_every_shape_can_be_kept(entries):
    from tests.takeoffs.calc.test_takeoff import SAMPLES

    for code in SHAPES:
        assert entries.takeoff(code, code, **SAMPLES[code]).figures
    assert list(find_differences(entries.build)) == []
