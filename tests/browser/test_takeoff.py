"""A shape on a phone: worked out and drawn while one types, kept, and given to a component."""

import re

import pytest
from django.urls import reverse

from materials.models import Component, Takeoff

from .conftest import DESKTOP, PHONE

pytestmark = pytest.mark.django_db(transaction=True)
SMALL = {"width": 320, "height": 568}


@pytest.fixture
def at_shape(open_page, enter, build, cast):
    """The form of a shape, at a size."""

    def start(code, size=PHONE, **options):
        page = open_page(size, **options)
        enter(page, cast["owner"])
        page.goto(reverse("takeoff_add", args=[build.pk, code]))
        return page

    return start


def fill(page, **typed) -> None:
    for name, value in typed.items():
        page.locator(f"#entry [name={name}]").fill(value)


def is_narrow(page) -> bool:
    """Whether nothing makes the page scroll sideways."""
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.parametrize(
    "size", [PHONE, *(pytest.param(size, marks=pytest.mark.slow) for size in (SMALL, DESKTOP))]
)
def test_worked_out_and_drawn_while_typing(size, at_shape):
    page = at_shape("framed-wall", size)
    fill(page, length="24 ft", height="8 ft")
    # 18 bays at 16 in and one more, two more at each of two corners.
    page.locator("#verdict").get_by_text("23 pieces of 7' 7 1/2\"").wait_for()
    assert page.locator("#understood svg.takeoff-drawing[role=img]").is_visible()
    assert is_narrow(page)
    fill(page, openings="3 ft x 7 ft")
    page.locator("#verdict").get_by_text("25 pieces").wait_for()
    page.locator("#entry [name=length]").fill("24")
    page.locator("#verdict").get_by_text("has no unit").wait_for()
    assert page.locator("#entry [name=openings]").input_value() == "3 ft x 7 ft"


def test_kept_and_required_on_a_phone(at_shape, build, entries):
    entries.component("Strut", contents="1 piece = 10 ft")
    page = at_shape("dome")
    fill(page, radius="15 ft", name="Bird house")
    page.locator("#verdict").get_by_text("30 pieces of 8.198 ft").wait_for()
    with page.expect_navigation():
        page.locator(".bar").get_by_role("button", name="Save takeoff").click()
    assert is_narrow(page)
    assert page.get_by_text("0.54653 × 15 ft each").is_visible()
    page.get_by_role("link", name=re.compile("^Strut A")).click()
    page.get_by_label("What it is for").select_option(label="Strut (requires nothing stated)")
    with page.expect_navigation():
        page.locator(".bar").get_by_role("button", name="Use it").click()
    page.get_by_text("Strut requires 30 @ 8.197996 ft now.").wait_for()
    assert Component.objects.get(name="Strut").required_text == "30 @ 8.197996 ft"
    assert is_narrow(page)


def test_without_scripts(at_shape, build):
    page = at_shape("gable-roof", java_script_enabled=False)
    fill(page, length="40 ft", width="24 ft")
    with page.expect_navigation():
        page.get_by_role("button", name="Preview").click()
    page.get_by_text("1,073.313 sq ft").first.wait_for()
    assert page.locator("#understood svg.takeoff-drawing").is_visible()
    assert not Takeoff.objects.exists()
    with page.expect_navigation():
        page.locator(".bar").get_by_role("button", name="Save takeoff").click()
    page.get_by_text("is saved.").wait_for()
    assert Takeoff.objects.get().figures[0]["typed"] == "1073.312629 sq ft"


def test_kinds_of_struts_differ_without_colour(at_shape):
    page = at_shape("dome")
    page.locator("#entry [name=frequency]").select_option("4")
    fill(page, radius="15 ft")
    page.locator(".takeoff-drawing .takeoff-strut-5").first.wait_for(state="attached")
    looks = page.evaluate(
        """[0, 1, 2, 3, 4, 5].map(kind => {
             const drawn = document.querySelector(`.takeoff-drawing .takeoff-strut-${kind}`);
             const style = getComputedStyle(drawn);
             return style.strokeDasharray + ' ' + style.strokeWidth;
           })"""
    )
    assert len(set(looks)) == 6, looks
