"""One's own account as a file: all that is tied to it, nothing of others, no secrets."""

import io
import json
import re
import zipfile
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.urls import reverse
from django.utils import timezone

from materials.models import (
    Alerts,
    Change,
    Invitation,
    OpenSession,
    Photo,
    RecoveryCode,
    SecondFactor,
)
from materials.queries.own_data import stamp_of_own
from materials.queries.rows import list_all_models
from materials.services.members import leave, remove_member
from materials.services.photos import add_photos
from materials.services.second_step import turn_on
from tests.access.test_second_step import KEY, NOON, code_at
from tests.entries import Entries, line
from tests.photo_files import jpeg, sent
from tests.world import once

pytestmark = once("everything", "clients", "other_build")
URL = "account_export"

# Where each link from a record to an account comes out, or why it does not.
TIED = {
    "AccountEvent.user": "log",
    "OpenSession.user": "sessions",
    "SecondFactor.user": "profile",
    "RecoveryCode.user": "profile",
    "Passkey.user": "profile",
    "Member.user": "memberships",
    "Timer.user": "timers",
    "ImportJob.user": "imports",
    "Invitation.created_by": "invitations",
    "Invitation.used_by": "invitations_used",
    "ShareLink.created_by": "share_links",
    "Photo.added_by": "photos",
    "Change.actor": "entries",
    "CautionNote.actor": "entries",
    "Move.moved_by": "entries",
    "SentForm.user": "is kept for days only, and tells that a form came",
    "HeldPhoto.user": "is kept for days only, while its form is open",
}


def archive_of(client) -> zipfile.ZipFile:
    answer = client.get(reverse(URL), follow=True)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    assert answer["Content-Disposition"].startswith("attachment")
    return zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))


def data_of(client) -> dict:
    return json.loads(archive_of(client).read("account.json"))


def test_every_link_to_an_account_comes_out_or_says_why_not(clients):
    user = get_user_model()
    found = {
        f"{model.__name__}.{field.name}"
        for model in list_all_models()
        for field in model._meta.concrete_fields
        if field.related_model is user
    }
    assert found == set(TIED)
    data = data_of(clients["owner"])
    assert {name for name in TIED.values() if " " not in name} <= set(data)


def test_it_holds_what_the_account_is_tied_to(clients, cast, everything, build):
    cast["owner"].first_name, cast["owner"].email = "Olive", "olive@buildledger.example"
    cast["owner"].save()
    data = data_of(clients["owner"])
    assert (data["format"], data["version"]) == ("buildledger account", 1)
    assert data["profile"]["username"] == "owner"
    assert data["profile"]["shown_name"] == "Olive"
    assert data["profile"]["email"] == "olive@buildledger.example"
    parts = {each["build"]: each["role"] for each in data["memberships"]}
    assert parts == {"Hill shed": "owner", "Tool house": "owner"}
    assert len(data["sessions"]) == OpenSession.objects.filter(user=cast["owner"]).count() == 1
    assert data["imports"][0]["build"] == "Hill shed"
    assert [each["role"] for each in data["invitations"]] == ["viewer"]
    assert data["share_links"][0]["label"] == "Aunt Ida"
    assert len(data["entries"]) == Change.objects.filter(actor=cast["owner"]).count()
    assert not any("build_id" in row or "pk" in row for row in data["invitations"])


def test_numbers_are_exact_texts(clients, entries):
    board = entries.component("Oak board", contents="1 piece = 2x8x12")
    entries.purchase("P77", line(board, "3 pieces", unit_price=Decimal("0.333333")))
    data = data_of(clients["owner"])
    (entry,) = [each for each in data["entries"] if each["summary"].startswith("P77")]
    fields = [row["fields"] for row in entry["after"] if row["model"] == "materials.purchaseline"]
    assert fields[0]["unit_price"] == "0.333333"
    assert entry["before"] is None


def test_photos_come_along(clients, entries, everything):
    add_photos(**entries.by, record=everything["purchase"], files=[sent(jpeg())], caption="Beams")
    archive = archive_of(clients["owner"])
    data = json.loads(archive.read("account.json"))
    photo = data["photos"][-1]
    assert photo["caption"] == "Beams"
    kept = Photo.objects.get(caption="Beams").image
    with kept.open() as file:
        assert archive.read(photo["file"]) == file.read()
    assert set(archive.namelist()) == {"account.json", *(each["file"] for each in data["photos"])}


def test_a_photo_whose_file_is_lost_stops_nothing(clients, everything):
    photo = Photo.objects.first()
    photo.image.storage.delete(photo.image.name)
    assert f"photos/{photo.pk}.jpg" not in archive_of(clients["owner"]).namelist()


def test_nothing_of_others(clients, cast, build, other_build):
    Entries(cast["stranger"], other_build).component("Slate of the stranger")
    Entries(cast["co_builder"], build).component("Brick of the co-builder")
    text = archive_of(clients["owner"]).read("account.json").decode()
    assert "Slate of the stranger" not in text
    assert "Brick of the co-builder" not in text, "not one's own entry"
    theirs = data_of(clients["co_builder"])
    assert [each["summary"] for each in theirs["entries"]] == ["Brick of the co-builder"]
    assert theirs["sessions"] != data_of(clients["owner"])["sessions"]


def test_a_build_one_has_left_is_no_longer_in_it(clients, cast, build):
    Entries(cast["co_builder"], build).component("Brick")
    assert len(data_of(clients["co_builder"])["entries"]) == 1
    leave(actor=cast["co_builder"], build=build, now=timezone.now())
    data = data_of(clients["co_builder"])
    assert data["entries"] == []
    assert "Hill shed" not in [each["build"] for each in data["memberships"]]


LISTS = ("photos", "imports", "invitations", "share_links", "invitations_used")


def test_what_was_made_in_a_build_one_has_left_stays_there(clients, cast, everything, build):
    Invitation.objects.filter(pk=everything["invitation"].pk).update(
        used_by=cast["owner"], used_at=timezone.now()
    )
    before = data_of(clients["owner"])
    assert all(before[name] for name in LISTS)
    # Others of the build have made none of it.
    theirs = data_of(clients["co_builder"])
    assert [theirs[name] for name in LISTS] == [[], [], [], [], []]
    build.members.filter(user=cast["owner"]).delete()
    data = data_of(clients["owner"])
    assert "Hill shed" not in [row["build"] for name in LISTS for row in data[name]]


def test_a_file_kept_for_the_next_time_is_told_from_what_is_new(cast, entries, build):
    owner = cast["owner"]
    stamps = [stamp_of_own(owner)]
    entries.component("Gable vent")
    stamps.append(stamp_of_own(owner))
    owner.email = "new@buildledger.example"
    stamps.append(stamp_of_own(owner))
    owner.first_name = "Olive"
    stamps.append(stamp_of_own(owner))
    build.members.filter(user=owner).delete()
    stamps.append(stamp_of_own(owner))
    assert len(set(stamps)) == len(stamps)


def test_no_secret_is_in_it(clients, cast, everything, build):
    codes = turn_on(user=cast["owner"], key=KEY, code=code_at(NOON), now=NOON)
    text = archive_of(clients["owner"]).read("account.json").decode()
    cast["owner"].refresh_from_db()
    secrets = [cast["owner"].password, KEY, SecondFactor.objects.get().key, *codes]
    secrets += [each.digest for each in RecoveryCode.objects.all()]
    secrets += [each.session_key for each in OpenSession.objects.all()]
    secrets += [everything["share_token"], everything["calendar_token"]]
    secrets += [everything["share"].token_hash, everything["invitation"].digest]
    secrets += [each.token_hash for each in Alerts.objects.exclude(token_hash=None)]
    assert [each for each in secrets if each in text] == []
    assert not re.search(r"token|digest|session_key|password", text.replace("password_", ""))
    assert json.loads(text)["profile"]["recovery_codes_left"] == 10


def test_what_is_new_is_in_the_next_one(clients, cast, build, everything):
    before = len(data_of(clients["owner"])["entries"])
    Entries(cast["owner"], build).component("Gable vent")
    assert len(data_of(clients["owner"])["entries"]) == before + 1
    member = everything["member"]
    remove_member(actor=cast["owner"], build=build, member=member, now=timezone.now())
    assert len(data_of(clients["owner"])["entries"]) == before + 2
    cast["owner"].email = "new@buildledger.example"
    cast["owner"].save()
    assert data_of(clients["owner"])["profile"]["email"] == "new@buildledger.example"


def test_the_account_page_leads_to_it(clients):
    assert reverse(URL) in clients["viewer"].get(reverse("account")).content.decode()


@pytest.mark.parametrize("name", ["Olive/../x", "ü" * 70, '"; x=".zip'])
def test_its_name_is_of_our_making(name, db, client):
    user = get_user_model().objects.create_user("plain", password="pw-for-tests")
    get_user_model().objects.filter(pk=user.pk).update(username=name)
    client.force_login(user)
    named = client.get(reverse(URL), follow=True)["Content-Disposition"]
    assert "/" not in named.replace("UTF-8''", "")
    assert ".." not in named
