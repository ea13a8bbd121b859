"""Whom a limit counts, and the page that says when to try again."""

from collections.abc import Callable
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from ..queries.attempt_limits import locked_until
from ..services.attempt_limits import TooMany, count_upload

# Where tables and files of builds come in; what brings files elsewhere brings photos.
TABLE_ROUTES = frozenset({"imports", "upload", "upload_new", "build_file_new"})


def address_of(request: HttpRequest) -> str:
    """The address that a request came from, as far as it can be believed.

    A client may write anything into X-Forwarded-For; only what the last ``PROXIES`` hops added
    at its end is taken. Of an IPv6 address the first half counts: the other half is the
    client's to choose.
    """
    peer = request.META.get("REMOTE_ADDR", "")
    hops = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
    if settings.PROXIES and len(hops) >= settings.PROXIES:
        peer = hops[-settings.PROXIES].strip()
    try:
        address = ip_address(peer.partition("%")[0])
    except ValueError:
        return "127.0.0.1"
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped is not None:
            return str(address.ipv4_mapped)
        return str(ip_network(f"{address}/64", strict=False).network_address)
    return str(address)


def too_many(request: HttpRequest, until: datetime, what: str) -> HttpResponse:
    """“Try again at …”, for people and, as Retry-After, for programs."""
    return _too_many(request, until, "too_many.html", {"what": what})


def seconds_until(until: datetime) -> int:
    """Whole seconds from now, at least one."""
    return max(1, int((until - timezone.now()).total_seconds()) + 1)


def _too_many(
    request: HttpRequest, until: datetime, template: str, context: dict[str, Any]
) -> HttpResponse:
    seconds = seconds_until(until)
    context |= {"until": timezone.now() + timedelta(seconds=seconds)}
    answer = render(request, template, context, status=429)
    answer["Retry-After"] = str(seconds)
    answer["Cache-Control"] = "no-store"
    return answer


class UploadLimit:
    """Middleware: counts whatever brings files, at every address that there is or will be.

    After the one that sends strangers to the sign-in, so that there is an account to count.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """The page that keeps what was typed, when an account or address has sent too much."""
        if request.method != "POST" or not request.user.is_authenticated:
            return None
        is_table = request.resolver_match.url_name in TABLE_ROUTES
        if not is_table and not request.FILES:
            return None
        try:
            count_upload(
                user=request.user.pk,
                address=address_of(request),
                is_table=is_table,
                at=timezone.now(),
            )
        except TooMany as error:
            return _files_refused(request, error.until)
        return None


def _files_refused(request: HttpRequest, until: datetime) -> HttpResponse:
    """What was typed goes along on the page; files have to be chosen again, browsers insist."""
    typed = [
        (name, value)
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken"
        for value in values
    ]
    files = [(name, ", ".join(file.name for file in sent)) for name, sent in request.FILES.lists()]
    context = {"typed": typed, "files": files, "action": request.get_full_path()}
    return _too_many(request, until, "too_many_files.html", context)


def sign_in_locked(
    request: HttpRequest, response: HttpResponse | None, credentials: dict[str, Any] | None
) -> HttpResponse:
    """What django-axes answers instead of the sign-in page."""
    username = (credentials or {}).get("username") or ""
    until = locked_until(username, address_of(request))
    until = until or timezone.now() + settings.AXES_COOLOFF_TIME
    return too_many(
        request,
        until,
        "Too many wrong passwords for this name. Signing in with it is blocked for a while.",
    )
