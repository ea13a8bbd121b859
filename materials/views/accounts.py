"""One's own account: name, e-mail, password, memberships; and a forgotten password."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import PasswordResetConfirmView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse, reverse_lazy
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from ..forms.accounts import AccountForm, ForgottenForm, NewPasswordForm, PasswordForm
from ..queries.account_log import find_second_step
from ..queries.members import list_memberships
from ..services.accounts import save_account, set_password
from ..services.attempt_limits import (
    PASSWORDS,
    RESETS,
    TooMany,
    check_limit,
    count_attempt,
    forget_attempts,
)
from ..services.clock import reset_tokens
from ..services.mail import send_reset_link
from .attempt_limits import address_of, too_many
from .editing import posted
from .places import place_of

WRONG_PASSWORDS = "Too many wrong passwords. This account cannot be changed for a while."


@sensitive_post_parameters("password")
def account(request: HttpRequest) -> HttpResponse:
    """Name, e-mail and memberships."""
    form = AccountForm(posted(request), user=request.user)
    try:
        is_valid = checked(request, form, "password")
    except TooMany as error:
        return too_many(request, error.until, WRONG_PASSWORDS)
    if is_valid:
        data = form.cleaned_data
        save_account(
            user=request.user,
            shown_name=data["shown_name"],
            email=data["email"],
            place=place_of(request),
        )
        messages.success(request, "Saved.")
        return redirect("account")
    context = {"form": form, "members": list_memberships(request.user)}
    context["step"] = find_second_step(request.user)
    return render(request, "accounts/account.html", context, status=422 if form.is_bound else 200)


@sensitive_post_parameters()
def password_change(request: HttpRequest) -> HttpResponse:
    """A new password: this session stays, all others end."""
    form = PasswordForm(request.user, posted(request))
    try:
        is_valid = checked(request, form, "old_password")
    except TooMany as error:
        return too_many(request, error.until, WRONG_PASSWORDS)
    if is_valid:
        password = form.cleaned_data["new_password1"]
        set_password(user=request.user, password=password, place=place_of(request))
        update_session_auth_hash(request, request.user)
        messages.success(request, "Your password is changed. You are signed out everywhere else.")
        return redirect("account")
    context = {
        "form": form,
        "title": "Change password",
        "intro": "You stay signed in here. Everywhere else you will be signed out.",
        "cancel_url": reverse("account"),
    }
    return render(request, "page_form.html", context, status=422 if form.is_bound else 200)


def checked(request: HttpRequest, form: Any, field: str) -> bool:
    """Whether the form is good; a wrong password in it counts. Raises TooMany.

    Otherwise whoever finds an open session could try passwords for as long as it lasts.
    """
    if request.method != "POST":
        return False
    limit = {"limit": PASSWORDS, "who": f"user {request.user.pk}"}
    now = timezone.now()
    check_limit(**limit, at=now)
    is_valid = form.is_valid()
    if field in form.errors and form.data.get(field):
        count_attempt(**limit, at=now)
    elif is_valid and form.data.get(field):
        forget_attempts(**limit)
    return is_valid


@login_not_required
@never_cache
def password_forgotten(request: HttpRequest) -> HttpResponse:
    """Ask for a link by e-mail; the answer is the same whether there is such an account."""
    if not settings.CAN_SEND_MAIL:
        return render(request, "accounts/forgotten.html", {"can_send": False})
    form = ForgottenForm(posted(request))
    if request.method == "POST" and form.is_valid():
        try:
            count_attempt(limit=RESETS, who=address_of(request), at=timezone.now())
        except TooMany as error:
            return too_many(request, error.until, "Too many links were requested from here.")
        send_reset_link(
            email=form.cleaned_data["email"],
            address_of=lambda parts: request.build_absolute_uri(
                reverse("password_new", kwargs=parts)
            ),
        )
        return render(request, "accounts/forgotten.html", {"can_send": True, "sent": True})
    context = {"can_send": True, "form": form}
    return render(request, "accounts/forgotten.html", context, status=422 if form.is_bound else 200)


class NewPassword(PasswordResetConfirmView):
    """Sets a new password for whoever came by a reset link, once."""

    form_class = NewPasswordForm
    token_generator = reset_tokens
    template_name = "accounts/new_password.html"
    success_url = reverse_lazy("sign_in")

    def form_valid(self, form: Any) -> HttpResponse:
        password = form.cleaned_data["new_password1"]
        set_password(user=self.user, password=password, place=place_of(self.request))
        self.request.session.pop("_password_reset_token", None)
        messages.success(self.request, "Your new password is set. Sign in with it.")
        return redirect(self.get_success_url())

    def render_to_response(self, context: dict[str, Any], **kwargs: Any) -> HttpResponse:
        if not context["validlink"]:
            kwargs["status"] = 404
        elif context["form"].is_bound:
            kwargs["status"] = 422
        return super().render_to_response(context, **kwargs)
