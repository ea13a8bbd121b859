"""Attacks from outside, each tried: hosts, redirects, forged forms, guessing who has an account.

Numbers are requirements of OWASP ASVS 5.0.0, as named in tests/access/test_sessions.py.
"""

import re

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import MD5PasswordHasher
from django.core import mail
from django.test import Client
from django.urls import reverse

from buildledger.middleware import HEADERS
from materials.models import Build, Change, Member
from materials.queries.rows import iterate_rows, list_kept_models
from materials.services import mail as mails
from tests.access.test_routes import ROUTES, address, records
from tests.answers import status
from tests.views.screens import Page, Screens
from tests.views.wrong import FORMS
from tests.world import once

__all__ = ["records"]
pytestmark = once("everything", "clients", "other_build")
PASSWORD = "pw-for-tests"


# Host header


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "localhost.elsewhere.example",
        "localhost@elsewhere.example",
        "localhost:80@elsewhere.example",
        "elsewhere.example:localhost",
        "",
        "localhost\tx",
    ],
)
def test_another_host_is_refused(host, settings, db):
    settings.ALLOWED_HOSTS = ["localhost"]
    answer = Client().get(reverse("sign_in"), HTTP_HOST=host)
    assert answer.status_code == 400
    assert "elsewhere" not in answer.content.decode()


def test_a_forwarded_host_is_not_believed(cast, settings, monkeypatch):
    """Whoever asks for a link for somebody else cannot have it lead to a host of their own."""
    settings.ALLOWED_HOSTS = ["localhost"]
    settings.CAN_SEND_MAIL = True
    monkeypatch.setattr(mails, "_aside", lambda work: work())
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()
    values = {"x-forwarded-host": "elsewhere.example", "x-forwarded-server": "elsewhere.example"}
    answer = Client().post(
        reverse("password_forgotten"),
        {"email": cast["owner"].email},
        headers=values | {"host": "localhost"},
    )
    assert answer.status_code == 200
    (sent,) = mail.outbox
    assert "http://localhost/password/" in sent.body
    assert "elsewhere" not in sent.body


# Open redirects


@pytest.mark.parametrize(
    "place",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "///elsewhere.example/",
        "/\\elsewhere.example/",
        "\\\\elsewhere.example/",
        "https:elsewhere.example",
        "javascript:alert(1)",
        " //elsewhere.example",
        "http://testserver@elsewhere.example/",
        "/%09/elsewhere.example\t//x",
    ],
)
def test_signing_in_leads_nowhere_else(place, cast):
    client = Client()
    typed = {"username": "owner", "password": PASSWORD, "next": place}
    answer = client.post(reverse("sign_in"), typed, query_params={"next": place})
    assert answer.status_code == 302
    assert re.fullmatch(r"/(?![/\\]).*", answer["Location"])


def test_signing_in_leads_on_within(cast, build):
    inside = reverse("components", args=[build.pk])
    typed = {"username": "owner", "password": PASSWORD, "next": inside}
    assert Client().post(reverse("sign_in"), typed)["Location"] == inside


def test_no_redirect_of_any_page_takes_its_place_from_the_request(clients, build, records):
    query = {name: "https://elsewhere.example/" for name in ("next", "url", "back", "to", "return")}
    for name in sorted(ROUTES):
        for part in ("owner", "anonymous"):
            answer = clients[part].get(address(name, build, records), query)
            status(answer)
            assert not answer.get("Location", "").startswith(("http", "//")), name


# CSRF


@pytest.mark.parametrize("name", sorted(ROUTES))
def test_no_form_of_another_site_is_taken(name, cast, build, records):
    """Every address, with the session that a browser would send along and no token."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast["owner"])
    before = Change.objects.count(), Member.objects.count(), Build.objects.count()
    url = address(name, build, records)
    answer = client.post(url, {"name": "Forged"}, headers={"origin": "https://elsewhere.example"})
    # A shared page and a calendar take no form at all and know nobody.
    code = 405 if name in ("shared", "calendar") else 403
    assert answer.status_code == code
    assert client.post(url, {"name": "Forged"}).status_code == code
    assert before == (Change.objects.count(), Member.objects.count(), Build.objects.count())


def test_reading_changes_nothing(clients, build, records):
    """So that a picture or a link on another site cannot do anything either."""
    opened = {"materials.ShareLink", "materials.Alerts"}  # counts how often it was opened

    def everything():
        return {
            model._meta.label: list(iterate_rows(model))
            for model in list_kept_models()
            if model._meta.label not in opened
        }

    before = everything()
    for name in sorted(ROUTES):
        status(clients["owner"].get(address(name, build, records)))
    assert everything() == before


# Framing


def test_no_page_can_be_framed(clients, build, records):
    for name in sorted(ROUTES):
        answer = clients["owner"].get(address(name, build, records))
        status(answer)
        assert answer["X-Frame-Options"] == "DENY"
        assert "frame-ancestors 'none'" in answer["Content-Security-Policy"]
    assert HEADERS["Cross-Origin-Opener-Policy"] == "same-origin"


# Mass assignment


@pytest.mark.parametrize("name", FORMS)
def test_a_form_writes_its_own_fields_alone(name, owner, screens, cast, other_build):
    """8.2.3: fields of the record, of the account and of the build that no form offers."""
    site = Screens(owner) if name == "build_add" else screens
    url = site.url(name)
    data = site.filled(site.read(url).form, FORMS[name][0])
    stranger = cast["stranger"].pk
    more = {"id": "1", "pk": "1", "build": other_build.pk, "build_id": other_build.pk}
    more |= {"created_by": stranger, "actor": stranger, "owner": stranger, "user": stranger}
    more |= {"role": "owner", "is_superuser": "on", "is_staff": "on", "is_active": ""}
    more |= {"created_at": "2001-01-01", "base_qty": "999", "total_amount": "999"}
    before = {
        model._meta.label: list(iterate_rows(model, other_build))
        for model in list_kept_models()
        if model._meta.label in ("materials.Build", "materials.Component", "materials.Member")
    }
    last = Change.objects.order_by("-pk").values_list("pk", flat=True).first()
    answer = owner.post(url, {k: v for k, v in more.items() if k not in data} | data)
    assert answer.status_code == 302, Page(answer.content.decode()).faults
    for label, rows in before.items():
        (model,) = [m for m in list_kept_models() if m._meta.label == label]
        assert list(iterate_rows(model, other_build)) == rows
    made = Change.objects.filter(pk__gt=last)
    # A new build begins its history with what is entered into it.
    assert made.exists() or name == "build_add"
    assert not Member.objects.filter(user=stranger).exclude(build=other_build).exists()
    assert not made.filter(actor=stranger).exists()
    assert not made.filter(build=other_build).exists()
    cast["owner"].refresh_from_db()
    assert (cast["owner"].is_superuser, cast["owner"].is_staff) == (False, False)


# Guessing who has an account


def test_signing_in_takes_as_long_for_nobody_as_for_somebody(cast, monkeypatch):
    """The password is worked through once, whether there is such a name, and for an account
    that is switched off."""
    cast["viewer"].is_active = False
    cast["viewer"].save()
    worked = []
    encode = MD5PasswordHasher.encode
    monkeypatch.setattr(
        MD5PasswordHasher,
        "encode",
        lambda self, password, salt: worked.append(password) or encode(self, password, salt),
    )
    pages, counts = [], []
    for username in ("owner", "nobody-here", "viewer"):
        worked.clear()
        typed = {"username": username, "password": "wrong"}
        answer = Client().post(reverse("sign_in"), typed)
        counts.append(len(worked))
        pages.append((answer.status_code, Page(answer.content.decode()).faults))
    assert counts == [1, 1, 1]
    assert pages[0] == pages[1] == pages[2]


def test_a_switched_off_account_says_no_more_than_a_wrong_password(cast):
    cast["viewer"].is_active = False
    cast["viewer"].save()
    lines = []
    for username, password in (("viewer", PASSWORD), ("nobody-here", PASSWORD)):
        answer = Client().post(reverse("sign_in"), {"username": username, "password": password})
        lines.append((answer.status_code, Page(answer.content.decode()).faults))
    assert lines[0] == lines[1]


def test_a_reset_does_nothing_more_for_somebody_before_it_answers(cast, settings, monkeypatch):
    """Neither letter nor link is made before the answer, so that its time tells nothing."""
    settings.CAN_SEND_MAIL = True
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()
    done: list[str] = []
    monkeypatch.setattr(mails, "_aside", lambda work: done.append("aside"))
    for name in ("_mail", "reset_parts", "render_to_string"):
        monkeypatch.setattr(mails, name, lambda *args, name=name: done.append(name))
    for email in (cast["owner"].email, "nobody@buildledger.example"):
        Client().post(reverse("password_forgotten"), {"email": email})
    assert done == ["aside", "aside"]


def test_an_account_name_that_is_taken_is_told_to_invited_people_alone(cast):
    """Nobody else can ask: without an invitation there is no such form."""
    typed = {"username": "owner", "password1": PASSWORD, "password2": PASSWORD}
    assert Client().post(reverse("join_account"), typed).status_code == 404
    assert get_user_model().objects.filter(username="owner").count() == 1
