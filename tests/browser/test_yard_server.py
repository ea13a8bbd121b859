"""Without signal: a server that is there but does not take what is sent."""

import pytest

from .yard import added, counts

pytestmark = pytest.mark.django_db(transaction=True)
# Few ways of each kind always run; the whole check runs all of them.
LONG = pytest.mark.slow


@pytest.fixture
def waiting(phone):
    """A phone with an entry that waits, still without signal, and what there was before."""
    taken = phone()
    taken.keep()
    taken.cut("offline")
    taken.open("log")
    taken.purchase()
    taken.wait_for(1)
    return taken, counts(taken.build)


@LONG
@pytest.mark.parametrize("status", ["429", "503", "507"])
def test_it_waits_and_tries_again_by_itself(status, waiting):
    phone, before = waiting
    phone.wire.cut(status)
    phone.page.context.set_offline(False)
    phone.page.get_by_text("The server is busy. It is tried again by itself.").wait_for()
    assert phone.kept()[0]["state"] == "waiting"
    phone.wire.mend()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1, "photos": 1}


def test_what_breaks_five_times_holds_nothing_up(waiting):
    phone, before = waiting
    phone.wire.cut("500")
    phone.page.context.set_offline(False)
    for tries in range(1, 5):
        phone.wait_until(lambda kept, tries=tries: kept[0].get("tries") == tries)
        phone.page.get_by_role("button", name="Send now").locator("visible=true").first.click()
    phone.page.get_by_text("The server failed on this five times.").wait_for()
    phone.open("labour_add")
    phone.wire.mend()
    phone.hours()
    phone.wait_until(lambda kept: [entry["state"] for entry in kept] == ["broken"])
    phone.open("yard")
    phone.page.get_by_role("button", name="Try again").click()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1, "photos": 1, "hours": 1}


@LONG
def test_what_is_too_large_goes_without_its_photo(waiting):
    phone, before = waiting
    phone.wire.cut("413")
    phone.page.context.set_offline(False)
    phone.page.get_by_text("Too large with its photos.").wait_for()
    phone.wire.mend()
    phone.page.get_by_role("button", name="Send without photos").click()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1}
