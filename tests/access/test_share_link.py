"""A share link opens one page and no other, whatever is done with its token.

Numbers are requirements of OWASP ASVS 5.0.0, read in the primary text: 8.2.1 to 8.2.3 (function,
record and field), 8.3.1 (checked on the server), 8.4.1 (one build's reader sees no other build).
"""

import pytest
from django.test import Client
from django.urls import reverse

from materials.models import Change, ShareLink
from tests.access.test_routes import ANYBODY, NOTHING, OF_BUILD, ROUTES, TICKET, address, records
from tests.world import once

__all__ = ["records"]
pytestmark = once("everything")

METHODS = ("get", "post", "put", "patch", "delete")


def offers(url: str, token: str):
    """A visitor asking for an address, with the token offered in every place a key may stand."""
    visitor = Client()
    visitor.get(reverse("shared", args=[token]))
    yield visitor.get(url)
    yield visitor.get(url, {"token": token})
    yield visitor.get(url, headers={"authorization": f"Bearer {token}", "x-token": token})
    visitor.cookies["sessionid"] = token
    yield visitor.get(url)


@pytest.mark.parametrize("name", sorted(n for n in ROUTES if ROUTES[n][0] is not ANYBODY))
def test_no_other_address_takes_the_token(name, build, records):
    """8.2.1, 8.3.1."""
    url, token = address(name, build, records), records["share_token"]
    for answer in offers(url, token):
        if ROUTES[name][0] is NOTHING:
            # Open to anybody, and with nothing to show: it must not take this token for its own.
            assert answer.status_code == 404
            continue
        if ROUTES[name][0] is TICKET:
            assert answer.status_code == 401
            continue
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("sign_in"))


@pytest.mark.parametrize("name", sorted(OF_BUILD))
def test_nothing_stands_below_a_link(name, build, records):
    """8.2.1: the rest of an address of the app, put behind the link."""
    shared = reverse("shared", args=[records["share_token"]])
    for url in (shared + address(name, build, records).lstrip("/"), f"{shared}{name}/"):
        assert Client().get(url).status_code == 404


@pytest.mark.parametrize("method", METHODS)
def test_no_method_changes_anything_anywhere(method, build, records):
    """8.2.1, 8.3.1."""
    before = Change.objects.count()
    visitor = Client()
    for name in OF_BUILD:
        answer = getattr(visitor, method)(address(name, build, records))
        assert answer.status_code == 302, name
    assert Change.objects.count() == before


def test_a_link_shows_its_own_build_alone(build, other_build, add_component, records):
    """8.2.2, 8.4.1."""
    add_component(other_build, "Foreign beam")
    page = Client().get(reverse("shared", args=[records["share_token"]])).content.decode()
    assert build.name in page
    assert "Foreign beam" not in page
    assert other_build.name not in page


def test_a_link_of_another_build_can_be_neither_changed_nor_revoked(clients, other_build, records):
    """8.2.2: the stranger owns a build, and asks through it for somebody else's link."""
    link = records["share"]
    for name in ("share_edit", "share_revoke"):
        url = reverse(name, args=[other_build.pk, link.pk])
        assert clients["stranger"].post(url, {"label": "Mine"}).status_code == 404
    link.refresh_from_db()
    assert (link.label, link.revoked_at) == ("Aunt Ida", None)


def test_a_co_builder_may_close_a_link_but_a_viewer_may_not(clients, build, records):
    """Closing narrows what is seen: who first sees that a link went astray need not wait."""
    url = reverse("share_revoke", args=[build.pk, records["share"].pk])
    assert clients["viewer"].post(url).status_code == 403
    assert clients["anonymous"].post(url).status_code == 302
    assert ShareLink.objects.get().revoked_at is None
    assert clients["co_builder"].post(url).status_code == 302
    assert ShareLink.objects.get().revoked_at is not None


def test_the_list_offers_each_part_what_it_may_do(clients, build, records):
    pages = {
        name: clients[name].get(reverse("share_links", args=[build.pk])).content.decode()
        for name in ("owner", "co_builder")
    }
    add, change, revoke = (
        reverse(name, args=[build.pk, *args])
        for name, args in (
            ("share_add", []),
            ("share_edit", [records["share"].pk]),
            ("share_revoke", [records["share"].pk]),
        )
    )
    offered = {
        name: [f'href="{url}"' in page for url in (add, change, revoke)]
        for name, page in pages.items()
    }
    assert offered == {"owner": [True, True, True], "co_builder": [False, False, True]}
