"""What a form comes to: beside the boxes at a desk, above the button on a phone, and of when."""

import pytest
from django.urls import reverse

from .conftest import DESKTOP, PHONE
from .screens import conversion_understood, cuts_worked_out, understood

pytestmark = pytest.mark.django_db(transaction=True)

FORMS = {
    "log": understood,
    "conversion_add": conversion_understood,
    "cutting_plan_add": cuts_worked_out,
}


def boxes(page, *parts):
    return [page.locator(part).first.bounding_box() for part in parts]


@pytest.mark.parametrize("name", ["log", "cutting_plan_add"])
def test_it_stands_beside_the_boxes_or_above_the_button(name, walk):
    steps = walk(DESKTOP)
    page = steps.page
    for size in (DESKTOP, PHONE):
        page.set_viewport_size(size)
        page.goto(reverse(name, args=[steps.build.pk]))
        FORMS[name](page)
        page.evaluate("scrollTo(0, 0)")
        fields, shown, button = boxes(page, "#entry .fields", "#understood", "#entry .finish")
        if size is DESKTOP:
            assert shown["x"] >= fields["x"] + fields["width"]
            assert shown["y"] < DESKTOP["height"]
        else:
            assert fields["y"] + fields["height"] <= shown["y"]
            assert shown["y"] + shown["height"] <= button["y"] + 1
            assert shown["x"] >= 0
            assert shown["x"] + shown["width"] <= PHONE["width"]


def test_it_says_when_something_was_typed_since(walk):
    steps = walk(DESKTOP)
    page = steps.page
    page.goto(reverse("cutting_plan_add", args=[steps.build.pk]))
    note = page.locator(".stale-note")
    # Nothing was worked out yet: there is nothing to be out of date.
    page.locator("[name=note]").fill("by hand")
    assert not note.is_visible()
    cuts_worked_out(page)
    assert not note.is_visible()
    page.locator("[name=needs-0-count]").fill("12")
    note.get_by_text("You typed since: this is out of date.").wait_for()
    assert note.get_attribute("role") == "status"
    assert "stale" in page.locator("#understood").get_attribute("class")


def test_what_is_worked_out_while_one_types_is_not_called_old(walk):
    steps = walk(DESKTOP)
    page = steps.page
    page.goto(reverse("log", args=[steps.build.pk]))
    understood(page)
    page.locator("#entry [name=price]").fill("50")
    page.locator("#understood").get_by_text("$50.00").first.wait_for()
    page.wait_for_timeout(200)
    assert not page.locator(".stale-note").is_visible()
    # Without an answer it is.
    page.route("**/purchases/log/**", lambda route: None)
    page.locator("#entry [name=price]").fill("60")
    page.locator(".stale-note").get_by_text("out of date").wait_for()
