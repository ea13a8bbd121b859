"""The short form on a phone: what an entry comes to is in sight while one types."""

import pytest
from django.urls import reverse

from .conftest import DESKTOP, PHONE
from .test_looks import SEEN

pytestmark = pytest.mark.django_db(transaction=True)

# Old 2x8 costs 11.25 new, with 8 % tax 12.15; 12 at 1.50 and 40.20 haulage are 58.20, 4.85 each.
TOLD = "12 pieces at $1.50 each, $58.20 delivered; $4.85 a usable piece; 60% below new."


@pytest.fixture
def short_form(open_page, enter, entries, build, cast):
    """The short form of a build with one component, at a size."""
    entries.price(entries.component("Old 2x8", contents="1 piece = 2x8x12"), "11.25")

    def start(size=PHONE, **options):
        page = open_page(size, **options)
        enter(page, cast["owner"])
        page.goto(reverse("log", args=[build.pk]))
        page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
        fields = {"haulage_amount": "40.20", "what": "Old 2x8", "price": "1.50"}
        for name, value in (fields | {"quantity_text": "12 @ 2x8x12"}).items():
            page.locator(f"#entry [name={name}]").fill(value)
        page.get_by_label("Salvage").check()
        return page

    return start


def words(page) -> str:
    return " ".join(page.locator("#verdict").inner_text().split())


OTHERS = (DESKTOP, {"width": 320, "height": 568})


@pytest.mark.parametrize(
    "size", [PHONE, *(pytest.param(size, marks=pytest.mark.slow) for size in OTHERS)]
)
def test_what_it_comes_to_is_in_sight_while_typing(size, short_form):
    page = short_form(size)
    page.get_by_text(TOLD).wait_for()
    quantity = page.locator("[name=quantity_text]")
    quantity.fill("6 @ 2x8x12")
    # 6 at 1.50 and 40.20 are 49.20, 8.20 each; 12.15 less 32.51 %.
    page.get_by_text(
        "6 pieces at $1.50 each, $49.20 delivered; $8.20 a usable piece; 33% below new."
    ).wait_for()
    quantity.fill("6")
    page.get_by_text("“6” has no unit. Did you mean 6 pieces?").first.wait_for()
    result = page.locator("#verdict").bounding_box()
    typed = quantity.bounding_box()
    assert 0 <= typed["y"] < size["height"], "the box is in sight"
    assert result["y"] >= 0
    assert result["y"] + result["height"] <= size["height"]
    if size["width"] < DESKTOP["width"]:
        save = page.locator(".bar button.primary").bounding_box()
        assert result["y"] + result["height"] <= save["y"], "right above the button that saves"
        assert save["y"] + save["height"] <= size["height"]


def test_nothing_that_has_the_focus_is_hidden_by_the_verdict(short_form):
    page = short_form({"width": 390, "height": 480})
    page.get_by_text(TOLD).wait_for()
    page.locator("[name=what]").focus()
    hidden, places = [], 0
    for key in ("Tab", "Shift+Tab"):
        for _ in range(45):
            page.keyboard.press(key)
            tag, covered = page.evaluate(SEEN)
            if tag == "BODY":
                break
            places += 1
            hidden += [covered] if covered else []
    assert places > 40
    assert hidden == []


def test_without_scripts_the_button_leads_to_what_it_comes_to(short_form):
    page = short_form(java_script_enabled=False)
    page.get_by_role("button", name="Preview").click()
    page.wait_for_url("**/#understood")
    part = page.locator("#understood").bounding_box()
    assert 0 <= part["y"] < PHONE["height"] / 2
    assert words(page) == TOLD
    # What is wrong is told at the same place: that is where the page comes back.
    page.locator("[name=quantity_text]").fill("twelve or so")
    page.get_by_role("button", name="Preview").click()
    page.locator("#faults").wait_for()
    fault = page.locator("#understood .fault").bounding_box()
    assert 0 <= fault["y"] < PHONE["height"]
    assert "How much: " in page.locator("#understood").inner_text()


def test_hours_at_one_touch_are_above_the_fold(open_page, enter, build, cast):
    page = open_page(PHONE)
    enter(page, cast["owner"])
    page.goto(reverse("labour_add", args=[build.pk]))
    bar = page.locator(".bar").bounding_box()["y"]
    buttons = page.locator("[name=quick_hours]").all()
    assert len(buttons) == 5
    for button in buttons:
        box = button.bounding_box()
        assert box["y"] + box["height"] <= bar
    order = page.locator("#entry [name]:visible").evaluate_all("all => all.map(one => one.name)")
    assert order[order.index("kind") + 1] == "quick_hours"


def test_a_build_begins_with_its_first_steps(open_page, enter, cast):
    page = open_page(PHONE)
    enter(page, cast["owner"])
    page.goto(reverse("build_add"))
    page.locator("[name=name]").fill("Pump house")
    page.locator("button.primary:visible").click()
    steps = page.get_by_role("heading", name="Three steps to a true cost")
    steps.wait_for()
    box = steps.bounding_box()
    assert 0 <= box["y"] < PHONE["height"] / 2 + 100
    assert page.get_by_role("link", name="Add what the build needs").is_visible()
