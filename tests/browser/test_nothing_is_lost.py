"""What is typed outlives a link followed by mistake, a refused page and a lost connection."""

import pytest
from django.urls import reverse

from materials.models import Purchase

from .conftest import PHONE

pytestmark = pytest.mark.django_db(transaction=True)

# What is typed into each form, by the names of its boxes.
TYPED = {
    "log": {
        "what": "Old 2x8",
        "quantity_text": "12 @ 2x8x12",
        "price": "1.50",
        "supplier": "House wrecker",
    },
    "labour_add": {"person": "Ann", "hours": "2.5", "note": "nails out"},
    "purchase_add": {
        "number": "A-17",
        "lot_price_amount": "90",
        "lines-0-quantity_text": "12 @ 2x8x12",
        "lines-0-unit_price": "1.50",
        "charges-0-amount": "12",
    },
    "conversion_add": {
        "number": "R-9",
        "used_text": "8 pieces",
        "extra_cost_amount": "8.64",
        "outputs-0-made_text": "24 pieces",
    },
}


@pytest.fixture
def page(open_page, enter, entries, cast):
    """The owner's page on a phone. Chromium runs without pages kept whole in memory."""
    entries.component("Old 2x8", contents="1 piece = 2x8x12")
    opened = open_page(
        PHONE, expects=("403 (Forbidden", "Error Code 403", "ERR_INTERNET_DISCONNECTED")
    )
    enter(opened, cast["owner"])
    return opened


def fill(page, values):
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    for name, value in values.items():
        page.locator(f"#entry [name='{name}']").fill(value)


def held(page, values):
    return {name: page.locator(f"#entry [name='{name}']").input_value() for name in values}


@pytest.mark.parametrize("name", TYPED)
def test_going_away_and_back_keeps_what_was_typed(name, page, build):
    page.goto(reverse(name, args=[build.pk]))
    fill(page, TYPED[name])
    page.locator(".cover-build").click()
    page.wait_for_url(f"**{reverse('home', args=[build.pk])}")
    page.go_back()
    page.locator("#entry").wait_for()
    assert held(page, TYPED[name]) == TYPED[name]


def test_a_page_grown_old_says_where_what_was_typed_is(page, build):
    page.goto(reverse("log", args=[build.pk]))
    fill(page, TYPED["log"])
    page.get_by_label("Salvage").check()
    page.locator("#entry [name=csrfmiddlewaretoken]").evaluate("box => box.value = 'x'.repeat(64)")
    page.locator(".bar button.primary").click()
    page.get_by_role("heading", name="This page was too old to send").wait_for()
    assert not Purchase.objects.exists()
    page.go_back()
    page.locator("#entry").wait_for()
    assert held(page, TYPED["log"]) == TYPED["log"]


def test_who_was_signed_out_meanwhile_goes_back_and_saves_what_was_typed(page, build):
    page.goto(reverse("log", args=[build.pk]))
    fill(page, TYPED["log"])
    page.get_by_label("Salvage").check()
    page.context.clear_cookies(name="sessionid")
    page.locator(".bar button.primary").click()
    page.get_by_text("You were signed out, so nothing was saved.").wait_for()
    page.get_by_label("Username").fill("owner")
    page.get_by_label("Password").fill("pw-for-tests")
    page.locator("#entry button.primary").click()
    page.locator("#entry [name=quantity_text]").wait_for()
    page.go_back()
    page.go_back()
    page.locator("#entry [name=quantity_text]").wait_for()
    assert held(page, TYPED["log"]) == TYPED["log"]
    page.locator(".bar button.primary").click()
    page.get_by_text("Saved.").wait_for()
    assert Purchase.objects.get().supplier.name == "House wrecker"


@pytest.mark.parametrize("name", ["log", "labour_add"])
def test_without_a_connection_the_form_stays_and_says_so(name, page, build):
    page.goto(reverse(name, args=[build.pk]))
    page.context.set_offline(True)
    page.evaluate("dispatchEvent(new Event('offline'))")
    typed = TYPED[name]
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    for box, value in typed.items():
        page.locator(f"#entry [name='{box}']").evaluate("(box, text) => box.value = text", value)
    page.locator(".bar button.primary").click()
    result = page.get_by_text("No connection. Nothing was sent. What you typed is still here.")
    result.wait_for()
    box = result.bounding_box()
    assert 0 <= box["y"] < PHONE["height"] - box["height"]
    assert held(page, typed) == typed
    page.context.set_offline(False)
    page.get_by_text("The connection is back. Send it again.").wait_for()
    if name == "log":
        page.get_by_label("Salvage").check()
        with page.expect_navigation():
            page.locator(".bar button.primary").click()
        assert Purchase.objects.get().supplier.name == "House wrecker"


def test_several_lines_at_once_takes_along_what_was_typed_without_scripts(
    open_page, enter, entries, cast, build
):
    entries.component("Old 2x8")
    page = open_page(PHONE, java_script_enabled=False)
    enter(page, cast["owner"])
    page.goto(reverse("log", args=[build.pk]))
    for name, value in TYPED["log"].items():
        page.locator(f"#entry [name={name}]").fill(value)
    page.get_by_role("button", name="Several lines at once").click()
    page.wait_for_url(f"**{reverse('purchase_add', args=[build.pk])}")
    assert page.locator("[name=lines-0-quantity_text]").input_value() == "12 @ 2x8x12"
    assert page.locator("[name=lines-0-unit_price]").input_value() == "1.50"
    assert page.locator("[name=supplier]").input_value() == "House wrecker"
    chosen = page.locator("[name=lines-0-component] option:checked").inner_text()
    assert chosen == "Old 2x8"
