"""Forms of accounts: making one, changing it, and passwords."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model, password_validation
from django.contrib.auth.forms import (
    AuthenticationForm,
    PasswordChangeForm,
    SetPasswordForm,
    UsernameField,
)
from django.contrib.auth.models import User
from django.contrib.auth.validators import UnicodeUsernameValidator

from .base import TidyForm, tidy_texts

SHOWN_NAME = {
    "max_length": 80,
    "required": False,
    "label": "Your name",
    "help_text": "The name others see. If empty: your username.",
}
GOOD_PASSWORD = "At least 8 characters. Not common, stolen before or like your name."


class NewAccountForm(TidyForm):
    """A new account; the password is typed once, and a browser may show or keep it."""

    username = forms.CharField(
        max_length=150,
        validators=[UnicodeUsernameValidator()],
        help_text="Letters, digits and @ . + - _; you sign in with it.",
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    shown_name = forms.CharField(
        **SHOWN_NAME, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    password = forms.CharField(
        strip=False,
        max_length=256,
        help_text=GOOD_PASSWORD,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_username(self) -> str:
        return get_user_model().normalize_username(self.cleaned_data["username"])

    def clean(self) -> dict[str, Any]:
        password = self.cleaned_data.get("password")
        cleaned = super().clean()
        if password:
            # As typed: in a password every space counts.
            cleaned["password"] = password
            similar = get_user_model()(
                username=cleaned.get("username", ""), first_name=cleaned.get("shown_name", "")
            )
            try:
                password_validation.validate_password(password, similar)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned


class AccountForm(forms.Form):
    """What others see of an account, and where it can be reached."""

    shown_name = forms.CharField(
        **SHOWN_NAME, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = forms.EmailField(
        required=False,
        label="E-mail",
        max_length=254,
        help_text="Used only if you forget your password. Nobody else sees it.",
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    password = forms.CharField(
        required=False,
        strip=False,
        max_length=256,
        label="Your password",
        help_text="Needed to change the e-mail, because the e-mail can set a new password.",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any):
        self.user = user
        start = {"shown_name": user.first_name, "email": user.email}
        super().__init__(*args, initial=start, **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        typed = cleaned.get("password", "")
        tidy_texts(self, {name: text for name, text in cleaned.items() if name != "password"})
        cleaned["shown_name"] = " ".join(cleaned.get("shown_name", "").split())
        changed = "email" in cleaned and cleaned["email"] != self.user.email
        if changed and not self.user.check_password(typed):
            self.add_error("password", "Type your password to change the e-mail.")
        return cleaned


class SignInForm(AuthenticationForm):
    """Name and password; a name longer than any account's is refused before it is looked for."""

    username = UsernameField(
        max_length=150, widget=forms.TextInput(attrs={"autofocus": True, "autocapitalize": "none"})
    )


class PasswordForm(PasswordChangeForm):
    """The signed-in user's own new password."""

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["old_password"].label = "Current password"
        name_passwords(self)

    error_messages = {
        **PasswordChangeForm.error_messages,
        "password_incorrect": "Wrong password. Type it again.",
        "password_mismatch": "The two new passwords differ. Type the same one twice.",
    }


class NewPasswordForm(SetPasswordForm):
    """A new password for whoever came by a reset link."""

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        name_passwords(self)

    error_messages = {
        **SetPasswordForm.error_messages,
        "password_mismatch": "The two new passwords differ. Type the same one twice.",
    }


def name_passwords(form: forms.Form) -> None:
    """Plain words at the two fields of a new password."""
    first, second = form.fields["new_password1"], form.fields["new_password2"]
    first.label, first.help_text = "New password", GOOD_PASSWORD
    second.label, second.help_text = "New password again", ""


class ForgottenForm(forms.Form):
    """To which address a link for a new password shall go."""

    email = forms.EmailField(
        label="E-mail",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
