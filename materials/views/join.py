"""Coming in by an invitation.

The secret of a link stands in one address only, which shows no page: it hands over to one
without it, so that it is in no referrer, no form and no page. What the session keeps is its
digest. Only sending the form uses an invitation up; looking at it, as a preview does, never.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_safe

from ..forms.members import PersonForm
from ..models import Invitation
from ..queries.members import find_invitation, membership_of
from ..services import invitations
from ..services.accounts import make_account
from ..services.attempt_limits import (
    UNKNOWN_LINKS,
    TooMany,
    check_limit,
    count_attempt,
)
from ..services.errors import LedgerError
from .attempt_limits import address_of, too_many
from .editing import posted
from .new_accounts import account_page

_KEPT = "invitation"


def no_invitation(request: HttpRequest) -> HttpResponse:
    """Unknown, used, expired or revoked: the same page, which tells none from another."""
    request.session.pop(_KEPT, None)
    return render(request, "join/none.html", status=404)


@login_not_required
@never_cache
@require_safe
def join_link(request: HttpRequest, secret: str) -> HttpResponse:
    """The address of the link itself."""
    now, who = timezone.now(), address_of(request)
    digest = invitations.digest_of(secret)
    try:
        check_limit(limit=UNKNOWN_LINKS, who=who, at=now)
        if find_invitation(digest, now) is None:
            count_attempt(limit=UNKNOWN_LINKS, who=who, at=now)
            return no_invitation(request)
    except TooMany as error:
        sentence = "Too many broken links were opened from here."
        return too_many(request, error.until, sentence)
    request.session[_KEPT] = digest
    answer = redirect("join")
    answer["Referrer-Policy"] = "no-referrer"
    return answer


def invited(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Hand a view the invitation that the session came with, or say that there is none."""

    @login_not_required
    @never_cache
    @wraps(view)
    def wrapped(request: HttpRequest) -> HttpResponse:
        found = find_invitation(request.session.get(_KEPT, ""), timezone.now())
        return no_invitation(request) if found is None else view(request, found)

    return wrapped


@invited
def join(request: HttpRequest, invitation: Invitation) -> HttpResponse:
    """What one is invited to; signed in, with the button that joins."""
    if not request.user.is_authenticated:
        return _page(request, "join/welcome.html", invitation)
    if membership_of(invitation.build, request.user) is not None:
        return _page(request, "join/member.html", invitation)
    form = PersonForm(
        posted(request),
        build=invitation.build,
        role=invitation.role,
        shown=request.user.first_name or request.user.get_username(),
    )
    if form.is_bound and form.is_valid():
        try:
            invitations.join(
                actor=request.user,
                digest=invitation.digest,
                now=timezone.now(),
                **form.choice(),
            )
        except invitations.NoInvitation:
            return no_invitation(request)
        except invitations.MemberAlready:
            return _page(request, "join/member.html", invitation)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
        else:
            request.session.pop(_KEPT, None)
            messages.success(request, f"Welcome: you have joined {invitation.build}.")
            return redirect("home", invitation.build_id)
    status = 422 if form.is_bound else 200
    return _page(request, "join/join.html", invitation, status=status, form=form)


@sensitive_post_parameters("password")
@invited
def join_account(request: HttpRequest, invitation: Invitation) -> HttpResponse:
    """Create account; nobody can without an invitation."""
    if request.user.is_authenticated:
        return redirect("join")
    return account_page(
        request,
        make=make_account,
        then="join",
        intro=f"Then you can join {invitation.build}.",
        cancel_url=reverse("join"),
    )


def _page(
    request: HttpRequest, template: str, invitation: Invitation, status: int = 200, **context: Any
) -> HttpResponse:
    """A page that names the build without showing the way into it."""
    context |= {"invitation": invitation, "sign_in_url": f"{reverse('sign_in')}?next=/join/"}
    return render(request, template, context, status=status)
