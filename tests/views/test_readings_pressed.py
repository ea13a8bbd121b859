"""A reading that a refused box could have is a button in every form; pressing it saves nothing."""

import pytest

from materials.models import Component, Conversion, LeftOver, Move, Purchase
from tests.views.screens import Page
from tests.world import once

pytestmark = once("records", "second")

LINE = {
    "lines-0-component": "Board",
    "lines-0-quantity_text": "3 pieces",
    "lines-0-source": "Salvage",
}
CUBIC = {"lines-0-quantity_text": "3 cu yd"}
MADE = {
    "source": "Board",
    "used_text": "1 piece",
    "outputs-0-component": "Shelf",
    "outputs-0-made_text": "1 piece",
}
MOVED = {"component": "Board: ", "taken_from": "built in"}
# Form, what is right in it, the box at fault, what is typed there, and what is offered.
OFFERED = [
    ("purchase_add", LINE, "lines-0-quantity_text", "25", "25 pieces"),
    (
        "purchase_add",
        {**LINE, "lines-0-component": "", "lines-0-new_name": "Gravel", **CUBIC},
        "lines-0-unit_price",
        "50/yd",
        "50/cu yd",
    ),
    (
        "purchase_add",
        {**LINE, "lines-0-component": "", "lines-0-new_name": "Gravel"},
        "lines-0-quantity_text",
        "3 yards",
        "3 cu yd",
    ),
    ("conversion_add", MADE, "used_text", "1 2x8x12", "1 @ 2x8x12"),
    (
        "conversion_add",
        {**MADE, "outputs-0-component": "", "outputs-0-new_name": "Rack"},
        "outputs-0-made_text",
        "2",
        "2 pieces",
    ),
    ("left_over_add", {"component": "Board"}, "quantity_text", "1", "1 piece"),
    ("move_add", MOVED, "quantity_text", "1", "1 piece"),
]
MODELS = (Purchase, Conversion, LeftOver, Move, Component)


def counts() -> list[int]:
    return [model.objects.count() for model in MODELS]


@pytest.mark.parametrize(("name", "right", "box", "typed", "offer"), OFFERED)
def test_it_is_pressed_looked_at_and_then_saved(name, right, box, typed, offer, screens, second):
    url = screens.url(name) + (f"?to={second.pk}" if name == "move_add" else "")
    form = screens.read(url).form
    if name == "move_add":
        text = next(text for text in form.choices["component"] if text.startswith("Board: "))
        right = {**right, "component": text}
    sent = screens.filled(form, {**right, box: typed})
    before = counts()
    answer = screens.send(url, sent)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert (f"use_{box}", offer) in page.form.buttons, page.faults
    answer = screens.send(url, {**sent, f"use_{box}": offer})
    assert answer.status_code == 200
    assert counts() == before
    page = Page(answer.content.decode())
    assert page.form.fields[box] == offer
    assert not page.faults
    answer = screens.send(url, screens.filled(page.form, {}))
    assert answer.status_code == 302
    assert counts() != before
