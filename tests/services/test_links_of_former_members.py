"""Share links end when who made them leaves, is removed, or only reads; owners are told."""

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.choices import Role
from materials.models import AccountEvent, Change, Member
from materials.services import members
from materials.services.sharing import make_link
from tests.views.screens import Page

NOW = timezone.now()
VALUES = {"shows_prices": True, "shows_suppliers": False, "shows_people": False}


@pytest.fixture
def second(cast, build) -> Member:
    """A second owner of the build, who made two share links."""
    member = Member.objects.get(build=build, user=cast["co_builder"])
    members.change_role(actor=cast["owner"], build=build, member=member, role=Role.OWNER, now=NOW)
    return member


@pytest.fixture
def links(second, build) -> list[str]:
    made = [
        make_link(actor=second.user, build=build, values=VALUES | {"label": label})
        for label in ("Aunt Ida", "The bank")
    ]
    return [reverse("shared", args=[token]) for _, token in made]


@pytest.fixture
def own_link(cast, build, links) -> str:
    """One that the first owner made: it goes on."""
    _, token = make_link(actor=cast["owner"], build=build, values=VALUES | {"label": "Mother"})
    return reverse("shared", args=[token])


def opens(url: str) -> bool:
    return Client().get(url).status_code == 200


def remove(cast, build, member):
    members.remove_member(actor=cast["owner"], build=build, member=member, now=NOW)


def leave(cast, build, member):
    members.leave(actor=member.user, build=build, now=NOW)


def make_viewer(cast, build, member):
    members.change_role(actor=cast["owner"], build=build, member=member, role=Role.VIEWER, now=NOW)


@pytest.mark.parametrize("how", [remove, leave, make_viewer])
def test_they_end_and_the_owner_is_told(how, cast, build, second, links, own_link, owner_has_mail):
    assert all(opens(url) for url in (*links, own_link))
    how(cast, build, second)
    assert [opens(url) for url in (*links, own_link)] == [False, False, True]
    (event,) = AccountEvent.objects.filter(what="links ended")
    assert event.user == cast["owner"]
    assert event.about == "Hill shed: Aunt Ida; The bank. co_builder made them."
    (sent,) = mail.outbox
    assert "Aunt Ida; The bank" in sent.body
    ended = Change.objects.filter(build=build, action="revoked", record_type="share link")
    assert ended.count() == 2


def test_who_is_an_owner_no_more_but_builds_on_keeps_them(cast, build, second, links):
    members.change_role(
        actor=cast["owner"], build=build, member=second, role=Role.CO_BUILDER, now=NOW
    )
    assert all(opens(url) for url in links)
    assert not AccountEvent.objects.filter(what="links ended").exists()
    remove(cast, build, Member.objects.get(pk=second.pk))
    assert not any(opens(url) for url in links), "however long after"


def test_without_links_nobody_is_told(cast, build):
    remove(cast, build, Member.objects.get(build=build, user=cast["viewer"]))
    assert not AccountEvent.objects.filter(what="links ended").exists()


@pytest.mark.parametrize("page", ["member_remove", "member_leave"])
def test_the_page_says_so_before(page, clients, build, second, links):
    who = "owner" if page == "member_remove" else "co_builder"
    args = [build.pk, second.pk] if page == "member_remove" else [build.pk]
    text = Page(clients[who].get(reverse(page, args=args)).content.decode()).text
    assert "These share links end: Aunt Ida; The bank." in text


def test_the_page_of_a_role_says_so_before(clients, build, second, links):
    page = clients["owner"].get(reverse("member_role", args=[build.pk, second.pk]))
    text = Page(page.content.decode()).text
    assert "As a viewer, these share links end: Aunt Ida; The bank." in text
