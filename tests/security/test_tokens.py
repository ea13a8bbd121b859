"""What this server signs or seals serves one purpose; and whom the program speaks to."""

import re
import socket
from html import unescape

import pytest
from django.contrib.auth.tokens import default_token_generator
from django.core import mail, signing
from django.core.mail import BadHeaderError, EmailMessage
from django.test import Client
from django.urls import reverse

from materials.models import SecondFactor
from materials.services.clock import reset_tokens
from materials.services.one_time_codes import new_key
from materials.services.reset_links import reset_parts
from tests.world import once

pytestmark = once("everything", "clients")
PASSWORD = "pw-for-tests"


def known_mark() -> str:
    """The mark that a browser gets which was in."""
    client = Client()
    client.post(reverse("sign_in"), {"username": "owner", "password": PASSWORD})
    return client.cookies["known"].value


def test_a_mark_of_one_purpose_serves_no_other(clients, cast, build):
    """ASVS 9.2.2, and that nothing signed for one account serves another."""
    url = reverse("second_step_on")
    html = clients["owner"].get(url).content.decode()
    own = unescape(re.findall(r'name="key" value="([^"]+)"', html)[0])
    salt = f"materials.second step {cast['owner'].pk}"
    key = signing.loads(own, salt=salt)
    form_mark = re.findall(r'name="form_token" value="([^"]+)"', html) or ["x"]
    others = [known_mark(), signing.dumps(key), signing.dumps(key, salt="materials.known device")]
    others += [signing.dumps(key, salt=f"materials.second step {cast['viewer'].pk}"), *form_mark]
    for other in others:
        answer = clients["owner"].post(url, {"key": other, "password": PASSWORD, "code": "1"})
        shown = unescape(re.findall(r'name="key" value="([^"]+)"', answer.content.decode())[0])
        assert signing.loads(shown, salt=salt) != key, "a new key instead"
    assert not SecondFactor.objects.exists()


def test_a_link_for_a_new_password_is_that_and_of_its_account(cast):
    parts, other = reset_parts(cast["owner"]), reset_parts(cast["viewer"])
    assert reset_tokens.check_token(cast["owner"], parts["token"])
    assert not reset_tokens.check_token(cast["owner"], other["token"])
    for token in (known_mark(), signing.dumps(cast["owner"].pk), new_key(), "", "x-y"):
        assert not reset_tokens.check_token(cast["owner"], token)
        assert not default_token_generator.check_token(cast["owner"], token)


def test_a_browser_known_to_one_account_is_none_to_another(cast, settings):
    """Its mark, signed for nothing else, names one account."""
    settings.AXES_ENABLED = False
    client = Client()
    client.cookies["known"] = known_mark()
    changed = client.cookies["known"].value.replace(str(cast["owner"].pk), str(cast["viewer"].pk))
    assert changed != client.cookies["known"].value or cast["owner"].pk == cast["viewer"].pk
    client.cookies["known"] = changed
    tried = {"username": "viewer", "password": "wrong"}
    found = [client.post(reverse("sign_in"), tried).status_code for _ in range(21)]
    assert found == [200] * 20 + [429], "counted like any other"


# ASVS 1.3.11: no line that was typed becomes one of a mail's head.
BROKEN = ["a@b.example\nBcc: x@y.example", "a@b.example\r\nBcc: x@y.example", "a@b.example\0"]


@pytest.mark.parametrize("typed", BROKEN)
def test_no_line_break_reaches_the_head_of_a_mail(typed, clients, cast, can_mail):
    sent = {"shown_name": "Olive", "email": typed, "password": PASSWORD}
    assert clients["owner"].post(reverse("account"), sent).status_code == 422
    assert Client().post(reverse("password_forgotten"), {"email": typed}).status_code == 422
    assert mail.outbox == []
    if "\n" in typed:
        with pytest.raises(BadHeaderError):
            EmailMessage("Hello", "", to=[typed]).message()


def test_a_name_with_a_line_break_stays_in_the_body(clients, cast, can_mail):
    cast["owner"].first_name = "Olive\nBcc: x@y.example"
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()
    sent = {"shown_name": "O", "email": "new@buildledger.example", "password": PASSWORD}
    clients["owner"].post(reverse("account"), sent)
    for each in mail.outbox:
        assert "Bcc" not in each.message()
        assert each.recipients() == each.to


# ASVS 13.2.4: pages of every kind, and what they do, speak to nobody.
QUIET = (
    "home cost_sheet needed sourcing deadlines members log share_links downloads history".split()
)


def test_no_page_opens_a_connection(clients, build, monkeypatch):
    spoken = []

    def note(self, address):
        spoken.append(address)
        raise OSError("nobody is there")

    monkeypatch.setattr(socket.socket, "connect", note)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *named, **more: spoken.append(named) or [])
    for name in QUIET:
        assert clients["owner"].get(reverse(name, args=[build.pk])).status_code == 200
    for name in ("account", "sessions", "second_step_on", "builds", "password_change"):
        assert clients["owner"].get(reverse(name)).status_code == 200
    typed = {"old_password": PASSWORD, "new_password1": "qwertyuiop", "new_password2": "qwertyuiop"}
    assert clients["owner"].post(reverse("password_change"), typed).status_code == 422
    assert spoken == []
