"""The first account by its address, and open sign-up where the operator lets anybody in."""

import logging

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import Member
from materials.services import attempt_limits
from materials.services.accounts import ensure_user
from materials.services.first_account import open_way
from tests.views.screens import Page
from tests.views.test_members import GOOD, NEW, WRONG, page_text

TAKEN = ("a taken name", "a taken name in capitals")


@pytest.fixture
def secret(db) -> str:
    return open_way(now=timezone.now())


@pytest.fixture
def path(secret) -> str:
    return reverse("first_link", args=[secret])


@pytest.fixture
def guest() -> Client:
    return Client()


def test_from_the_address_to_a_build_of_ones_own(path, guest):
    answer = guest.get(path, follow=True)
    assert answer.request["PATH_INFO"] == "/start/"
    assert "This is the first account here." in page_text(answer)
    made = guest.post("/start/", NEW, follow=True)
    assert made.request["PATH_INFO"] == reverse("build_add")
    assert "Your account is ready." in page_text(made)
    typed = Page(made.content.decode()).form.fields | {"name": "Pump house"}
    started = guest.post(reverse("build_add"), typed)
    assert started.status_code == 302, page_text(started)
    member = Member.objects.get()
    assert (member.user.username, member.role) == ("newcomer", "owner")
    assert not member.user.is_superuser, "nobody rules over others' builds"
    # And that was the only time.
    for client in (Client(), guest):
        assert client.get(path).status_code == 404
        assert client.get("/start/").status_code == 404
        assert client.post("/start/", NEW | {"username": "other"}).status_code == 404
    assert get_user_model().objects.count() == 1


def test_the_secret_goes_into_no_page_referrer_or_session(path, secret, guest):
    answer = guest.get(path)
    assert (answer.status_code, answer["Location"]) == (302, "/start/")
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "no-store" in answer["Cache-Control"]
    page = guest.get("/start/")
    assert "no-store" in page["Cache-Control"]
    assert secret not in page.content.decode() + str(page.headers) + str(dict(guest.session))


def test_looking_uses_nothing_up_and_sending_the_link_is_not_taken(path, guest):
    for _ in range(3):
        assert guest.get(path, follow=True).status_code == 200
        assert guest.head(path).status_code == 302
    assert guest.post(path, NEW).status_code == 405
    assert guest.post("/start/", NEW).status_code == 302


def test_addresses_that_do_not_work_are_answered_alike(path, guest):
    answers = [guest.get("/start/" + "x" * 43 + "/"), guest.get(path[:-3] + "/")]
    guest.get(path)
    open_way(now=timezone.now())
    answers += [guest.get(path), guest.get("/start/"), guest.post("/start/", NEW)]
    ensure_user(username="ben", password=GOOD)
    answers.append(guest.get(path))
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert "Each start of the program prints a new one" in page_text(answers[0])
    assert not get_user_model().objects.filter(username="newcomer").exists()


def test_an_account_made_while_one_types_ends_it(path, guest):
    guest.get(path)
    ensure_user(username="ben", password=GOOD)
    assert guest.post("/start/", NEW).status_code == 404


def test_an_account_made_at_the_very_moment_ends_it(path, guest, monkeypatch):
    monkeypatch.setattr("materials.views.new_accounts.is_way_open", lambda digest: True)
    guest.get(path)
    ensure_user(username="ben", password=GOOD)
    assert guest.post("/start/", NEW).status_code == 404
    assert not get_user_model().objects.filter(username="newcomer").exists()


def test_guessing_rests_after_a_while(path, guest):
    for n in range(attempt_limits.UNKNOWN_LINKS.most):
        assert guest.get(f"/start/{n:043}/").status_code == 404
    assert guest.get("/start/" + "z" * 43 + "/").status_code == 429
    assert guest.get(path).status_code == 429
    assert Client(REMOTE_ADDR="203.0.113.5").get(path).status_code == 302


def test_no_log_holds_the_secret(path, secret, guest, caplog):
    ensure_user(username="ben", password=GOOD)
    with caplog.at_level(logging.DEBUG):
        guest.get(path)
    assert "/start/…" in caplog.text
    assert secret not in caplog.text


@pytest.mark.parametrize("what", sorted(set(WRONG) - set(TAKEN)))
def test_a_first_account_that_cannot_be(what, path, guest):
    guest.get(path)
    typed, result = WRONG[what]
    answer = guest.post("/start/", NEW | typed)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert result in " ".join(page.faults), page.faults
    assert page.form.fields["shown_name"] == (NEW | typed)["shown_name"]
    assert page.form.fields["password"] == "", "never sent back"
    assert not get_user_model().objects.exists()
    assert guest.post("/start/", NEW).status_code == 302, "the address still works"


# Open sign-up.


def test_nobody_signs_up_unless_the_operator_lets_them(guest, db):
    url = reverse("sign_up")
    assert url not in guest.get(reverse("sign_in")).content.decode()
    assert guest.get(url).status_code == 404
    assert guest.post(url, NEW).status_code == 404
    assert not get_user_model().objects.exists()


def test_where_sign_up_is_open_anybody_starts_alone(guest, cast, build, settings):
    settings.SIGN_UP = True
    page = Page(guest.get(reverse("sign_in")).content.decode())
    (url,) = (url for url, text in page.links if text == "Create account")
    assert guest.get(url).status_code == 200
    made = guest.post(url, NEW, follow=True)
    assert made.request["PATH_INFO"] == reverse("builds")
    assert str(build) not in page_text(made)
    assert guest.get(reverse("home", args=[build.pk])).status_code == 404
    assert guest.get(url).url == reverse("builds")


@pytest.mark.parametrize("what", sorted(WRONG))
def test_a_sign_up_that_cannot_be(what, guest, cast, settings):
    settings.SIGN_UP = True
    before = get_user_model().objects.count()
    typed, result = WRONG[what]
    answer = guest.post(reverse("sign_up"), NEW | typed)
    assert answer.status_code == 422
    assert result in " ".join(Page(answer.content.decode()).faults)
    assert get_user_model().objects.count() == before


def test_signing_up_rests_after_a_while(db, settings):
    settings.SIGN_UP = True
    for n in range(attempt_limits.NEW_ACCOUNTS.most):
        answer = Client().post(reverse("sign_up"), NEW | {"username": f"n{n}"})
        assert answer.status_code == 302
    answer = Client().post(reverse("sign_up"), NEW)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= 3601
    elsewhere = Client(REMOTE_ADDR="203.0.113.5")
    assert elsewhere.post(reverse("sign_up"), NEW).status_code == 302


def test_signing_up_ends_the_way_of_the_first_account(path, guest, settings):
    settings.SIGN_UP = True
    assert guest.post(reverse("sign_up"), NEW).status_code == 302
    assert Client().get(path).status_code == 404
