"""Entries that a device kept: sent to their own forms, answered so that a script can read it."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.choices import State
from materials.models import LabourEntry, Member, Photo, Purchase, SentForm, Timer
from tests.entries import line
from tests.photo_files import jpeg, sent
from tests.world import once

pytestmark = once("records", "clients")

LOG = {
    "what": "Larch post",
    "quantity_text": "6 pieces",
    "price": "4.25",
    "price_for": "each",
    "source": "salvage",
    "bought_on": "2026-05-04",
    "state": "received",
}
HOURS = {"worked_on": "2026-05-04", "person": "Ida", "kind": "preparing", "hours": "2"}


class Device:
    """A member's device that sends what it kept."""

    def __init__(self, client, user, build):
        self.client, self.user, self.build = client, user, build

    def send(self, name, fields, *args, token=None, age=0, account=None):
        """Send an entry to a form of the build; the answer as a script reads it."""
        address = reverse(name, args=[self.build.pk, *args])
        headers = {"Outbox-Account": str(account or self.user.pk), "Outbox-Age": str(age)}
        fields = {**fields, "form_token": token or str(uuid.uuid4())}
        answer = self.client.post(address, fields, headers=headers)
        assert answer["Content-Type"] == "application/json"
        assert answer["Outbox-Account"] == headers["Outbox-Account"]
        return answer.status_code, answer.json()

    def ticket(self, *tokens, builds=()):
        """What the device is told before it sends."""
        headers = {"Outbox-Account": str(self.user.pk)}
        return self.client.get(
            reverse("outbox"), {"token": tokens, "build": builds}, headers=headers
        )


@pytest.fixture
def device(clients, cast, build):
    """The co-builder's."""
    return Device(clients["co_builder"], cast["co_builder"], build)


def test_an_entry_is_recorded_once_and_says_where(device):
    token = str(uuid.uuid4())
    status, said = device.send("log", LOG, token=token)
    assert status == 200
    assert not said["repeat"]
    purchase = Purchase.objects.latest("pk")
    assert said["address"].startswith(reverse("purchase", args=[device.build.pk, purchase.pk]))
    count = Purchase.objects.count()
    status, again = device.send("log", LOG, token=token)
    assert (status, again["repeat"], again["address"]) == (200, True, said["address"])
    assert "counts once" in again["text"]
    assert Purchase.objects.count() == count


def test_two_entries_alike_stay_two(device):
    before = Purchase.objects.count()
    for _ in range(2):
        assert device.send("log", LOG)[0] == 200
    assert Purchase.objects.count() == before + 2


def test_other_content_under_a_token_is_refused_and_says_what_to_do(device):
    token = str(uuid.uuid4())
    device.send("log", LOG, token=token)
    status, said = device.send("log", LOG | {"quantity_text": "7 pieces"}, token=token)
    assert status == 422
    assert "saved already" in " ".join(said["faults"])


def test_faults_are_named_by_their_boxes(device):
    status, said = device.send("log", LOG | {"price": "cheap", "quantity_text": ""})
    assert status == 422
    assert any(fault.startswith("Price: ") for fault in said["faults"])
    assert any(fault.startswith("How much: ") for fault in said["faults"])


@pytest.mark.parametrize("name", ["labour_add", "price_add", "timer"])
def test_every_kind_says_its_faults(device, name):
    status, said = device.send(name, {"kind": "nonsense"})
    assert status == 422
    assert said["faults"]


def test_photos_come_with_their_entry_once(device, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    token = str(uuid.uuid4())
    for repeat in (False, True):
        status, said = device.send("log", LOG | {"photo": sent(jpeg())}, token=token)
        assert (status, said["repeat"]) == (200, repeat)
    assert Photo.objects.filter(purchase=Purchase.objects.latest("pk")).count() == 1


def test_a_photo_of_a_purchase_comes_once(device, records, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    purchase = Purchase.objects.filter(build=device.build).first()
    token = str(uuid.uuid4())
    for repeat in (False, True):
        fields = {"taken": sent(jpeg()), "caption": ""}
        status, said = device.send("photo_add", fields, "purchase", purchase.pk, token=token)
        assert (status, said["repeat"]) == (200, repeat)
    assert purchase.photos.count() == 1


@pytest.mark.parametrize("only_looks", [{"look": "1"}, {"add_row": "lines"}])
def test_what_only_looks_never_counts_as_recorded(device, only_looks):
    before = Purchase.objects.count()
    status, said = device.send("log", LOG | only_looks)
    assert (status, "address" in said) == (422, False)
    assert Purchase.objects.count() == before


def test_hours_and_their_buttons(device):
    status, _ = device.send("labour_add", HOURS | {"hours": "", "quick_hours": "0.5"})
    assert status == 200
    assert LabourEntry.objects.latest("pk").hours == Decimal("0.5")
    status, said = device.send("labour_add", HOURS | {"hours": "23.9"})
    assert status == 422
    assert "24 hours" in " ".join(said["faults"])


def test_the_timer_ran_from_and_to_when_the_device_says(device):
    assert device.send("timer", {"kind": "preparing"}, age=3 * 3600)[0] == 200
    status, _ = device.send("timer", {"stop": "1"}, age=3600)
    assert status == 200
    assert not Timer.objects.exists()
    assert LabourEntry.objects.latest("pk").hours == pytest.approx(Decimal(2), abs=Decimal("0.01"))


def test_a_timer_that_runs_already_and_one_that_does_not(device):
    assert device.send("timer", {"stop": "1"})[0] == 409
    device.send("timer", {"kind": "preparing"})
    status, said = device.send("timer", {"kind": "preparing"})
    assert status == 422
    assert "running already" in " ".join(said["faults"])


@pytest.mark.parametrize("age", ["", "-5", "nine", "9" * 40, "٣"])
def test_an_age_that_is_none_is_now(device, age):
    assert device.send("timer", {"kind": "preparing"}, age=age)[0] == 200
    began = Timer.objects.get(user=device.user).started_at
    assert timezone.now() - began < timedelta(minutes=1)


def test_an_offer_is_taken_on_the_day_it_was_tapped(device, entries, records):
    board = line(records["component"], "3 pieces", unit_price=Decimal(2))
    offer = entries.purchase("O1", board, state=State.OFFER)
    status, _ = device.send("purchase_state", {"state": "received"}, offer.pk, age=3 * 86400)
    assert status == 200
    offer.refresh_from_db()
    assert offer.state == State.RECEIVED
    assert offer.bought_on == timezone.localdate() - timedelta(days=3)
    status, said = device.send("purchase_state", {"state": "declined"}, offer.pk)
    assert status == 409
    assert "cannot take that step" in " ".join(said["faults"])


def test_nothing_goes_under_another_account(device, cast):
    before = Purchase.objects.count()
    assert device.send("log", LOG, account=cast["owner"].pk)[0] == 401
    device.client = Client()
    assert device.send("log", LOG)[0] == 401
    assert Purchase.objects.count() == before


def test_who_lost_the_build_or_the_right_to_write_is_told(device, build):
    member = Member.objects.get(build=build, user=device.user)
    member.role = "viewer"
    member.save()
    status, said = device.send("log", LOG)
    assert status == 403
    assert "old" not in said
    member.delete()
    assert device.send("log", LOG)[0] == 404


def test_a_mark_that_is_too_old_says_so(device):
    device.client = Client(enforce_csrf_checks=True)
    device.client.force_login(device.user)
    status, said = device.send("log", LOG)
    assert (status, said["old"]) == (403, True)
    mark = device.ticket().json()["mark"]
    headers = {"Outbox-Account": str(device.user.pk), "X-CSRFToken": mark}
    address = reverse("log", args=[device.build.pk])
    answer = device.client.post(address, LOG, headers=headers)
    assert answer.status_code == 200


def test_the_ticket_says_who_what_became_and_what_changed(device, build):
    token = str(uuid.uuid4())
    told = device.ticket(token, builds=[build.pk]).json()
    assert (told["account"], told["receipts"]) == (str(device.user.pk), {})
    _, said = device.send("log", LOG, token=token)
    after = device.ticket(token, "x" * 30, "\x00é", builds=[build.pk, 10**30, "x"]).json()
    assert after["receipts"] == {token: said["address"]}
    assert after["builds"][str(build.pk)] != told["builds"][str(build.pk)]
    device.client = Client()
    assert device.ticket().status_code == 401


def test_receipts_and_builds_are_ones_own(device, clients, cast, other_build):
    token = str(uuid.uuid4())
    device.send("log", LOG, token=token)
    other = Device(clients["stranger"], cast["stranger"], device.build)
    told = other.ticket(token, builds=[device.build.pk]).json()
    assert (told["receipts"], told["builds"]) == ({}, {})


def test_a_likely_double_is_booked_and_named(device, clients, cast, build):
    owner = Device(clients["owner"], cast["owner"], build)
    owner.send("log", LOG)
    first = Purchase.objects.latest("pk")
    status, said = device.send("log", LOG)
    assert status == 200
    assert first.number in said["text"]
    assert "may be the same" in said["text"]
    # One's own second load of the same is no double.
    assert device.send("log", LOG | {"quantity_text": "8 pieces"})[1]["text"] == ""


def test_without_the_header_a_form_is_answered_as_ever(device, clients):
    address = reverse("log", args=[device.build.pk])
    answer = clients["co_builder"].post(address, LOG | {"form_token": str(uuid.uuid4())})
    assert answer.status_code == 302
    assert SentForm.objects.latest("pk").user == device.user


def test_a_form_that_is_to_replace_an_entry_says_so_when_it_comes_back(device, clients):
    address = reverse("log", args=[device.build.pk])
    kept = str(uuid.uuid4())
    page = clients["co_builder"].post(address, LOG | {"price": "cheap", "outbox": kept})
    assert f'name="outbox" value="{kept}"' in page.content.decode()
    page = clients["co_builder"].post(address, LOG | {"price": "cheap", "outbox": '"><script>'})
    assert 'name="outbox"' not in page.content.decode()


def test_pages_say_for_whom_they_may_be_kept(clients, cast, build):
    answer = clients["viewer"].get(reverse("home", args=[build.pk]))
    assert answer["Kept-For"] == str(cast["viewer"].pk)
    assert "Kept-For" not in Client().get(reverse("sign_in"))


def test_the_mark_of_the_middleware_stands_before_the_forms_guard():
    order = settings.MIDDLEWARE
    assert order.index("materials.views.outbox.OutboxAnswers") < order.index(
        "django.middleware.csrf.CsrfViewMiddleware"
    )
