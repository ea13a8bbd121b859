"""The page of members, inviting, and coming in by a link."""

import logging
import re
from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildledger.logs import HideSecrets
from materials import access
from materials.models import Invitation, Member, Person
from materials.services import attempt_limits
from materials.services.invitations import digest_of
from tests.views.screens import Page

GOOD = "green-oak-and-lime"
NEW = {"username": "newcomer", "shown_name": "New Comer", "password": GOOD}


def page_text(answer) -> str:
    return Page(answer.content.decode()).text


@pytest.fixture
def link(clients, build):
    """Make an invitation on the screen; returns the path of its link."""

    def make(**typed) -> str:
        url = reverse("member_invite", args=[build.pk])
        data = {"role": "co-builder", "note": "Ben", "days": "14"} | typed
        answer = clients["owner"].post(url, data)
        assert answer.status_code == 200, page_text(answer)
        return re.search(r"http://testserver(/join/[\w-]{43}/)<", answer.content.decode())[1]

    return make


@pytest.fixture
def guest() -> Client:
    """Somebody who is not signed in."""
    return Client()


def test_the_link_is_shown_once_and_not_kept(clients, build, link):
    path = link()
    secret = path.split("/")[2]
    assert Invitation.objects.get().digest == digest_of(secret)
    for name in ("members", "history", "member_invite"):
        page = clients["owner"].get(reverse(name, args=[build.pk])).content.decode()
        assert secret not in page
        assert digest_of(secret) not in page


def test_the_page_with_the_link_is_stored_by_nobody(clients, build):
    url = reverse("member_invite", args=[build.pk])
    answer = clients["owner"].post(url, {"role": "viewer", "note": "", "days": "1"})
    assert "no-store" in answer["Cache-Control"]
    assert "readonly" in answer.content.decode()


def test_open_invitations_are_listed_for_the_owner_and_revoked(clients, build, link, guest):
    path = link(note="Ben's aunt", days="3")
    url = reverse("members", args=[build.pk])
    page = page_text(clients["owner"].get(url))
    assert "Ben's aunt" in page
    assert "3 days left" in page
    assert "Ben's aunt" not in page_text(clients["co_builder"].get(url))
    made = Invitation.objects.get()
    clients["owner"].post(reverse("invitation_revoke", args=[build.pk, made.pk]))
    assert "Ben's aunt" not in page_text(clients["owner"].get(url))
    assert guest.get(path).status_code == 404


def test_from_link_to_build_with_a_new_account(link, guest, build):
    answer = guest.get(link(), follow=True)
    assert answer.request["PATH_INFO"] == "/join/"
    assert "owner invites you to Hill shed as co-builder" in page_text(answer)
    made = guest.post(reverse("join_account"), NEW, follow=True)
    assert made.request["PATH_INFO"] == "/join/"
    assert not Member.objects.filter(user__username="newcomer").exists()
    joined = guest.post(reverse("join"), {"person": "new", "name": "Newt"})
    assert joined.url == reverse("home", args=[build.pk])
    member = Member.objects.get(user__username="newcomer")
    assert (member.role, member.person.name) == ("co-builder", "Newt")
    assert guest.get(joined.url).status_code == 200
    page = page_text(guest.get(reverse("members", args=[build.pk])))
    assert "New Comer (newcomer) (you) Co-builder Newt" in page


def test_from_link_to_build_with_an_account_one_has(link, guest, build, cast):
    page = Page(guest.get(link(), follow=True).content.decode())
    (sign_in,) = (url for url, text in page.links if text == "Sign in")
    answer = guest.post(
        sign_in, {"username": "stranger", "password": "pw-for-tests", "next": "/join/"}
    )
    assert answer.url == "/join/"
    assert guest.post("/join/", {"person": "nobody", "name": ""}).status_code == 302
    assert access.role_on(cast["stranger"], build) == "co-builder"


@pytest.mark.parametrize("times", [1, 3])
def test_looking_at_a_link_uses_nothing_up(times, link, guest, clients):
    """As previews of messages, scanners of mail, and people do."""
    path = link()
    for _ in range(times):
        for client in (Client(), guest, clients["stranger"]):
            assert client.get(path, follow=True).status_code == 200
            assert client.head(path).status_code == 302
            assert client.get("/join/").status_code == 200
    assert Invitation.objects.get().used_at is None
    assert guest.post(path).status_code == 405


@pytest.mark.parametrize("why", ["unknown", "mistyped", "used", "revoked", "expired"])
def test_links_that_do_not_work_are_all_answered_alike(why, link, guest, clients):
    path = link()
    now = timezone.now()
    if why == "unknown":
        path = "/join/" + "x" * 43 + "/"
    elif why == "mistyped":
        path = path[:-3] + "/"
    elif why == "used":
        Invitation.objects.update(used_at=now)
    elif why == "revoked":
        Invitation.objects.update(revoked_at=now)
    else:
        Invitation.objects.update(expires_at=now - timedelta(seconds=1))
    answers = [client.get(path) for client in (guest, clients["stranger"])]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert "Ask whoever sent it for a new link" in page_text(answers[0])
    plain = Client().get("/join/" + "y" * 43 + "/").content
    assert answers[0].content == plain, "nothing tells one from another"


def test_a_link_that_stops_working_while_one_makes_an_account(link, guest):
    guest.get(link())
    Invitation.objects.update(revoked_at=timezone.now())
    for url in (reverse("join"), reverse("join_account")):
        assert guest.get(url).status_code == 404
        assert guest.post(url, NEW).status_code == 404


def test_nobody_makes_an_account_without_an_invitation(guest, db, django_user_model):
    assert guest.post(reverse("join_account"), NEW).status_code == 404
    assert not django_user_model.objects.exists()


def test_two_who_hold_one_link(link, clients, build, cast):
    path = link()
    first, second = clients["stranger"], clients["removed"]
    for client in (first, second):
        assert client.get(path, follow=True).status_code == 200
    answers = [client.post("/join/", {"person": "nobody"}) for client in (first, second)]
    assert [answer.status_code for answer in answers] == [302, 404]
    assert access.role_on(cast["removed"], build) is None


@pytest.mark.parametrize("part", ["owner", "co_builder", "viewer"])
def test_a_member_is_told_so_and_uses_nothing_up(part, link, clients, cast, build):
    path, client = link(), clients[part]
    before = access.role_on(cast[part], build)
    assert "You are already a member" in page_text(client.get(path, follow=True))
    assert "You are already a member" in page_text(client.post("/join/", {"person": "nobody"}))
    assert Invitation.objects.get().used_at is None
    assert access.role_on(cast[part], build) == before


def test_the_secret_is_handed_on_to_no_page(link, guest):
    path = link()
    secret = path.split("/")[2]
    hop = guest.get(path)
    assert (hop.status_code, hop.url, hop["Referrer-Policy"]) == (302, "/join/", "no-referrer")
    assert "no-store" in hop["Cache-Control"]
    page = guest.get("/join/")
    assert "no-store" in page["Cache-Control"]
    assert secret not in page.content.decode() + str(page.headers)
    assert secret not in str(dict(guest.session))


@pytest.mark.parametrize(
    "line",
    [
        '"GET /join/{secret}/ HTTP/1.1" 302 0',
        "Not Found: /join/{secret}/",
        "GET http://testserver/join/{secret}/?from=mail",
    ],
)
def test_the_secret_is_not_logged(line):
    secret = "k3_Q" + "x-Yz" * 10
    record = logging.makeLogRecord({"msg": line.replace("{secret}", "%s"), "args": (secret,)})
    assert HideSecrets().filter(record)
    assert secret not in record.getMessage()
    assert "/join/…" in record.getMessage()


def test_what_is_no_secret_is_logged_as_it_is():
    plain = '"GET /static/css/page.0123456789abcdef0123456789abcdef.css HTTP/1.1" 200 5'
    record = logging.makeLogRecord({"msg": plain})
    HideSecrets().filter(record)
    assert record.getMessage() == plain


def test_every_log_of_addresses_hides_secrets(link, guest, caplog):
    for name in ("django.server", "django.request", "django.security.csrf"):
        assert "hide_secrets" in settings.LOGGING["loggers"][name]["filters"]
    path = link()
    Invitation.objects.update(revoked_at=timezone.now())
    with caplog.at_level(logging.DEBUG):
        guest.get(path)
    assert "/join/…" in caplog.text
    assert path.split("/")[2] not in caplog.text


def test_guessing_links_rests_after_a_while(link, guest, monkeypatch):
    path = link()
    for n in range(attempt_limits.UNKNOWN_LINKS.most):
        assert guest.get(f"/join/{n:043}/").status_code == 404
    answer = guest.get("/join/" + "z" * 43 + "/")
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= 15 * 60 + 1
    assert "Try again after" in page_text(answer)
    assert guest.get(path).status_code == 429, "nor does a good one tell itself from the others"
    elsewhere = Client(REMOTE_ADDR="203.0.113.5")
    assert elsewhere.get(path).status_code == 302


def test_beginning_accounts_rests_after_a_while(link, monkeypatch):
    path = link()
    for n in range(attempt_limits.NEW_ACCOUNTS.most):
        guest = Client()
        guest.get(path)
        data = NEW | {"username": f"n{n}"}
        assert guest.post(reverse("join_account"), data).status_code == 302
    guest = Client()
    guest.get(path)
    assert guest.post(reverse("join_account"), NEW).status_code == 429
    assert Invitation.objects.get().used_at is None


WRONG = {
    "common": ({"password": "password"}, "too common"),
    "short": ({"password": "x7-q"}, "too short"),
    "like the name": ({"password": "newcomer1"}, "too similar"),
    "no name": ({"username": ""}, "Fill this in."),
    "a name with a space": ({"username": "a b"}, "valid username"),
    "a taken name": ({"username": "owner"}, "is taken"),
    "a taken name in capitals": ({"username": "OWNER"}, "is taken"),
    "an invisible sign": ({"shown_name": "a\x07b"}, "invisible character"),
    "nothing": (dict.fromkeys(NEW, ""), "Fill this in."),
}


@pytest.mark.parametrize("what", WRONG)
def test_an_account_that_cannot_be(what, link, guest, django_user_model):
    guest.get(link())
    before = django_user_model.objects.count()
    typed, result = WRONG[what]
    answer = guest.post(reverse("join_account"), NEW | typed)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert result in " ".join(page.faults), page.faults
    assert page.form.fields["shown_name"] == (NEW | typed)["shown_name"]
    assert page.form.fields["password"] == "", "never sent back"
    assert django_user_model.objects.count() == before


def test_a_password_is_kept_to_the_space(link, guest, django_user_model):
    guest.get(link())
    guest.post(reverse("join_account"), NEW | {"password": f"  {GOOD}  "})
    user = django_user_model.objects.get(username="newcomer")
    assert user.check_password(f"  {GOOD}  ")


def test_joining_offers_the_people_that_no_member_is(link, clients, build, entries):
    for name in ("Ann", "Bea", "stranger"):
        entries.labour(name, 1)
    build.members.filter(role="owner").update(person=Person.objects.get(name="Ann"))
    client = clients["stranger"]
    page = Page(client.get(link(), follow=True).content.decode())
    assert list(page.form.choices["person"]) == [
        "Bea",
        "stranger",
        "Somebody new",
        "Leave it open",
    ]
    assert page.form.fields["person"] == str(Person.objects.get(name="stranger").pk)
    refused = client.post("/join/", {"person": "new", "name": " "})
    assert refused.status_code == 422
    refused = client.post("/join/", {"person": "new", "name": "ann"})
    assert "Ann is owner already" in page_text(refused)
    assert client.post("/join/", {"person": str(Person.objects.get(name="Bea").pk)}).url
    assert Member.objects.get(user__username="stranger").person.name == "Bea"


def test_a_viewer_picks_and_adds_nobody(link, clients, entries):
    entries.labour("Bea", 1)
    page = Page(clients["stranger"].get(link(role="viewer"), follow=True).content.decode())
    assert list(page.form.choices["person"]) == ["Bea", "Leave it open"]
    answer = clients["stranger"].post("/join/", {"person": "new", "name": "Vee"})
    assert answer.status_code == 422
    assert not Person.objects.filter(name="Vee").exists()


def test_a_person_is_filled_in_where_nothing_is_remembered(clients, build, entries, cast):
    entries.purchase(
        "P1",
        {"component": entries.component("Board"), "quantity_text": "1 piece", "source": "salvage"},
        paid_by="Ann",
    )
    client = clients["co_builder"]
    url = reverse("member_person", args=[build.pk])
    log, hours, form = (reverse(n, args=[build.pk]) for n in ("log", "labour_add", "purchase_add"))

    def shown(url: str, name: str) -> str:
        return Page(client.get(url).content.decode()).form.fields[name]

    assert shown(log, "paid_by") == "Ann", "who the last one was paid by, for want of better"
    assert (shown(hours, "person"), shown(form, "paid_by")) == ("", "")
    assert client.post(url, {"person": "new", "name": "Cob"}).status_code == 302
    assert shown(log, "paid_by") == shown(hours, "person") == shown(form, "paid_by") == "Cob"
    typed = {"worked_on": "2026-05-04", "person": "Dan", "kind": "installing", "hours": "1"}
    client.post(hours, typed)
    assert shown(hours, "person") == "Dan", "what is remembered comes first"


def test_the_last_owner_is_told_what_to_do(clients, build):
    url = reverse("member_leave", args=[build.pk])
    assert "Pass ownership on" in page_text(clients["owner"].get(url))
    answer = clients["owner"].post(url)
    assert answer.status_code == 422
    assert "Pass ownership on" in page_text(answer)
    assert Member.objects.filter(build=build, role="owner").exists()


def test_leaving_handing_over_and_removing_on_the_screens(clients, build, cast):
    other = build.members.get(user=cast["co_builder"])
    over = reverse("member_owner", args=[build.pk])
    page = Page(clients["owner"].get(over).content.decode())
    assert list(page.form.choices["member"]) == [
        "Choose",
        "viewer (Viewer)",
        "co_builder (Co-builder)",
    ]
    assert clients["owner"].post(over, {"member": other.pk}).status_code == 302
    assert clients["owner"].post(over, {"member": other.pk}).status_code == 403
    viewer = build.members.get(user=cast["viewer"])
    remove = reverse("member_remove", args=[build.pk, viewer.pk])
    assert "Remove viewer?" in page_text(clients["co_builder"].get(remove))
    assert clients["co_builder"].post(remove).status_code == 302
    assert clients["viewer"].get(reverse("cost_sheet", args=[build.pk])).status_code == 404
    leave = reverse("member_leave", args=[build.pk])
    assert clients["owner"].post(leave).url == reverse("builds")
    assert clients["owner"].get(leave).status_code == 404
    assert [row.user for row in build.members.all()] == [cast["co_builder"]]


def test_a_change_of_members_is_read_and_has_no_undo(clients, build, cast):
    member = build.members.get(user=cast["viewer"])
    url = reverse("member_role", args=[build.pk, member.pk])
    clients["owner"].post(url, {"role": "co-builder"})
    change = build.changes.first()
    page = clients["owner"].get(reverse("change", args=[build.pk, change.pk]))
    assert "Role viewer co-builder" in page_text(page)
    assert "Undoing does not change members" in page_text(page)
    assert "Undo this" not in page_text(page)
    answer = clients["co_builder"].post(
        reverse("change_undo", args=[build.pk, change.pk]), follow=True
    )
    assert "Undoing does not change members" in page_text(answer)
    member.refresh_from_db()
    assert member.role == "co-builder"


def test_a_member_of_another_build_is_not_found_here(clients, build, other_build, cast):
    theirs = other_build.members.get()
    for name in ("member_role", "member_remove"):
        url = reverse(name, args=[build.pk, theirs.pk])
        assert clients["owner"].post(url, {"role": "viewer"}).status_code == 404
    over = reverse("member_owner", args=[build.pk])
    assert clients["owner"].post(over, {"member": theirs.pk}).status_code == 422
    theirs.refresh_from_db()
    assert theirs.role == "owner"


@pytest.mark.parametrize("name", ["components", "left_over", "labour"])
def test_a_viewer_is_shown_no_way_that_is_refused(name, clients, build):
    pages = {who: clients[who].get(reverse(name, args=[build.pk])) for who in ("owner", "viewer")}
    refused = {reverse(way, args=[build.pk]) for way in ("stock_take", "timer")}
    ways = {
        who: {way for way in refused if way in page.content.decode()} for who, page in pages.items()
    }
    assert ways["owner"]
    assert not ways["viewer"]
