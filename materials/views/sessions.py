"""Where an account is signed in, and its own log."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache

from ..queries.account_log import list_events, list_sessions
from ..services.sessions import end_other_sessions, end_session
from .places import place_of

PER_PAGE = 50


@never_cache
def sessions(request: HttpRequest) -> HttpResponse:
    """The sessions that are open; a button ends one, another all but this one."""
    this = request.session.session_key
    if request.method == "POST":
        by = {"user": request.user, "this": this, "place": place_of(request)}
        if "others" in request.POST:
            count = end_other_sessions(**by)
            messages.success(request, _ended(count))
        elif end_session(mark=request.POST.get("end", ""), **by):
            messages.success(request, "Signed out there.")
        else:
            messages.info(request, "That session had ended already.")
        return redirect("sessions")
    rows = list_sessions(request.user, this, timezone.now())
    return render(request, "accounts/sessions.html", {"rows": rows})


def _ended(count: int) -> str:
    if not count:
        return "You are signed in here only."
    return f"Signed out of {count} other session{'s' if count > 1 else ''}."


@never_cache
def account_log(request: HttpRequest) -> HttpResponse:
    """What happened to the account, the newest first."""
    rows = Paginator(list_events(request.user), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "accounts/log.html", {"rows": rows})
