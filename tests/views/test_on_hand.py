"""Saying where material is taken from, and seeing a conversion worked out while one types.

The worked case: 38.2 boards at 12.00, 7 of them on hand; 5 make 14 or 19 studs of 4 bf each,
so 56 or 76 of 80 board feet: 70 or 95 per cent.
"""

import re
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from materials.choices import Fate
from materials.models import Conversion, LeftOver
from tests.entries import line

DAY = "2026-05-05"
HTMX = {"HX-Request": "true"}


@pytest.fixture
def board(entries):
    board = entries.component("Board", contents="1 piece = 16 bf")
    entries.purchase("P1", line(board, "38.2 pieces", unit_price=Decimal(12)))
    entries.left_over(board, "7 pieces", Fate.ON_HAND)
    return board


@pytest.fixture
def stud(entries):
    return entries.component("Stud", contents="1 piece = 4 bf")


@pytest.fixture
def typed(board, stud):
    return {
        "number": "C1",
        "converted_on": DAY,
        "source": board.pk,
        "used_text": "5 pieces",
        "taken_from": "on hand",
        "outputs-TOTAL_FORMS": "1",
        "outputs-INITIAL_FORMS": "0",
        "outputs-0-component": stud.pk,
        "outputs-0-made_text": "14 pieces",
    }


def post(clients, build, typed, name="conversion_add", **kwargs):
    return clients["owner"].post(reverse(name, args=[build.pk]), typed, **kwargs)


def words(answer) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def texts_on_hand() -> list[str]:
    return [row.quantity_text for row in LeftOver.objects.filter(fate=Fate.ON_HAND)]


def test_the_preview_names_the_heap_and_saving_takes_from_it(clients, build, typed):
    text = words(post(clients, build, typed | {"look": "1"}))
    assert "Taken from the 7 pieces on hand 5 pieces Left on hand: 2 pieces." in text
    assert "On hand (7 pieces)" in text
    assert texts_on_hand() == ["7 pieces"]
    answer = post(clients, build, typed, follow=True)
    assert "Taken from what was on hand: 5 pieces; left there: 2 pieces." in words(answer)
    assert texts_on_hand() == ["2 pieces"]


def test_the_preview_says_where_the_rest_comes_from(clients, build, typed):
    text = words(post(clients, build, typed | {"look": "1", "used_text": "10 pieces"}))
    assert "Taken from the 7 pieces on hand 7 pieces Nothing is left on hand." in text
    assert "counts as built in 3 pieces The rest: on hand is not enough." in text


@pytest.mark.parametrize("taken_from", [None, "on hand"])
def test_on_hand_is_what_is_taken_unless_said_otherwise(taken_from, clients, build, typed):
    typed.pop("taken_from")
    typed |= {"taken_from": taken_from} if taken_from else {}
    post(clients, build, typed)
    assert texts_on_hand() == ["2 pieces"]


def test_built_in_can_be_chosen_and_stays_chosen(clients, build, typed):
    post(clients, build, typed | {"taken_from": "built in"})
    assert texts_on_hand() == ["7 pieces"]
    pk = Conversion.objects.get().pk
    page = clients["owner"].get(reverse("conversion_edit", args=[build.pk, pk])).content.decode()
    assert re.search(r'value="built in"[^>]*checked', page)
    assert not re.search(r'value="on hand"[^>]*checked', page)


def test_an_answer_that_is_none_of_the_two_is_refused(clients, build, typed):
    answer = post(clients, build, typed | {"taken_from": "the moon"})
    assert answer.status_code == 422
    assert not Conversion.objects.exists()


def test_without_a_heap_nothing_is_asked(clients, build, typed):
    LeftOver.objects.all().delete()
    page = clients["owner"].get(reverse("conversion_add", args=[build.pk])).content.decode()
    assert "Taken from" not in page
    assert post(clients, build, typed).status_code == 302


@pytest.mark.parametrize(("made", "made_of_it", "waste"), [("14", "70", "30"), ("19", "95", "5")])
def test_the_yield_is_a_picture_with_words(made, made_of_it, waste, clients, build, typed):
    typed |= {"look": "1", "outputs-0-made_text": f"{made} pieces"}
    page = post(clients, build, typed).content.decode()
    svg = re.search(r'<svg class="bar-strip yield".*?</svg>', page, re.DOTALL)[0]
    assert f"Made {made_of_it}%, waste {waste}%." in svg
    assert 'role="img"' in svg
    bars = dict(re.findall(r'class="bar-(paid|beside)" [^>]*width="([0-9.]+)%"', svg))
    share = Decimal(bars["paid"]) / (Decimal(bars["paid"]) + Decimal(bars["beside"]))
    assert abs(share * 100 - Decimal(made_of_it)) < Decimal("0.1")
    # What was made is solid; waste is dotted.
    assert page.count('<pattern id="fill-beside"') == 1


def test_while_one_types_it_is_worked_out_and_not_saved(clients, build, typed):
    answer = post(clients, build, typed, headers=HTMX)
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in text
    assert 'hx-swap-oob="innerHTML:#verdict"' in text
    assert '<div hx-swap-oob="innerHTML:#on-hand-note">(7 pieces)</div>' in text
    assert "Stud: one costs $4.29 ; yield 70%; 2 pieces left on hand." in words(answer)
    assert not Conversion.objects.exists()


@pytest.mark.parametrize(
    ("changed", "result", "unsaid"),
    [
        ({"used_text": "5 furlong"}, "furlong", "Say how much"),
        ({"used_text": ""}, "Fill in from what, how much", "required"),
        ({"outputs-0-made_text": "9 lb"}, "lb", "Choose"),
        (
            {"outputs-0-made_text": "", "outputs-0-component": ""},
            "Fill in what you made to see the cost",
            "Choose",
        ),
        ({"used_text": "50 pieces"}, "38.2 pieces can be worked up", "required"),
        ({"source": "999999"}, "Select a valid choice", "Say how much"),
        ({"outputs-TOTAL_FORMS": "x"}, "Fill in from what, how much", "Choose"),
    ],
)
def test_what_is_half_typed_is_met_with_a_sentence(changed, result, unsaid, clients, build, typed):
    answer = post(clients, build, typed | changed, headers=HTMX)
    assert answer.status_code == 200
    assert result in words(answer)
    assert unsaid not in words(answer)


def test_left_over_that_is_sold_is_taken_from_the_heap(clients, build, board):
    page = clients["owner"].get(reverse("left_over_add", args=[build.pk])).content.decode()
    assert "Board (7 pieces on hand)" in page
    typed = {"noted_on": DAY, "component": board.pk, "quantity_text": "5 pieces", "fate": "sold"}
    answer = post(clients, build, typed, "left_over_add", follow=True)
    assert "left there: 2 pieces" in words(answer)
    assert texts_on_hand() == ["2 pieces"]


def test_a_heap_is_not_asked_where_it_is_taken_from(clients, build, board):
    pk = LeftOver.objects.get().pk
    page = clients["owner"].get(reverse("left_over_edit", args=[build.pk, pk])).content.decode()
    assert "Taken from" not in page
