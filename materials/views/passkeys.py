"""Adding passkeys to an account, and removing them."""

import json
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from ..forms.second_step import NewPasskeyForm, PasswordAgainForm
from ..queries.account_log import find_passkey, find_second_step
from ..services.errors import LedgerError
from ..services.passkeys import add_passkey, new_challenge, options_to_add, remove_passkey
from .passkey_answers import PASSKEY, site_of
from .places import place_of
from .second_step import confirm, require_code

# What the session keeps between the password and what the device made, and for how long.
_MAKING = "new passkey"
_LASTS = timedelta(minutes=5)


@sensitive_post_parameters("password", "code")
@never_cache
def passkey_add(request: HttpRequest) -> HttpResponse:
    """Ask for password, code and a name; then have the browser make the passkey, and keep it."""
    if find_second_step(request.user) is None:
        messages.info(request, "Turn on the second step first. Then add a passkey.")
        return redirect("second_step")
    if request.method == "POST" and PASSKEY in request.POST:
        return _keep(request)

    def act(form: Any) -> HttpResponse:
        require_code(request, form)
        challenge, name = new_challenge(), form.cleaned_data["name"]
        at = timezone.now().timestamp()
        request.session[_MAKING] = {"challenge": challenge, "name": name, "at": at}
        by = {"user": request.user, "site": site_of(request), "challenge": challenge}
        context = {"name": name, "passkey": json.dumps(options_to_add(**by))}
        return render(request, "accounts/passkey_make.html", context)

    context = {
        "title": "Add passkey",
        "intro": "A fingerprint, face or security key then stands in for the code.",
        "submit_label": "Next",
        "cancel_url": reverse("second_step"),
    }
    return confirm(request, NewPasskeyForm, "page_form.html", context, act=act)


def _keep(request: HttpRequest) -> HttpResponse:
    """Add what the browser made, if the password was asked for a short while ago."""
    making = request.session.pop(_MAKING, None) or {}
    age = timezone.now().timestamp() - making.get("at", 0)
    if not 0 <= age < _LASTS.total_seconds():
        messages.error(request, "That took too long. Start again.")
        return redirect("passkey_add")
    try:
        passkey = add_passkey(
            user=request.user,
            site=site_of(request),
            challenge=making["challenge"],
            answer=request.POST[PASSKEY],
            name=making["name"],
            now=timezone.now(),
            place=place_of(request),
        )
    except LedgerError as error:
        messages.error(request, str(error))
        return redirect("passkey_add")
    messages.success(request, f"Passkey “{passkey}” is added.")
    return redirect("second_step")


@sensitive_post_parameters("password")
@never_cache
def passkey_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for the password, then take a passkey off."""
    passkey = find_passkey(request.user, pk)
    if passkey is None:
        messages.info(request, "That passkey is gone already.")
        return redirect("second_step")

    def act(form: Any) -> HttpResponse:
        remove_passkey(user=request.user, passkey=passkey, place=place_of(request))
        messages.success(request, f"Passkey “{passkey}” is removed.")
        return redirect("second_step")

    context = {
        "title": f"Remove passkey “{passkey}”",
        "intro": "It no longer signs you in. Codes go on working.",
        "submit_label": "Remove passkey",
        "cancel_url": reverse("second_step"),
    }
    return confirm(request, PasswordAgainForm, "page_form.html", context, act=act)
