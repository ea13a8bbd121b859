"""Servers to be killed, and people who go on using them."""

import http.client
import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from tests.own_database import ROOT

USER, PASSWORD = "ann", "sawdust-and-lime"
WAIT = 60


class Unanswered(Exception):
    """The server went away before it answered: what was asked may have been done or not."""


class Parent:
    """The process that servers are forked off, and the server that is running."""

    def __init__(self, env: dict[str, str], folder: Path, port: int = 0, start: tuple = ()):
        self.folder, self.port = folder, port or free_port()
        self.log = folder / "server.log"
        self.group = 0
        self.others: list[int] = []
        found = env | {"DJANGO_SETTINGS_MODULE": "tests.faults.settings"}
        with open(folder / "parent.log", "ab") as log:
            self.process = subprocess.Popen(
                [*start, sys.executable, "-m", "tests.faults.parent"],
                cwd=ROOT, env=found, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log,
                text=True,
            )  # fmt: skip
        assert self._read() == "ready"

    def _read(self) -> Any:
        line = self.process.stdout.readline()
        if not line:
            raise AssertionError((self.folder / "parent.log").read_text()[-3000:])
        return json.loads(line)

    def _tell(self, **order: Any) -> Any:
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        return self._read()

    def call(self, what: str, **arguments: Any) -> Any:
        """What a function of this package returns, run beside the server."""
        found = self._tell(do="call", what=f"tests.faults.{what}", **{"with": arguments})
        if isinstance(found, dict) and "failed" in found:
            raise AssertionError(found["failed"])
        return found

    def serve(self, **more: Any) -> None:
        """Start the server and wait until it answers."""
        self.group = self._tell(do="serve", port=self.port, log=str(self.log), more=more)
        self.wait()

    def command(self, out: Path, *words: str) -> int:
        """Begin a command of manage.py; gives the number of its process."""
        self.others.append(self._tell(do="command", out=str(out), words=list(words)))
        return self.others[-1]

    def wait(self) -> None:
        """Until the server answers."""
        visitor, until = Visitor(self.port), time.monotonic() + WAIT
        while True:
            try:
                return self._answers(visitor)
            except Unanswered:
                if time.monotonic() > until:
                    raise AssertionError(self.log.read_text()[-3000:]) from None
                time.sleep(0.02)

    @staticmethod
    def _answers(visitor: "Visitor") -> None:
        visitor.get("/sign-in/")

    def workers(self) -> list[int]:
        """The processes that answer requests."""
        try:
            result = Path(f"/proc/{self.group}/task/{self.group}/children").read_text()
        except FileNotFoundError:
            return []
        return [int(number) for number in result.split()]

    def kill_workers(self) -> None:
        """Kill every process that answers; the master goes on and starts new ones."""
        for number in self.workers():
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)

    def kill_group(self) -> None:
        """Kill the server whole, as a power cut would end its processes."""
        workers = self.workers()
        with suppress(ProcessLookupError):
            os.killpg(self.group, signal.SIGKILL)
        for number in (self.group, *workers):
            gone(number)
        self.group = 0

    def end(self) -> None:
        """End everything that was started."""
        if self.group:
            self.kill_group()
        for number in self.others:
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        self.process.stdin.close()
        self.process.wait(WAIT)
        self.process.stdout.close()


def free_port() -> int:
    """A port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def is_alive(number: int) -> bool:
    """Whether a process still runs."""
    try:
        state = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"


def gone(number: int, seconds: float = WAIT) -> bool:
    """Wait until a process has ended; False when it has not in time."""
    until = time.monotonic() + seconds
    while is_alive(number):
        if time.monotonic() > until:
            return False
        time.sleep(0.005)
    return True


class Answer:
    """An answer, read to its end."""

    def __init__(self, status: int, headers: Any, body: bytes):
        self.status, self.headers, self.body = status, headers, body
        self.to = headers.get("Location", "")

    @property
    def text(self) -> str:
        return self.body.decode("utf-8", "replace")


class Visitor:
    """One person's browser: cookies and requests."""

    def __init__(self, port: int):
        self.port = port
        self.cookies: dict[str, str] = {}

    def copy(self) -> "Visitor":
        """The same person in another tab."""
        other = Visitor(self.port)
        other.cookies = dict(self.cookies)
        return other

    def sign_in(self, name: str = USER, password: str = PASSWORD) -> Answer:
        """As somebody does; gives the answer."""
        self.get("/sign-in/")
        return self.post("/sign-in/", {"username": name, "password": password})

    def get(self, path: str) -> Answer:
        """Raises Unanswered."""
        return self._ask("GET", path, None, {})

    def post(self, path: str, fields: Any, files: Any = None, **headers: str) -> Answer:
        """Send a form; ``files``: (field, name, bytes). Raises Unanswered."""
        pairs = list(fields.items() if isinstance(fields, dict) else fields)
        pairs.append(("csrfmiddlewaretoken", self.cookies.get("csrftoken", "")))
        if files is None:
            body, kind = urlencode(pairs).encode(), "application/x-www-form-urlencoded"
        else:
            body, kind = multipart(pairs, files)
        return self._ask("POST", path, body, {"Content-Type": kind, **headers})

    def _ask(self, method: str, path: str, body: bytes | None, headers: Any) -> Answer:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=WAIT)
        text = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        try:
            connection.request(method, path, body, headers | ({"Cookie": text} if text else {}))
            got = connection.getresponse()
            answer = Answer(got.status, got.headers, got.read())
        except (OSError, http.client.HTTPException) as error:
            raise Unanswered(repr(error)) from None
        finally:
            connection.close()
        for line in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = line.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answer


def multipart(pairs: Any, files: Any) -> tuple[bytes, str]:
    """A form with files, and its type."""
    mark = secrets.token_hex(12)
    parts = []
    for name, value in pairs:
        parts.append(f'Content-Disposition: form-data; name="{name}"\r\n\r\n{value}'.encode())
    for field, name, data in files:
        head = f'Content-Disposition: form-data; name="{field}"; filename="{name}"\r\n'
        parts.append(f"{head}Content-Type: image/jpeg\r\n\r\n".encode() + data)
    body = b"".join(b"--" + mark.encode() + b"\r\n" + part + b"\r\n" for part in parts)
    return body + f"--{mark}--\r\n".encode(), f"multipart/form-data; boundary={mark}"
