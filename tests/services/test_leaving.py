"""Deleting an account: what it recorded stays, who it was goes, everywhere."""

import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from axes.models import AccessAttempt
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group, Permission
from django.core import mail, serializers
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from materials.choices import Role
from materials.exchange.cost_json import as_data
from materials.models import (
    AccountEvent,
    Change,
    HandOver,
    HeldPhoto,
    Member,
    Passkey,
    Person,
    SecondFactor,
    SentForm,
    ShareLink,
    Timer,
)
from materials.queries.accounts import has_accounts, is_former
from materials.queries.checks import find_differences
from materials.queries.reports import get_cost_sheet
from materials.queries.rows import list_all_models
from materials.services.accounts import make_account
from materials.services.errors import LedgerError
from materials.services.labour import start_timer
from materials.services.leaving import OnlyOwner, delete_account
from materials.services.members import change_owner, leave, link_person
from materials.services.photos import add_photos, remove_photo
from materials.services.records import undo_change
from materials.services.second_step import turn_on
from materials.services.sharing import make_link
from materials.views import leaving
from tests.access.test_second_step import KEY, NOON, code_at
from tests.entries import Entries, line
from tests.photo_files import jpeg, sent
from tests.views.screens import Page
from tests.world import once

pytestmark = once("records", "clients", "second", "other_build")
NOW = datetime(2026, 6, 6, 12, 0, tzinfo=UTC)


@pytest.fixture
def holly(cast, build, settings, tmp_path):
    """A co-builder whose name nobody else has, with a record of every kind of her own."""
    settings.MEDIA_ROOT = tmp_path
    user = cast["co_builder"]
    user.username, user.first_name, user.email = "hollyoak", "Holly Oakes", "holly@oakes.example"
    user.save()
    by = {"actor": user, "build": build}
    own = Entries(user, build)
    sash = own.component("Cedar sash", contents="1 piece = 2x8x12")
    own.purchase("H1", line(sash, "4 pieces", unit_price=Decimal("1.25")))
    member = build.members.get(user=user)
    link_person(**by, member=member, person_name="Holly O.")
    own.labour("Holly O.", 3)
    own.labour("Ann", 1)
    own.hand_over("Holly O.", "Ann", 12)
    own.hand_over("Ben", "Holly O.", 7)
    own.hand_over("Holly O.", "Holly O. Senior", 1)
    return user


def delete(user) -> str:
    return delete_account(user=user, now=NOW)


def as_text(build) -> str:
    """The cost sheet and who owes whom."""
    sheet = as_data(get_cost_sheet(build, NOW.date()))
    return json.dumps([sheet, [str(each.amount) for each in HandOver.objects.filter(build=build)]])


def everything_stored() -> str:
    """All rows of the database as text, of accounts and of the ledger."""
    found = [serializers.serialize("json", m._default_manager.all()) for m in list_all_models()]
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT * FROM "{table}"')
            found.append(str(cursor.fetchall()))
    return "\n".join(found)


def test_no_name_of_hers_is_left_anywhere(holly, build, cast):
    AccessAttempt.objects.create(
        username="hollyoak", ip_address="192.0.2.1", failures_since_start=1
    )
    text = everything_stored()
    assert all(name in text for name in ("hollyoak", "Holly Oakes", "holly@oakes", "Holly O."))
    called = delete(holly)
    assert called == f"former member {holly.pk}"
    text = everything_stored().replace("Holly O. Senior", "")
    for name in ("hollyoak", "Holly", "oakes"):
        assert name.lower() not in text.lower(), name
    assert "Holly O. Senior" in everything_stored(), "somebody else, who stays"


def test_figures_and_entries_stay(holly, build):
    before = as_text(build)
    count = Change.objects.filter(build=build).count()
    delete(holly)
    called = f"Former member {holly.pk}"
    assert before.replace('"Holly O."', f'"{called}"') == as_text(build)
    assert list(find_differences(build)) == []
    assert Change.objects.filter(build=build).count() == count + 1, "that the membership ended"


def test_the_history_names_a_former_member(holly, build, clients):
    delete(holly)
    called = f"former member {holly.pk}"
    lines = Change.objects.filter(build=build, actor=holly)
    assert {change.who for change in lines} == {called} == {c.actor_name for c in lines}
    page = Page(clients["owner"].get(reverse("history", args=[build.pk])).content.decode())
    assert called in page.text
    payments = list(
        Change.objects.filter(build=build, record_type="hand-over", actor=holly)
        .order_by("pk")
        .values_list("summary", flat=True)
    )
    assert [text.partition(", ")[2] for text in payments] == [
        f"{called.capitalize()} to Ann",
        f"Ben to {called.capitalize()}",
        f"{called.capitalize()} to Holly O. Senior",
    ]
    for change in lines:
        url = reverse("change", args=[build.pk, change.pk])
        assert clients["owner"].get(url).status_code == 200


def test_what_she_did_can_still_be_undone_and_brought_back(holly, build, cast):
    photo, gone = add_photos(
        actor=holly,
        build=build,
        record=build.purchases.get(number="H1"),
        files=[sent(jpeg()), sent(jpeg((90, 40)))],
    )
    remove_photo(actor=holly, build=build, photo=gone)
    delete(holly)
    owner = cast["owner"]
    for kind in ("hand-over", "photo", "purchase"):
        change = Change.objects.filter(actor=holly, record_type=kind).order_by("pk").last()
        undo_change(actor=owner, build=build, change=change)
    assert photo.added_by == holly
    person = Change.objects.get(actor=holly, record_type="person", summary__startswith="Former")
    with pytest.raises(LedgerError):
        # Hours and payments are of that person: as before.
        undo_change(actor=owner, build=build, change=person)
    assert list(find_differences(build)) == []


def test_her_membership_links_and_timer_end_as_if_she_left(holly, build, cast, can_mail):
    values = {"label": "Uncle Bert", "shows_prices": True}
    make_link(actor=holly, build=build, values=values)
    start_timer(actor=holly, build=build, task=None, kind="building", at=NOW)
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()
    delete(holly)
    assert not Member.objects.filter(user=holly).exists()
    assert ShareLink.objects.get(label="Uncle Bert").revoked_at is not None
    assert not Timer.objects.exists()
    event = AccountEvent.objects.get(user=cast["owner"], what="links ended")
    assert event.about.endswith(f"former member {holly.pk} made them.")


def test_a_build_she_left_before_forgets_her_too(holly, build):
    leave(actor=holly, build=build, now=NOW)
    assert Person.objects.filter(name="Holly O.").exists()
    delete(holly)
    assert not Person.objects.filter(name="Holly O.").exists()
    assert not Change.objects.filter(summary__contains="hollyoak").exists()


def test_a_person_who_is_somebody_else_by_now_keeps_the_name(holly, build, cast):
    leave(actor=holly, build=build, now=NOW)
    person = Person.objects.get(name="Holly O.")
    viewer = build.members.get(user=cast["viewer"])
    link_person(actor=cast["viewer"], build=build, member=viewer, person_pk=person.pk)
    delete(holly)
    assert Person.objects.get(pk=person.pk).name == "Holly O."


def test_two_people_are_never_called_alike(holly, build):
    Person.objects.create(build=build, name=f"FORMER member {holly.pk}")
    delete(holly)
    assert Person.objects.filter(name=f"Former member {holly.pk} (2)").exists()


def test_the_only_owner_stays(cast, build, second, other_build):
    with pytest.raises(OnlyOwner):
        delete(cast["owner"])
    assert get_user_model().objects.get(pk=cast["owner"].pk).is_active
    change_owner(
        actor=cast["owner"],
        build=build,
        to=build.members.get(user=cast["co_builder"]),
        now=NOW,
    )
    with pytest.raises(OnlyOwner):
        delete(cast["owner"])
    second.members.filter(user=cast["co_builder"]).update(role=Role.OWNER)
    delete(cast["owner"])
    assert second.members.count() == 1


def test_nobody_signs_in_to_it_or_takes_its_name(holly, cast, client):
    delete(holly)
    former = get_user_model().objects.get(pk=holly.pk)
    assert not former.is_active
    assert not former.has_usable_password()
    for name in ("hollyoak", former.username):
        typed = {"username": name, "password": "pw-for-tests"}
        assert client.post(reverse("sign_in"), typed).status_code in (200, 422, 429)
    again = make_account(username="hollyoak", password="green-oak-and-lime")
    assert not Change.objects.filter(actor=again).exists()
    sent_name = {"username": former.username, "password": "green-oak-and-lime"}
    assert former.username.count(" ") == 2, "no username that a form takes holds a space"
    assert client.post(reverse("sign_up"), sent_name).status_code == 404


def test_second_step_and_codes_go(holly):
    turn_on(user=holly, key=KEY, code=code_at(NOON), now=NOON)
    delete(holly)
    assert not SecondFactor.objects.exists()


# What an account only signs, or what belongs to a build as well: it stays, under the new name.
SIGNED = {
    "CautionNote.actor", "Change.actor", "ImportJob.user", "Invitation.created_by",
    "Invitation.used_by", "Move.moved_by", "Photo.added_by", "ShareLink.created_by",
}  # fmt: skip
OWN = {
    "AccountEvent.user", "HeldPhoto.user", "Member.user", "OpenSession.user", "Passkey.user",
    "RecoveryCode.user", "SecondFactor.user", "SentForm.user", "Timer.user",
}  # fmt: skip


def tied_to(user) -> set[str]:
    """Which links from records lead to an account."""
    return {
        f"{model.__name__}.{field.name}"
        for model in list_all_models()
        for field in model._meta.concrete_fields
        if field.related_model is get_user_model()
        and model._default_manager.filter(**{field.name: user}).exists()
    }


def test_nothing_is_tied_to_her_but_what_she_signed(holly, build, clients):
    turn_on(user=holly, key=KEY, code=code_at(NOON), now=NOON)
    start_timer(actor=holly, build=build, task=None, kind="building", at=NOW)
    Passkey.objects.create(user=holly, name="Phone", credential_id="AA", credential="AA")
    SentForm.objects.create(user=holly, token="t", content="c")
    picture = {"image": b"x", "thumbnail": b"x", "width": 1, "height": 1}
    HeldPhoto.objects.create(user=holly, key="k", name="wall", **picture)
    assert tied_to(holly) >= OWN
    delete(holly)
    assert tied_to(holly) <= SIGNED


def test_no_right_and_no_day_of_hers_is_left(holly):
    holly.groups.add(Group.objects.create(name="helpers"))
    holly.user_permissions.add(Permission.objects.first())
    get_user_model().objects.filter(pk=holly.pk).update(last_login=NOW, is_staff=True)
    delete(holly)
    former = get_user_model().objects.get(pk=holly.pk)
    assert (former.groups.count(), former.user_permissions.count()) == (0, 0)
    assert (former.last_login, former.is_staff, former.is_superuser) == (None, False, False)


def test_she_is_told_by_mail_at_her_address(holly, can_mail):
    delete(holly)
    (sent_mail,) = [each for each in mail.outbox if each.to == ["holly@oakes.example"]]
    assert sent_mail.subject == "Your account was deleted"
    assert "Hello hollyoak" in sent_mail.body


def test_where_everybody_left_the_first_account_can_be_made_again(db):
    only = make_account(username="willow", password="green-oak-and-lime")
    for other in get_user_model().objects.exclude(pk=only.pk):
        other.delete()
    assert has_accounts()
    delete(only)
    assert not has_accounts()


def test_who_was_former_is_told_from_who_never_was(holly, cast):
    delete(holly)
    assert is_former(str(holly.pk))
    for pk in (str(cast["owner"].pk), "0", "", "x", "9" * 30, "²"):
        assert not is_former(pk)


# The page


def page_of(client) -> Page:
    return Page(client.get(reverse("account_delete")).content.decode())


def test_the_page_says_what_goes_and_what_stays(holly, clients):
    page = page_of(clients["co_builder"])
    for told in ("cannot be undone", f"former member {holly.pk}", "Hill shed; Tool house"):
        assert told in page.text, told
    assert "Holly O. in Hill shed" in page.text
    assert "Backups made before" in page.text


def test_it_takes_the_password(holly, clients):
    client, url = clients["co_builder"], reverse("account_delete")
    for typed in ({}, {"password": "x"}):
        assert client.post(url, typed).status_code == 422
        assert get_user_model().objects.get(pk=holly.pk).is_active
    answer = client.post(url, {"password": "pw-for-tests"}, follow=True)
    assert "Your account is deleted." in answer.content.decode()
    assert client.get(reverse("account")).status_code == 302


def test_it_takes_the_second_step_where_one_is_on(holly, clients):
    codes = turn_on(user=holly, key=KEY, code=code_at(NOON), now=NOON)
    client, url = clients["co_builder"], reverse("account_delete")
    typed = {"password": "pw-for-tests"}
    for wrong in (typed, typed | {"code": "000000"}):
        assert client.post(url, wrong).status_code == 422
    assert get_user_model().objects.get(pk=holly.pk).is_active
    assert client.post(url, typed | {"code": codes[0]}).status_code == 302
    assert not get_user_model().objects.get(pk=holly.pk).is_active


def test_the_only_owner_is_led_to_the_builds(clients, build, second):
    client, url = clients["owner"], reverse("account_delete")
    html = client.get(url).content.decode()
    for name in ("members", "member_owner", "build_delete"):
        assert html.count(reverse(name, args=[build.pk])) >= 1
        assert html.count(reverse(name, args=[second.pk])) >= 1
    assert client.post(url, {"password": "pw-for-tests"}).status_code == 422
    assert "Hill shed" in html


def test_another_owner_who_left_in_this_very_moment_is_told(holly, clients, build, monkeypatch):
    def refuse(**_):
        monkeypatch.setattr(leaving, "list_only_owned", lambda user: [build])
        raise OnlyOwner("Pass these builds on first.")

    monkeypatch.setattr(leaving, "delete_account", refuse)
    answer = clients["co_builder"].post(reverse("account_delete"), {"password": "pw-for-tests"})
    assert answer.status_code == 422
    assert reverse("build_delete", args=[build.pk]) in answer.content.decode(), "the builds, named"
    assert get_user_model().objects.get(pk=holly.pk).is_active


def test_what_a_device_sends_for_it_is_gone(holly, client, build):
    headers = {"Outbox-Account": str(holly.pk)}
    assert client.get(reverse("outbox"), headers=headers).status_code == 401
    delete(holly)
    answer = client.get(reverse("outbox"), headers=headers)
    assert answer.status_code == 410
    assert answer["Outbox-Account"] == str(holly.pk)
    assert json.loads(answer.content) == {"faults": []}
    count = Change.objects.count()
    posted = client.post(reverse("log", args=[build.pk]), {}, headers=headers)
    assert posted.status_code == 410
    assert Change.objects.count() == count
    assert timezone.now() > NOW
