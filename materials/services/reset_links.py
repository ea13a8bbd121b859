"""What the address of a link for a new password is made of."""

from django.contrib.auth.models import User
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from .clock import reset_tokens


def reset_parts(user: User) -> dict[str, str]:
    """What the address of a reset link is made of.

    It works until it is used, the password changes, the user signs in, or its time
    (``PASSWORD_RESET_TIMEOUT``) is over: all of that is in the token, nothing is stored.
    """
    return {
        "uidb64": urlsafe_base64_encode(force_bytes(user.pk)),
        "token": reset_tokens.make_token(user),
    }
