"""Passkeys in a browser with a device that a program plays (W3C Web Authentication, Automation)."""

import base64

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.models import Passkey
from materials.services.accounts import ensure_user
from materials.services.one_time_codes import code_of, step_at
from materials.services.second_step import turn_on

from .conftest import DESKTOP, PHONE
from .screens import press
from .test_axe import look

pytestmark = pytest.mark.django_db(transaction=True)
# One way through always runs; the whole check runs all of them.
LONG = pytest.mark.slow
WORD = "sawdust-and-lime"
KEY = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"
DEVICE = {"protocol": "ctap2", "transport": "internal", "hasUserVerification": True}
DEVICE |= {"isUserVerified": True, "automaticPresenceSimulation": True}


@pytest.fixture
def codes(transactional_db):
    """Recovery codes of Ann, whose second step is on."""
    ann, _ = ensure_user(username="ann", password=WORD)
    now = timezone.now()
    return turn_on(user=ann, key=KEY, code=code_of(base64.b32decode(KEY), step_at(now)), now=now)


def plug_in(page) -> tuple:
    """A device that makes and uses passkeys at once, by the browser's own means for tests."""
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    made = session.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE})
    return session, made["authenticatorId"]


def password(page) -> None:
    page.goto(reverse("account"))
    page.get_by_label("Username").fill("ann")
    page.get_by_label("Password").fill(WORD)
    press(page, "Sign in")
    page.wait_for_url(f"**{reverse('sign_in_code')}")


def sign_in(page, code: str) -> None:
    """By a recovery code: one of the app's was used just now."""
    password(page)
    page.get_by_role("textbox", name="Code").fill(code)
    press(page, "Sign in")
    page.wait_for_url(f"**{reverse('account')}")


@pytest.mark.parametrize("size", [PHONE, pytest.param(DESKTOP, marks=LONG)], ids=["phone", "desk"])
def test_one_is_made_used_and_removed(size, open_page, codes):
    page, found = open_page(size), []

    def seen(name: str) -> None:
        found.extend(look(page, name))
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], (name, wide)

    session, device = plug_in(page)
    sign_in(page, codes[0])
    page.goto(reverse("second_step"))
    page.get_by_role("link", name="Add passkey").click()
    page.get_by_label("Name").fill("Blue key")
    page.get_by_label("Your password").fill(WORD)
    page.get_by_role("textbox", name="Code").fill(codes[1])
    seen("passkey_add")
    press(page, "Next")
    page.get_by_role("button", name="Create passkey").wait_for()
    seen("passkey_add, to be made")
    page.get_by_role("button", name="Create passkey").click()
    page.get_by_text("Passkey “Blue key” is added.").wait_for()
    seen("second_step, with a passkey")
    (kept,) = session.send("WebAuthn.getCredentials", {"authenticatorId": device})["credentials"]
    assert kept["rpId"] == "localhost"
    for count in (1, 2):
        page.context.clear_cookies()
        password(page)
        seen("sign_in_code, with a passkey")
        page.get_by_role("button", name="Use passkey").click()
        page.wait_for_url(f"**{reverse('account')}")
        assert Passkey.objects.get().sign_count > count
    page.goto(reverse("second_step"))
    page.get_by_role("link", name="Remove Blue key").click()
    page.get_by_label("Your password").fill(WORD)
    seen("passkey_remove")
    press(page, "Remove passkey")
    page.get_by_text("Passkey “Blue key” is removed.").wait_for()
    page.context.clear_cookies()
    password(page)
    assert page.get_by_role("button", name="Use passkey").count() == 0
    assert not found, "\n".join(found)


@LONG
def test_where_the_device_does_nothing_a_code_does(open_page, codes):
    page = open_page(PHONE)
    session, device = plug_in(page)
    sign_in(page, codes[0])
    page.goto(reverse("passkey_add"))
    page.get_by_label("Name").fill("Blue key")
    page.get_by_label("Your password").fill(WORD)
    page.get_by_role("textbox", name="Code").fill(codes[1])
    press(page, "Next")
    page.get_by_role("button", name="Create passkey").click()
    page.get_by_text("is added").wait_for()
    session.send("WebAuthn.removeVirtualAuthenticator", {"authenticatorId": device})
    other = session.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE})
    assert other["authenticatorId"] != device
    page.context.clear_cookies()
    password(page)
    page.get_by_role("button", name="Use passkey").click()
    page.get_by_text("No passkey was used. Try again, or type a code.").wait_for()
    page.get_by_role("textbox", name="Code").fill(codes[2])
    press(page, "Sign in")
    page.wait_for_url(f"**{reverse('account')}")


@LONG
def test_without_scripts_nothing_asks_for_one(open_page, codes):
    page = open_page(DESKTOP, java_script_enabled=False)
    sign_in(page, codes[0])
    page.goto(reverse("passkey_add"))
    page.get_by_label("Name").fill("Blue key")
    page.get_by_label("Your password").fill(WORD)
    page.get_by_role("textbox", name="Code").fill(codes[1])
    press(page, "Next")
    page.get_by_text("Codes go on working.").wait_for()
    assert not page.get_by_role("button", name="Create passkey").is_visible()
