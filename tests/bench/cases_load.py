"""Case f: several people at once, nine reads to one write, on a server of two processes.

A user is a closed loop: asks, waits for the answer, and thinks before the next. People think:
without it a “user” is a script that asks as fast as it is answered, and with more of them than
processes the time grows with their number by arithmetic alone. Both are reported; the limit is
for people. The time to think is drawn from an exponential distribution around one second, far
less than anybody needs to read a page.
"""

import http.client
import random
import secrets
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from urllib.parse import urlencode

from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from materials.choices import Role
from materials.models import Build, Member, Purchase
from materials.queries.checks import find_differences
from materials.templatetags.form_tokens import NAME as TOKEN

from .cases_purchase import TYPED
from .measure import Row, figure_row, percentile
from .world import ROOT, World, child_environment

PROCESSES = 2
THINKING = 1.0
CSRF = "b" * 32
READ = ("cost_sheet", "purchases", "purchase_lines", "labour", "needed", "components", "log",
        "conversions", "left_over")  # fmt: skip
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


@dataclass
class Tally:
    """What the users of one round saw; filled by several threads, each appending."""

    times: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    written: list[int] = field(default_factory=list)


def free_port() -> int:
    """A port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def served() -> Iterator[int]:
    """The program on a port of this machine, as it is served in production."""
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "buildledger.wsgi", "--workers", str(PROCESSES),
         "--bind", f"127.0.0.1:{port}", "--backlog", "256", "--log-level", "error"],
        cwd=ROOT,
        env=child_environment(),
    )  # fmt: skip
    try:
        for _ in range(150):
            try:
                ask(port, "/sign-in/", "")
                break
            except OSError:
                time.sleep(0.2)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=30)


def ask(port: int, path: str, session: str, body: dict[str, str] | None = None) -> int:
    """One request on a connection of its own; gives the status."""
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    try:
        headers = {"Cookie": f"sessionid={session}; csrftoken={CSRF}"}
        if body is None:
            link.request("GET", path, headers=headers)
        else:
            sent = urlencode(body | {"csrfmiddlewaretoken": CSRF})
            link.request("POST", path, sent, headers | FORM)
        answer = link.getresponse()
        answer.read()
        return answer.status
    finally:
        link.close()


class User(threading.Thread):
    """One person for some seconds."""

    def __init__(
        self,
        port: int,
        build: Build,
        session: str,
        result: Tally,
        seconds: float,
        think: float,
        seed: int,
    ):
        super().__init__(daemon=True)
        self.port, self.build, self.session, self.tally = port, build, session, result
        self.until, self.think = time.monotonic() + seconds, think
        self.rng = random.Random(seed)
        self.log = reverse("log", args=[build.pk])

    def run(self) -> None:
        time.sleep(self.rng.random() * self.think)
        while time.monotonic() < self.until:
            started = time.perf_counter()
            try:
                self.once()
            except OSError as error:
                self.tally.faults.append(repr(error))
            self.tally.times.append(time.perf_counter() - started)
            if self.think:
                time.sleep(min(self.rng.expovariate(1 / self.think), 5 * self.think))

    def once(self) -> None:
        """A write in one of ten, else a read."""
        if self.rng.random() < 0.1:
            status = ask(self.port, self.log, self.session, TYPED | {TOKEN: secrets.token_hex(16)})
            if status == 302:
                self.tally.written.append(1)
        else:
            path = reverse(self.rng.choice(READ), args=[self.build.pk])
            status = ask(self.port, path, self.session)
        if status not in (200, 302):
            self.tally.faults.append(f"status {status}")


def sessions(build: Build, number: int) -> list[str]:
    """So many members of the build, signed in."""
    keys = []
    for n in range(number):
        user = get_user_model().objects.create_user(f"bench user {n}")
        Member.objects.create(build=build, user=user, role=Role.CO_BUILDER)
        client = Client()
        client.force_login(user)
        keys.append(client.cookies["sessionid"].value)
    return keys


def run_load(world: World) -> Iterator[Row]:
    """95 of 100 answers of 8 and 32 users, against the time of one user; nothing is lost."""
    build = world.build(world.sizes[1])
    numbers = (2, 3) if world.is_quick else (8, 32)
    seconds = 1.5 if world.is_quick else 30.0
    think = 0.05 if world.is_quick else THINKING
    keys = sessions(build, max(numbers))
    before = Purchase.objects.filter(build=build).count()
    everything = Tally()
    rows: list[Row] = []

    def round_of(port: int, users: int, thinking: float, length: float = seconds) -> Tally:
        found = Tally()
        people = [User(port, build, keys[n], found, length, thinking, seed=n) for n in range(users)]
        for person in people:
            person.start()
        for person in people:
            person.join()
        everything.faults.extend(found.faults)
        everything.written.extend(found.written)
        return found

    with served() as port:
        round_of(port, 2, 0.0, min(4.0, seconds))
        alone = round_of(port, 1, 0.0).times
        single = statistics.median(alone)
        times = {"median": single, "p95": percentile(alone, 0.95)}
        rows.append(figure_row("load", "one user, 95 of 100 answers", [1000 * times["p95"]], "ms",
                               note=f"median {1000 * single:.0f} ms"))  # fmt: skip
        for users in numbers:
            for thinking in (think, 0.0):
                result = round_of(port, users, thinking)
                p95 = percentile(result.times, 0.95)
                how = f"thinking {thinking:g} s" if thinking else "not thinking at all"
                limit = world.limit(4) if thinking and users == numbers[0] else None
                note = f"{1000 * p95:.0f} ms, {len(result.times)} answers"
                what = f"{users} users {how}, 95 of 100 / median of one user"
                rows.append(figure_row("load", what, [p95 / single], "x", limit, note))
    yield from rows
    yield figure_row("load", "answers with a fault", [len(everything.faults)], "", 0,
                     note="; ".join(sorted(set(everything.faults))[:3]))  # fmt: skip
    lost = before + len(everything.written) - Purchase.objects.filter(build=build).count()
    note = f"{len(everything.written)} written"
    yield figure_row("load", "writes acknowledged and not there, or there and not stated",
                     [abs(lost)], "", 0, note)  # fmt: skip
    wrong = list(find_differences(build))
    yield figure_row("load", "stored figures that differ when worked out again", [len(wrong)], "",
                     0, "; ".join(wrong[:2]))  # fmt: skip
