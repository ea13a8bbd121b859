"""Forms of the second step, which ask for the password again."""

from typing import Any

from django import forms
from django.contrib.auth.models import User

from .base import TidyForm

_CODE = forms.TextInput(
    attrs={
        "autocomplete": "one-time-code",
        "autocapitalize": "none",
        "spellcheck": "false",
    }
)
WRONG_PASSWORD = "Wrong password. Type it again."


class CodeForm(TidyForm):
    """The code of an app, or a recovery code."""

    code = forms.CharField(
        max_length=40,
        help_text="Six digits from your app, or one of your recovery codes.",
        widget=_CODE,
    )


class PasswordAgainForm(TidyForm):
    """The signed-in user's password, for what an open session alone must not do."""

    password = forms.CharField(
        strip=False,
        max_length=256,
        label="Your password",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any):
        self.user = user
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data.get("password")
        cleaned = super().clean()
        if typed and not self.user.check_password(typed):
            self.add_error("password", WRONG_PASSWORD)
        return cleaned


class PasswordAndCodeForm(CodeForm, PasswordAgainForm):
    """Both, for what changes the second step."""

    field_order = ("password", "code")


class NewPasskeyForm(PasswordAndCodeForm):
    """What a new passkey is to be called, with password and code."""

    name = forms.CharField(max_length=60, help_text="So that you know it again, like “Blue key”.")

    field_order = ("name", "password", "code")


class TurnOnForm(PasswordAndCodeForm):
    """The first code of a key, with the password."""

    code = forms.CharField(
        max_length=40, help_text="The six digits that your app shows now.", widget=_CODE
    )
