"""Accounts made by commands."""

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser


def ensure_user(*, username: str, password: str) -> tuple[AbstractBaseUser, bool]:
    """The user of this name, made with the password when there is none yet; and whether made."""
    users = get_user_model().objects
    user = users.filter(username=username).first()
    if user is not None:
        return user, False
    return users.create_user(username=username, password=password), True
