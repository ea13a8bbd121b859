"""From where a request comes, in few words: what the log of an account and its sessions tell."""

import re
from collections.abc import Callable
from ipaddress import IPv4Address, ip_address, ip_network

from django.http import HttpRequest, HttpResponse

from ..services.account_log import Place
from .attempt_limits import address_of

# By what a browser calls itself (RFC 9110, 10.1.5), the first that fits: most name others too.
_BROWSERS = (
    (r"\bEdgA?/", "Edge"),
    (r"\bOPR/", "Opera"),
    (r"\bSamsungBrowser/", "Samsung Internet"),
    (r"\bFirefox/|\bFxiOS/", "Firefox"),
    (r"\bChrom(e|ium)/|\bCriOS/", "Chrome"),
    (r"\bSafari/", "Safari"),
)
_SYSTEMS = (
    (r"\biPhone\b", "iPhone"),
    (r"\biPad\b", "iPad"),
    (r"\bAndroid\b", "Android"),
    (r"\bWindows\b", "Windows"),
    (r"\bMacintosh\b|\bMac OS X\b", "Mac"),
    (r"\bCrOS\b", "ChromeOS"),
    (r"\bLinux\b|\bX11\b", "Linux"),
)


def place_of(request: HttpRequest) -> Place:
    """The device and network of a request."""
    return Place(device_words(request.headers.get("User-Agent", "")), shortened(request))


def device_words(agent: str) -> str:
    """“Firefox on Android”; "" for what is no browser known here."""
    found = [
        next((name for pattern, name in known if re.search(pattern, agent)), "")
        for known in (_BROWSERS, _SYSTEMS)
    ]
    return " on ".join(name for name in found if name)


def shortened(request: HttpRequest) -> str:
    """The network of the address, not the machine: 198.51.100.x, or the first 48 bits of IPv6."""
    address = ip_address(address_of(request))
    if isinstance(address, IPv4Address):
        return f"{str(address).rpartition('.')[0]}.x"
    return f"{ip_network(f'{address}/48', strict=False).network_address}"


def note_use(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Middleware: notes on a session that was read when and from where it was last used."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.session.accessed:
            place = place_of(request)
            request.session.note_use(device=place.device, address=place.address)
        return response

    return middleware
