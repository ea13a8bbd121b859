"""Signing in: password, second step where the account asks for one, and what is counted.

Wrong passwords are counted by django-axes for name and address together, and here for the
address alone, so that nobody tries one password on every name. A browser that was in before
carries a mark and passes the second count: many people may share an address with one who guesses.
"""

from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.models import User
from django.contrib.auth.views import LoginView, redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from ..choices import AccountEvents
from ..forms.accounts import SignInForm
from ..queries.account_log import find_second_step
from ..queries.accounts import find_user
from ..services.account_log import note_event
from ..services.attempt_limits import SIGN_INS, TooMany, count_attempt, forget_attempt
from ..services.passkeys import new_challenge
from .attempt_limits import address_of, too_many
from .places import place_of

_BACKEND = "django.contrib.auth.backends.ModelBackend"
_SALT = "materials.known device"
_MARK_LASTS = timedelta(days=180)
# Where the session keeps whose password was right, until the second step; and for how long.
PENDING = "second step"
PENDING_LASTS = timedelta(minutes=10)


def _mark() -> str:
    return "__Host-known" if settings.HTTPS else "known"


class LeadToSignIn(LoginRequiredMiddleware):
    """Who is signed out signs in first, and reads that what they sent was not saved.

    Then they come to the page that it was sent from: some addresses only take what is sent.
    """

    def handle_no_permission(self, request: HttpRequest, view_func: Any) -> HttpResponse:
        """What leads to the sign-in."""
        if request.method in ("GET", "HEAD") or request.headers.get("HX-Request"):
            return super().handle_no_permission(request, view_func)
        messages.warning(
            request,
            "You were signed out, so nothing was saved. Sign in, then go back to what you typed "
            "and save it again.",
        )
        return redirect_to_login(_sent_from(request))


def _sent_from(request: HttpRequest) -> str:
    """The page of ours that a form was on, as the browser says; else where it was sent to."""
    page = request.headers.get("Referer", "")
    host = request.get_host()
    is_ours = url_has_allowed_host_and_scheme(page, {host}, require_https=request.is_secure())
    parts = urlsplit(page)
    if not is_ours or not parts.netloc:
        return request.get_full_path()
    return f"{parts.path}?{parts.query}" if parts.query else parts.path or "/"


def open_session(request: HttpRequest, user: User) -> None:
    """Sign a user in, and tell the session and the account's log from where."""
    login(request, user, backend=_BACKEND)
    place = place_of(request)
    request.session.begin(device=place.device, address=place.address)
    note_event(user=user, what=AccountEvents.SIGNED_IN, place=place)


def remember_device(answer: HttpResponse, user: User) -> None:
    """Give a browser the mark of who was in with it; it opens nothing."""
    answer.set_signed_cookie(
        _mark(),
        str(user.pk),
        salt=_SALT,
        max_age=_MARK_LASTS,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )


def is_known_device(request: HttpRequest, username: str) -> bool:
    """Whether this browser was in with the account of this name before."""
    marked = request.get_signed_cookie(_mark(), default="", salt=_SALT, max_age=_MARK_LASTS)
    if not marked:
        return False
    user = find_user(username)
    return user is not None and str(user.pk) == marked


def finish_sign_in(request: HttpRequest, user: User, then: str = "") -> HttpResponse:
    """Open the session and lead on: to ``then``, or to where the first step was to lead."""
    pending = request.session.pop(PENDING, None) or {}
    open_session(request, user)
    answer = HttpResponseRedirect(then or pending.get("then") or reverse("builds"))
    remember_device(answer, user)
    return answer


class SignIn(LoginView):
    """Name and password."""

    template_name = "sign_in.html"
    authentication_form = SignInForm
    counted: Any = None

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        # Counted before it is tried: of many at once none is tried too many.
        if not is_known_device(request, request.POST.get("username", "")[:150]):
            try:
                self.counted = count_attempt(
                    limit=SIGN_INS, who=address_of(request), at=timezone.now()
                )
            except TooMany as error:
                return too_many(request, error.until, "Too many wrong passwords from your network.")
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: Any) -> HttpResponse:
        self._uncount()
        user = form.get_user()
        if find_second_step(user) is not None:
            return self._ask_for_second_step(user)
        return finish_sign_in(self.request, user, then=self.get_success_url())

    def _ask_for_second_step(self, user: User) -> HttpResponse:
        session = self.request.session
        # Nobody who knew the key of this session before knows it from here on.
        session.cycle_key()
        session[PENDING] = {
            "user": user.pk,
            "hash": user.get_session_auth_hash(),
            "at": timezone.now().timestamp(),
            "then": self.get_success_url(),
            "challenge": new_challenge(),
        }
        return HttpResponseRedirect(reverse("sign_in_code"))

    def form_invalid(self, form: Any) -> HttpResponse:
        # A box left empty tried nothing; nor does a name that is locked already.
        if not form.non_field_errors() or getattr(self.request, "axes_locked_out", False):
            self._uncount()
        return super().form_invalid(form)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        more = {"keeps_scripts": True, "can_sign_up": settings.SIGN_UP}
        return super().get_context_data(**kwargs) | more

    def _uncount(self) -> None:
        if self.counted is not None:
            forget_attempt(self.counted)
            self.counted = None
