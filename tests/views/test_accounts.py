"""One's own account, passwords, and a forgotten one."""

import io
import re

import pytest
from django.core import mail
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from materials.services import attempt_limits
from materials.services import mail as mails
from tests.views.screens import Page

PASSWORD, NEW = "pw-for-tests", "green-oak-and-lime"
TYPED = {"old_password": PASSWORD, "new_password1": NEW, "new_password2": NEW}


def page_of(answer) -> Page:
    return Page(answer.content.decode())


@pytest.fixture
def client(clients, build):
    """The co-builder's."""
    return clients["co_builder"]


@pytest.fixture
def user(cast):
    cast["co_builder"].email = "cob@buildledger.example"
    cast["co_builder"].save()
    return cast["co_builder"]


def test_the_page_shows_memberships(client, user):
    page = page_of(client.get(reverse("account")))
    assert "You sign in as co_builder" in page.text
    assert "Hill shed Co-builder" in page.text
    assert page.form.fields["email"] == "cob@buildledger.example"


def test_the_name_others_see_is_changed_without_a_password(client, user, build):
    typed = {"shown_name": "  Cora   Bo ", "email": user.email, "password": ""}
    assert client.post(reverse("account"), typed).status_code == 302
    user.refresh_from_db()
    assert user.first_name == "Cora Bo"
    assert "Cora Bo (co_builder)" in page_of(client.get(reverse("members", args=[build.pk]))).text


@pytest.mark.parametrize(("password", "status"), [("", 422), ("wrong", 422), (PASSWORD, 302)])
def test_the_email_is_changed_with_the_password_only(password, status, client, user):
    typed = {"shown_name": "Cora", "email": "new@buildledger.example", "password": password}
    answer = client.post(reverse("account"), typed)
    assert answer.status_code == status
    user.refresh_from_db()
    assert (user.email == "new@buildledger.example") == (status == 302)
    if status == 422:
        page = page_of(answer)
        assert page.form.fields["email"] == "new@buildledger.example"
        assert page.form.fields["shown_name"] == "Cora"
        assert page.form.fields["password"] == ""


WRONG = {
    "not the old one": ({"old_password": "x"}, "Wrong password"),
    "not twice the same": ({"new_password2": "other-oak-and-lime"}, "differ"),
    "a common one": ({"new_password1": "password", "new_password2": "password"}, "too common"),
    "like the name": ({"new_password1": "co_builder", "new_password2": "co_builder"}, "similar"),
    "nothing": ({"new_password1": "", "new_password2": ""}, "Fill this in."),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_password_that_cannot_be(what, client, user):
    typed, result = WRONG[what]
    answer = client.post(reverse("password_change"), TYPED | typed)
    assert answer.status_code == 422
    assert result in " ".join(page_of(answer).faults)
    user.refresh_from_db()
    assert user.check_password(PASSWORD)


def test_trying_passwords_in_an_open_session_rests_after_a_while(client, user):
    url = reverse("password_change")
    for _ in range(attempt_limits.PASSWORDS.most):
        assert client.post(url, TYPED | {"old_password": "x"}).status_code == 422
    assert client.post(url, TYPED).status_code == 429
    wrong = {"shown_name": "", "email": "new@buildledger.example", "password": PASSWORD}
    assert client.post(reverse("account"), wrong).status_code == 429
    user.refresh_from_db()
    assert user.check_password(PASSWORD)


def test_the_right_password_begins_to_count_anew(client, user):
    url = reverse("password_change")
    for _ in range(attempt_limits.PASSWORDS.most - 1):
        client.post(url, TYPED | {"old_password": "x"})
    assert client.post(url, TYPED).status_code == 302
    assert client.post(url, TYPED).status_code == 422


# A new password by command


def printed(*args: str) -> list[str]:
    out = io.StringIO()
    call_command("reset_password", *args, stdout=out)
    return out.getvalue().splitlines()


def refused(capsys, *args: str) -> str:
    with pytest.raises(SystemExit) as end:
        call_command("reset_password", *args)
    assert end.value.code == 1
    return capsys.readouterr().err


def open_link(link: str) -> tuple[Client, str]:
    """A fresh browser at the page that a link leads to."""
    browser = Client()
    answer = browser.get(link.removeprefix("http://testserver"), follow=True)
    assert answer.status_code == 200
    return browser, answer.request["PATH_INFO"]


def test_a_printed_link_sets_a_password_once(user):
    session = Client()
    session.force_login(user)
    link, output = printed("co_builder", "--address", "http://testserver/")
    assert "within 24 hours" in output
    browser, url = open_link(link)
    secret = link.rstrip("/").rpartition("/")[2]
    page = browser.get(url)
    assert secret not in url + page.content.decode()
    answer = browser.post(url, {"new_password1": NEW, "new_password2": NEW})
    assert answer.url == reverse("sign_in")
    user.refresh_from_db()
    assert user.check_password(NEW)
    assert session.get(reverse("account")).status_code == 302, "all sessions end"
    again = Client().get(link.removeprefix("http://testserver"), follow=True)
    assert again.status_code == 404
    assert "no longer works" in page_of(again).text


def test_a_link_is_worthless_after_its_time_a_sign_in_or_another_password(user, settings):
    def works(link: str) -> bool:
        path = link.removeprefix("http://testserver")
        return Client().get(path, follow=True).status_code == 200

    link = printed("co_builder", "--address", "http://testserver")[0]
    assert works(link)
    settings.PASSWORD_RESET_TIMEOUT = -1
    assert not works(link)
    settings.PASSWORD_RESET_TIMEOUT = 3600
    Client().post(reverse("sign_in"), {"username": "co_builder", "password": PASSWORD})
    assert not works(link)
    user.refresh_from_db()
    link = printed("co_builder", "--address", "http://testserver")[0]
    assert works(link)
    user.set_password("another")
    user.save()
    assert not works(link)


def test_a_weak_new_password_is_refused_and_the_link_still_works(user):
    browser, url = open_link(printed("co_builder", "--address", "http://testserver")[0])
    answer = browser.post(url, {"new_password1": "password", "new_password2": "password"})
    assert answer.status_code == 422
    assert "too common" in " ".join(page_of(answer).faults)
    assert browser.post(url, {"new_password1": NEW, "new_password2": NEW}).status_code == 302


def test_a_new_password_opens_a_locked_name(user, settings):
    typed = {"username": "co_builder", "password": "wrong"}
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = Client().post(reverse("sign_in"), typed)
    assert answer.status_code == 429
    browser, url = open_link(printed("co_builder", "--address", "http://testserver")[0])
    browser.post(url, {"new_password1": NEW, "new_password2": NEW})
    answer = browser.post(reverse("sign_in"), typed | {"password": NEW})
    assert answer.status_code == 302


def test_what_the_command_refuses(user, capsys):
    assert "No user is called “nobody”" in refused(capsys, "nobody")
    assert "http:// or https://" in refused(capsys, "co_builder", "--address", "ledger.example")
    user.is_active = False
    user.save()
    assert "switched off" in refused(capsys, "co_builder")


@pytest.mark.parametrize("path", ["MQ/x-y", "x/y", "%00/%00", "OTk5OTk5OTk5OTk5OTk5OTk5OTk5/a-b"])
def test_a_link_of_nonsense_is_not_found(path, db):
    answer = Client().get(f"/password/{path}/")
    assert answer.status_code == 404


# A new password by e-mail


def ask(email: str):
    return Client().post(reverse("password_forgotten"), {"email": email})


def test_without_mail_the_page_says_whom_to_ask(user, settings):
    assert settings.CAN_SEND_MAIL is False
    for answer in (Client().get(reverse("password_forgotten")), ask(user.email)):
        assert "This server sends no mail" in page_of(answer).text
    assert mail.outbox == []


def test_a_link_by_mail_sets_a_password(user, can_mail):
    ask("COB@buildledger.example")
    (sent,) = mail.outbox
    assert sent.to == ["cob@buildledger.example"]
    assert "co_builder" in sent.body
    (link,) = re.findall(r"http://testserver\S+", sent.body)
    browser, url = open_link(link)
    assert browser.post(url, {"new_password1": NEW, "new_password2": NEW}).status_code == 302
    user.refresh_from_db()
    assert user.check_password(NEW)


def test_known_and_unknown_addresses_are_answered_alike(user, can_mail, cast):
    cast["viewer"].email = "off@buildledger.example"
    cast["viewer"].is_active = False
    cast["viewer"].save()
    emails = (user.email, "nobody@buildledger.example", "off@buildledger.example")
    answers = [ask(email) for email in emails]
    assert {(answer.status_code, answer.content) for answer in answers} == {
        (200, answers[0].content)
    }
    assert [sent.to for sent in mail.outbox] == [[user.email]]


def test_a_mail_server_that_refuses_tells_nobody(user, can_mail, monkeypatch, caplog):
    def refuse(message):
        raise OSError("mailbox of cob@buildledger.example is full")

    monkeypatch.setattr(mails.EmailMessage, "send", refuse)
    assert ask(user.email).status_code == 200
    assert "was not sent: OSError" in caplog.text
    assert "cob@" not in caplog.text


def test_mail_is_sent_aside_from_the_answer(user, settings, monkeypatch):
    """So that the time of the answer tells nothing either."""
    begun = []
    settings.CAN_SEND_MAIL = True
    monkeypatch.setattr(mails.Thread, "start", lambda thread: begun.append(thread))
    assert ask(user.email).status_code == 200
    assert mail.outbox == []
    begun[0].run()
    assert len(mail.outbox) == 1


def test_asking_rests_after_a_while(user, can_mail):
    for _ in range(attempt_limits.RESETS.most):
        assert ask(user.email).status_code == 200
    assert ask(user.email).status_code == 429
    assert len(mail.outbox) == attempt_limits.RESETS.most


@pytest.mark.parametrize("email", ["", "x", "a@b", "a\0@buildledger.example", "x" * 400 + "@b.co"])
def test_what_is_no_address(email, can_mail, db):
    assert ask(email).status_code == 422
    assert mail.outbox == []
