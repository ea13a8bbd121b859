"""What is answered when something breaks: plain words where the cause is outside the program."""

import sys
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from ..services.outages import Outage, outage_of
from ..templatetags.form_tokens import NAME as TOKEN

_MARK = "csrfmiddlewaretoken"
# More than anybody types, and less than would make the page a burden to send.
_MOST = 1_000_000
_TITLES = {
    Outage.FULL: "The disk is full",
    Outage.READ_ONLY: "Nothing can be saved right now",
    Outage.BUSY: "Others were saving at that moment",
    Outage.AWAY: "The ledger does not answer right now",
}
_WHATS = {
    Outage.FULL: (
        "Tell whoever runs this service to make room on its disk. You can still read meanwhile."
    ),
    Outage.READ_ONLY: "The ledger can be read but not changed. Tell whoever runs this service.",
    Outage.BUSY: "Somebody's saving took so long that yours did not get its turn.",
    Outage.AWAY: (
        "Its database or disk does not answer. If that goes on, tell whoever runs this service."
    ),
}


def server_error(request: HttpRequest) -> HttpResponse:
    """The page for what broke. The database is not asked: it may be what is broken."""
    error = sys.exc_info()[1]
    outage = outage_of(error)
    if outage is None:
        # Rendered without the request: whose it is may be what is out of order.
        page = render_to_string("500.html", {"number": getattr(request, "request_id", "")})
        return HttpResponse(page, status=500)
    if outage is Outage.READ_ONLY and isinstance(error, OSError) and request.method == "GET":
        # A file that may not even be read.
        outage = Outage.AWAY
    context: dict[str, Any] = {
        "title": _TITLES[outage],
        "what": _WHATS[outage],
        "is_post": request.method == "POST",
        "again": request.get_full_path(),
        "number": getattr(request, "request_id", ""),
        "may_wait": outage is Outage.BUSY,
        # An answer that broke off may have broken off after the commit.
        "is_certain": outage is not Outage.AWAY,
    }
    answer = render(request, "outage.html", context | _typed(request), status=outage.status)
    answer["Retry-After"] = str(outage.seconds)
    answer["Cache-Control"] = "no-store"
    return answer


def _typed(request: HttpRequest) -> dict[str, Any]:
    """What was typed, to be sent again by a button; nothing where that would be wrong.

    Only what came from one of our own pages: a form that somebody else's page sent must not be
    one press away from being taken. A password is never written into a page.
    """
    nothing: dict[str, Any] = {"kept": []}
    if request.method != "POST" or not getattr(request, "csrf_processing_done", False):
        return nothing
    pairs = [(name, text) for name, texts in request.POST.lists() for text in texts]
    sent = [(name, text) for name, text in pairs if name != _MARK]
    if any("password" in name for name, _ in sent) or sum(len(t) for _, t in sent) > _MOST:
        return nothing
    return {
        "kept": sent,
        "typed": [(_words(name), text) for name, text in sent if _is_shown(name, text)],
        "files": [file.name for name in request.FILES for file in request.FILES.getlist(name)],
        "may_send": True,
        "is_marked": any(name == TOKEN for name, _ in sent),
    }


def _is_shown(name: str, text: str) -> bool:
    """Whether a person typed or chose it."""
    hidden = name in (TOKEN, "version") or name.endswith(("_FORMS", "-pk"))
    return bool(text.strip()) and not hidden


def _words(name: str) -> str:
    """A field's name as near to words as it comes."""
    return name.replace("_text", "").replace("_amount", "").replace("_", " ").replace("-", " ")
