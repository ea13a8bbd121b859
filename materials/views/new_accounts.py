"""Making an account: the first one by the address that “serve” printed, or by open sign-up.

As with an invitation, the secret stands in one address only, which shows no page: the session
keeps its digest, and only sending the form uses it up.
"""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_safe

from ..forms.accounts import NewAccountForm
from ..queries.accounts import is_way_open
from ..services.accounts import make_account
from ..services.attempt_limits import (
    NEW_ACCOUNTS,
    UNKNOWN_LINKS,
    TooMany,
    check_limit,
    count_attempt,
)
from ..services.errors import LedgerError
from ..services.first_account import NoWay, make_first_account
from ..services.invitations import digest_of
from .attempt_limits import address_of, too_many
from .editing import posted
from .sign_in import open_session

_KEPT = "first account"


def account_page(
    request: HttpRequest,
    *,
    make: Callable[..., User],
    then: str,
    intro: str,
    cancel_url: str = "",
    welcome: str = "",
) -> HttpResponse:
    """The form of a new account; made by ``make``, it is signed in and led to the route ``then``.

    What ``make`` raises besides LedgerError goes on to whoever called.
    """
    form = NewAccountForm(posted(request))
    if form.is_bound and form.is_valid():
        try:
            count_attempt(limit=NEW_ACCOUNTS, who=address_of(request), at=timezone.now())
            user = make(**form.cleaned_data)
        except TooMany as error:
            return too_many(request, error.until, "Too many accounts were made from here.")
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
        else:
            open_session(request, user)
            if welcome:
                messages.success(request, welcome)
            return redirect(then)
    context = {
        "form": form,
        "title": "Create account",
        "intro": intro,
        "submit_label": "Create account",
        "cancel_url": cancel_url,
    }
    return render(request, "page_form.html", context, status=422 if form.is_bound else 200)


@login_not_required
@never_cache
@require_safe
def first_link(request: HttpRequest, secret: str) -> HttpResponse:
    """The address that was printed; it leads on to one without the secret."""
    now, who = timezone.now(), address_of(request)
    digest = digest_of(secret)
    try:
        check_limit(limit=UNKNOWN_LINKS, who=who, at=now)
        if not is_way_open(digest):
            count_attempt(limit=UNKNOWN_LINKS, who=who, at=now)
            return _no_way(request)
    except TooMany as error:
        return too_many(request, error.until, "Too many broken links were opened from here.")
    request.session[_KEPT] = digest
    answer = redirect("first_account")
    answer["Referrer-Policy"] = "no-referrer"
    return answer


@sensitive_post_parameters("password")
@login_not_required
@never_cache
def first_account(request: HttpRequest) -> HttpResponse:
    """Create the first account, which then starts the first build and owns it."""
    digest = request.session.get(_KEPT, "")
    if not is_way_open(digest):
        return _no_way(request)

    def make(**typed: Any) -> User:
        return make_first_account(digest=digest, **typed)

    try:
        return account_page(
            request,
            make=make,
            then="build_add",
            intro="This is the first account here. Next you start the first build and own it.",
            welcome="Your account is ready. Start your first build. Then invite others from its"
            " members page.",
        )
    except NoWay:
        return _no_way(request)


def _no_way(request: HttpRequest) -> HttpResponse:
    """Unknown, used, replaced or too late: the same page, which tells none from another."""
    request.session.pop(_KEPT, None)
    return render(request, "accounts/no_first.html", status=404)


@sensitive_post_parameters("password")
@login_not_required
@never_cache
def sign_up(request: HttpRequest) -> HttpResponse:
    """Create an account without an invitation, where the operator lets anybody do so."""
    if not settings.SIGN_UP:
        raise Http404
    if request.user.is_authenticated:
        return redirect("builds")
    return account_page(
        request,
        make=make_account,
        then="builds",
        intro="Anyone can make an account here. Nobody sees a build until its owner invites them.",
        cancel_url=reverse("sign_in"),
    )
