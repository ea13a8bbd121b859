"""Bad input: a plain sentence on the page, nothing saved, what was typed still there."""

import re
from decimal import Decimal as D

import pytest

from materials.models import Build, Change, Component, Purchase
from tests.entries import line
from tests.views.screens import MARKS, Screens
from tests.views.wrong import FORMS
from tests.world import once

pytestmark = once("records")


def kept(value: str) -> str:
    """A value as it stands in a page: no page can hold a NUL."""
    return value.replace("\x00", "\ufffd")


@pytest.mark.parametrize("name", FORMS)
def test_refused_in_a_sentence_with_all_that_was_typed(name, owner, screens):
    right, wrong = FORMS[name]
    site = Screens(owner) if name == "build_add" else screens
    url = site.url(name)
    page = site.read(url)
    changes, builds = Change.objects.count(), Build.objects.count()
    for typed, words in wrong:
        sent = site.filled(page.form, right) | {
            field: page.form.choices.get(field, {}).get(value, value)
            for field, value in typed.items()
        }
        answer = site.send(url, sent)
        where = f"{name} {str(typed)[:120]}"
        assert answer.status_code == 422, where
        again = type(page)(answer.content.decode())
        assert again.faults, where
        assert words in " ".join(again.faults), (where, again.faults)
        for fault in again.faults:
            assert re.search(r"[.?]$", fault), (where, fault)
            assert len(fault) < 400, (where, fault)
            assert not re.search(r"Traceback|Error\b|ValidationError|Decimal\(", fault), where
        for field, value in sent.items():
            if field not in again.form.choices and field not in MARKS:
                assert kept(again.form.fields.get(field, "")) == kept(value), (where, field)
    assert (Change.objects.count(), Build.objects.count()) == (changes, builds)


@pytest.mark.parametrize("name", FORMS)
def test_the_right_rows_are_right(name, owner, screens):
    """Else the wrong ones might be refused for another reason."""
    site = Screens(owner) if name == "build_add" else screens
    site.save(name, FORMS[name][0])


@pytest.mark.parametrize("name", FORMS)
def test_nothing_at_all_is_refused(name, owner, screens):
    site = Screens(owner) if name == "build_add" else screens
    changes = Change.objects.count()
    answer = site.send(site.url(name), {})
    assert answer.status_code == 422
    assert type(site.open(name))(answer.content.decode()).faults
    assert Change.objects.count() == changes


ODD = [
    "🏠 hut",
    "בית",
    "\u202eevil",
    "é" * 100,
    "<b>bold</b>",
    "'\"&",
    "=1+1",
    "{{ x }}",
    "\\",
    "%s",
]


@pytest.mark.parametrize("text", ODD)
def test_odd_texts_are_kept_and_shown_as_they_are(text, screens, entries):
    """On their own page, in lists, in the choices of forms, in the history."""
    screens.save("component_add", {"name": text, "unit": "piece", "note": text})
    part = Component.objects.get(name=text)
    assert part.note == text
    assert screens.open("component_edit", part.pk).form.fields["name"] == text
    for name in ("components", "history", "cost_sheet"):
        page = screens.open(name)
        assert any(shown == " ".join(text.split()) for _, shown in page.links), name
    assert text in screens.open("left_over_add").form.choices["component"]
    assert b"".join(screens.client.get(screens.url("download")))


def test_lone_surrogates_and_broken_bytes_are_no_error(screens):
    for code in ("%ED%A0%80", "%FF%FE", "%C3%28", "%00"):
        answer = screens.client.post(
            screens.url("supplier_add"), f"name=a{code}b", "application/x-www-form-urlencoded"
        )
        assert answer.status_code in (302, 422)
        assert screens.open("suppliers")
        assert b"".join(screens.client.get(screens.url("download")))


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("component", "is still used by"),
        ("supplier", "is still used by purchase"),
        ("task", "is still used by"),
        ("purchase", "more Board than there is"),
        ("conversion", "more Shelf than there is"),
    ],
)
def test_what_is_used_cannot_be_deleted(kind, words, screens, records):
    url = screens.url("record_delete", kind, records[kind].pk)
    changes = Change.objects.count()
    answer = screens.send(url, {})
    assert answer.status_code == 422
    assert words in type(screens.read(url))(answer.content.decode()).text
    assert type(records[kind]).objects.filter(pk=records[kind].pk).exists()
    assert Change.objects.count() == changes


def test_lowering_a_purchase_below_what_was_used_is_refused(screens, records):
    typed = {"lines-0-quantity_text": "3 pieces"}
    page = screens.refused("purchase_edit", typed, records["purchase"].pk)
    assert any("more Board than there is" in fault for fault in page.faults)
    page = screens.refused("purchase_edit", {"state": "declined"}, records["purchase"].pk)
    assert Purchase.objects.get().lines.get().quantity_text == "12 pieces"


def test_a_distance_without_a_rate_is_refused(clients, cast, other_build, add_component):
    add_component(other_build, "Tile")
    page = Screens(clients["stranger"], other_build.pk).refused(
        "purchase_add",
        {
            "lines-0-component": "Tile",
            "lines-0-quantity_text": "1 piece",
            "lines-0-source": "salvage",
            "charges-0-kind": "haulage",
            "charges-0-distance_text": "5 mi",
        },
    )
    assert any("A distance needs the build's distance rate" in fault for fault in page.faults)


def test_a_refused_line_leaves_no_new_supplier_or_person(screens, entries):
    typed = FORMS["purchase_add"][0] | {"supplier": "New one", "paid_by": "New one"}
    screens.refused("purchase_add", typed | {"lot_price_amount": "5", "lines-0-unit_price": "1"})
    assert not entries.build.suppliers.filter(name="New one").exists()
    assert not entries.build.persons.filter(name="New one").exists()


def test_a_charge_of_nothing_at_all_is_no_charge(screens):
    typed = FORMS["purchase_add"][0] | {"charges-0-spread_by": "By price"}
    screens.save("purchase_add", typed)
    assert Purchase.objects.get(number="P9").charges.count() == 0


def test_the_least_that_can_be_typed(screens, entries):
    """A line that was free, and one whose price nobody remembers."""
    entries.purchase("P2", line(Component.objects.get(name="Board"), "1 piece"))
    screens.save("purchase_add", FORMS["purchase_add"][0] | {"lines-0-line_price_amount": "free"})
    amounts = {p.number: p.lines.get().price_amount for p in Purchase.objects.exclude(number="P1")}
    assert amounts == {"P2": None, "P9": D(0)}
