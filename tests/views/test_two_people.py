"""Two people at one form: the second is told, and neither loses anything."""

from decimal import Decimal as D

import pytest
from django.urls import get_resolver, reverse

import materials.urls
from materials.models import Change
from materials.queries.checks import find_differences
from materials.queries.purchases import get_purchase
from materials.services.errors import LedgerError
from materials.services.history import RECORDS, take_snapshot
from materials.services.short_form import change_state, log_entry
from materials.views import versions
from tests.entries import DAY, line
from tests.views.screens import Page, Screens
from tests.world import once

pytestmark = once("records", "clients")

# Kind -> (its form, what the first types, what the second types in another field, and where
# both are found on the record afterwards).
EDITS = {
    "element": ("element_edit", {"name": "Slab"}, {"budget_amount": "70"}),
    "component": ("component_edit", {"waste_percent": "5"}, {"note": "from the barn"}),
    "price": ("price_edit", {"price": "4.75"}, {"priced_at": "Yard"}),
    "supplier": ("supplier_edit", {"place": "River Road"}, {"contact": "ask for Lou"}),
    "purchase": ("purchase_edit", {"note": "one is split"}, {"bought_on": "2026-05-02"}),
    "conversion": ("conversion_edit", {"hours": "2"}, {"extra_cost_amount": "3"}),
    "left-over": ("left_over_edit", {"note": "short"}, {"quantity_text": "2 pieces"}),
    "lesson": ("lesson_edit", {"text": "Oiled far too late"}, {"hours": "8"}),
    "way-to-make": ("way_to_make_edit", {"note": "short"}, {"made_text": "8 pieces"}),
    "task": ("task_edit", {"planned_hours": "9"}, {"done_percent": "40"}),
    "labour": ("labour_edit", {"hours": "3"}, {"note": "in the rain"}),
    "hand-over": ("hand_over_edit", {"amount": "6"}, {"note": "for the lime"}),
    "life-choice": ("life_choice_edit", {"study_years": "25"}, {"note": "north side"}),
    "cost-index": ("cost_index_edit", {"source": "a bulletin"}, {"name": "Softwood"}),
    "build": ("build_edit", {"budget_amount": "6000"}, {"floor_area": "210 sq ft"}),
}


@pytest.fixture
def two(clients, build, records) -> tuple[Screens, Screens]:
    """The owner and the co-builder, each at the build's pages."""
    return Screens(clients["owner"], build.pk), Screens(clients["co_builder"], build.pk)


def named(kind, records) -> list[int]:
    return [] if kind == "build" else [records[kind].pk]


def url_of(screens, kind, records) -> str:
    return screens.url(EDITS[kind][0], *named(kind, records))


@pytest.mark.parametrize("kind", EDITS)
def test_the_second_is_told_and_a_second_save_keeps_both(kind, two, records, build):
    first, second = two
    form, one, other = EDITS[kind]
    url = url_of(second, kind, records)
    opened = second.read(url)
    assert opened.form.fields["version"]
    first.save(form, one, *named(kind, records))
    count = Change.objects.count()

    answer = second.send(url, second.filled(opened.form, other))
    assert answer.status_code == 409
    page = Page(answer.content.decode())
    assert "changed while you had it open" in page.text
    assert "owner saved it on" in page.text
    assert Change.objects.count() == count, "nothing is saved by it"
    for name, typed in {**one, **other}.items():
        assert page.form.fields[name] == typed, "what he typed, and what she stored"
    assert page.form.fields["version"] != opened.form.fields["version"]

    again = second.send(url, page.form.fields)
    assert again.status_code == 302, Page(again.content.decode()).faults
    stored = second.read(url).form.fields
    for name, typed in {**one, **other}.items():
        assert stored[name] == typed
    assert list(find_differences(build)) == []


@pytest.mark.parametrize("kind", EDITS)
def test_both_in_one_field_keeps_what_the_second_typed_to_be_saved_again(kind, two, records):
    first, second = two
    form, one, _ = EDITS[kind]
    ((name, value),) = one.items()
    other = {name: "8" if value.replace(".", "").isdecimal() else "something else"}
    url = url_of(second, kind, records)
    opened = second.read(url)
    first.save(form, one, *named(kind, records))
    answer = second.send(url, second.filled(opened.form, other))
    page = Page(answer.content.decode())
    assert answer.status_code == 409
    assert page.form.fields[name] == other[name]
    assert value in page.text, "what is stored now is told"
    assert second.send(url, page.form.fields).status_code == 302
    assert second.read(url).form.fields[name] == other[name]


def test_what_was_changed_is_told_from_what_to_what(two, records):
    first, second = two
    url = url_of(second, "task", records)
    opened = second.read(url)
    first.save("task_edit", {"planned_hours": "9"}, records["task"].pk)
    first.save("task_edit", {"planned_hours": "11", "name": "Frames"}, records["task"].pk)
    answer = second.send(url, second.filled(opened.form, {"done_percent": "5"}))
    text = Page(answer.content.decode()).text
    assert "Name Frame Frames" in text
    assert "Planned hours — 11" in text


def test_a_third_change_between_is_told_again(two, records):
    first, second = two
    url = url_of(second, "task", records)
    opened = second.read(url)
    first.save("task_edit", {"planned_hours": "9"}, records["task"].pk)
    answer = second.send(url, second.filled(opened.form, {"done_percent": "5"}))
    page = Page(answer.content.decode())
    first.save("task_edit", {"planned_hours": "12"}, records["task"].pk)
    answer = second.send(url, page.form.fields)
    assert answer.status_code == 409
    assert Page(answer.content.decode()).form.fields["planned_hours"] == "12"


def test_a_fault_does_not_make_one_forget_that_it_was_changed(two, records):
    first, second = two
    url = url_of(second, "task", records)
    opened = second.read(url)
    first.save("task_edit", {"planned_hours": "9"}, records["task"].pk)
    wrong = second.send(url, second.filled(opened.form, {"done_percent": "many"}))
    assert wrong.status_code == 422
    mended = Page(wrong.content.decode()).form.fields | {"done_percent": "5"}
    assert second.send(url, mended).status_code == 409


def test_the_same_form_sent_twice_is_saved_once_and_is_no_conflict(two, records):
    first, _ = two
    url = url_of(first, "task", records)
    data = first.filled(first.read(url).form, {"planned_hours": "9"})
    count = Change.objects.count()
    assert [first.send(url, data).status_code for _ in range(2)] == [302, 302]
    assert Change.objects.count() == count + 1


def test_ones_own_other_tab_is_told_as_such(two, records):
    first, _ = two
    url = url_of(first, "task", records)
    opened = first.read(url)
    first.save("task_edit", {"planned_hours": "9"}, records["task"].pk)
    answer = first.send(url, first.filled(opened.form, {"done_percent": "5"}))
    assert answer.status_code == 409
    assert "You saved it on" in Page(answer.content.decode()).text


def test_derived_figures_are_no_change(two, records, entries):
    """A new price shares a lot anew: nobody touched the purchase."""
    second = two[1]
    sash = entries.component("Sash")
    lot = entries.purchase(
        "L1",
        line(records["component"], "1 piece"),
        line(sash, "1 piece"),
        lot_price_amount=D(10),
    )
    opened = second.open("purchase_edit", lot.pk)
    before = take_snapshot(lot)
    entries.price(sash, 4)
    entries.price(records["component"], 1)
    assert take_snapshot(lot) != before
    url = second.url("purchase_edit", lot.pk)
    typed = second.filled(opened.form, {"note": "still the same"})
    assert second.send(url, typed).status_code == 302


def test_a_price_added_does_not_trouble_the_form_of_its_component(two, records, entries):
    _, second = two
    url = url_of(second, "component", records)
    opened = second.read(url)
    entries.price(records["component"], 7)
    assert second.send(url, second.filled(opened.form, {"note": "x"})).status_code == 302


class TestRows:
    """Lines under a purchase: added, taken out and changed by two at once."""

    @pytest.fixture
    def purchase(self, records, entries):
        board = records["component"]
        return entries.purchase(
            "P9",
            line(board, "3 pieces", unit_price=D(2)),
            line(board, "5 pieces", unit_price=D(4)),
        )

    def change(self, screens, page, purchase, **typed):
        url = screens.url("purchase_edit", purchase.pk)
        names = {key.replace("__", "-"): value for key, value in typed.items()}
        answer = screens.send(url, screens.filled(page.form, names))
        return answer.status_code, Page(answer.content.decode())

    def test_a_line_that_was_added_meanwhile_is_there(self, two, purchase):
        first, second = two
        opened = second.open("purchase_edit", purchase.pk)
        component = opened.form.fields["lines-0-component"]
        status, _ = self.change(
            first,
            first.open("purchase_edit", purchase.pk),
            purchase,
            **{
                "lines-2-component": component,
                "lines-2-quantity_text": "7 pieces",
                "lines-2-source": "salvage",
            },
        )
        assert status == 302
        status, page = self.change(second, opened, purchase, lines__0__quantity_text="4 pieces")
        assert status == 409
        assert "Line 3, quantity — 7 pieces" in page.text
        status, _ = self.change(second, page, purchase)
        assert status == 302
        kept = list(purchase.lines.values_list("quantity_text", flat=True))
        assert kept == ["4 pieces", "5 pieces", "7 pieces"]

    def test_two_lines_that_both_add_are_both_kept(self, two, purchase):
        first, second = two
        opened = second.open("purchase_edit", purchase.pk)
        component = opened.form.fields["lines-0-component"]

        def added(quantity):
            return {
                "lines-2-component": component,
                "lines-2-quantity_text": quantity,
                "lines-2-source": "salvage",
            }

        self.change(first, first.open("purchase_edit", purchase.pk), purchase, **added("7 pieces"))
        status, page = self.change(second, opened, purchase, **added("8 pieces"))
        assert status == 409
        status, _ = self.change(second, page, purchase)
        assert status == 302
        kept = sorted(purchase.lines.values_list("quantity_text", flat=True))
        assert kept == ["3 pieces", "5 pieces", "7 pieces", "8 pieces"]

    @pytest.mark.parametrize(
        ("typed", "kept"),
        [
            ({"note": "x"}, ["5 pieces"]),
            ({"lines-0-quantity_text": "9 pieces"}, ["9 pieces", "5 pieces"]),
        ],
        ids=["left alone", "typed in"],
    )
    def test_a_line_taken_out_meanwhile_stays_out_unless_something_was_typed_in_it(
        self, typed, kept, two, purchase
    ):
        first, second = two
        opened = second.open("purchase_edit", purchase.pk)
        page = first.open("purchase_edit", purchase.pk)
        assert self.change(first, page, purchase, **{"lines-0-DELETE": True})[0] == 302
        status, page = self.change(second, opened, purchase, **typed)
        assert status == 409
        status, page = self.change(second, page, purchase)
        assert status == 302, page.faults
        assert list(purchase.lines.values_list("quantity_text", flat=True)) == kept

    def test_lines_changed_by_both_are_put_together_field_by_field(self, two, purchase):
        first, second = two
        opened = second.open("purchase_edit", purchase.pk)
        page = first.open("purchase_edit", purchase.pk)
        self.change(first, page, purchase, lines__0__unit_price="2.5", lines__1__note="hers")
        status, page = self.change(
            second, opened, purchase, lines__0__quantity_text="6 pieces", lines__1__note="his"
        )
        assert status == 409
        assert self.change(second, page, purchase)[0] == 302
        rows = list(purchase.lines.all())
        assert [(row.quantity_text, row.unit_price, row.note) for row in rows] == [
            ("6 pieces", D("2.5"), ""),
            ("5 pieces", D(4), "his"),
        ]


def test_asking_for_another_line_keeps_the_version(two, records):
    first, second = two
    url = url_of(second, "purchase", records)
    opened = second.read(url)
    first.save("purchase_edit", {"note": "hers"}, records["purchase"].pk)
    more = second.send(url, opened.form.fields | {"add_row": "lines"})
    page = Page(more.content.decode())
    assert page.form.fields["version"] == opened.form.fields["version"]
    assert second.send(url, page.form.fields).status_code == 409


def test_a_look_at_a_conversion_keeps_the_version(two, records):
    first, second = two
    url = url_of(second, "conversion", records)
    opened = second.read(url)
    first.save("conversion_edit", {"note": "hers"}, records["conversion"].pk)
    looked = second.send(url, opened.form.fields | {"look": "1"})
    assert looked.status_code == 200
    assert second.send(url, Page(looked.content.decode()).form.fields).status_code == 409


def test_the_history_knows_the_record_of_every_form():
    resolver = get_resolver(materials.urls)
    names = {name for name in resolver.reverse_dict if isinstance(name, str)}
    changing = [
        name
        for name in names
        if name.endswith("_edit") and "pk" in resolver.reverse_dict[name][0][0][1]
    ]
    assert len(changing) > 15
    assert {versions.kind_at(name) for name in changing} <= set(RECORDS)


@pytest.mark.parametrize("kind", ["labour", "left-over", "hand-over"])
def test_a_record_deleted_meanwhile_is_told_with_what_was_typed(kind, two, records):
    first, second = two
    url = url_of(second, kind, records)
    opened = second.read(url)
    delete = reverse("record_delete", args=[first.build_id, kind, records[kind].pk])
    assert first.client.post(delete).status_code == 302
    answer = second.send(url, second.filled(opened.form, {"note": "typed with care"}))
    page = Page(answer.content.decode())
    assert answer.status_code == 404
    assert "owner deleted" in page.text
    assert "typed with care" in page.text
    (way,) = (href for href, text in page.links if text == "See the history")
    change = Change.objects.first()
    assert way == reverse("change", args=[first.build_id, change.pk])
    undo = reverse("change_undo", args=[first.build_id, change.pk])
    assert second.client.post(undo).status_code == 302
    typed = second.filled(opened.form, {"note": "typed with care"})
    assert second.send(url, typed).status_code == 302


def test_a_strangers_form_with_a_version_is_told_nothing(clients, two, records):
    url = url_of(two[0], "labour", records)
    answer = clients["stranger"].post(url, {"version": "x"})
    assert answer.status_code == 404
    assert "deleted" not in answer.content.decode().split("may be")[0]


@pytest.mark.parametrize("version", ["x", "0" * 32, "%00", "é" * 500])
def test_a_version_of_nothing_is_a_conflict_and_no_error(version, two, records):
    _, second = two
    url = url_of(second, "task", records)
    typed = second.filled(second.read(url).form, {"done_percent": "5"}) | {"version": version}
    answer = second.send(url, typed)
    assert answer.status_code == 409
    page = Page(answer.content.decode())
    assert page.form.fields["done_percent"] == "5"
    assert second.send(url, page.form.fields).status_code == 302


def test_two_who_add_a_line_by_the_short_form_both_do(records):
    """The second had read the purchase before the first had written."""
    entry = {
        "component": records["component"],
        "quantity_text": "1 piece",
        "price": None,
        "price_for": "line",
        "source": "salvage",
        "obtained_by": "",
        "usable_percent": D(100),
        "origin_year": None,
        "through_fire": False,
        "note": "",
    }
    build = records["purchase"].build
    actor = build.members.first().user
    read = [get_purchase(build, records["purchase"].pk) for _ in range(2)]
    for n, into in enumerate(read):
        log_entry(actor=actor, build=build, entry=entry | {"note": f"line {n}"}, into=into)
    notes = list(records["purchase"].lines.values_list("note", flat=True))
    assert notes == ["", "line 0", "line 1"]


def test_two_who_take_and_decline_one_offer(records, entries):
    offer = entries.purchase("O1", line(records["component"], "1 piece"), state="offer")
    read = [get_purchase(entries.build, offer.pk) for _ in range(2)]
    change_state(**entries.by, purchase=read[0], state="received", on=DAY)
    with pytest.raises(LedgerError, match="changed meanwhile and is now: received"):
        change_state(**entries.by, purchase=read[1], state="declined", on=DAY)
    offer.refresh_from_db()
    assert offer.state == "received"
