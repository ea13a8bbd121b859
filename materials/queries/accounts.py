"""Reading accounts."""

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User


def is_taken(username: str) -> bool:
    """Whether an account has this name, in whatever case."""
    return get_user_model().objects.filter(username__iexact=username).exists()


def find_user(username: str) -> User | None:
    """The account of exactly this name."""
    return get_user_model().objects.filter(username=username).first()
