"""Without signal: what waits is changed; what is refused is looked at, mended, recorded once."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.utils import timezone

from materials.choices import State
from materials.models import Component, LabourEntry, Purchase, RetailPrice, Timer
from materials.services.builds import archive_build
from materials.services.records import delete_record
from materials.services.short_form import change_state

from .yard import added, counts

pytestmark = pytest.mark.django_db(transaction=True)
# Few ways of each kind always run; the whole check runs all of them.
LONG = pytest.mark.slow


@pytest.fixture
def away(phone):
    """A phone that keeps the build, without signal, and what there was before."""
    taken = phone()
    taken.keep()
    taken.cut("offline")
    return taken, counts(taken.build)


@pytest.fixture
def owner(demo_build):
    return demo_build.members.get(role="owner").user


def change(phone, text):
    """Open an entry that waits in its form."""
    phone.row(text).get_by_role("link", name="Change", exact=True).click()
    phone.page.locator("#entry [name=outbox], [name=outbox]").first.wait_for(state="attached")


def refused(phone):
    """The signal returns, and an entry is not taken."""
    phone.mend()
    phone.page.get_by_text("Please fix this:").locator("visible=true").first.wait_for()


def look(phone):
    """The ordinary page of what is to be fixed."""
    phone.page.get_by_role("link", name="Look and fix").locator("visible=true").first.click()
    phone.page.locator("#faults, .faults").first.wait_for()


@pytest.mark.slow
def test_each_kind_that_waits_can_be_changed(away):
    phone, before = away
    page = phone.page
    phone.open("log")
    phone.purchase()
    phone.wait_for(1)
    change(phone, "Purchase: Pantile")
    assert page.locator("[name=photo]").evaluate("box => box.files.length") == 1
    page.locator("[name=quantity_text]").fill("8 pieces")
    phone.save()
    page.get_by_text("Purchase: Pantile, 8 pieces").wait_for()
    phone.open("log", query="?state=offer")
    phone.purchase("Cedar", "2 pieces", photo=False)
    change(phone, "Offer: Cedar")
    page.locator("[name=price]").fill("9")
    phone.save()
    page.get_by_text("Offer: Cedar, 2 pieces, 9").wait_for()
    phone.open("labour_add")
    phone.half_hour()
    change(phone, "Hours")
    assert page.locator("[name=hours]").input_value() == "0.5"
    page.get_by_role("button", name="Log 1 h", exact=True).click()
    phone.wait_for(3)
    phone.open("price_add")
    phone.price("12")
    change(phone, "New price")
    page.locator("[name=price]").fill("13")
    phone.save()
    phone.wait_for(4)
    phone.open("timer")
    phone.timer("Start")
    phone.wait_for(5)
    began = phone.kept()[-1]["at"]
    change(phone, "Timer started")
    page.get_by_label("Preparing").check()
    phone.timer("Start")
    phone.wait_for(5)
    # It began when it was first started, not when it was changed.
    assert phone.kept()[-1]["at"] == began
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {
        "received": 1, "offers": 1, "hours": 1, "prices": 1, "timers": 1, "photos": 2,
    }  # fmt: skip
    offer, bought = Purchase.objects.order_by("-pk")[:2]
    assert bought.lines.get().quantity_text == "8 pieces"
    assert (offer.state, offer.lines.get().unit_price) == (State.OFFER, Decimal(9))
    assert LabourEntry.objects.latest("pk").hours == 1
    assert RetailPrice.objects.latest("pk").price == 13
    assert Timer.objects.get().kind == "preparing"


@LONG
def test_what_waits_can_be_dropped(away):
    phone, before = away
    phone.open("log")
    phone.purchase()
    phone.wait_for(1)
    phone.page.get_by_text("Drop", exact=True).click()
    phone.page.get_by_role("button", name="Drop for good").click()
    phone.wait_until(lambda kept: not kept)
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {}


def test_what_is_refused_is_mended_and_recorded_once(away):
    phone, before = away
    phone.open("log")
    phone.purchase(price="cheap")
    phone.wait_for(1)
    phone.open("price_add")
    phone.price("dear", photo=False)
    phone.wait_for(2)
    refused(phone)
    # One that is refused holds nothing up: both were.
    phone.wait_until(lambda kept: [entry["state"] for entry in kept] == ["refused"] * 2)
    assert phone.row("Purchase").locator("[data-faults]").inner_text().startswith("Price: ")
    look(phone)
    assert phone.page.locator("[name=what]").input_value() == "Pantile"
    phone.page.locator("[name=price]").fill("3")
    phone.save()
    phone.wait_until(lambda kept: len(kept) == 1)
    assert added(phone.build, before) == {"received": 1, "photos": 1}
    phone.open("yard")
    look(phone)
    phone.page.locator("[name=price]").fill("4")
    phone.save()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1, "photos": 1, "prices": 1}


@LONG
def test_one_refused_while_its_copy_stands_open_leads_to_the_page_that_says_why(away):
    phone, before = away
    phone.open("price_add")
    phone.page.get_by_text("As of").wait_for()
    phone.mend()
    phone.price("dear", photo=False)
    phone.page.locator("#faults, .faults").first.wait_for()
    phone.page.locator("[name=price]").fill("4")
    phone.save()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"prices": 1}


@LONG
def test_one_refused_at_once_is_fixed_on_the_ordinary_page(phone):
    phone = phone()
    phone.keep()
    before = counts(phone.build)
    phone.open("log")
    phone.purchase(price="cheap")
    phone.page.locator("#faults, .faults").first.wait_for()
    assert phone.kept() == []
    phone.page.locator("[name=price]").fill("3")
    phone.save()
    phone.page.wait_for_url("**/purchases/*/?saved=**")
    assert added(phone.build, before) == {"received": 1, "photos": 1}


@LONG
def test_without_the_build_kept_an_entry_that_waits_is_still_changed_not_doubled(away):
    phone, before = away
    phone.open("labour_add")
    phone.hours("1")
    phone.wait_for(1)
    phone.wire.cut("503")
    phone.page.context.set_offline(False)
    phone.page.get_by_role("button", name="Stop keeping").click()
    phone.page.get_by_role("button", name="Keep on this device").wait_for()
    change(phone, "Hours")
    phone.page.locator("[name=hours]").fill("2")
    phone.save()
    phone.page.get_by_text("Hours: ").wait_for()
    phone.wire.mend()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"hours": 1}
    assert LabourEntry.objects.latest("pk").hours == 2


def test_an_offer_taken_meanwhile_is_stale_and_says_so(away, owner):
    phone, before = away
    phone.open("yard")
    phone.decline()
    phone.wait_for(1)
    key = int(phone.kept()[0]["address"].split("/")[-3])
    offer = Purchase.objects.get(pk=key)
    today = timezone.localdate()
    change_state(actor=owner, build=phone.build, purchase=offer, state=State.RECEIVED, on=today)
    phone.mend()
    phone.page.get_by_text("Changed by somebody else meanwhile:").wait_for()
    phone.page.get_by_text("This purchase cannot take that step.").wait_for()
    # From a copy that stands open, too.
    assert added(phone.build, before) == {"offers": -1, "received": 1}


@LONG
def test_an_offer_taken_meanwhile_is_told_where_the_copy_stands_open(away, owner):
    phone, _ = away
    phone.open("yard")
    phone.page.get_by_text("As of").wait_for()
    for offer in Purchase.objects.filter(build=phone.build, state=State.OFFER):
        change_state(
            actor=owner, build=phone.build, purchase=offer, state=State.DECLINED,
            on=timezone.localdate(),
        )  # fmt: skip
    phone.mend()
    phone.decline()
    phone.page.get_by_text("Changed by somebody else meanwhile:").wait_for()


@LONG
def test_a_component_that_is_gone_is_asked_for_anew(away, owner, add_component):
    phone, before = away
    phone.mend()
    lath = add_component(phone.build, "Lath")
    phone.open("price_add")
    phone.cut("offline")
    phone.page.locator("[name=component]").select_option(label="Lath")
    phone.page.locator("[name=price]").fill("2")
    phone.save()
    phone.wait_for(1)
    delete_record(actor=owner, build=phone.build, record=lath)
    refused(phone)
    look(phone)
    assert phone.page.locator("[name=price]").input_value() == "2"
    phone.page.locator("[name=component]").select_option(index=1)
    phone.save()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"prices": 1}


@LONG
def test_a_unit_that_changed_meanwhile_is_said(away, owner, add_component):
    phone, before = away
    add_component(phone.build, "Lath")
    phone.open("log")
    phone.purchase("Lath", photo=False)
    phone.wait_for(1)
    Component.objects.filter(build=phone.build, name="Lath").update(unit="sq ft")
    refused(phone)
    look(phone)
    phone.page.locator("[name=quantity_text]").fill("20 sq ft")
    phone.save()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1}


@LONG
def test_more_than_a_day_has_and_a_day_to_come(away):
    phone, before = away
    phone.open("labour_add")
    phone.hours("15")
    phone.wait_for(1)
    phone.open("labour_add")
    phone.hours("14")
    phone.wait_for(2)
    phone.open("labour_add")
    ahead = timezone.localdate() + timedelta(days=40)
    phone.page.locator("[name=worked_on]").fill(ahead.isoformat())
    phone.hours("1")
    phone.wait_for(3)
    refused(phone)
    phone.wait_until(lambda kept: [entry["state"] for entry in kept] == ["refused"] * 2)
    assert "24 hours" in " ".join(phone.kept()[0]["faults"])
    look(phone)
    phone.page.locator("[name=hours]").fill("4")
    phone.save()
    phone.wait_until(lambda kept: len(kept) == 1)
    phone.open("yard")
    look(phone)
    phone.page.locator("[name=worked_on]").fill(timezone.localdate().isoformat())
    phone.save()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"hours": 3}


@LONG
def test_an_archived_build_takes_what_waits(away, owner):
    phone, before = away
    phone.open("log")
    phone.purchase()
    phone.wait_for(1)
    archive_build(actor=owner, build=phone.build, on=timezone.localdate())
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {"received": 1, "photos": 1}


# What is stored was written so many days ago.
AGED = """(days) => new Promise((done, fail) => {
  const asked = indexedDB.open("buildledger");
  asked.onerror = fail;
  asked.onsuccess = () => {
    const step = asked.result.transaction("outbox", "readwrite");
    const entries = step.objectStore("outbox");
    entries.getAll().onsuccess = ({ target: { result } }) => {
      for (const entry of result) entries.put({ ...entry, at: Date.now() - days * 864e5 });
    };
    step.oncomplete = () => { asked.result.close(); done(); };
  };
})"""


@LONG
@pytest.mark.parametrize(("days", "is_sent"), [(364, True), (366, False)])
def test_what_waited_for_over_a_year_stays_and_goes_as_a_file(away, days, is_sent):
    phone, before = away
    phone.open("log")
    phone.purchase(photo=False)
    phone.wait_for(1)
    phone.page.evaluate(AGED, days)
    phone.mend()
    if is_sent:
        phone.wait_until(lambda kept: not kept)
        assert added(phone.build, before) == {"received": 1}
        return
    phone.open("yard")
    phone.page.get_by_text("Over a year old: it stays here.").wait_for()
    assert added(phone.build, before) == {}
    assert [entry["state"] for entry in phone.kept()] == ["old"]
    # The way out is a file, which the import reads.
    with phone.page.expect_download() as saved:
        phone.page.get_by_role("button", name="Save as file").click()
    assert b"Pantile" in Path(saved.value.path()).read_bytes()
    assert [entry["state"] for entry in phone.kept()] == ["old"]
