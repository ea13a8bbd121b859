"""Pages as they were kept: how old, what is in their forms, for everybody's fingers and eyes."""

from datetime import timedelta

import pytest
from django.utils import timezone

from materials.models import LabourEntry, Timer

from .conftest import PHONE
from .test_axe import look
from .yard import added, counts

pytestmark = pytest.mark.django_db(transaction=True)
# Few ways of each kind always run; the whole check runs all of them.
LONG = pytest.mark.slow

AGO = """(days) => new Promise((done) => {
  const asked = indexedDB.open('buildledger');
  asked.onsuccess = () => {
    const step = asked.result.transaction('facts', 'readwrite'), facts = step.objectStore('facts');
    facts.get('who').onsuccess = ({ target: { result } }) => {
      facts.put({ ...result, asked: Date.now() - days * 86400000 }, 'who');
    };
    step.oncomplete = () => { asked.result.close(); done(); };
  };
})"""


@pytest.fixture
def away(phone):
    """A phone that keeps the build, without signal."""
    taken = phone()
    taken.keep()
    taken.cut("offline")
    return taken


SEEN = """() => {
  const part = document.querySelector('[data-coming]');
  new MutationObserver(() => { part.dataset.seen = !part.hidden || part.dataset.seen || ''; })
    .observe(part, { attributeFilter: ['hidden'] });
}"""


def test_who_keeps_a_build_is_asked_to_stay_until_all_pages_came(phone, caplog):
    """Left before, a page that has not come does not open without signal. Each comes once."""
    taken = phone()
    taken.open("yard")
    taken.page.evaluate(SEEN)
    taken.page.get_by_role("button", name="Keep on this device").click()
    taken.page.get_by_text("8 of 8 pages are kept").wait_for(timeout=60_000)
    come = [said for said in caplog.messages if said.startswith(f"GET {taken.to('needed')}")]
    assert len(come) == 1
    asked = taken.page.locator("[data-coming]")
    assert asked.get_attribute("data-seen") == "true"
    assert asked.is_hidden()


def test_a_copy_says_how_old_it_is_and_warns_after_three_days(away):
    away.open("home")
    away.page.get_by_text("As of").wait_for()
    assert away.page.get_by_text("Open it with a signal soon.").is_hidden()
    away.page.clock.set_fixed_time(timezone.now() + timedelta(days=3, hours=1))
    away.open("home")
    away.page.get_by_text("Open it with a signal soon.").wait_for()


@LONG
def test_after_fourteen_days_only_the_page_that_says_so_opens(away):
    away.page.evaluate(AGO, 13.9)
    away.open("log")
    away.page.get_by_text("As of").wait_for()
    away.page.evaluate(AGO, 14.1)
    for name in ("home", "log", "yard"):
        away.open(name)
        away.page.get_by_role("heading", name="No signal").wait_for()


@LONG
def test_a_page_that_is_not_kept_leads_to_those_that_are(away):
    away.open("components")
    away.page.get_by_role("heading", name="No signal").wait_for()
    away.page.get_by_role("link", name=away.build.name).click()
    away.page.get_by_role("heading", name="Without signal").wait_for()


@LONG
def test_forms_of_a_copy_begin_with_today_and_what_the_address_says(away):
    later = timezone.now() + timedelta(days=2)
    away.page.clock.set_fixed_time(later)
    away.open("log", query="?what=2x8, 10 ft&much=4 pieces&where=Barn&state=ordered")
    away.page.get_by_text("As of").wait_for()
    values = {"what": "2x8, 10 ft", "quantity_text": "4 pieces", "supplier": "Barn"}
    values |= {"state": "ordered", "bought_on": later.date().isoformat()}
    for name, value in values.items():
        assert away.page.locator(f"[name={name}]").input_value() == value


@LONG
def test_what_is_known_of_a_component_is_shown_and_nothing_is_calculated(away):
    away.open("log")
    away.page.locator("[name=what]").fill("2X8, 10 ft ")
    away.page.locator("[name=price]").fill("3")
    shown = away.page.locator("#understood", has_text="New $")
    shown.wait_for()
    facts = away.page.locator("#understood").inner_text()
    assert "piece" in facts
    # Nor does the bar ask for what would show a cost.
    assert away.page.locator("#verdict").inner_text() == ""
    away.page.locator("[name=what]").fill("Never seen")
    shown.wait_for(state="detached")


@LONG
def test_a_timer_started_without_signal_runs_and_stops(away):
    before = counts(away.build)
    away.open("timer")
    away.timer("Start")
    away.wait_for(1)
    away.open("timer")
    away.page.get_by_text("This device started the timer on").wait_for()
    assert away.page.get_by_role("button", name="Start").locator("visible=true").count() == 0
    away.page.clock.set_fixed_time(timezone.now() + timedelta(hours=2))
    away.timer("Stop and log")
    away.wait_for(2)
    away.open("timer")
    away.page.get_by_text("As of").wait_for()
    assert away.page.get_by_role("button", name="Stop and log").locator("visible=true").count() == 0
    # Sent an hour after it was stopped.
    away.page.clock.set_fixed_time(timezone.now() + timedelta(hours=3))
    away.mend()
    away.send()
    assert added(away.build, before) == {"hours": 1}
    assert 1.9 < LabourEntry.objects.latest("pk").hours < 2.1
    assert not Timer.objects.exists()


def test_kept_pages_pass_axe_on_a_phone(away):
    found = []
    away.open("log")
    away.purchase()
    away.wait_for(1)
    found += look(away.page, "yard with an entry that waits", "the first")
    for name in ("home", "needed", "log", "labour_add", "timer", "price_add", "components"):
        away.open(name)
        told = away.page.get_by_text("As of").or_(away.page.get_by_text("is not kept"))
        told.locator("visible=true").first.wait_for()
        found += look(away.page, name, "the first")
        wide = away.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= PHONE["width"], name
    assert not found, "\n".join(found)


@LONG
def test_a_purchase_is_kept_by_keyboard_alone(away):
    page = away.page
    away.open("log")
    page.get_by_text("As of").wait_for()
    typed = {"what": "Pantile", "quantity_text": "5 pieces", "price": "3"}
    for name, value in typed.items():
        for _ in range(60):
            if page.evaluate("document.activeElement.name") == name:
                break
            page.keyboard.press("Tab")
        page.keyboard.type(value)
    page.keyboard.press("Enter")
    away.wait_for(1)
    assert away.listed()[0].startswith("Purchase: Pantile, 5 pieces, 3")
    # And dropped by it.
    page.get_by_text("Drop", exact=True).focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    away.wait_until(lambda kept: not kept)


def test_without_javascript_all_works_online_as_before(phone):
    phone = phone(java_script_enabled=False)
    before = counts(phone.build)
    phone.open("log")
    phone.page.get_by_text("Haulage, state, date").click()
    phone.purchase()
    phone.page.wait_for_url("**/purchases/*/?saved=**")
    phone.open("labour_add")
    phone.half_hour()
    phone.page.wait_for_url("**/hours/?saved=**")
    phone.open("price_add")
    phone.price()
    phone.page.wait_for_url("**/prices/?saved=**")
    phone.open("timer")
    phone.timer("Start")
    phone.page.get_by_text("running since").wait_for()
    phone.timer("Stop and log")
    phone.open("yard")
    assert "needs JavaScript" in phone.page.locator("noscript").text_content()
    phone.decline()
    phone.page.wait_for_url("**/purchases/*/")
    assert added(phone.build, before) == {
        "received": 1, "offers": -1, "declined": 1, "hours": 1, "prices": 1, "photos": 2,
    }  # fmt: skip
