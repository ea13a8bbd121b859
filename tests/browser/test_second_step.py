"""The second step through the screens: turned on, used, and where one is signed in."""

import base64
import re
import time

import pytest
from django.urls import reverse

from materials.services.one_time_codes import code_of

from .conftest import DESKTOP, PHONE
from .screens import press
from .test_axe import look

pytestmark = pytest.mark.django_db(transaction=True)
WORD = "sawdust-and-lime"


def code_now(key: str) -> str:
    return code_of(base64.b32decode(key), int(time.time()) // 30)


@pytest.mark.parametrize(
    ("size", "scripts"), [(PHONE, True), (DESKTOP, False)], ids=["phone", "desk without scripts"]
)
def test_it_is_turned_on_and_asked_for(size, scripts, open_page, sign_in):
    page, found = open_page(size, java_script_enabled=scripts), []

    def seen(name: str) -> None:
        if not scripts:
            return
        found.extend(look(page, name))
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], (name, wide)

    sign_in(page)
    page.get_by_role("link", name="Account").first.click()
    page.get_by_role("link", name="Second step: off").click()
    seen("second_step, off")
    page.get_by_role("link", name="Turn on the second step").click()
    key = page.locator(".second-key").inner_text().replace(" ", "")
    seen("second_step_on")
    square = page.locator(".qr svg").bounding_box()
    assert square["width"] == square["height"] > 150
    page.get_by_label("Your password").fill(WORD)
    page.get_by_role("textbox", name="Code").fill(code_now(key))
    press(page, "Turn on")
    codes = page.locator("#link").input_value().split()
    assert len(codes) == 10
    seen("recovery codes, shown")
    page.get_by_role("link", name="Done").click()
    page.get_by_text("10 recovery codes left").wait_for()
    seen("second_step, on")
    page.get_by_role("link", name="Make new recovery codes").click()
    seen("recovery_codes")
    page.get_by_role("link", name="Cancel").click()
    page.get_by_role("link", name="Turn off the second step").click()
    seen("second_step_off")

    page.context.clear_cookies()
    page.goto(reverse("account_log"))
    page.get_by_label("Username").fill("ann")
    page.get_by_label("Password").fill(WORD)
    press(page, "Sign in")
    assert page.url.endswith(reverse("sign_in_code"))
    seen("sign_in_code")
    page.get_by_role("textbox", name="Code").fill("000000")
    press(page, "Sign in")
    page.get_by_text("That code is wrong").first.wait_for()
    seen("sign_in_code, faults")
    page.get_by_role("textbox", name="Code").fill(codes[0])
    press(page, "Sign in")
    assert page.url.endswith(reverse("account_log")), "to where one was going"
    for told in ("Recovery code used", "Right password, wrong code", "Second step turned on"):
        assert page.get_by_text(re.compile(f"^{told}")).first.is_visible()
    seen("account_log, full")
    page.goto(reverse("sessions"))
    seen("sessions, two")
    press(page, "Sign out everywhere else")
    page.get_by_text("Signed out of 1 other session.").wait_for()
    assert not found, "\n".join(found)
