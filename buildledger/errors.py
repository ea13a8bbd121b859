"""The pages for what cannot be answered, and the number under which that stands in the log.

None of them reads what was sent: that it cannot be read may be the fault itself, and whoever asks
for it again gets the same fault again. Django's own pages do, for a token they don't need. The
first is rendered without the request as well: neither a person, a session nor the database is
asked. ``materials.views.outages`` has the page of our own faults.
"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

FOREIGN = (
    "It does not say that it is UTF-8, the only charset that is read here. Nothing was saved."
    " Send it again as UTF-8."
)


def not_understood(
    request: HttpRequest, exception: Exception | None = None, *, status: int = 400, what: str = ""
) -> HttpResponse:
    """400: an unknown host, an unreadable form. 415: in a charset that is not read."""
    number = getattr(request, "request_id", "")
    page = render_to_string("400.html", {"number": number, "what": what})
    return HttpResponse(page, status=status)


def not_in_utf_8(request: HttpRequest) -> HttpResponse:
    """415, for what ``requests.Request`` noted."""
    return not_understood(request, status=415, what=FOREIGN)


def refused(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403: not theirs to do."""
    return render(request, "403.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404, for what is not there and for what nobody may know of."""
    return render(request, "404.html", status=404)


def nothing_to_open(request: HttpRequest) -> HttpResponse:
    """405, for an address that only takes what a page sends."""
    return render(request, "405.html", status=405)
