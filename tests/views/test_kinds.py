"""A component's kind on its pages: guessed and said so, stated, and what it changes."""

import re
from decimal import Decimal as D
from html import unescape

import pytest
from django.urls import reverse

from materials.models import Component
from materials.services.records import undo_change
from tests.entries import line


def words(answer):
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r" ([.,;])", r"\1", " ".join(unescape(text).split()))


@pytest.fixture
def see(clients, build):
    def get(name, *args):
        return words(clients["owner"].get(reverse(name, args=[build.pk, *args])))

    return get


@pytest.fixture
def panels(entries):
    """Two panels: 200 W at 60.00 paid is 0.30 a watt; 320 W offered at 80.00 is 0.25."""
    small = entries.component("Old panel", contents="1 piece = 200 W")
    big = entries.component("Big panel", contents="1 piece = 320 W")
    entries.purchase("P70", line(small, "2 pieces", line_price_amount=D(120)))
    entries.purchase("P71", line(big, "3 pieces", line_price_amount=D(240)), state="offer")
    entries.price(big, 320)
    return small, big


def stated(clients, build, part, **values):
    url = reverse("component_edit", args=[build.pk, part.pk])
    shown = clients["owner"].get(url).context["form"]
    data = {name: shown[name].value() for name in shown.fields}
    data = {name: value for name, value in data.items() if value not in (None, False)}
    return clients["owner"].post(url, data | values)


def short_form(clients, build, **values):
    form = clients["owner"].get(reverse("log", args=[build.pk])).context["form"]
    typed = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in typed.items() if value not in (None, False)} | values


def test_a_guess_says_what_it_rests_on_and_can_be_corrected(clients, build, entries, see):
    part = entries.component("Barn boards", "sq ft")
    assert "Lumber Guessed by “boards” in its name. Change kind" in see("component", part.pk)
    form = see("component_edit", part.pk)
    assert "Guess it: lumber" in form
    assert "For lumber, like 1 piece = 2x6x10." in form
    assert stated(clients, build, part, kind="sheet").status_code == 302
    assert Component.objects.get(pk=part.pk).kind == "sheet"
    assert "Sheet Stated. Change kind" in see("component", part.pk)
    change = build.changes.order_by("-pk").first()
    assert "Kind" in see("change", change.pk)
    undo_change(actor=change.actor, build=build, change=change)
    assert Component.objects.get(pk=part.pk).kind == ""


def test_a_kind_that_there_is_not_is_refused_and_nothing_typed_is_lost(clients, build, entries):
    part = entries.component("Barn boards", "sq ft")
    answer = stated(clients, build, part, kind="cheese", note="from the north wall")
    assert answer.status_code == 422
    assert "from the north wall" in answer.content.decode()
    assert Component.objects.get(pk=part.pk).kind == ""


def test_the_kind_asks_for_what_is_missing(entries, see):
    part = entries.component("Foam", "sheet", kind="sheet", contents="1 sheet = 4x8 ft")
    text = see("component", part.pk)
    assert "Not stated yet: thickness, like thickness = 1/2 in; R-value, if it insulates" in text
    entries.change(part, contents="1 sheet = 4x8 ft; thickness = 2 in; R-value = 10")
    assert "Not stated yet" not in see("component", part.pk)


def test_waste_is_proposed_only_with_a_source(entries, see):
    board = entries.component("Barn boards")
    nail = entries.component("Roof nails", "lb")
    assert "10% for lumber of 2 in and more (Army EN0069A, table 4-1)" in see(
        "component_edit", board.pk
    )
    assert "For example" not in see("component_edit", nail.pk)


def test_prices_stand_by_what_a_kind_is_bought_for(panels, see):
    small, big = panels
    text = see("compared")
    assert "2 components compare by 1 measure, the cheapest first." in text
    assert "Electrical, per watt" in text
    assert text.index("Big panel") < text.index("Old panel")
    assert "$0.25 P71" in text
    assert "$1.08" in text
    own = see("component", small.pk)
    assert "watt $0.30" in own
    assert "Big panel, $0.25" in own
    assert "this one" in see("component", big.pk)


def test_an_offer_stands_by_the_measure_beside_new_and_paid(panels, build, see):
    offer = build.purchases.get(number="P71")
    text = see("purchase", offer.pk)
    assert "Big panel per watt $0.25 $1.08" in text


def test_the_short_form_says_the_price_by_measure(clients, build, panels):
    typed = short_form(clients, build, what="Big panel", quantity_text="2 pieces", price="80")
    text = words(clients["owner"].post(reverse("log", args=[build.pk]), typed | {"look": "1"}))
    assert "Per watt $0.25 new $1.08" in text


def test_insulation_compares_by_its_r_value_and_sheets_in_their_thickness(entries, see):
    """R-10 foam, 32 sq ft at 32.00: 0.10 an R sq ft; R-13 batts, 40 sq ft a roll at 26.00: 0.05.

    Kinds stay apart: foam is a sheet, batts are a covering.
    """
    sheet = "1 sheet = 4x8 ft; thickness = 2 in; R-value = 10"
    thin = "1 sheet = 4x8 ft; thickness = 1 in; R-value = 5"
    for number, (name, contents, price) in enumerate(
        (("Foam", sheet, 32), ("Thin foam", thin, 24), ("Blue foam", sheet, 40))
    ):
        part = entries.component(name, "sheet", contents=contents)
        entries.purchase(f"P8{number}", line(part, "1 sheet", line_price_amount=D(price)))
    text = see("compared")
    assert "Sheet, per R-value square foot" in text
    assert "Sheet, per square foot, 2 in thick" in text
    # The thin one stands alone in its thickness.
    assert "1 in thick" not in text
    assert "$0.15" in text


def test_nothing_to_compare_says_what_to_do(see):
    assert "No two prices compare yet." in see("compared")


def test_a_stated_kind_decides_how_a_quantity_is_read(clients, build, entries):
    """2 in x 10 ft of what is stated to be pipe is ten feet long, and is asked back."""
    part = entries.component("Black plastic", kind="pipe", contents="1 piece = 10 ft")
    typed = short_form(clients, build, what=part.name, quantity_text="3 @ 2 in x 10 ft", price="9")
    answer = clients["owner"].post(reverse("log", args=[build.pk]), typed)
    assert "Did you mean 3 @ 10 ft?" in words(answer)
