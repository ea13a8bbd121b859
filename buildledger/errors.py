"""The page for what could not be understood, with the number under which it stands in the log.

It is rendered without the request: neither a person, a session nor the database is asked, for
any of these may be what is out of order. ``materials.views.outages`` has that of our own faults.
"""

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token


@requires_csrf_token
def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400: an unknown host, an unreadable form."""
    number = getattr(request, "request_id", "")
    return HttpResponse(render_to_string("400.html", {"number": number}), status=400)
