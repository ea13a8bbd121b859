"""Reading accounts."""

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User

from ..models import Attempt

# What a row of Attempt is called that keeps the digest of the secret for the first account.
FIRST = "first account"


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
    """Whether anybody has an account here."""
    return get_user_model().objects.exists()


def is_way_open(digest: str) -> bool:
    """Whether this is the digest of the secret that still makes the first account."""
    return not has_accounts() and Attempt.objects.filter(what=FIRST, who=digest).exists()
