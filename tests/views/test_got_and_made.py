"""Got this, made that: a purchase and what was made of it at once, in one act."""

import re
from decimal import Decimal as D
from fractions import Fraction

import pytest
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.choices import Source
from materials.models import Change, Component, Conversion, Purchase
from materials.queries.checks import find_differences
from materials.queries.reports import get_cost_sheet
from materials.services.got_and_made import log_and_make
from materials.services.records import undo_change
from tests.entries import DAY, line
from tests.fuzz.pages import read_page
from tests.searches import TIMES
from tests.world import once


def planks(world) -> None:
    """Planks of which some came before, and what they are made into."""
    entries = world.entries
    plank = entries.component("Plank", contents="1 piece = 2x8x14")
    entries.component("Batten", contents="1 piece = 2x2x14")
    entries.component("Wedge")
    entries.purchase("P1", line(plank, "10 pieces", unit_price=D(3)))


pytestmark = once("clients", planks)

GOT = {
    "what": "Plank",
    "quantity_text": "6 pieces",
    "price": "27",
    "price_for": "line",
    "source": "salvage",
    "state": "received",
    "usable_percent": "",
}


@pytest.fixture
def url(build) -> str:
    return reverse("log", args=[build.pk])


def made(*rows: tuple, **more) -> dict:
    """Rows of what was made, each of a component or a new name and a quantity."""
    data = {"outputs-TOTAL_FORMS": len(rows), "outputs-INITIAL_FORMS": 0}
    for place, (what, text) in enumerate(rows):
        box = "component" if isinstance(what, Component) else "new_name"
        data[f"outputs-{place}-{box}"] = what.pk if box == "component" else what
        data[f"outputs-{place}-made_text"] = text
    return data | more


def typed(*rows, **more) -> dict:
    today = timezone.localdate().isoformat()
    return GOT | {"bought_on": today} | made(*rows) | more


def batten() -> Component:
    return Component.objects.get(name="Batten")


def average(build, name: str) -> Fraction:
    sheet = get_cost_sheet(build, timezone.localdate())
    return next(r.position.average for r in sheet.components if r.position.component.name == name)


def test_both_are_saved_in_one_act(clients, build, url):
    answer = clients["owner"].post(
        url, typed((batten(), "20 pieces"), made_hours="2", made_extra="1.50")
    )
    assert answer.status_code == 302
    conversion = Conversion.objects.get()
    assert (conversion.source.name, conversion.used_text) == ("Plank", "6 pieces")
    assert (conversion.hours, conversion.extra_cost_amount) == (D(2), D("1.5"))
    # 10 planks at 3.00 and 6 for 27.00: 57.00 / 16 = 3.5625 each; 6 of them and 1.50 extra are
    # 22.875, in 20 battens.
    assert average(build, "Batten") == Fraction("22.875") / 20
    assert list(find_differences(build)) == []
    bought = Purchase.objects.latest("pk")
    acts = {change.act for change in Change.objects.filter(record_type__in=("purchase",
        "conversion"), record_id__in=(bought.pk, conversion.pk)).order_by("-pk")[:2]}  # fmt: skip
    assert len(acts) == 1
    assert acts != {""}


def test_the_preview_says_the_cost_that_saving_then_gives(clients, build, url):
    data = typed((batten(), "20 pieces"), made_extra="1.50")
    page = clients["owner"].post(url, data | {"look": "1"})
    assert page.status_code == 200
    words = re.sub("<[^>]*>", " ", page.content.decode()).replace("&nbsp;", " ")
    words = " ".join(words.split())
    assert "Batten: 20 pieces, cost of one $1.14" in words
    assert not Conversion.objects.exists()
    shown = page.context["shown"].made.made[0].one
    clients["owner"].post(url, data)
    assert average(build, "Batten") == shown


def test_another_line_with_haulage_is_previewed_as_it_is_saved(clients, build, url, entries):
    """A line more takes its share of the haulage from the others of its purchase."""
    plank = Component.objects.get(name="Plank")
    haulage = [{"kind": "haulage", "amount": D(12)}]
    into = entries.purchase(
        "P2", line(plank, "4 pieces", line_price_amount=D(10)), charges=haulage,
        bought_on=timezone.localdate(),
    )  # fmt: skip
    address = f"{url}?into={into.pk}"
    data = typed((batten(), "20 pieces"))
    shown = clients["owner"].post(address, data | {"look": "1"}).context["shown"].made.made[0].one
    assert clients["owner"].post(address, data).status_code == 302
    assert average(build, "Batten") == shown


def test_a_new_component_is_made_of_a_new_one(clients, build, url):
    data = typed(("Peg", "90 pieces"), what="Branch", quantity_text="3 pieces")
    shown = clients["owner"].post(url, data | {"look": "1"}).context["shown"].made.made[0].one
    assert clients["owner"].post(url, data).status_code == 302
    assert average(build, "Peg") == shown == Fraction(27, 90)


def test_what_was_spoilt_carries_no_cost(clients, build, url):
    data = typed((batten(), "12 pieces"), made_used="4 pieces", usable_percent="100")
    clients["owner"].post(url, data)
    conversion = Conversion.objects.get()
    assert conversion.used_qty == 4
    assert average(build, "Batten") * 12 == average(build, "Plank") * 4


def test_without_a_statement_all_that_is_usable_is_used(clients, url):
    clients["owner"].post(url, typed((batten(), "12 pieces"), usable_percent="50"))
    assert Conversion.objects.get().used_qty == 3


@pytest.mark.parametrize("kind", ["purchase", "conversion", "several at once"])
def test_it_is_undone_as_one(kind, clients, build, url, entries):
    before = Purchase.objects.count()
    clients["owner"].post(url, typed(("Peg", "90 pieces"), supplier="Mill"))
    entry = Change.objects.filter(build=build, record_type=kind).first()
    undo_change(**entries.by, change=entry)
    assert Purchase.objects.count() == before
    assert not Conversion.objects.exists()
    assert not Component.objects.filter(name="Peg").exists()
    assert not build.suppliers.exists()
    assert list(find_differences(build)) == []


def test_sent_twice_it_counts_once(clients, url, build):
    forms, _ = read_page(clients["owner"].get(url).content.decode())
    token = next(each.value for form in forms for each in form.fields if each.name == "form_token")
    before = Purchase.objects.count()
    data = typed((batten(), "20 pieces"), form_token=token)
    answers = [clients["owner"].post(url, data) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert answers[0].url == answers[1].url
    assert (Purchase.objects.count(), Conversion.objects.count()) == (before + 1, 1)


@pytest.mark.parametrize(
    ("rows", "more", "said"),
    [
        ([("Batten", "a lot")], {}, "a lot"),
        ([("Batten", "")], {}, "Enter how much you made, with its unit."),
        ([("", "20 pieces")], {}, "Choose what you made, or name something new."),
        ([], {"made_hours": "2"}, "Enter what you made of it and how much"),
        ([("Batten", "20 pieces")], {"state": "ordered"}, "Only what is here"),
        ([("Batten", "20 pieces")], {"made_used": "40 pieces"}, "Made of it: That is more Plank"),
        ([("Plank", "20 pieces")], {}, "Made of it: Plank cannot be made from itself"),
        ([("Batten", "20 pieces")], {"made_on": "2999-01-01"}, "Made on"),
        ([("Batten", "20 pieces")], {"price": "cheap"}, "cheap"),
    ],
)
def test_a_fault_keeps_all_that_was_typed_and_saves_nothing(rows, more, said, clients, url):
    before = Purchase.objects.count(), Conversion.objects.count(), Change.objects.count()
    data = typed(*rows) | more
    answer = clients["owner"].post(url, data)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page.replace("&quot;", '"'), re.findall(r"<li>.*?</li>", page)
    assert before == (Purchase.objects.count(), Conversion.objects.count(), Change.objects.count())
    forms, _ = read_page(page)
    form = next(one for one in forms if any(each.name == "what" for each in one.fields))
    back = {each.name: each.value for each in form.fields if each.sent}
    kept = {name: str(value) for name, value in data.items() if "_FORMS" not in name and value}
    assert {name: back.get(name) for name in kept} == kept


def test_a_row_more_keeps_all_that_was_typed(clients, url):
    data = typed((batten(), "20 pieces"), made_hours="2", add_row="outputs")
    answer = clients["owner"].post(url, data)
    assert answer.status_code == 200
    forms, _ = read_page(answer.content.decode())
    form = next(one for one in forms if any(each.name == "what" for each in one.fields))
    back = {each.name: each.value for each in form.fields if each.sent}
    assert back["outputs-0-made_text"] == "20 pieces"
    assert back["outputs-TOTAL_FORMS"] == "2"
    assert (back["what"], back["made_hours"], back["source"]) == ("Plank", "2", "salvage")


def test_a_known_way_fills_in_what_it_gives(clients, url, entries):
    """6 planks at 4 battens each, of which none is half made: 24, in 6 × 4 × 0.1 h."""
    plank = Component.objects.get(name="Plank")
    entries.way(plank, "1 piece", batten(), "4 pieces", hours_each=D("0.1"), extra_each=D("0.05"))
    page = clients["owner"].post(url, typed() | {"look": "1"})
    offer = re.search(r'name="use_way" value="([^"]*)"[^>]*>([^<]*)<', page.content.decode())
    assert offer[2] == "Fill in 24 pieces Batten"
    filled = clients["owner"].post(url, typed() | {"use_way": offer[1]})
    forms, _ = read_page(filled.content.decode())
    form = next(one for one in forms if any(each.name == "what" for each in one.fields))
    back = {each.name: each.value for each in form.fields if each.sent}
    assert back["outputs-0-made_text"] == "24 pieces"
    assert (D(back["made_hours"]), D(back["made_extra"])) == (D("2.4"), D("1.2"))
    assert filled.context["shown"].made is not None
    assert not Conversion.objects.exists()
    assert clients["owner"].post(url, back).status_code == 302
    assert str(Conversion.objects.get().outputs.get()) == "24 pieces Batten"


@pytest.mark.parametrize("way", ["", "x", "1-2", "1-2 3 pieces", "9" * 400, "1-2 " + "9" * 90])
def test_a_way_that_is_none_changes_nothing(way, clients, url):
    assert clients["owner"].post(url, typed() | {"use_way": way}).status_code == 200


def test_later_the_form_of_a_conversion_begins_with_what_a_way_gives(clients, build, entries):
    plank = Component.objects.get(name="Plank")
    entries.way(plank, "1 piece", batten(), "4 pieces", hours_each=D("0.1"))
    asked = f"{reverse('conversion_add', args=[build.pk])}?source={plank.pk}&used=5%20pieces"
    page = clients["owner"].get(asked).content.decode()
    forms, _ = read_page(page)
    form = next(one for one in forms if any(each.name == "used_text" for each in one.fields))
    begins = {each.name: each.value for each in form.fields if each.sent}
    assert begins["outputs-0-component"] == str(batten().pk)
    assert begins["outputs-0-made_text"] == "20 pieces"
    assert D(begins["hours"]) == 2
    assert "Filled in by what is known" in page
    clients["owner"].post(asked, begins)
    assert Conversion.objects.get().used_qty == 5


def test_of_several_ways_one_is_chosen(clients, build, entries):
    plank, wedge = Component.objects.get(name="Plank"), Component.objects.get(name="Wedge")
    entries.way(plank, "1 piece", batten(), "4 pieces")
    entries.way(plank, "1 piece", wedge, "50 pieces")
    asked = f"{reverse('conversion_add', args=[build.pk])}?source={plank.pk}&used=5%20pieces"
    page = clients["owner"].get(asked).content.decode()
    _, links = read_page(page)
    ways = [link for link in links if "way=" in link]
    assert len(ways) == 2
    filled = clients["owner"].get(ways[1].replace("&amp;", "&")).content.decode()
    assert "250 pieces" in filled


PRICES = st.decimals(0, 500, places=2)
COUNTS = st.integers(1, 40)


@st.composite
def acts(draw) -> dict:
    """What was got, what it was made into, and whether some of it was there before."""
    return {
        "price": draw(PRICES),
        "extra": draw(PRICES),
        "got": draw(COUNTS),
        "used": draw(COUNTS),
        "share": draw(st.integers(1, 100)),
        "pieces": draw(st.lists(COUNTS, min_size=1, max_size=3)),
        "before": draw(st.sampled_from((None, D("10.01")))),
    }


def done(entries, act: dict) -> None:
    """The act of it: as much is used as is said where that is there, else all of it."""
    slab = entries.component("Slab")
    if act["before"] is not None:
        entries.purchase("P8", line(slab, "7 pieces", line_price_amount=act["before"]))
    is_there = act["used"] * 100 <= act["got"] * act["share"]
    entry = {
        "component": slab,
        "quantity_text": f"{act['got']} pieces",
        "price": act["price"],
        "price_for": "line",
        "source": Source.SALVAGE,
        "state": "received",
        "bought_on": DAY,
        "supplier": "",
        "paid_by": "",
        "usable_percent": D(act["share"]),
        "made_used": f"{act['used']} pieces" if is_there else "",
        "made_extra": act["extra"],
        "priced_on": DAY,
    }
    rows = [
        {"component": entries.component(f"Part {n}"), "made_text": f"{count} pieces"}
        for n, count in enumerate(act["pieces"])
    ]
    log_and_make(**entries.by, entry=entry, outputs=rows, on=DAY)


@pytest.mark.parametrize("examples", [6, pytest.param(60 * TIMES, marks=pytest.mark.slow)])
def test_no_cent_is_lost_in_making(examples, build, entries):
    """All that was paid lies in what is there: what is left of the source, and what was made."""

    @settings(max_examples=examples, deadline=None, derandomize=True, database=None)
    @given(acts())
    def search(act):
        with transaction.atomic():
            done(entries, act)
            sheet = get_cost_sheet(build, DAY)
            transaction.set_rollback(True)
        there = [r.position for r in sheet.components if r.position.component.name != "Plank"]
        paid = Fraction(act["price"] + act["extra"] + (act["before"] or 0))
        assert sum(position.known_money for position in there) == paid
        left = (p.average * (p.came_in - p.converted_out) for p in there if p.came_in)
        assert sum(left) == paid

    search()
