"""Pages of takeoffs: measured, looked at, kept, and given to what requires them."""

import pytest
from django.urls import reverse

from materials.models import Change, Component, Takeoff
from materials.takeoffs.calc.takeoff import SHAPES
from tests.answers import status
from tests.takeoffs.calc.test_takeoff import SAMPLES
from tests.views.screens import Page, Screens
from tests.views.test_bad_input import kept

WALL = {"length": "15 ft", "height": "8 ft", "name": "Wall north"}


@pytest.fixture
def own(owner, build) -> Screens:
    return Screens(owner, build.pk)


def drawn(page: Page) -> bool:
    """Whether the page has a drawing with a title and a description."""
    marks = ('class="takeoff-drawing"', "takeoff-drawing-title", "takeoff-drawing-desc")
    return all(mark in page.html for mark in marks)


@pytest.mark.parametrize("code", SHAPES)
def test_each_shape_is_looked_at_without_scripts_and_kept(code, own):
    url = own.url("takeoff_add", code)
    page = own.read(url)
    assert "Shown here before you save: each quantity" in page.text
    data = own.filled(page.form, {"name": f"My {code}"})
    data |= SAMPLES[code]
    look = own.send(url, data | {"look": "1"})
    assert look.status_code == 200
    shown = Page(look.content.decode())
    assert drawn(shown)
    assert not Takeoff.objects.exists()
    for name, text in SAMPLES[code].items():
        assert shown.form.fields[name] == text
    answer = own.send(url, data)
    assert answer.status_code == 302, Page(answer.content.decode()).faults
    kept = own.read(answer.url)
    assert drawn(kept)
    record = Takeoff.objects.get()
    assert record.name == f"My {code}"
    for row in record.figures:
        assert row["label"] in kept.text
        assert " ".join(row["formula"].split()) in kept.text, row


class TestPreview:
    def answer(self, own, **typed) -> str:
        url = own.url("takeoff_add", "wall")
        data = own.read(url).form.fields | typed
        return own.client.post(url, data, headers={"HX-Request": "true"}).content.decode()

    def test_figures_formula_drawing_and_one_line(self, own):
        result = self.answer(own, **WALL)
        assert "120 sq ft" in result
        assert "15 ft × 8 ft" in result
        assert "takeoff-drawing" in result
        assert 'hx-swap-oob="innerHTML:#verdict"' in result
        assert not Takeoff.objects.exists()

    def test_only_what_was_typed_is_complained_of(self, own):
        assert "fault" not in self.answer(own, length="15 ft")
        result = self.answer(own, length="15")
        assert "Length: &#x27;15&#x27; has no unit" in result
        assert "Height" not in result

    def test_without_a_name_it_is_worked_out_all_the_same(self, own):
        assert "120 sq ft" in self.answer(own, **WALL | {"name": ""})


WRONG = [
    ({"length": "15", "height": "8"}, "has no unit"),
    ({"height": "8 gal"}, "no length"),
    ({"openings": "a door\nand a window"}, "no area"),
    ({"openings": "20 ft x 20 ft"}, "check them"),
    ({"waste": "lots"}, "not a number"),
    ({"name": ""}, "Fill this in"),
    ({"name": "x" * 200}, "too long"),
    ({"note": "a\x00b"}, "Null characters"),
    ({"length": "9" * 500}, "too long"),
    ({"openings": "1 sq ft\n" * 300}, "too long"),
]


@pytest.mark.parametrize(("typed", "result"), WRONG)
def test_refused_with_all_that_was_typed(typed, result, own):
    url = own.url("takeoff_add", "wall")
    sent = own.read(url).form.fields | WALL | {"openings": "3 ft x 7 ft"} | typed
    answer = own.send(url, sent)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert result in " ".join(page.faults)
    for name, value in (WALL | {"openings": "3 ft x 7 ft"} | typed).items():
        assert kept(page.form.fields[name]) == kept(value), name
    assert not Takeoff.objects.exists()


def test_sent_twice_it_is_kept_once(own):
    url = own.url("takeoff_add", "wall")
    data = own.read(url).form.fields | WALL
    assert own.send(url, data).url == own.send(url, data).url
    assert Takeoff.objects.count() == 1


def test_unknown_shapes_and_figures_are_not_there(own, entries):
    wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
    for url in (own.url("takeoff_add", "castle"), own.url("takeoff_use", wall.pk, "gross")):
        assert status(own.client.get(url)) == 404
    assert status(own.client.post(own.url("takeoff_use_remove", wall.pk, 99))) == 404
    assert status(own.client.get(own.url("takeoff", wall.pk + 1))) == 404


def test_another_builds_takeoff_and_component_are_out_of_reach(own, entries, other_build, cast):
    from tests.entries import Entries

    far = Entries(cast["stranger"], other_build)
    theirs = far.takeoff("Theirs", length="15 ft", height="8 ft")
    part = far.component("Theirs", "sq ft")
    wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
    assert status(own.client.get(own.url("takeoff", theirs.pk))) == 404
    url = own.url("takeoff_use", wall.pk, "net")
    answer = own.send(url, own.read(url).form.fields | {"target": str(part.pk), "how": "add"})
    assert answer.status_code == 422
    part.refresh_from_db()
    assert part.required_text == ""


class TestUse:
    @pytest.fixture
    def wall(self, entries) -> Takeoff:
        return entries.takeoff("Wall north", length="15 ft", height="8 ft", waste="10")

    def test_for_a_component_and_seen_on_its_page(self, own, entries, wall):
        siding = entries.component("Siding", "sq ft", required_text="292 sq ft")
        typed = {"target": "Siding", "how": "add"}
        answer = own.save("takeoff_use", typed, wall.pk, "net")
        assert answer.url == own.url("takeoff", wall.pk)
        page = own.read(answer.url)
        assert "Siding requires 412 sq ft now." in page.text
        assert "part of what Siding requires" in page.text
        text = own.open("component", siding.pk).text
        assert "Wall north : Wall area 120 sq ft" in text
        assert "Entered by hand 292 sq ft" in text
        assert "Required 412 sq ft" in text

    def test_for_a_new_component(self, own, wall):
        typed = {"target": "A new component, named below", "new_name": "Cladding"}
        own.save("takeoff_use", typed, wall.pk, "net")
        made = Component.objects.get(name="Cladding")
        assert (made.unit, made.required_qty) == ("sq ft", 120)

    def test_for_the_floor_area(self, own, build, wall):
        own.save("takeoff_use", {"target": "Floor area", "how": "replace"}, wall.pk, "net")
        assert build.areas.get(label="Floor area").area_qty == 120
        assert "Floor area of the build" in own.open("takeoff", wall.pk).text

    def test_a_length_is_offered_to_no_area(self, own, entries):
        gable = entries.takeoff("Gable", "gable-wall", width="20 ft", height="8 ft")
        assert "Floor area" not in own.open("takeoff_use", gable.pk, "peak").form.choices["target"]

    def test_what_does_not_fit_is_a_sentence(self, own, entries, wall):
        entries.component("Nail", "lb")
        page = own.refused("takeoff_use", {"target": "Nail"}, wall.pk, "net")
        assert "say in the component's contents" in " ".join(page.faults)

    def test_a_new_one_needs_a_name(self, own, wall):
        page = own.refused("takeoff_use", {"new_unit": ""}, wall.pk, "net")
        assert "Name the new component" in " ".join(page.faults)
        assert "counted in" in " ".join(page.faults)

    def test_an_allowance_in_the_figure_is_said(self, own, wall):
        assert "waste counts twice" in own.open("takeoff_use", wall.pk, "with-waste").text
        assert "waste counts twice" not in own.open("takeoff_use", wall.pk, "net").text

    def test_taken_out_again(self, own, entries, wall):
        siding = entries.component("Siding", "sq ft")
        own.save("takeoff_use", {"target": "Siding"}, wall.pk, "net")
        url = own.url("takeoff_use_remove", wall.pk, wall.uses.get().pk)
        assert own.client.post(url).url == own.url("takeoff", wall.pk)
        siding.refresh_from_db()
        assert siding.required_text == ""
        assert "Nothing uses it yet." in own.open("takeoff", wall.pk).text


class TestChange:
    def test_requirements_follow_and_say_so(self, own, entries):
        wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
        entries.component("Siding", "sq ft")
        own.save("takeoff_use", {"target": "Siding"}, wall.pk, "net")
        answer = own.save("takeoff_edit", {"length": "20 ft"}, wall.pk)
        assert "Siding requires 160 sq ft now." in own.read(answer.url).text

    def test_changed_meanwhile(self, own, entries):
        wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
        url = own.url("takeoff_edit", wall.pk)
        data = own.read(url).form.fields
        own.save("takeoff_edit", {"height": "9 ft"}, wall.pk)
        answer = own.send(url, data | {"length": "16 ft"})
        assert answer.status_code == 409
        page = Page(answer.content.decode())
        assert (page.form.fields["length"], page.form.fields["height"]) == ("16 ft", "9 ft")

    def test_a_use_of_it_meanwhile_does_not_stand_in_the_way(self, own, entries):
        wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
        entries.component("Siding", "sq ft")
        url = own.url("takeoff_edit", wall.pk)
        data = own.read(url).form.fields
        own.save("takeoff_use", {"target": "Siding"}, wall.pk, "net")
        assert own.send(url, data | {"length": "20 ft"}).status_code == 302

    def test_deleted_and_brought_back(self, own, entries, build):
        wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
        own.client.post(own.url("record_delete", "takeoff", wall.pk))
        assert "Nothing here yet." in own.open("takeoffs").text
        entry = Change.objects.filter(build=build).first()
        text = own.open("change", entry.pk).text
        assert "Measures height: 8 ft; length: 15 ft" in text
        own.client.post(own.url("change_undo", entry.pk))
        assert own.open("takeoff", wall.pk).text


def test_a_viewer_reads_and_is_offered_nothing_to_change(clients, build, entries):
    wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
    seen = Screens(clients["viewer"], build.pk)
    page = seen.open("takeoff", wall.pk)
    assert "120 sq ft" in page.text
    addresses = [href for href, _ in page.links]
    assert not [href for href in addresses if "/use/" in href or "change" in href]
    assert not [href for href, _ in seen.open("takeoffs").links if "/takeoffs/add/" in href]


def test_measures_of_no_use_show_a_sentence_not_a_failure(own, entries):
    wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
    hostile = [
        {"shape": "castle"},
        {"inputs": []},
        {"inputs": {"length": 3, "height": None}},
        {"figures": {"a": 1}},
        {"figures": [1, {"key": 2}]},
    ]
    for values in hostile:
        Takeoff.objects.filter(pk=wall.pk).update(**values)
        for name, args in (("takeoff", [wall.pk]), ("takeoffs", [])):
            assert own.client.get(own.url(name, *args)).status_code == 200, values
        assert own.client.get(own.url("takeoff_edit", wall.pk)).status_code in (200, 404)


def test_the_list_leads_to_shapes_and_records(own, entries):
    wall = entries.takeoff("Wall", length="15 ft", height="8 ft")
    addresses = [href for href, _ in own.open("takeoffs").links]
    assert reverse("takeoff", args=[own.build_id, wall.pk]) in addresses
    shapes = [href for href, _ in own.open("takeoff_shapes").links]
    for code in SHAPES:
        assert reverse("takeoff_add", args=[own.build_id, code]) in shapes
