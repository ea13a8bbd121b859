"""Without signal: each entry is recorded once, and two that are alike are two."""

import pytest

from materials.models import Purchase

from .yard import PHOTO, added, counts

pytestmark = pytest.mark.django_db(transaction=True)
# Few ways of each kind always run; the whole check runs all of them.
LONG = pytest.mark.slow


def uploads(phone):
    """Forms that were sent with a photo."""
    return [sent for sent in phone.wire.forms() if sent.size > len(PHOTO["buffer"])]


@pytest.fixture
def away(phone):
    """A phone that keeps the build, without signal, and what there was before."""
    taken = phone()
    taken.keep()
    taken.cut("offline")
    return taken, counts(taken.build)


def test_a_lost_answer_is_settled_without_sending_the_photo_again(away):
    phone, before = away
    phone.open("log")
    phone.purchase()
    phone.wait_for(1)
    phone.wire.cut("cut after")
    phone.page.context.set_offline(False)
    phone.page.get_by_text("There is no signal.").wait_for()
    assert added(phone.build, before) == {"received": 1, "photos": 1}
    assert len(phone.kept()) == 1
    # What comes back after the loss asks first.
    phone.wire.mend()
    phone.page.get_by_role("button", name="Send now").locator("visible=true").first.click()
    phone.wait_until(lambda kept: not kept)
    phone.page.get_by_role("link", name="Purchase: Pantile").wait_for()
    assert added(phone.build, before) == {"received": 1, "photos": 1}
    assert len(uploads(phone)) == 1


@LONG
def test_an_entry_changed_after_a_lost_answer_is_not_taken_for_the_old_one(away):
    phone, before = away
    phone.open("log")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.wire.cut("cut after")
    phone.page.context.set_offline(False)
    phone.page.get_by_text("There is no signal.").wait_for()
    phone.page.context.set_offline(True)
    phone.wire.mend()
    phone.page.get_by_role("link", name="Change", exact=True).click()
    phone.page.locator("[name=quantity_text]").fill("7 pieces")
    phone.save()
    phone.page.get_by_text("Purchase: Pantile, 7 pieces").wait_for()
    phone.page.context.set_offline(False)
    phone.page.get_by_text("saved already").wait_for()
    assert added(phone.build, before) == {"received": 1}
    # It can be logged too, once, when that is what is meant.
    phone.page.get_by_role("link", name="Look and fix").click()
    phone.page.locator("#faults, .faults").first.wait_for()
    phone.save()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 2}
    lines = [p.lines.get().quantity_text for p in Purchase.objects.order_by("-pk")[:2]]
    assert lines == ["7 pieces", "5 pieces"]


def test_two_entries_alike_are_two(away):
    phone, before = away
    for count in (1, 2):
        phone.open("log")
        phone.purchase(photo=False)
        phone.wait_for(count)
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {"received": 2}


@LONG
def test_a_double_tap_is_one(away):
    phone, before = away
    twice = "form => { form.requestSubmit(); form.requestSubmit(); }"
    phone.open("labour_add")
    phone.page.locator("[name=person]").fill("Ida")
    phone.page.locator("[name=hours]").fill("1")
    phone.page.locator("#entry").evaluate(twice)
    phone.wait_for(1)
    phone.mend()
    phone.send()
    phone.open("labour_add")
    phone.page.locator("[name=person]").fill("Ida")
    phone.page.locator("[name=hours]").fill("2")
    phone.page.locator("#entry").evaluate(twice)
    phone.page.wait_for_url("**/hours/?saved=**")
    assert added(phone.build, before) == {"hours": 2}


@LONG
def test_back_and_saved_again_is_no_third(away):
    phone, before = away
    phone.open("log")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.page.go_back()
    phone.page.get_by_text("As of").wait_for()
    assert phone.page.locator("[name=what]").input_value() == "Pantile"
    phone.save()
    phone.wait_for(1)
    phone.mend()
    phone.send()
    # Nor is one that was sent meanwhile.
    while "/log/" not in phone.page.url:
        phone.page.go_back()
    phone.purchase(photo=False)
    phone.page.wait_for_url("**/purchases/**")
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1}


@LONG
def test_back_and_saved_changed_is_another(away):
    phone, before = away
    phone.open("log")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.page.go_back()
    phone.page.get_by_text("As of").wait_for()
    phone.purchase("Pantile", "6 pieces", photo=False)
    phone.wait_for(2)
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {"received": 2}


@pytest.mark.slow
def test_two_tabs_that_send_at_once_send_each_once(away):
    phone, before = away
    other = phone.new_tab()
    for count, hours in enumerate(("1", "1", "2", "3"), 1):
        phone.open("labour_add")
        phone.hours(hours)
        phone.wait_for(count)
    other.open("yard")
    other.wait_for(4)
    sent = len(phone.wire.forms())
    phone.mend()
    phone.wait_until(lambda kept: not kept)
    other.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"hours": 4}
    assert len(phone.wire.forms()) == sent + 4


def quantities():
    """What the purchases that came last are of, newest first."""
    return [each.lines.get().quantity_text for each in Purchase.objects.order_by("-pk")[:2]]


@LONG
def test_an_entry_that_goes_while_its_form_stands_open_is_not_taken_for_the_changed_one(away):
    phone, before = away
    phone.open("log")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.page.get_by_role("link", name="Change", exact=True).click()
    phone.page.locator("[name=quantity_text]").fill("7 pieces")
    # The signal returns before it is saved, and what waits goes as it was.
    phone.mend()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1}
    phone.save()
    phone.page.locator("#faults, .faults").first.wait_for()
    phone.page.get_by_text("saved already").first.wait_for()
    assert phone.page.locator("[name=quantity_text]").input_value() == "7 pieces"
    phone.save()
    phone.page.wait_for_url("**/purchases/*/?saved=**")
    phone.wait_until(lambda kept: not kept)
    assert quantities() == ["7 pieces", "5 pieces"]


@LONG
def test_an_entry_that_goes_and_is_previewed_meanwhile_is_not_recorded_twice_unsaid(away):
    phone, before = away
    phone.open("log")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.page.get_by_role("link", name="Change", exact=True).click()
    phone.page.locator("[name=outbox]").wait_for(state="attached")
    phone.mend()
    phone.wait_until(lambda kept: not kept)
    phone.page.locator("[name=quantity_text]").fill("7 pieces")
    with phone.page.expect_navigation():
        phone.page.get_by_role("button", name="Preview").click()
    phone.save()
    phone.page.get_by_text("saved already").first.wait_for()
    assert added(phone.build, before) == {"received": 1}


def two_wait_and_the_first_is_on_its_way(phone):
    """Two purchases wait, and the first is held on its way until it is let go."""
    for count, much in ((1, "5 pieces"), (2, "6 pieces")):
        phone.open("log")
        phone.purchase(much=much, photo=False)
        phone.wait_for(count)
    held = []

    def meet(route):
        if route.request.method == "POST" and not held:
            held.append(route)
        else:
            route.continue_()

    phone.page.context.route("**/purchases/log/", meet)
    phone.page.context.set_offline(False)
    phone.wait_until(lambda _: held)
    return held[0]


@LONG
def test_what_is_dropped_while_others_go_is_not_sent(away):
    phone, before = away
    first = two_wait_and_the_first_is_on_its_way(phone)
    row = phone.row("6 pieces")
    row.get_by_text("Drop", exact=True).click()
    row.get_by_role("button", name="Drop for good").click()
    phone.wait_until(lambda kept: len(kept) == 1)
    first.continue_()
    phone.wait_until(lambda kept: not kept)
    phone.page.wait_for_timeout(500)
    assert added(phone.build, before) == {"received": 1}
    assert quantities()[0] == "5 pieces"


@LONG
def test_what_is_changed_in_another_tab_while_others_go_is_sent_as_changed(away):
    phone, before = away
    first = two_wait_and_the_first_is_on_its_way(phone)
    other = phone.new_tab()
    other.open("yard")
    other.row("6 pieces").get_by_role("link", name="Change", exact=True).click()
    other.page.locator("[name=outbox]").wait_for(state="attached")
    other.page.locator("[name=quantity_text]").fill("7 pieces")
    other.save()
    other.wait_until(lambda kept: any("7 pieces" in entry["said"] for entry in kept))
    first.continue_()
    other.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 2}
    assert quantities() == ["7 pieces", "5 pieces"]


COPIES = """(count) => new Promise((done) => {
  indexedDB.open("buildledger").onsuccess = ({ target: { result } }) => {
    const entries = result.transaction("outbox", "readwrite").objectStore("outbox");
    entries.getAll().onsuccess = ({ target }) => {
      const [{ order, ...entry }] = target.result;
      for (let left = count; left; left--) entries.put({ ...entry, token: crypto.randomUUID() });
    };
    entries.transaction.oncomplete = () => { result.close(); done(); };
  };
})"""


@LONG
def test_many_that_wait_are_asked_for_in_a_line_that_gunicorn_takes(away):
    # 4094 is gunicorn's own limit of a request line (limit_request_line), which README keeps.
    phone, _ = away
    phone.open("labour_add")
    phone.hours()
    phone.wait_for(1)
    phone.page.evaluate(COPIES, 150)
    phone.wire.cut("503")
    phone.page.context.set_offline(False)
    phone.page.get_by_text("The server is busy.").wait_for()
    asked = [sent.path for sent in phone.wire.seen if sent.path.startswith("/outbox/?token")]
    assert asked
    assert max(len(f"GET {path} HTTP/1.1\r\n") for path in asked) < 4094
