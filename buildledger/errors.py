"""Pages for what could not be answered, with the number under which it stands in the log.

They are rendered without the request: neither a person, a session nor the database is asked,
for any of these may be what is out of order.
"""

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token


def _page(request: HttpRequest, template: str, status: int) -> HttpResponse:
    number = getattr(request, "request_id", "")
    return HttpResponse(render_to_string(template, {"number": number}), status=status)


@requires_csrf_token
def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400: an unknown host, an unreadable form."""
    return _page(request, "400.html", 400)


@requires_csrf_token
def went_wrong(request: HttpRequest) -> HttpResponse:
    """500: the fault is ours."""
    return _page(request, "500.html", 500)
