"""Cautions come up for what was logged, and are noted as dealt with by name."""

from decimal import Decimal

import pytest
from django.urls import reverse

from materials.choices import ObtainedBy, Source
from materials.models import CautionNote, Move, PurchaseLine
from materials.queries.safety import OF_LINE, cautions_of, list_cautions
from materials.services.builds import create_build
from tests.entries import DAY, Entries, line


def logged(cast, build, **values):
    """A painted salvage door from 1950, and new nails."""
    entries = Entries(cast["owner"], build)
    door = entries.component("Panel door", traits=["painted"])
    nail = entries.component("Nail", unit="lb")
    entries.purchase(
        "P1",
        line(door, "2 pieces", unit_price=Decimal(5), origin_year=1950, **values),
        line(nail, "5 lb", unit_price=Decimal(2), source=Source.RETAIL),
    )
    return door


def open_codes(build):
    """Codes with the names of the components they are open for."""
    return {
        row.caution.code: [part.name for part in row.open]
        for row in list_cautions(build)
        if row.open
    }


def test_old_paint_comes_up_for_the_door_and_not_for_nails(cast, build):
    logged(cast, build)
    codes = open_codes(build)
    assert codes["old-paint"] == ["Panel door"]
    assert all("Nail" not in names for names in codes.values())


# Field of a line -> what the thing is, a value that brings a caution up, one that does not, which.
ASKED = {
    "source": ("painted", Source.SALVAGE, Source.RETAIL, "old-paint"),
    "obtained_by": ("lumber", ObtainedBy.DISMANTLED, ObtainedBy.GIVEN, "taking-down"),
    "origin_year": ("painted", 1950, 2015, "old-paint"),
    "through_fire": ("masonry", True, False, "masonry-after-fire"),
    "note": ("masonry", "Went through the barn fire", "Stacked by the barn", "masonry-after-fire"),
}


def test_each_field_that_a_caution_may_ask_for_has_its_case():
    assert set(ASKED) == set(OF_LINE)


@pytest.mark.parametrize("field", ASKED)
@pytest.mark.parametrize("brings_it_up", [True, False])
def test_what_is_stated_of_a_line_brings_its_caution_up(field, brings_it_up, entries, build):
    trait, with_it, without, code = ASKED[field]
    thing = entries.component("Role", traits=[trait])
    stated = {"source": Source.SALVAGE, field: with_it if brings_it_up else without}
    entries.purchase("P1", line(thing, "2 pieces", unit_price=Decimal(5), **stated))
    assert (code in open_codes(build)) is brings_it_up
    found = cautions_of(PurchaseLine.objects.select_related("component__element"))
    assert (code in {caution.code for caution in found}) is brings_it_up


def test_a_caution_is_dealt_with_by_somebody_and_stays_listed(cast, build, clients):
    door = logged(cast, build)
    url = reverse("caution_deal", args=[build.pk, "old-paint"])
    typed = {"components": [door.pk], "dealt_with": "Tested, report kept"}
    assert clients["owner"].post(url, typed).status_code == 302
    note = CautionNote.objects.get()
    assert note.actor == cast["owner"]
    assert "old-paint" not in open_codes(build)
    text = clients["viewer"].get(reverse("cautions", args=[build.pk])).content.decode()
    assert "Tested, report kept" in text
    assert "owner" in text


def test_nothing_is_dealt_with_without_words(cast, build, clients):
    door = logged(cast, build)
    url = reverse("caution_deal", args=[build.pk, "old-paint"])
    answer = clients["owner"].post(url, {"components": [door.pk]})
    assert answer.status_code == 422
    assert not CautionNote.objects.exists()
    assert clients["owner"].get(url.replace("old-paint", "no-such")).status_code == 404


def test_a_purchase_shows_its_cautions_and_is_never_blocked(cast, build, clients):
    door = logged(cast, build)
    purchase = door.lines.get().purchase
    page = reverse("purchase", args=[build.pk, purchase.pk])
    text = clients["owner"].get(page).content.decode()
    assert "Check your local code; ask a licensed professional." in text


def reused(cast, build, count=5):
    """Salvaged things of which nothing but their reuse is to be said."""
    entries = Entries(cast["owner"], build)
    parts = [entries.component(f"Thing {n}") for n in range(count)]
    entries.purchase("P1", *(line(part, "2 pieces") for part in parts))
    return parts


def test_reuse_is_cautioned_once_for_the_build_with_all_it_concerns(cast, build, clients):
    parts = reused(cast, build)
    text = clients["owner"].get(reverse("cautions", args=[build.pk])).content.decode()
    assert text.count("<h2") == 2
    assert text.count("Record what was done") == 1
    for part in parts:
        assert text.count(f">{part.name}</a>") == 1
    note = reverse("caution_deal", args=[build.pk, "reused-material"])
    assert f'href="{note}"' in text
    seen = clients["viewer"].get(reverse("cautions", args=[build.pk])).content.decode()
    assert "Thing 4" in seen
    assert note not in seen


def test_what_was_done_is_noted_at_once_and_for_what_came_since_again(cast, build, clients):
    parts = reused(cast, build)
    url = reverse("caution_deal", args=[build.pk, "reused-material"])
    owner = clients["owner"]
    assert owner.get(url).context["form"].initial["components"] == [part.pk for part in parts]
    typed = {
        "dealt_with": "Inspector agreed",
        "components": [part.pk for part in [*parts[:4], parts[0]]],
    }
    assert owner.post(url, typed).status_code == 302
    assert open_codes(build) == {"reused-material": ["Thing 4"]}
    assert CautionNote.objects.count() == 4
    text = owner.get(reverse("cautions", args=[build.pk])).content.decode()
    assert text.count("Inspector agreed") == 1
    assert "Thing 0, Thing 1, Thing 2, Thing 3</strong>: Inspector agreed (owner" in text


@pytest.mark.parametrize(
    "typed",
    [
        {},
        {"dealt_with": "Seen"},
        {"dealt_with": "", "components": ["1"]},
        {"dealt_with": "Seen", "components": ["nothing"]},
        {"dealt_with": "Seen", "components": ["999999999999999999999"]},
    ],
)
def test_a_note_needs_words_and_what_it_is_about(typed, cast, build, clients):
    reused(cast, build)
    url = reverse("caution_deal", args=[build.pk, "reused-material"])
    answer = clients["owner"].post(url, typed)
    assert answer.status_code == 422
    assert not CautionNote.objects.exists()


def test_a_note_is_about_nothing_of_another_build(cast, build, other_build, clients):
    reused(cast, build)
    foreign = Entries(cast["stranger"], other_build).component("Foreign")
    url = reverse("caution_deal", args=[build.pk, "reused-material"])
    typed = {"dealt_with": "Seen", "components": [foreign.pk]}
    assert clients["owner"].post(url, typed).status_code == 422
    assert not CautionNote.objects.exists()


def test_what_is_of_one_thing_is_not_ticked_for_all(cast, build, clients):
    logged(cast, build)
    url = reverse("caution_deal", args=[build.pk, "old-paint"])
    door = clients["owner"].get(url).context["form"].initial["components"]
    entries = Entries(cast["owner"], build)
    trim = entries.component("Trim", traits=["painted"])
    entries.purchase("P2", line(trim, "20 pieces"))
    assert len(door) == 1
    assert clients["owner"].get(url).context["form"].initial["components"] == []


def test_a_caution_that_does_not_come_up_has_nothing_to_note(cast, build, clients):
    url = reverse("caution_deal", args=[build.pk, "old-paint"])
    assert clients["owner"].get(url).status_code == 302
    assert clients["owner"].get(url.replace("old-paint", "no-such")).status_code == 404


def test_the_number_of_queries_does_not_grow(cast, build, django_assert_max_num_queries):
    logged(cast, build)
    entries = Entries(cast["owner"], build)
    for n in range(20):
        part = entries.component(f"Old brick {n}")
        entries.purchase(f"Q{n}", line(part, "10 pieces", unit_price=Decimal(1)))
    with django_assert_max_num_queries(5):
        assert list_cautions(build)


# A field of what is moved, and the caution that goes along with it.
GOES_ALONG = {
    "old-paint": ("painted", {"origin_year": 1950}),
    "masonry-after-fire": ("masonry", {"through_fire": True}),
    "treated-wood": ("treated", {}),
}


@pytest.fixture
def moved(entries, second):
    """Moves material of a trait, bought as stated, to the second build as something else."""

    def move(trait, stated):
        there = Entries(entries.actor, second)
        stock = entries.component("Old stock", traits=[trait])
        entries.purchase("P1", line(stock, "9 pieces", unit_price=Decimal(5), **stated))
        arrived = there.component("From the hill shed")
        entries.transfer(stock, "4 pieces", second, to_component=arrived)
        return there, arrived

    return move


@pytest.mark.parametrize("code", GOES_ALONG)
def test_what_is_moved_in_brings_its_cautions_along(code, moved, second):
    there, arrived = moved(*GOES_ALONG[code])
    assert open_codes(second)[code] == ["From the hill shed"]
    # And into what is made of it there.
    part = there.component("Shelf")
    there.conversion("C1", arrived, "2 pieces", (part, "2 pieces"))
    assert open_codes(second)[code] == ["From the hill shed", "Shelf"]


def test_it_goes_on_through_a_third_build_and_back(moved, build, second, entries):
    there, arrived = moved("treated", {})
    third = create_build(actor=entries.actor, values={"name": "Woodshed", "currency": "USD"})
    there.transfer(arrived, "3 pieces", third)
    assert open_codes(third)["treated-wood"] == ["From the hill shed"]
    last = Entries(entries.actor, third)
    back = entries.component("Come back")
    last.transfer(third.components.get(), "1 piece", build, to_component=back)
    assert open_codes(build)["treated-wood"] == ["Old stock", "Come back"]


def test_what_came_from_a_build_kept_elsewhere_is_told_by_its_own_words(entries, build):
    """Its past is not known here; a move without a component of this server is one of a file."""
    door = entries.component("Painted door", traits=["painted"])
    Move.objects.create(
        moved_on=DAY, to_component=door, to_text="2 pieces", to_qty=Decimal(2), elsewhere="Barn"
    )
    assert "Painted door" in open_codes(build)["old-paint"]
