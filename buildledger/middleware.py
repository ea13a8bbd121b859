"""What every answer gets, whatever made it: headers, a number, and a line in the log.

Both stand outside all other middleware, so that redirects, refusals, errors, downloads and
static files pass them too. A view that needs a tighter policy sets the header itself: it is left.
"""

import logging
import re
import secrets
import time
from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.middleware.gzip import GZipMiddleware
from django.urls import reverse

from .errors import not_in_utf_8, nothing_to_open
from .logs import this_request

Handler = Callable[[HttpRequest], HttpResponse]

POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
# Nothing of the machine is asked for; a photo comes through the file chooser, which needs no leave.
NO_DEVICES = ", ".join(
    f"{name}=()"
    for name in (
        "accelerometer",
        "camera",
        "display-capture",
        "geolocation",
        "gyroscope",
        "magnetometer",
        "microphone",
        "midi",
        "payment",
        "usb",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": NO_DEVICES,
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # No cache between here and the browser keeps a page, and the browser asks each time. Not
    # “no-store”: with it, Back would bring an empty form instead of what was typed.
    "Cache-Control": "private, no-cache",
}
# What is carried off is kept nowhere else on the way.
FILES_ARE = "private, no-store"
# What a proxy calls a request, as far as it is taken on.
_NUMBER = re.compile(r"[A-Za-z0-9-]{8,64}")

# Digits of a body's length: more than any disk holds, and short enough to be read as a number.
MOST_DIGITS = 18

log = logging.getLogger("buildledger.requests")


def understood(get_response: Handler) -> Handler:
    """Answer 400 where the stated length of a body is no number, 415 where it is not UTF-8.

    Not every server looks, and Django itself would fall over it as soon as the body is read.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        if getattr(request, "is_foreign", False) and request.method not in ("GET", "HEAD"):
            return not_in_utf_8(request)
        header = request.META.get("CONTENT_LENGTH") or "0"
        if not (header.isascii() and header.isdigit() and len(header) <= MOST_DIGITS):
            raise BadRequest("The length of what was sent is not a number.")
        return get_response(request)

    return middleware


def only_sent(get_response: Handler) -> Handler:
    """Give a page to who opens an address that only takes what a page sends: Django's is empty."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code != 405 or request.method != "GET":
            return response
        page = nothing_to_open(request)
        page.headers["Allow"] = response.headers["Allow"]
        return page

    return middleware


class PackedPages(GZipMiddleware):
    """Pages go packed, for a phone with a weak signal; files of all kinds as they are.

    The length of a packed page could tell a secret that stands on every page (BREACH). Django
    masks the form's token anew each time, and adds a random length to what is packed.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        return super().process_response(request, response) if is_page else response


def security_headers(get_response: Handler) -> Handler:
    """Allow the app's own files only, and let nobody frame, sniff, share or keep a page."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.headers.get("Content-Disposition", "").startswith("attachment"):
            response.headers.setdefault("Cache-Control", FILES_ARE)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if settings.HTTPS and request.method == "POST" and request.path == _sign_out():
            # The next person at this computer gets no page back out of the browser's cache.
            response.headers["Clear-Site-Data"] = '"cache"'
        return response

    return middleware


def numbered_and_logged(get_response: Handler) -> Handler:
    """Give each request a number that can be said on a telephone, and write one line about it.

    A proxy's own X-Request-ID is taken instead where PROXIES says that there is one. The line
    tells no address of a client, no query and no secret part of an address.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        begun = time.perf_counter()
        request.request_id = number_of(request)
        token = this_request.set(request)
        try:
            response = get_response(request)
            response.headers["X-Request-ID"] = request.request_id
            took = round((time.perf_counter() - begun) * 1000)
            values = {"status": response.status_code, "milliseconds": took}
            reason = getattr(request, "reason", "")
            log.log(
                logging.WARNING if reason else logging.INFO,
                "%s %s %s",
                request.method,
                request.path,
                response.status_code,
                extra=values | ({"reason": reason} if reason else {}),
            )
        finally:
            this_request.reset(token)
        return response

    return middleware


def number_of(request: HttpRequest) -> str:
    """The number a proxy gave, if there is one to believe; else twelve digits."""
    header = request.headers.get("X-Request-ID", "")
    if settings.PROXIES and _NUMBER.fullmatch(header):
        return header
    digits = f"{secrets.randbelow(10**12):012d}"
    return "-".join(digits[at : at + 4] for at in (0, 4, 8))


def _sign_out() -> str:
    return reverse("sign_out")
