"""Reading accounts."""

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User

from ..models import Attempt

# What a row of Attempt is called that keeps the digest of the secret for the first account.
FIRST = "first account"
# How a deleted account is called, before its key. No username that can be chosen holds a space.
FORMER = "former member "


def is_taken(username: str) -> bool:
    """Whether an account has this name, in whatever case."""
    return get_user_model().objects.filter(username__iexact=username).exists()


def find_user(username: str) -> User | None:
    """The account of exactly this name."""
    return get_user_model().objects.filter(username=username).first()


def find_active(pk: int | None) -> User | None:
    """The account of a key, unless it is switched off."""
    if pk is None:
        return None
    return get_user_model().objects.filter(pk=pk, is_active=True).first()


def has_accounts() -> bool:
    """Whether anybody has an account here; deleted ones are nobody's."""
    return get_user_model().objects.exclude(username__startswith=FORMER).exists()


def is_former(pk: str) -> bool:
    """Whether the account of a key, as a device says it, was deleted."""
    if not (pk.isascii() and pk.isdigit() and len(pk) < 19):
        return False
    return get_user_model().objects.filter(pk=pk, username=f"{FORMER}{pk}").exists()


def is_way_open(digest: str) -> bool:
    """Whether this is the digest of the secret that still makes the first account."""
    return not has_accounts() and Attempt.objects.filter(what=FIRST, who=digest).exists()
