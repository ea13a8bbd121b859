"""Passwords as they are typed: any characters, long ones, and nothing done to them."""

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

LONG = "Lime putty, " * 8 + "ashlar"


@pytest.mark.parametrize(
    "typed", ["allsmallletters", "  between two spaces  ", "Größe und Äste", LONG, "gravel" * 40]
)
def test_a_password_is_taken_exactly_as_it_is_typed(typed, db):
    """ASVS 6.2.5, 6.2.8, 6.2.9: set by the form of a reset, and then asked for."""
    user = User.objects.create_user("mason", password="old-and-to-be-replaced")
    client = Client()
    client.force_login(user)
    fields = {
        "old_password": "old-and-to-be-replaced",
        "new_password1": typed,
        "new_password2": typed,
    }
    assert client.post(reverse("password_change"), fields).status_code == 302
    user.refresh_from_db()
    assert user.check_password(typed)

    def comes_in(password: str) -> bool:
        sent = {"username": "mason", "password": password}
        return Client().post(reverse("sign_in"), sent).status_code == 302

    wrong = {typed.strip(), typed.swapcase(), typed[:72], typed[:64], typed + " "} - {typed}
    assert [password for password in sorted(wrong) if comes_in(password)] == []
    assert comes_in(typed)
