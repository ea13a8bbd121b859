"""Taking along all that is tied to one's account, and deleting it."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from ..exchange.account_file import write_account
from ..forms.second_step import PasswordAgainForm, PasswordAndCodeForm
from ..models import Build
from ..queries.account_log import find_second_step
from ..queries.accounts import FORMER
from ..queries.members import list_memberships, list_only_owned
from ..queries.own_data import stamp_of_own
from ..services.leaving import OnlyOwner, delete_account
from .files import ZIP, plain_name
from .long_work import long_file
from .places import place_of
from .second_step import confirm, require_code


@never_cache
def account_export(request: HttpRequest) -> HttpResponse:
    """Profile, memberships, sessions, log, entries and photos of the account as one file."""
    user = request.user
    name = plain_name(user.get_username()) or "account"
    return long_file(
        request,
        None,
        lambda stream, tell: write_account(user, stream, tell),
        kind="account",
        name=f"{name}, {timezone.localdate()}.zip",
        content_type=ZIP,
        title="Export account",
        steps="Parts written",
        stamp=stamp_of_own(user),
    )


@sensitive_post_parameters("password", "code")
@never_cache
def account_delete(request: HttpRequest) -> HttpResponse:
    """Say what goes and what stays, ask for password and code, and delete the account.

    Where builds would be left without an owner, name them instead.
    """
    only_owned = list_only_owned(request.user)
    if only_owned:
        return _owner_stays(request, only_owned)
    has_step = find_second_step(request.user) is not None

    def act(form: Any) -> HttpResponse:
        if has_step:
            require_code(request, form)
        try:
            delete_account(user=request.user, now=timezone.now(), place=place_of(request))
        except OnlyOwner:
            # Another owner left in this very moment.
            return _owner_stays(request, list_only_owned(request.user))
        logout(request)
        messages.success(request, "Your account is deleted.")
        return redirect("sign_in")

    named = [row for row in list_memberships(request.user) if row.person is not None]
    context = {
        "named": named,
        "builds": list_memberships(request.user),
        "called": f"{FORMER}{request.user.pk}",
    }
    form_class = PasswordAndCodeForm if has_step else PasswordAgainForm
    return confirm(request, form_class, "accounts/delete.html", context, act=act)


def _owner_stays(request: HttpRequest, builds: list[Build]) -> HttpResponse:
    status = 422 if request.method == "POST" else 200
    return render(request, "accounts/delete_refused.html", {"builds": builds}, status=status)
