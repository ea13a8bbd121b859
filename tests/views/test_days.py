"""No day has more than 24 hours, and none is recorded before it has come."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.db import transaction
from django.utils import timezone

from materials.models import Change, LabourEntry, Purchase
from materials.services.errors import LedgerError
from tests.entries import DAY, line
from tests.world import once

from .wrong import FORMS

pytestmark = once("records")


def ahead(days: int) -> str:
    """A day so many days after the server's today, as a page sends it."""
    return (timezone.localdate() + timedelta(days=days)).isoformat()


# Form -> its date, and words of the refusal.
DATES = {
    "labour_add": ("worked_on", "Log hours once they are worked"),
    "purchase_add": ("bought_on", "Choose the state Ordered for what is on its way"),
    "conversion_add": ("converted_on", "Log a conversion once it is done"),
    "left_over_add": ("noted_on", "Add leftovers once they are there"),
    "lesson_add": ("noted_on", "Enter the day on which it was learned"),
    "stock_take": ("counted_on", "Enter the day of the count"),
    "log": ("bought_on", "Choose the state Ordered for what is on its way"),
}
RIGHT = {name: right for name, (right, _) in FORMS.items()} | {
    "stock_take": {},
    "log": {"what": "Board", "quantity_text": "3 pieces", "source": "salvage"},
}


@pytest.mark.parametrize("name", DATES)
def test_a_day_that_has_not_come_is_refused(name, screens):
    field, words = DATES[name]
    page = screens.refused(name, RIGHT[name] | {field: ahead(2)})
    assert any("That day has not come yet" in fault and words in fault for fault in page.faults)
    assert page.form.fields[field] == ahead(2)
    # Where the builder lives it may be tomorrow already.
    screens.save(name, RIGHT[name] | {field: ahead(1)})


@pytest.mark.parametrize("name", ["log", "purchase_add"])
@pytest.mark.parametrize("state", ["ordered", "offer", "declined"])
def test_what_is_on_its_way_may_be_of_a_day_to_come(name, state, screens):
    screens.save(name, RIGHT[name] | {"bought_on": ahead(40), "state": state})
    assert Purchase.objects.latest("pk").state == state


def test_an_order_of_a_day_to_come_that_is_here_is_of_today(screens):
    screens.save(
        "purchase_add", RIGHT["purchase_add"] | {"bought_on": ahead(9), "state": "ordered"}
    )
    order = Purchase.objects.latest("pk")
    assert screens.send(screens.url("purchase_state", order.pk), {"state": "received"})
    order.refresh_from_db()
    assert (order.state, order.bought_on) == ("received", timezone.localdate())


def test_the_preview_refuses_what_saving_refuses(screens):
    url = screens.url("log")
    data = screens.filled(screens.read(url).form, RIGHT["log"] | {"bought_on": ahead(2)})
    text = screens.client.post(url, data, headers={"HX-Request": "true"}).content.decode()
    assert "has not come yet" in text
    data = RIGHT["conversion_add"] | {"converted_on": ahead(2)}
    url = screens.url("conversion_add")
    sent = screens.filled(screens.read(url).form, data) | {"look": "1"}
    assert screens.send(url, sent).status_code == 422


def test_services_refuse_it_too(entries, records):
    """Whoever calls them."""
    day = timezone.localdate() + timedelta(days=2)
    board, stud = records["component"], records["left-over"].component
    late = [
        lambda: entries.labour("Ann", 1, worked_on=day),
        lambda: entries.purchase("P9", line(board, "1 piece"), bought_on=day),
        lambda: entries.conversion("C9", board, "1 piece", (stud, "1 piece"), converted_on=day),
        lambda: entries.left_over(board, "1 piece", noted_on=day),
    ]
    changes = Change.objects.count()
    for act in late:
        with pytest.raises(LedgerError, match="has not come yet"), transaction.atomic():
            act()
    assert Change.objects.count() == changes


HOURS = {"worked_on": DAY.isoformat(), "person": "Bo"}


@pytest.mark.parametrize("hours", ["24.25", "25:00", "1500 min", "24h01"])
def test_one_entry_has_no_more_hours_than_a_day(hours, screens):
    page = screens.refused("labour_add", HOURS | {"hours": hours})
    assert any("A day has 24 hours: log the hours of each day" in fault for fault in page.faults)
    assert page.form.fields["hours"] == hours
    screens.save("labour_add", HOURS | {"hours": "24"})


def test_all_entries_of_a_person_on_a_day_have_no_more(screens):
    screens.save("labour_add", HOURS | {"hours": "20", "kind": "sourcing"})
    page = screens.refused("labour_add", HOURS | {"hours": "4:15"})
    words = "A day has 24 hours, and 20 h of Bo on 4 May 2026 are logged already: enter fewer"
    assert any(words in fault for fault in page.faults)
    assert page.form.fields["hours"] == "4:15"
    screens.save("labour_add", HOURS | {"hours": "4"})
    # Another day, another person, and an entry that is changed, are judged by themselves.
    screens.save("labour_add", HOURS | {"hours": "20", "worked_on": "2026-05-05"})
    screens.save("labour_add", HOURS | {"hours": "20", "person": "Cy"})
    first = LabourEntry.objects.filter(person__name="Bo").earliest("pk")
    screens.save("labour_edit", {"hours": "19"}, first.pk)
    screens.save("labour_edit", {"hours": "20"}, first.pk)
    screens.refused("labour_edit", {"hours": "20.5"}, first.pk)
    # Moved to a day that has 20 already.
    screens.refused("labour_edit", {"worked_on": "2026-05-05"}, first.pk)


def test_a_day_with_too_many_hours_can_be_mended_bit_by_bit(screens, entries):
    """A workbook's rows are not summed: a day read in from one may have more."""
    first = entries.labour("Bo", 20)
    second = LabourEntry.objects.create(
        build=first.build, person=first.person, worked_on=DAY, kind="sourcing", hours=D(20)
    )
    screens.save("labour_edit", {"note": "was it so?"}, second.pk)
    screens.save("labour_edit", {"hours": "18"}, second.pk)
    screens.refused("labour_edit", {"hours": "18.5"}, second.pk)


@pytest.mark.parametrize("hours", ["1000", "-1", "0", "3", "", "½", "NaN", "\x00"])
def test_hours_that_no_button_sends_are_refused(hours, screens):
    url = screens.url("labour_add")
    count = LabourEntry.objects.count()
    sent = screens.filled(screens.read(url).form, HOURS | {"hours": "2.5"})
    answer = screens.send(url, sent | {"quick_hours": hours})
    assert answer.status_code == 422
    page = type(screens.read(url))(answer.content.decode())
    assert page.faults == [
        "Hours: Press one of this page's buttons, or type the hours.",
        "Press one of this page's buttons, or type the hours.",
    ]
    assert page.form.fields["hours"] == "2.5"
    assert LabourEntry.objects.count() == count


def test_the_page_of_an_entry_has_no_such_buttons(screens, records):
    entry = records["labour"]
    url = screens.url("labour_edit", entry.pk)
    page = screens.read(url)
    assert "quick_hours" not in {name for name, _ in page.form.buttons}
    assert screens.send(url, page.form.fields | {"quick_hours": "4"}).status_code == 422
    entry.refresh_from_db()
    assert entry.hours == 2
