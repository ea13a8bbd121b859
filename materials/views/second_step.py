"""The second step of signing in: asking for it, turning it on and off, recovery codes."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from ..forms.second_step import CodeForm, PasswordAndCodeForm, TurnOnForm
from ..queries.account_log import count_recovery_codes, find_second_step, list_passkeys
from ..queries.accounts import find_active
from ..services.attempt_limits import TooMany
from ..services.errors import LedgerError
from ..services.one_time_codes import new_key, setup_address
from ..services.second_step import (
    WRONG_CODE,
    CodesRest,
    make_recovery_codes,
    try_code,
    turn_off,
    turn_on,
)
from ..services.sessions import end_other_sessions
from .accounts import WRONG_PASSWORDS, checked
from .attempt_limits import address_of, too_many
from .editing import posted
from .passkey_answers import PASSKEY, WRONG_PASSKEY, is_answered, options_of
from .places import place_of
from .sign_in import PENDING, PENDING_LASTS, finish_sign_in, is_known_device

WRONG_CODES = "Too many wrong codes."
CODES_REST = "Too many wrong codes. Recovery codes and passkeys still work: go back and use one."
_KEY_LASTS = timedelta(hours=1)


def pending_user(request: HttpRequest) -> User | None:
    """Whose password was right in this browser, ten minutes ago at most."""
    kept = request.session.get(PENDING) or {}
    age = timezone.now().timestamp() - kept.get("at", 0)
    user = find_active(kept.get("user"))
    if user is None or not 0 <= age < PENDING_LASTS.total_seconds():
        return None
    # Whoever sets a new password meanwhile ends this as well.
    is_same = constant_time_compare(user.get_session_auth_hash(), kept.get("hash", ""))
    return user if is_same else None


@sensitive_post_parameters("code")
@login_not_required
@never_cache
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step: a code."""
    user = pending_user(request)
    if user is None:
        if request.session.pop(PENDING, None) is not None:
            messages.error(request, "That took too long. Sign in again.")
        return redirect("sign_in")
    has_answer = request.method == "POST" and PASSKEY in request.POST
    form, fault = CodeForm(None if has_answer else posted(request)), ""
    try:
        if has_answer:
            if is_answered(request, user):
                return finish_sign_in(request, user)
            fault = WRONG_PASSKEY
        elif form.is_bound and form.is_valid():
            if _is_right(request, user, form.cleaned_data["code"]):
                return finish_sign_in(request, user)
            form.add_error("code", WRONG_CODE)
    except TooMany as error:
        return too_many(request, error.until, _said(error))
    context = {"form": form, "keeps_scripts": True, "fault": fault}
    context["passkey"] = options_of(request, user)
    return render(
        request,
        "accounts/sign_in_code.html",
        context,
        status=422 if form.is_bound or has_answer else 200,
    )


def _said(error: TooMany) -> str:
    return CODES_REST if isinstance(error, CodesRest) else WRONG_CODES


def _is_right(request: HttpRequest, user: Any, typed: str) -> bool:
    """Whether a typed code is right; it is used up. Raises TooMany."""
    return try_code(
        user=user,
        typed=typed,
        now=timezone.now(),
        address=address_of(request),
        is_known=is_known_device(request, user.get_username()),
        place=place_of(request),
    )


@never_cache
def second_step(request: HttpRequest) -> HttpResponse:
    """Whether it is on, and what can be done about it."""
    context = {
        "step": find_second_step(request.user),
        "codes_left": count_recovery_codes(request.user),
        "passkeys": list_passkeys(request.user),
    }
    return render(request, "accounts/second_step.html", context)


@sensitive_post_parameters("password", "code", "key")
@never_cache
def second_step_on(request: HttpRequest) -> HttpResponse:
    """A new key as QR code and text; a first code turns it on, and recovery codes are shown.

    Whoever else is signed in to the account is then out. No “no-referrer” on these pages: with it
    a browser sends the form as from nowhere, and is refused.
    """
    if find_second_step(request.user) is not None:
        messages.info(request, "The second step is on already.")
        return redirect("second_step")
    salt = f"materials.second step {request.user.pk}"
    key = _key_of(request.POST.get("key", ""), salt)

    def act(form: Any) -> HttpResponse:
        place = place_of(request)
        codes = turn_on(
            user=request.user,
            key=key,
            code=form.cleaned_data["code"],
            now=timezone.now(),
            place=place,
        )
        end_other_sessions(user=request.user, this=request.session.session_key, place=place)
        return _show_codes(request, codes)

    address = setup_address(key, request.user.get_username())
    spaced = " ".join(key[at : at + 4] for at in range(0, len(key), 4))
    context = {"address": address, "spaced": spaced, "kept": signing.dumps(key, salt=salt)}
    return confirm(request, TurnOnForm, "accounts/second_step_on.html", context, act=act)


def _key_of(kept: str, salt: str) -> str:
    """The key that the form was shown with; a new one where it is not ours or too old.

    It goes along in the form, signed: nothing is stored before it is turned on.
    """
    try:
        key: str = signing.loads(kept, salt=salt, max_age=_KEY_LASTS)
    except signing.BadSignature:
        return new_key()
    return key


@sensitive_post_parameters("password", "code")
@never_cache
def recovery_codes(request: HttpRequest) -> HttpResponse:
    """New recovery codes in place of the old ones."""
    if find_second_step(request.user) is None:
        return redirect("second_step")

    def act(form: Any) -> HttpResponse:
        require_code(request, form)
        codes = make_recovery_codes(user=request.user, place=place_of(request))
        return _show_codes(request, codes)

    context = {
        "title": "New recovery codes",
        "intro": "You get ten new codes. The old ones no longer work.",
        "submit_label": "Make new codes",
        "cancel_url": reverse("second_step"),
    }
    return confirm(request, PasswordAndCodeForm, "page_form.html", context, act=act)


@sensitive_post_parameters("password", "code")
@never_cache
def second_step_off(request: HttpRequest) -> HttpResponse:
    """Ask for no code any more; takes the password and a code."""
    if find_second_step(request.user) is None:
        return redirect("second_step")

    def act(form: Any) -> HttpResponse:
        require_code(request, form)
        turn_off(user=request.user, place=place_of(request))
        messages.success(request, "The second step is off.")
        return redirect("second_step")

    context = {
        "title": "Turn off the second step",
        "intro": "Then your password alone signs you in. Your recovery codes and passkeys go.",
        "submit_label": "Turn off",
        "cancel_url": reverse("second_step"),
    }
    return confirm(request, PasswordAndCodeForm, "page_form.html", context, act=act)


def require_code(request: HttpRequest, form: Any) -> None:
    """Raises LedgerError for a wrong code, TooMany for too many of them."""
    if not _is_right(request, request.user, form.cleaned_data["code"]):
        raise LedgerError(WRONG_CODE, "code")


def confirm(
    request: HttpRequest,
    form_class: Any,
    template: str,
    context: dict[str, Any],
    *,
    act: Callable[[Any], HttpResponse],
) -> HttpResponse:
    """Ask for password and code, then answer with what ``act`` returns."""
    form = form_class(posted(request), user=request.user)
    try:
        if checked(request, form, "password"):
            try:
                return act(form)
            except LedgerError as error:
                form.add_refusal(str(error), error.field)
    except TooMany as error:
        wrong = WRONG_PASSWORDS if form.errors or not form.is_valid() else _said(error)
        return too_many(request, error.until, wrong)
    status = 422 if form.is_bound else 200
    return render(request, template, context | {"form": form}, status=status)


def _show_codes(request: HttpRequest, codes: list[str]) -> HttpResponse:
    """Codes are shown this once."""
    return render(request, "accounts/recovery_codes.html", {"codes": codes})
