"""A file that takes long to read: the page turns to its button by itself, and can be left."""

import pytest
from django.urls import reverse

from tests.imports.steps import as_text
from tests.imports.test_long_files import ROWS, beside, held  # noqa: F401 (fixtures)

from .conftest import PHONE
from .test_axe import ALL, AXE_SCRIPT, violations

pytestmark = pytest.mark.django_db(transaction=True)
DESK = {"width": 1280, "height": 900}


@pytest.mark.parametrize("size", [PHONE, pytest.param(DESK, marks=pytest.mark.slow)])
def test_a_long_file_turns_to_its_button(
    size,
    held,  # noqa: F811
    open_page,
    enter,
    demo_build,
    settings,
    tmp_path,
):
    settings.MEDIA_ROOT = tmp_path
    may_go = held("look_at")
    page = open_page(size)
    enter(page, demo_build.members.get().user)
    page.goto(reverse("imports", args=[demo_build.pk]))
    file = {"name": "yard book.csv", "mimeType": "text/csv", "buffer": as_text(ROWS)}
    page.locator("input[type=file]").set_input_files(file)
    page.locator("button.primary:visible").first.click()
    page.get_by_text("It goes on if you leave").wait_for()
    may_go.set()
    button = page.get_by_role("button", name="Choose the table")
    button.wait_for()
    page.evaluate(AXE_SCRIPT)
    assert violations(page, ALL) == []
    button.click()
    page.get_by_text("Lath 3").first.wait_for()
