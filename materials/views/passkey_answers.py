"""What a browser is asked for with a passkey at sign-in, and what it answers.

The challenge stands in the session beside whose password was right. An answer uses it up, right
or wrong; the page that follows asks with another one.
"""

import json
from urllib.parse import urlsplit

from django.contrib.auth.models import User
from django.http import HttpRequest
from django.utils import timezone

from ..services.passkeys import Site, new_challenge, options_to_use, use_passkey
from .attempt_limits import address_of
from .places import place_of
from .sign_in import PENDING

# The field in which a script sends what the device answered.
PASSKEY = "passkey"
WRONG_PASSKEY = "This passkey was not accepted. Try again, or type a code."


def site_of(request: HttpRequest) -> Site:
    """What passkeys are bound to: the host and origin under which the page was asked for."""
    origin = f"{request.scheme}://{request.get_host()}"
    return Site(urlsplit(origin).hostname or "", origin)


def options_of(request: HttpRequest, user: User) -> str:
    """What the page hands to its script; "" where the account has no passkey."""
    challenge = request.session.get(PENDING, {}).get("challenge", "")
    found = options_to_use(user=user, site=site_of(request), challenge=challenge)
    return json.dumps(found) if found else ""


def is_answered(request: HttpRequest, user: User) -> bool:
    """Whether the browser answered with a passkey of the account's. Raises TooMany."""
    pending = request.session[PENDING]
    challenge = pending.get("challenge", "")
    request.session[PENDING] = pending | {"challenge": new_challenge()}
    return use_passkey(
        user=user,
        site=site_of(request),
        challenge=challenge,
        answer=request.POST.get(PASSKEY, ""),
        now=timezone.now(),
        address=address_of(request),
        place=place_of(request),
    )
