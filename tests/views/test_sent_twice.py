"""A form sent twice (a double tap, a page sent again) is recorded once; so on every screen."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from materials.models import Build, Change, LabourEntry, Purchase, Timer
from tests.entries import line
from tests.views.screens import Page, Screens
from tests.views.wrong import FORMS
from tests.world import once

pytestmark = once("records")

LOG = {
    "what": "Board",
    "quantity_text": "3 pieces",
    "price": "2",
    "source": "salvage",
}
RECORDS = {name: right for name, (right, _) in FORMS.items()} | {
    "log": LOG,
    "stock_take": {},
    "timer": {"kind": "preparing"},
}


@pytest.fixture
def ready(screens, entries, records):
    """The owner at a build with something to count."""
    entries.purchase("P7", line(records["component"], "5 pieces"))
    return screens


@pytest.mark.parametrize("name", sorted(RECORDS))
def test_the_second_time_leads_to_the_first(name, owner, ready, records):
    site = Screens(owner) if name == "build_add" else ready
    url = site.url(name)
    typed = RECORDS[name]
    if name == "stock_take":
        typed = {f"count-{records['component'].pk}": "4"}
    sent = site.filled(site.read(url).form, typed)
    first = site.send(url, sent)
    assert first.status_code == 302
    counted = (Change.objects.count(), Build.objects.count(), Timer.objects.count())
    for _ in range(2):
        again = site.send(url, sent)
        assert (again.status_code, again.url) == (302, first.url)
    assert (Change.objects.count(), Build.objects.count(), Timer.objects.count()) == counted
    assert "This was saved already" in site.read(first.url).text


def test_an_offer_is_taken_once(ready, entries, records):
    offer = entries.purchase("P8", line(records["component"], "2 pieces"), state="offer")
    page = ready.open("purchase", offer.pk)
    token = page.html.split('name="form_token" value="')[1].split('"')[0]
    url = ready.url("purchase_state", offer.pk)
    for _ in range(2):
        answer = ready.send(url, {"state": "received", "form_token": token})
        assert answer.url == ready.url("purchase", offer.pk)
    text = ready.open("purchase", offer.pk).text
    assert "This was saved already" in text
    assert "That step is not open" not in text
    # Another button of the same page is no repeat, and is refused for what it is.
    ready.send(url, {"state": "declined", "form_token": token})
    assert "saved already, and it has changed since" in ready.open("purchases").text
    assert Purchase.objects.get(pk=offer.pk).state == "received"


def test_a_timer_is_stopped_once(ready):
    ready.save("timer", {"kind": "preparing"})
    Timer.objects.update(started_at=timezone.now() - timedelta(hours=2))
    sent = ready.open("timer").form.fields | {"stop": "1"}
    first, again = (ready.send(ready.url("timer"), sent) for _ in range(2))
    assert first.url == again.url
    assert LabourEntry.objects.count() == 2


def test_another_entry_from_the_same_page_is_asked_about_and_kept(ready):
    """Back, another number, save: it is neither lost nor taken for the first."""
    url = ready.url("log")
    sent = ready.filled(ready.read(url).form, LOG)
    ready.send(url, sent)
    answer = ready.send(url, sent | {"quantity_text": "9 pieces"})
    page = Page(answer.content.decode())
    assert answer.status_code == 422
    assert any("saved already, and it has changed since" in text for text in page.faults)
    assert page.form.fields["quantity_text"] == "9 pieces"
    assert page.form.fields["form_token"] != sent["form_token"]
    count = Purchase.objects.count()
    assert ready.send(url, page.form.fields).status_code == 302
    assert Purchase.objects.count() == count + 1


@pytest.mark.parametrize("name", sorted(set(RECORDS) - {"stock_take"}))
def test_another_entry_from_a_page_kept_by_the_browser_comes_back_as_typed(
    name, owner, ready, records
):
    """On every screen: with all that was typed, and a mark of its own to save it with."""
    site = Screens(owner) if name == "build_add" else ready
    url = site.url(name)
    sent = site.filled(site.read(url).form, RECORDS[name])
    site.send(url, sent)
    if name == "timer":
        Timer.objects.all().delete()
    answer = site.send(f"{url}?from=cache", sent)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert any("saved already, and it has changed since" in text for text in page.faults)
    token = page.form.fields.pop("form_token")
    assert token != sent["form_token"]
    typed = {field: value for field, value in sent.items() if field in RECORDS[name]}
    assert {field: page.form.fields.get(field) for field in typed} == typed


def test_a_refused_form_is_mended_and_sent_with_its_token(ready):
    url = ready.url("log")
    sent = ready.filled(ready.read(url).form, LOG)
    assert ready.send(url, sent | {"quantity_text": "some"}).status_code == 422
    assert ready.send(url, sent).status_code == 302


@pytest.mark.parametrize("token", [None, "", "short", "\x00" * 20, "x" * 65, "é" * 20])
def test_a_form_without_a_token_still_works(token, ready):
    """From a page that was opened before there were any; a made-up one counts for none."""
    url = ready.url("labour_add")
    sent = ready.filled(ready.read(url).form, {"person": "Ann", "hours": "3"})
    del sent["form_token"]
    sent |= {} if token is None else {"form_token": token}
    count = LabourEntry.objects.count()
    for more in (1, 2):
        assert ready.send(url, sent).status_code == 302
        assert LabourEntry.objects.count() == count + more


def test_two_pages_are_two_entries(ready):
    count = LabourEntry.objects.count()
    for _ in range(2):
        ready.save("labour_add", {"person": "Ann", "hours": "3"})
    assert LabourEntry.objects.count() == count + 2


def test_each_person_has_tokens_of_their_own(ready, clients):
    url = ready.url("labour_add")
    sent = ready.filled(ready.read(url).form, {"person": "Ann", "hours": "3"})
    count = LabourEntry.objects.count()
    ready.send(url, sent)
    assert clients["co_builder"].post(url, sent).status_code == 302
    assert LabourEntry.objects.count() == count + 2


def test_looking_and_asking_for_a_line_use_nothing_up(ready):
    url = ready.url("log")
    sent = ready.filled(ready.read(url).form, LOG)
    assert ready.send(url, sent | {"look": "1"}).status_code == 200
    assert ready.client.post(url, sent, headers={"HX-Request": "true"}).status_code == 200
    assert ready.send(url, sent).status_code == 302


@pytest.mark.parametrize(
    ("name", "field", "made_by"),
    [("upload_new", "workbook", "download"), ("build_file_new", "file", "build_file")],
)
def test_a_file_brought_in_twice_makes_one_build(name, field, made_by, owner, ready, records):
    data = b"".join(owner.get(ready.url(made_by)).streaming_content)
    site = Screens(owner)
    fields = site.read(site.url(name)).form.fields | {"name": "Twice"}
    assert fields["form_token"]
    answers = [
        owner.post(site.url(name), fields | {field: SimpleUploadedFile("build.bin", data)})
        for _ in range(2)
    ]
    (made,) = Build.objects.filter(name="Twice")
    address = reverse("home", args=[made.pk])
    assert [(answer.status_code, answer.url) for answer in answers] == [(302, address)] * 2
    assert "This was saved already" in site.read(address).text
