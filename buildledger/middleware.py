"""Response headers that every page gets, and requests that are refused before all else."""

from collections.abc import Callable

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse

POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
# More than any disk holds, and short enough to be read as a number.
MOST_DIGITS = 18


def content_length(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Answer 400 where the stated length of a body is no number.

    Not every server looks, and Django itself would fall over it as soon as the body is read.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        told = request.META.get("CONTENT_LENGTH") or "0"
        if not (told.isascii() and told.isdigit() and len(told) <= MOST_DIGITS):
            raise BadRequest("The length of what was sent is not a number.")
        return get_response(request)

    return middleware


def content_security_policy(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Allow the app's own files only: no inline script or style, no other host."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response

    return middleware
