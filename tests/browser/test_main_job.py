"""From the first sign-in to a cost sheet, as a builder would, on a phone and without scripts."""

import re

import pytest

from .conftest import DESKTOP, PHONE

pytestmark = pytest.mark.django_db(transaction=True)


def fill(page, **fields):
    """Fill form fields by their name."""
    for name, value in fields.items():
        page.locator(f"[name='{name.replace('__', '-')}']").fill(value)


def save(page):
    """The page's main button: at the thumb on a phone, under the form on a desk."""
    page.locator("button.primary:visible").first.click()


def begin_build(page):
    """A build with an area, a budget and rates."""
    page.goto("/")
    page.get_by_role("link", name="Start a build").click()
    fill(
        page,
        name="Pump house",
        floor_area="200 sq ft",
        budget_amount="5000",
        retail_tax_percent="8",
        own_labour_rate="20",
        distance_rate="0.70",
    )
    save(page)
    page.get_by_role("heading", name="Three steps to a true cost").wait_for()
    return page.url


def add_component(page, base, name, contents, required=""):
    """A component counted in pieces."""
    page.goto(base + "components/add/")
    fill(page, name=name, unit="piece", contents=contents, required_text=required)
    save(page)
    page.wait_for_url("**/components/")


@pytest.mark.parametrize(
    ("size", "options"),
    [
        (PHONE, {"java_script_enabled": False}),
        pytest.param(DESKTOP, {}, marks=pytest.mark.slow),
        (PHONE, {}),
    ],
    ids=["phone without scripts", "desk", "phone"],
)
def test_from_sign_in_to_cost_sheet(open_page, sign_in, size, options):
    page = open_page(size, **options)
    sign_in(page)
    base = begin_build(page)
    add_component(page, base, "Roof sheet", "1 piece = 3x8 ft")
    add_component(page, base, "Flashing", "1 piece = 1x8 ft", "60 pieces")
    page.goto(base + "prices/add/")
    page.locator("[name=component]").select_option(label="Flashing")
    fill(page, price="7.50", priced_on="2026-05-01")
    save(page)

    page.goto(base + "purchases/add/")
    fill(page, bought_on="2026-05-02", supplier="House wrecker", paid_by="Ann")
    page.locator("[name=lines-0-component]").select_option(label="Roof sheet")
    fill(page, **{"lines-0-quantity_text": "10 @ 3x8 ft", "lines-0-unit_price": "3.50"})
    page.locator("[name=lines-0-source]").select_option("salvage")
    page.locator("[name=charges-0-kind]").select_option("haulage")
    fill(page, **{"charges-0-distance_text": "46 mi"})
    save(page)
    # 10 x 3.50 = 35.00 and 46 mi x 0.70 = 32.20: 67.20, 6.72 a sheet.
    page.get_by_role("heading", name="Purchase P001").wait_for()
    assert "$67.20" in page.inner_text("main")
    assert "$6.72" in page.inner_text("main")

    page.goto(base + "conversions/add/")
    page.locator("[name=source]").select_option(label="Roof sheet")
    fill(
        page,
        converted_on="2026-05-03",
        used_text="8 pieces",
        extra_cost_amount="8.64",
        hours="1:30",
        **{"outputs-0-made_text": "24 pieces"},
    )
    page.locator("[name=outputs-0-component]").select_option(label="Flashing")
    save(page)
    page.wait_for_url(re.compile(r"/conversions/\?saved=conversion-\d+$"))

    page.goto(base + "left-over/add/")
    page.locator("[name=component]").select_option(label="Flashing")
    fill(page, noted_on="2026-05-04", quantity_text="5 pieces")
    page.locator("[name=fate]").select_option("on hand")
    save(page)
    page.wait_for_url(re.compile(r"/left-over/\?saved=left-over-\d+$"))

    page.goto(base + "cost-sheet/")
    # On a phone its parts are folded.
    folded = page.locator("main details:not([open], [hidden] *) > summary")
    while folded.count():
        folded.first.click()
    text = page.inner_text("main")
    # Spent 67.20 + 8.64. A flashing: (8 x 6.72 + 8.64) / 24 = 2.60. In the building: 2 sheets 13.44
    # and 19 flashings 49.40.
    assert "$75.84" in text
    assert "$62.84" in text
    # New: 19 x 7.50 x 1.08 = 153.90; saving 153.90 - 49.40.
    assert "$153.90" in text
    assert "$104.50" in text
    assert "Roof sheet" in page.inner_text(".left-out")
    page.get_by_role("link", name="Spent", exact=True).click()
    page.get_by_role("heading", name="Spent", exact=True).wait_for()
    page.get_by_role("link", name="Landed cost received").click()
    assert "$67.20" in page.inner_text("main")


def test_a_fault_keeps_what_was_typed(open_page, sign_in):
    page = open_page(PHONE)
    sign_in(page)
    base = begin_build(page)
    add_component(page, base, "Flashing", "1 piece = 1x8 ft")
    page.goto(base + "purchases/add/")
    page.locator("[name=lines-0-component]").select_option(label="Flashing")
    fill(page, **{"lines-0-quantity_text": "a dozen or so", "lines-0-unit_price": "1.25"})
    save(page)
    page.locator("#faults").wait_for()
    assert page.locator("[name=lines-0-quantity_text]").input_value() == "a dozen or so"
    assert page.locator("[name=lines-0-unit_price]").input_value() == "1.25"
    page.goto(base + "purchases/")
    assert "Nothing" in page.inner_text("main")


PAGES = (
    "",
    "details/",
    "figures/material_cost/",
    "elements/",
    "components/",
    "components/add/",
    "prices/",
    "suppliers/",
    "purchases/",
    "purchases/lines/",
    "purchases/add/",
    "conversions/",
    "conversions/add/",
    "left-over/",
    "tasks/",
    "hours/",
    "hours/add/",
    "history/",
    "workbook/",
)


# As narrow as 320 px all screens are seen in test_looks.py.
@pytest.mark.parametrize("width", [pytest.param(390, marks=pytest.mark.slow), 1280])
def test_no_page_scrolls_sideways(open_page, sign_in, demo_build, width):
    page = open_page({"width": width, "height": 800})
    sign_in(page, demo_build.members.get().user.username)
    for path in PAGES:
        page.goto(f"/builds/{demo_build.pk}/{path}")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
        assert page.locator("h1").count() == 1, path
