"""Accounts: making them, changing them, and passwords."""

from axes.utils import reset as forget_failures
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from ..queries.accounts import is_taken
from .clock import reset_tokens
from .errors import LedgerError


def ensure_user(*, username: str, password: str) -> tuple[User, bool]:
    """The user of this name, made with the password when there is none yet; and whether made."""
    users = get_user_model().objects
    user = users.filter(username=username).first()
    if user is not None:
        return user, False
    return users.create_user(username=username, password=password), True


def make_account(*, username: str, password: str, shown_name: str = "") -> User:
    """A new account; the password was validated by the form. Raises LedgerError for a taken name.

    Names that differ only in case count as the same: people would take one for the other.
    """
    taken = LedgerError("That username is taken: choose another.", "username")
    if is_taken(username):
        raise taken
    try:
        with transaction.atomic():
            return get_user_model().objects.create_user(
                username=username, password=password, first_name=shown_name
            )
    except IntegrityError:
        raise taken from None


def save_account(*, user: User, shown_name: str, email: str) -> User:
    """Change the name that others see, and the e-mail address; an empty one is none."""
    user.first_name, user.email = shown_name, email
    user.save(update_fields=["first_name", "email"])
    return user


def set_password(*, user: User, password: str) -> User:
    """Give a user a new password, which ends the sessions opened with the old one.

    Failed attempts are forgotten: whoever had to set a new password should get in with it.
    """
    user.set_password(password)
    user.save(update_fields=["password"])
    forget_failures(username=user.get_username())
    return user


def reset_parts(user: User) -> dict[str, str]:
    """What the address of a reset link is made of.

    It works until it is used, the password changes, the user signs in, or its time
    (``PASSWORD_RESET_TIMEOUT``) is over: all of that is in the token, nothing is stored.
    """
    return {
        "uidb64": urlsafe_base64_encode(force_bytes(user.pk)),
        "token": reset_tokens.make_token(user),
    }
