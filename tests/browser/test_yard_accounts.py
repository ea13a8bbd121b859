"""Without signal: whose entries wait, who may send them, and what becomes of them on leaving."""

import pytest
from django.utils import timezone

from materials.choices import Role
from materials.models import Member
from materials.services.accounts import ensure_user
from materials.services.leaving import delete_account
from materials.services.members import add_member

from .yard import added, counts

pytestmark = pytest.mark.django_db(transaction=True)
# Few ways of each kind always run; the whole check runs all of them.
LONG = pytest.mark.slow


@pytest.fixture
def ben(demo_build):
    """Somebody else who may write in the build."""
    user, _ = ensure_user(username="cleo", password="sawdust-and-lime")
    add_member(
        actor=demo_build.members.get(role="owner").user,
        build=demo_build,
        user=user,
        role=Role.CO_BUILDER,
    )
    return user


@pytest.fixture
def anns(phone):
    """Ann's phone with an entry that waits, and what there was before."""
    taken = phone()
    taken.keep()
    taken.cut("offline")
    taken.open("log")
    taken.purchase()
    taken.wait_for(1)
    return taken, counts(taken.build)


def sign_in(page, name):
    """Through the screen."""
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill("sawdust-and-lime")
    page.get_by_role("button", name="Sign in").first.click()


def test_entries_of_another_account_are_neither_shown_nor_sent(anns, ben, enter):
    phone, before = anns
    ann = phone.build.members.get(role="owner").user
    phone.page.goto("about:blank")
    enter(phone.page, ben)
    phone.mend()
    phone.open("yard")
    phone.page.get_by_text("Entries on this device wait for: ann").wait_for()
    assert "Pantile" not in phone.page.content()
    assert phone.listed() == []
    assert phone.wire.forms() == []
    # Nor do pages of hers open for him.
    phone.cut("offline")
    phone.open("log")
    phone.page.get_by_role("heading", name="No signal").wait_for()
    phone.page.get_by_text("wait for: ann").wait_for()
    phone.mend()
    enter(phone.page, ann)
    phone.send()
    assert added(phone.build, before) == {"received": 1, "photos": 1}


@LONG
def test_two_accounts_each_send_their_own(anns, ben, enter):
    phone, before = anns
    ann = phone.build.members.get(role="owner").user
    phone.page.goto("about:blank")
    enter(phone.page, ben)
    phone.mend()
    phone.keep()
    phone.cut("offline")
    phone.open("labour_add")
    phone.hours()
    phone.wait_for(1)
    phone.page.context.set_offline(False)
    phone.wait_until(lambda kept: len(kept) == 1)
    assert added(phone.build, before) == {"hours": 1}
    enter(phone.page, ann)
    phone.send()
    assert added(phone.build, before) == {"hours": 1, "received": 1, "photos": 1}


def test_who_is_signed_out_meanwhile_is_asked_to_sign_in_and_then_it_goes(anns):
    phone, before = anns
    phone.page.context.clear_cookies()
    phone.mend()
    phone.page.get_by_role("link", name="Sign in", exact=True).locator("visible=true").click()
    phone.page.get_by_text("Entries on this device wait for: ann").wait_for()
    sign_in(phone.page, "ann")
    phone.page.wait_for_url("**/without-signal/")
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1, "photos": 1}


@LONG
@pytest.mark.parametrize("role", ["viewer", None])
def test_who_may_write_no_more_can_save_and_drop_what_waits(role, anns, ben, enter):
    phone, before = anns
    phone.page.goto("about:blank")
    enter(phone.page, ben)
    phone.mend()
    phone.keep()
    phone.cut("offline")
    phone.open("log")
    phone.purchase("Cedar")
    phone.wait_for(1)
    member = Member.objects.filter(build=phone.build, user=ben)
    member.update(role=role) if role else member.delete()
    phone.mend()
    phone.page.get_by_text("You may not log this here, or it is gone.").wait_for()
    if role is None:
        # The pages of the build are no longer his, but what he typed is.
        phone.page.goto("/")
        phone.cut("offline")
        phone.open("home")
        phone.page.get_by_role("heading", name="No signal").wait_for()
        phone.mend()
        phone.page.goto("/")
    else:
        phone.open("yard")
    phone.page.get_by_text("You may not log this here, or it is gone.").wait_for()
    with phone.page.expect_download() as got:
        phone.page.get_by_role("button", name="Save as file").locator("visible=true").click()
    assert "Cedar" in got.value.path().read_text(encoding="utf-8")
    phone.page.get_by_text("Drop", exact=True).click()
    phone.page.get_by_role("button", name="Drop for good").click()
    phone.wait_until(lambda kept: [entry["name"] for entry in kept] == ["ann"])
    assert added(phone.build, before) == {}


def leave(phone):
    """Press “Sign out”."""
    phone.page.get_by_role("button", name="Sign out", exact=True).click()


@LONG
def test_signing_out_with_nothing_waiting_takes_the_pages_away(phone):
    phone = phone()
    phone.keep()
    leave(phone)
    phone.page.get_by_label("Username").wait_for()
    phone.cut("offline")
    phone.open("home")
    phone.page.get_by_role("heading", name="No signal").wait_for()


@LONG
@pytest.mark.parametrize("way", ["Send now", "Keep for me", "Delete and sign out"])
def test_signing_out_asks_what_becomes_of_what_waits(way, anns):
    phone, before = anns
    # Nothing is sent meanwhile.
    phone.wire.cut("503")
    phone.page.context.set_offline(False)
    leave(phone)
    asked = phone.page.get_by_label("Before you sign out")
    asked.get_by_text("1 entry not sent yet.").wait_for()
    with phone.page.expect_download() as got:
        asked.get_by_role("button", name="Save as file").click()
    assert "Pantile" in got.value.path().read_text(encoding="utf-8")
    asked.get_by_text("A file holds no photos.").wait_for()
    # What is deleted for good takes a second tap.
    assert asked.get_by_role("button", name="Delete and sign out").is_hidden()
    asked.get_by_text("Delete them").click()
    phone.wire.mend()
    if way == "Send now":
        asked.get_by_role("button", name=way).click()
        phone.wait_until(lambda kept: not kept)
        assert added(phone.build, before) == {"received": 1, "photos": 1}
        leave(phone)
    else:
        # What goes meanwhile is sent by no page that is left.
        phone.wire.cut("503")
        asked.get_by_role("button", name=way).click()
        phone.page.get_by_label("Username").wait_for()
        phone.wire.mend()
    phone.page.get_by_label("Username").wait_for()
    assert len(phone.kept()) == (1 if way == "Keep for me" else 0)
    phone.cut("offline")
    phone.open("home")
    phone.page.get_by_role("heading", name="No signal").wait_for()
    if way == "Keep for me":
        phone.mend()
        phone.open("yard")
        sign_in(phone.page, "ann")
        phone.wait_until(lambda kept: not kept)
        assert added(phone.build, before) == {"received": 1, "photos": 1}


@LONG
def test_without_signal_nobody_is_signed_out_in_appearance_only(anns):
    phone, _ = anns
    leave(phone)
    phone.page.get_by_text("No connection. Nothing was sent.").wait_for()
    phone.open("home")
    phone.page.get_by_text("As of").wait_for()


@LONG
def test_what_a_deleted_account_left_on_a_device_can_be_saved_and_dropped(anns, ben, enter):
    phone, before = anns
    phone.page.goto("about:blank")
    enter(phone.page, ben)
    phone.mend()
    phone.keep()
    phone.cut("offline")
    phone.open("log")
    phone.purchase("Cedar")
    phone.wait_for(1)
    delete_account(user=ben, now=timezone.now())
    phone.mend()
    phone.page.get_by_text("You may not log this here, or it is gone.").wait_for()
    with phone.page.expect_download() as got:
        phone.page.get_by_role("button", name="Save as file").locator("visible=true").click()
    assert "Cedar" in got.value.path().read_text(encoding="utf-8")
    phone.page.get_by_text("Drop", exact=True).click()
    phone.page.get_by_role("button", name="Drop for good").click()
    phone.wait_until(lambda kept: [entry["name"] for entry in kept] == ["ann"])
    assert added(phone.build, before) == {}
