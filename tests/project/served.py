"""The program served by “manage.py serve” in a process of its own, for a while."""

import os
import re
import shlex
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.own_database import ROOT

DEPLOY = ROOT / ".deploy"
# What a service manager leaves of an environment, and nothing of ours.
KEPT = ("PATH", "LANG", "LC_ALL", "TMPDIR")
PATIENCE = 180


def settings_of_deploy() -> dict[str, str]:
    """The lines of the file of settings, as a service manager reads them."""
    lines = (DEPLOY / "buildledger.env").read_text(encoding="utf-8").splitlines()
    return dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))


def command_of_unit() -> str:
    """What the unit starts, without the interpreter."""
    unit = (DEPLOY / "buildledger.service").read_text(encoding="utf-8")
    (command,) = re.findall(r"^ExecStart=/srv/buildledger/.venv/bin/python (.*)$", unit, re.M)
    return str(command)


def bare(env: dict[str, str], **more: str) -> dict[str, str]:
    """An environment with nothing in it but a database of a test, and what is given."""
    kept = {name: os.environ[name] for name in KEPT if name in os.environ}
    return kept | {"DATABASE_URL": env["DATABASE_URL"]} | more


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@dataclass
class Served:
    """A running program: where it listens, what it wrote, and its process."""

    port: int
    out: Path
    log: Path
    process: subprocess.Popen[bytes] | None = None

    @property
    def printed(self) -> str:
        return self.out.read_text(encoding="utf-8")

    @property
    def way(self) -> str:
        """The path of the address that makes the first account."""
        (path,) = re.findall(r"https?://\S+?(/start/[\w-]{43}/)$", self.printed, re.M)
        return str(path)


@contextmanager
def serve(
    env: dict[str, str], folder: Path, command: str = "", home: Path = ROOT
) -> Iterator[Served]:
    """The unit's command, or another, on a free port instead of 8000; ``home``: the program."""
    port = free_port()
    words = shlex.split((command or command_of_unit()).replace(":8000", f":{port}"))
    served = Served(port, folder / f"out-{port}", folder / f"log-{port}")
    with open(served.out, "wb") as out, open(served.log, "wb") as log:
        server = subprocess.Popen(
            [sys.executable, *words],
            env=env,
            cwd=home,
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=log,
        )
    served.process = server
    try:
        until = time.monotonic() + PATIENCE
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                assert server.poll() is None, served.printed + served.log.read_text()
                assert time.monotonic() < until, served.printed + served.log.read_text()
                time.sleep(0.1)
        yield served
    finally:
        server.terminate()
        server.wait(timeout=60)
