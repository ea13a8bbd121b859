"""A wire between browser and live server that fails in the ways a real one does."""

import re
import socket
import threading
from dataclasses import dataclass, field
from typing import Any

PORTAL = (
    b"HTTP/1.1 %s\r\nContent-Type: text/html\r\nConnection: close\r\nContent-Length: 46\r\n%s\r\n"
    b"<!doctype html><title>Welcome, please pay</title"
)
# What something else than the ledger answers.
ANSWERS = {
    "a portal": PORTAL % (b"200 OK", b""),
    "a portal elsewhere": PORTAL % (b"302 Found", b"Location: /portal/\r\n"),
    "a portal that says so": PORTAL % (b"511 Network Authentication Required", b""),
    "a gateway": PORTAL % (b"502 Bad Gateway", b""),
}


@dataclass(frozen=True)
class Sent:
    """A request that came over the wire."""

    method: str
    path: str
    size: int


@dataclass
class Wire:
    """Listens at ``port`` of this machine and hands on to the server at ``to``.

    ``way``: "whole"; "stopped" (nobody listens); "hangs"; "cut before" (the server never sees
    it); "cut after" (the server does it, the answer to a form is lost); one of ``ANSWERS``; or a
    status such as "503", with which the ledger answers each entry, to be tried again in a second.
    ``release``: names of static files begin with it, and no other release has any.
    """

    to: tuple[str, int]
    way: str = "whole"
    release: str = ""
    seen: list[Sent] = field(default_factory=list)
    port: int = 0
    _listener: socket.socket | None = None
    _freed: threading.Event = field(default_factory=threading.Event)

    def __post_init__(self) -> None:
        self._listen()

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}"

    def cut(self, way: str) -> None:
        """From now on it fails in that way."""
        self.way = way
        self._freed.clear()
        if way == "stopped":
            self._close()

    def mend(self) -> None:
        """It works again; what hung is cut."""
        self.way = "whole"
        self._freed.set()
        if self._listener is None:
            self._listen()

    def end(self) -> None:
        """Nobody listens any more, and nothing hangs."""
        self.way = "stopped"
        self._freed.set()
        self._close()

    def forms(self, part: str = "") -> list[Sent]:
        """Forms that were sent to addresses with a part."""
        return [sent for sent in self.seen if sent.method == "POST" and part in sent.path]

    def _listen(self) -> None:
        listener = socket.create_server(("localhost", self.port), backlog=64)
        self.port, self._listener = listener.getsockname()[1], listener
        threading.Thread(target=self._accept, args=[listener], daemon=True).start()

    def _close(self) -> None:
        listener, self._listener = self._listener, None
        if listener is not None:
            # An accept that waits ends with it.
            listener.shutdown(socket.SHUT_RDWR)
            listener.close()

    def _accept(self, listener: socket.socket) -> None:
        while True:
            try:
                browser, _ = listener.accept()
            except OSError:
                return
            threading.Thread(target=self._serve, args=[browser], daemon=True).start()

    def _serve(self, browser: socket.socket) -> None:
        with browser:
            try:
                head, body = _read(browser)
                if head:
                    answer = self._answer(head, body)
                    if answer:
                        browser.sendall(answer)
            except OSError:
                pass

    def _answer(self, head: bytes, body: bytes) -> bytes:
        method, path, _ = head.split(b"\r\n")[0].decode().split(" ", 2)
        self.seen.append(Sent(method, path, len(body)))
        if self.way == "hangs":
            self._freed.wait(200)
            return b""
        if self.way in ("cut before", "stopped"):
            return b""
        if self.way in ANSWERS:
            return ANSWERS["a portal" if path == "/portal/" else self.way]
        if self.way.isdigit() and method == "POST" and b"outbox-account" in head.lower():
            return _refusal(head, self.way)
        way, answer = self.way, self._handed_on(head, body)
        return b"" if way == "cut after" and method == "POST" else answer

    def _handed_on(self, head: bytes, body: bytes) -> bytes:
        head = re.sub(rb"\r\nConnection: [^\r]*", b"", head, flags=re.IGNORECASE)
        head = head.replace(b"\r\n", b"\r\nConnection: close\r\n", 1)
        if self.release:
            mark = f"/static/{self.release}/".encode()
            head = head.replace(b" /static/", b" /static/none/", 1)
            head = head.replace(b" /static/none" + mark.removeprefix(b"/static"), b" /static/", 1)
        with socket.create_connection(self.to) as server:
            server.sendall(head + body)
            answer = b"".join(iter(lambda: server.recv(65536), b""))
        return answer.replace(b"\r\n", b"\r\nConnection: close\r\n", 1)


def _refusal(head: bytes, status: str) -> bytes:
    account = re.search(rb"outbox-account: (\d+)", head, re.IGNORECASE)
    named = b"Outbox-Account: %s\r\n" % account[1] if account else b""
    lines = b"HTTP/1.1 %s No\r\nContent-Type: application/json\r\nRetry-After: 1\r\n"
    return lines % status.encode() + named + b"Content-Length: 2\r\nConnection: close\r\n\r\n{}"


def _read(browser: socket.socket) -> tuple[bytes, bytes]:
    """Head, with the empty line that ends it, and body; nothing where none was sent."""
    data: Any = b""
    while b"\r\n\r\n" not in data:
        more = browser.recv(65536)
        if not more:
            return b"", b""
        data += more
    head, body = data.split(b"\r\n\r\n", 1)
    length = re.search(rb"content-length: (\d+)", head, re.IGNORECASE)
    while length and len(body) < int(length[1]):
        more = browser.recv(65536)
        if not more:
            return b"", b""
        body += more
    return head + b"\r\n\r\n", body
