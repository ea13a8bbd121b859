"""The address that “serve” is asked for: what it is, whether it is free, what it needs."""

import errno
import re
import socket
from collections.abc import Iterator
from dataclasses import dataclass
from ipaddress import ip_address

from django.conf import settings

_FORM = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9.-]+):([0-9]{1,5})")
HERE = frozenset({"localhost", "127.0.0.1", "[::1]", "::1"})


class NoBind(ValueError):
    """Nothing can be served there, for the reason it says."""


@dataclass(frozen=True)
class Bind:
    """A host as it was typed, without brackets, and a port."""

    host: str
    port: int

    @property
    def text(self) -> str:
        """As gunicorn takes it."""
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"

    @property
    def is_here(self) -> bool:
        """Whether only this machine reaches it."""
        try:
            return ip_address(self.host).is_loopback
        except ValueError:
            return self.host == "localhost"

    @property
    def is_everywhere(self) -> bool:
        """Whether it stands for every address of this machine."""
        return self.host in ("0.0.0.0", "::")

    def try_it(self) -> None:
        """Raises NoBind when it is taken, or is no address of this machine."""
        try:
            found = socket.getaddrinfo(self.host, self.port, type=socket.SOCK_STREAM)
            with socket.socket(found[0][0], socket.SOCK_STREAM) as trial:
                trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                trial.bind(found[0][4])
        except OSError as error:
            if error.errno == errno.EADDRINUSE:
                raise NoBind(
                    f"Port {self.port} is in use: stop what uses it, or choose another with --bind."
                ) from None
            raise NoBind(
                f"Nothing can be served on {self.text} ({error.strerror}): choose an address of"
                " this machine with --bind."
            ) from None


def read_bind(text: str) -> Bind:
    """What stands in ``--bind``. Raises NoBind."""
    read = _FORM.fullmatch(text.strip())
    if read is None or not 1 <= int(read[2]) <= 65535:
        raise NoBind("Write --bind as an address and a port, like 127.0.0.1:8000.")
    return Bind(read[1].strip("[]").lower(), int(read[2]))


def address_of(bind: Bind) -> str:
    """How people reach it, as far as the settings tell."""
    named = [name for name in settings.ALLOWED_HOSTS if name not in HERE and name[:1] not in "*."]
    origins = [origin for origin in settings.CSRF_TRUSTED_ORIGINS if "*" not in origin]
    if settings.HTTPS:
        return origins[0] if origins else f"https://{named[0] if named else bind.text}"
    if bind.is_everywhere:
        return f"http://{named[0] if named else '127.0.0.1'}:{bind.port}"
    return f"http://{bind.text}"


def needs_of(bind: Bind) -> Iterator[str]:
    """What an address that others reach needs and does not have; nothing for this machine's own."""
    if bind.is_here:
        return
    if HERE.issuperset(settings.ALLOWED_HOSTS):
        yield (
            "ALLOWED_HOSTS names this machine only, so others are refused. Set it to the names"
            " people type, like ledger.example,127.0.0.1."
        )
    if not settings.HTTPS:
        yield (
            "Without HTTPS, others on the network can read passwords. Put a proxy that speaks HTTPS"
            " in front. Then set HTTPS=1, PROXIES=1 and"
            " CSRF_TRUSTED_ORIGINS=https://ledger.example."
        )
