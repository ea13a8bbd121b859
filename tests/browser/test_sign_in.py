"""F14: signing in asks for nothing to be remembered, and nothing given is asked for again.

WCAG 2.2, 3.3.8 (accessible authentication) and 3.3.7 (redundant entry), read in the primary text.
"""

import pytest
from django.urls import reverse

from materials.services.accounts import ensure_user
from tests.entries import line

from .conftest import PHONE
from .screens import press
from .visitors import Visitor

pytestmark = pytest.mark.django_db(transaction=True)

PASSWORD = "sawdust-and-lime"
FIELDS = {"Username": "username", "Password": "current-password"}


def test_a_password_can_be_pasted_and_filled_in_by_the_browser(open_page, db):
    ensure_user(username="ann", password=PASSWORD)
    page = open_page(PHONE)
    page.goto(reverse("sign_in"))
    for label, kind in FIELDS.items():
        assert page.get_by_label(label).get_attribute("autocomplete") == kind
    name = page.get_by_label("Username")
    name.fill(PASSWORD)
    name.press("Control+a")
    name.press("Control+x")
    page.get_by_label("Password").press("Control+v")
    assert page.get_by_label("Password").input_value() == PASSWORD
    name.fill("ann")
    press(page, "Sign in")
    assert page.get_by_role("link", name="Start a build").first.is_visible()
    # No puzzle, no code to copy: a name and a password are all there is.
    page.context.clear_cookies()
    page.goto(reverse("sign_in"))
    assert page.locator("#entry input:visible").count() == len(FIELDS)


def test_another_line_of_a_purchase_asks_for_nothing_twice(open_page, enter, entries, build, cast):
    first = line(entries.component("Old 2x8"), "12 pieces")
    bought = entries.purchase("P1", first, supplier="House wrecker", paid_by="Ann")
    page = open_page(PHONE)
    enter(page, cast["owner"])
    page.goto(reverse("log", args=[build.pk]) + f"?into={bought.pk}")
    labels = page.locator("#entry label").all_inner_texts()
    asked = [text.split(" (")[0].strip() for text in labels]
    assert "What" in asked
    assert not {"Where", "Date", "State", "Paid by"} & set(asked)
    visitor = Visitor(page)
    for label, text in {"What": "Door", "How much": "2 pieces", "Price": "10"}.items():
        visitor.type(label, text)
    visitor.pick("Source", "Salvage")
    visitor.press("Save")
    visitor.page.get_by_role("heading", name="Purchase P1").wait_for()
    got = bought.lines.order_by("pk").values_list("component__name", "purchase__supplier__name")
    assert list(got) == [("Old 2x8", "House wrecker"), ("Door", "House wrecker")]
