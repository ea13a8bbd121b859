"""Whom a limit counts, and the page that says when to try again."""

from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from ..queries.limits import locked_until


def address_of(request: HttpRequest) -> str:
    """The address that a request came from, as far as it can be believed.

    A client may write anything into X-Forwarded-For; only what the last ``PROXIES`` hops added
    at its end is taken. Of an IPv6 address the first half counts: the other half is the
    client's to choose.
    """
    told = request.META.get("REMOTE_ADDR", "")
    hops = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
    if settings.PROXIES and len(hops) >= settings.PROXIES:
        told = hops[-settings.PROXIES].strip()
    try:
        address = ip_address(told.partition("%")[0])
    except ValueError:
        return "127.0.0.1"
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped is not None:
            return str(address.ipv4_mapped)
        return str(ip_network(f"{address}/64", strict=False).network_address)
    return str(address)


def too_many(request: HttpRequest, until: datetime, what: str) -> HttpResponse:
    """“Try again at …”, for people and, as Retry-After, for programs."""
    now = timezone.now()
    seconds = max(1, int((until - now).total_seconds()) + 1)
    context = {"until": now + timedelta(seconds=seconds), "what": what}
    answer = render(request, "too_many.html", context, status=429)
    answer["Retry-After"] = str(seconds)
    answer["Cache-Control"] = "no-store"
    return answer


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
        "There were too many wrong passwords for this name, so signing in with it rests a while.",
    )
