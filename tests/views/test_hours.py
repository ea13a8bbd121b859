"""Hours at one touch, and a timer that lives on the server."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.models import Change, Conversion, LabourEntry, LeftOver, Person, Timer
from tests.entries import Entries, line
from tests.views.screens import Page

TYPED = {"worked_on": "2026-05-04", "person": "Ann", "kind": "installing", "hours": ""}


@pytest.mark.parametrize("hours", ["0.5", "1", "8"])
def test_hours_at_one_touch(hours, clients, build):
    url = reverse("labour_add", args=[build.pk])
    assert clients["owner"].post(url, {**TYPED, "quick_hours": hours}).status_code == 302
    assert LabourEntry.objects.get().hours == Decimal(hours)


def test_the_next_entry_begins_like_the_last(clients, build):
    url = reverse("labour_add", args=[build.pk])
    clients["owner"].post(url, {**TYPED, "hours": "2", "kind": "sourcing"})
    text = clients["owner"].get(url).content.decode()
    assert 'value="Ann"' in text
    assert '<option value="sourcing" selected>' in text
    assert 'value="Ann"' not in clients["co_builder"].get(url).content.decode().split("datalist")[0]


def test_a_timer_is_stopped_into_hours(clients, build, cast):
    url = reverse("timer", args=[build.pk])
    clients["owner"].post(url, {"kind": "preparing", "task": ""})
    timer = Timer.objects.get()
    timer.started_at = timezone.now() - timedelta(hours=1, minutes=30)
    timer.save()
    assert "running since" in clients["owner"].get(url).content.decode()
    assert "running since" not in clients["co_builder"].get(url).content.decode()
    answer = clients["owner"].post(url, {"stop": "1"})
    entry = LabourEntry.objects.get()
    assert answer.url == reverse("labour_edit", args=[build.pk, entry.pk])
    assert Decimal("1.5") <= entry.hours < Decimal("1.51")
    assert (entry.person.name, entry.kind) == ("owner", "preparing")
    assert not Timer.objects.exists()


@pytest.mark.parametrize(("seconds", "logged"), [(1, 0), (58, 0), (61, 1)])
def test_less_than_a_minute_is_not_logged(seconds, logged, clients, build):
    url = reverse("timer", args=[build.pk])
    clients["owner"].post(url, {"kind": "preparing"})
    Timer.objects.update(started_at=timezone.now() - timedelta(seconds=seconds))
    text = clients["owner"].post(url, {"stop": "1"}, follow=True).content.decode()
    assert ("too short to log" in text) == (not logged)
    entries = [entry.hours for entry in LabourEntry.objects.all()]
    assert len(entries) == logged
    assert all(hours >= Decimal("0.0167") for hours in entries)
    assert not Timer.objects.exists()


@pytest.mark.parametrize("name", ["labour", "labour_add", "cost_sheet"])
def test_a_running_timer_is_told_of_where_one_looks(name, clients, build):
    here, url = reverse(name, args=[build.pk]), reverse("timer", args=[build.pk])
    line_of = "Your timer is running: preparing"
    assert line_of not in clients["owner"].get(here).content.decode()
    clients["owner"].post(url, {"kind": "preparing"})
    text = clients["owner"].get(here).content.decode()
    assert text.count(line_of) == 1
    assert f'<a href="{url}">Stop timer</a>' in text
    assert line_of not in clients["co_builder"].get(here).content.decode()


def test_a_timer_logs_to_whom_the_user_logs_hours_for(clients, build):
    clients["owner"].post(reverse("labour_add", args=[build.pk]), {**TYPED, "hours": "2"})
    url = reverse("timer", args=[build.pk])
    clients["owner"].post(url, {"kind": "preparing"})
    Timer.objects.update(started_at=timezone.now() - timedelta(hours=1))
    clients["owner"].post(url, {"stop": "1"})
    assert LabourEntry.objects.latest("pk").person.name == "Ann"
    assert Person.objects.count() == 1


def test_a_timer_left_running_asks_for_the_hours(clients, build, entries):
    """It is kept until they are told: nothing is logged for the worker, and nothing lost."""
    owner, task = clients["owner"], entries.task("Frame")
    url = reverse("timer", args=[build.pk])
    owner.post(url, {"kind": "preparing", "task": task.pk})
    began = timezone.now() - timedelta(hours=50)
    Timer.objects.update(started_at=began)
    asked = owner.post(url, {"stop": "1"})
    assert asked.url == reverse("labour_add", args=[build.pk]) + "?timed=1"
    assert not LabourEntry.objects.exists()
    page = Page(owner.get(asked.url).content.decode())
    assert "ran for more than 24 hours" in page.text
    assert "that is 50 h. Enter the hours you worked that day" in page.text
    sent = page.form.fields
    began_on = timezone.localtime(began).date().isoformat()
    start = {name: sent[name] for name in ("worked_on", "person", "task", "kind", "hours")}
    assert start == {
        "worked_on": began_on,
        "person": "owner",
        "task": str(task.pk),
        "kind": "preparing",
        "hours": "",
    }
    refused = owner.post(asked.url, sent | {"hours": "50"})
    assert refused.status_code == 422
    assert "Saving them ends the timer" in refused.content.decode()
    assert Timer.objects.exists()
    for _ in range(2):
        assert owner.post(asked.url, sent | {"hours": "7 h 30"}).status_code == 302
    entry = LabourEntry.objects.get()
    assert (entry.hours, entry.task) == (Decimal("7.5"), task)
    assert not Timer.objects.exists()


def test_a_timer_that_the_day_has_no_room_for_asks_too(clients, build):
    owner, url = clients["owner"], reverse("timer", args=[build.pk])
    owner.post(url, {"kind": "preparing"})
    began = timezone.now() - timedelta(hours=3)
    Timer.objects.update(started_at=began)
    day = timezone.localtime(began).date().isoformat()
    typed = {**TYPED, "person": "owner", "worked_on": day, "hours": "23"}
    owner.post(reverse("labour_add", args=[build.pk]), typed)
    asked = owner.post(url, {"stop": "1"})
    assert asked.url.endswith("?timed=1")
    page = Page(owner.get(asked.url).content.decode())
    assert "23 h of owner on" in page.text
    assert Decimal(page.form.fields["hours"]) >= 3
    assert Timer.objects.exists()
    assert owner.post(asked.url, page.form.fields | {"hours": "1"}).status_code == 302
    assert not Timer.objects.exists()


@pytest.mark.parametrize(
    "typed", [{"kind": "resting"}, {"kind": ""}, {}, {"kind": "upkeep", "task": "9" * 30}]
)
def test_a_timer_of_no_kind_is_refused_in_a_sentence(typed, clients, build):
    answer = clients["owner"].post(reverse("timer", args=[build.pk]), typed)
    page = Page(answer.content.decode())
    assert answer.status_code == 422
    assert page.faults
    assert all(fault.endswith(".") for fault in page.faults)
    assert "Not started yet" in page.text
    assert not Timer.objects.exists()


def test_two_timers_of_one_user_do_not_run(clients, build):
    url = reverse("timer", args=[build.pk])
    assert clients["owner"].post(url, {"kind": "preparing"}).status_code == 302
    again = clients["owner"].post(url, {"kind": "installing"})
    assert again.status_code == 422
    assert "running since" in again.content.decode()
    assert Timer.objects.count() == 1


def test_stopping_nothing_is_no_fault(clients, build):
    url = reverse("timer", args=[build.pk])
    assert clients["owner"].post(url, {"stop": "1"}).status_code == 302
    assert not LabourEntry.objects.exists()
    assert not Person.objects.exists()


def test_a_count_makes_the_rest_built_in(clients, build, cast):
    entries = Entries(cast["owner"], build)
    board = entries.component("Board")
    entries.purchase("P1", line(board, "20 pieces", unit_price=Decimal(3)))
    url = reverse("stock_take", args=[build.pk])
    owner = clients["owner"]
    text = owner.get(url).content.decode()
    assert re.search(r'value="0"[^>]*>\s*<span class="counted-unit" [^>]*>pieces</span>', text)
    typed = {"counted_on": "2026-06-01", f"count-{board.pk}": "6 pieces"}
    assert owner.post(url, typed).status_code == 302
    assert LeftOver.objects.get().base_qty == Decimal(6)
    sheet = owner.get(reverse("component", args=[build.pk, board.pk])).content.decode()
    assert "14&nbsp;pieces" in sheet
    owner.post(url, typed | {f"count-{board.pk}": ""})
    assert LeftOver.objects.get().base_qty == Decimal(6), "an emptied box was not counted"
    for nothing in ("0", "0 pieces", "0.0"):
        owner.post(url, typed)
        assert LeftOver.objects.exists()
        owner.post(url, typed | {f"count-{board.pk}": nothing})
        assert not LeftOver.objects.exists()


def test_a_number_alone_is_counted_in_the_unit_beside_its_box(clients, build, cast):
    entries = Entries(cast["owner"], build)
    board = entries.component("Board", contents="1 piece = 16 ft")
    wire = entries.component("Wire", unit="ft")
    entries.purchase("P1", line(board, "20 pieces"), line(wire, "90 ft"))
    url = reverse("stock_take", args=[build.pk])
    boxes = {f"count-{board.pk}": "6", f"count-{wire.pk}": "12,5"}
    answer = clients["owner"].post(url, {"counted_on": "2026-06-01"} | boxes)
    assert answer.status_code == 302
    kept = {row.component.name: (row.quantity_text, row.base_qty) for row in LeftOver.objects.all()}
    assert kept == {"Board": ("6 pieces", Decimal(6)), "Wire": ("12,5 ft", Decimal("12.5"))}
    # 96 ft are the 6 boards that are recorded already; only the wire is another count.
    changes = Change.objects.count()
    boxes = {f"count-{board.pk}": "96 ft", f"count-{wire.pk}": "12.5"}
    clients["owner"].post(url, {"counted_on": "2026-06-02"} | boxes)
    assert Change.objects.count() == changes
    text = clients["owner"].get(url).content.decode()
    assert 'value="12.5"' in text


@pytest.mark.parametrize(
    ("text", "result"), [("30 pieces", "than there is"), ("some", "number"), ("4 gal", "gal")]
)
def test_a_count_that_cannot_be_is_refused_and_kept(text, result, clients, build, cast):
    entries = Entries(cast["owner"], build)
    board = entries.component("Board")
    entries.purchase("P1", line(board, "20 pieces", unit_price=Decimal(3)))
    url = reverse("stock_take", args=[build.pk])
    answer = clients["owner"].post(url, {"counted_on": "2026-06-01", f"count-{board.pk}": text})
    page_text = answer.content.decode()
    assert answer.status_code == 422
    assert result in page_text
    assert f'value="{text}"' in page_text
    assert not LeftOver.objects.exists()


def test_a_conversion_is_shown_before_it_is_saved(clients, build, cast):
    entries = Entries(cast["owner"], build)
    door = entries.component("Barn door", contents="1 piece = 4x7 ft")
    shelf = entries.component("Shelf", contents="1 piece = 1x4 ft")
    entries.price(shelf, "5.50")
    entries.purchase("P1", line(door, "12 pieces", unit_price=Decimal("18")))
    typed = {
        "number": "C1",
        "converted_on": "2026-05-05",
        "source": door.pk,
        "used_text": "10 pieces",
        "extra_cost_amount": "10",
        "hours": "2",
        "outputs-TOTAL_FORMS": "1",
        "outputs-INITIAL_FORMS": "0",
        "outputs-0-component": shelf.pk,
        "outputs-0-made_text": "63 pieces",
        "look": "1",
    }
    url = reverse("conversion_add", args=[build.pk])
    answer = clients["owner"].post(url, typed)
    text = answer.content.decode()
    assert answer.status_code == 200
    # 10 x 18.00 = 180.00, with blades 190.00; 190 / 63 = 3.0159, new 5.50 x 1.08; 63 x 4 = 252 of
    # 10 x 28 = 280 sq ft; 2 h / 63.
    for figure in ("$180.00", "$190.00", "$3.02", "$5.94", "90%", "10%", "0.03\xa0h"):
        assert figure in text, figure
    assert not Conversion.objects.exists()
    too_many = clients["owner"].post(url, typed | {"outputs-0-made_text": "71 pieces"})
    assert "More Shelf is made than Barn door used" in too_many.content.decode()
    more = clients["owner"].post(url, typed | {"used_text": "13 pieces"}).content.decode()
    assert "12 pieces can be worked up, not 13 pieces" in more
    itself = clients["owner"].post(url, typed | {"outputs-0-component": door.pk})
    assert "cannot be made from itself" in itself.content.decode()
    typed.pop("look")
    assert clients["owner"].post(url, typed).status_code == 302
    assert Conversion.objects.count() == 1
