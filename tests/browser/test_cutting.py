"""A cutting plan on a phone: typed, worked out, kept, taken, and what one piece came to."""

import pytest

from .conftest import PHONE
from .test_main_job import add_component, begin_build, fill, save

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(
    "options",
    [pytest.param({"java_script_enabled": False}, marks=pytest.mark.slow), {}],
    ids=["without scripts", "with scripts"],
)
def test_from_boards_to_what_one_piece_costs(open_page, sign_in, options):
    page = open_page(PHONE, **options)
    sign_in(page)
    base = begin_build(page)
    add_component(page, base, "Old 2x8", "1 piece = 2x8x12")
    add_component(page, base, "Ladder rail", "1 piece = 5 ft")
    page.goto(base + "purchases/add/")
    page.locator("[name=lines-0-component]").select_option(label="Old 2x8")
    fill(page, bought_on="2026-05-02", lines__0__quantity_text="4 @ 2x8x12")
    fill(page, lines__0__unit_price="6")
    page.locator("[name=lines-0-source]").select_option("salvage")
    save(page)
    page.get_by_role("heading", name="Purchase P001").wait_for()

    # The component's page leads to a plan that begins with what is known of it.
    page.goto(base + "components/")
    page.get_by_role("link", name="Old 2x8").first.click()
    page.get_by_role("link", name="Plan cuts from these").click()
    assert page.locator("[name=hand-0-count]").input_value() == "4"
    fill(page, hand__0__count="2", needs__0__length_text="5 ft", needs__0__count="4")
    page.locator("[name=needs-0-component]").select_option(label="Ladder rail")
    page.get_by_role("button", name="Preview").click()
    page.get_by_text("No plan uses fewer than 2 boards").wait_for()
    # What was typed stands as it was typed.
    assert page.locator("[name=needs-0-length_text]").input_value() == "5 ft"
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]

    save(page)
    page.get_by_text("The plan is saved.").wait_for()
    page.get_by_text("Saw at 5 ft, 10 ft 1/8 in").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("link", name="Take plan").click()
    save(page)
    page.get_by_text("is logged as").wait_for()

    # Two boards of 6.00 in four rails: nothing of 5 ft is left, so all of it stands in them.
    page.goto(base + "conversions/")
    page.get_by_text("4 @ 5 ft Ladder rail").first.wait_for()
    page.goto(base + "components/")
    page.get_by_role("link", name="Ladder rail").first.click()
    page.get_by_text("$3.00").first.wait_for()
