"""Accounts: making them, changing them, and passwords."""

from axes.utils import reset as forget_failures
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from ..choices import AccountEvents
from ..queries.accounts import is_taken
from .account_log import NOWHERE, Place, note_event
from .errors import LedgerError
from .second_step import forget_guesses


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


def save_account(*, user: User, shown_name: str, email: str, place: Place = NOWHERE) -> User:
    """Change the name that others see, and the e-mail address; an empty one is none.

    Of another e-mail the log tells, and a mail to the one of before and the new one.
    """
    was = user.email
    user.first_name, user.email = shown_name, email
    user.save(update_fields=["first_name", "email"])
    if was != email:
        note_event(user=user, what=AccountEvents.EMAIL, place=place, also_to=was)
    return user


def set_password(*, user: User, password: str, place: Place = NOWHERE) -> User:
    """Give a user a new password, which ends the sessions opened with the old one.

    Failed attempts are forgotten: whoever had to set a new password should get in with it.
    """
    user.set_password(password)
    user.save(update_fields=["password"])
    forget_failures(username=user.get_username())
    forget_guesses(user)
    note_event(user=user, what=AccountEvents.PASSWORD, place=place)
    return user
