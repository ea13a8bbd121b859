"""Running cases: each from a seed and a number, in a savepoint that is rolled back."""

import logging
import random
import resource
import shutil
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

from django.conf import settings
from django.db import transaction
from django.template.base import Template
from django.test import Client, override_settings
from django.test import utils as test_utils

from buildledger.requests import Request
from materials.views import new_accounts

from . import over_files, over_pages, over_pictures, over_texts
from .judging import Watch
from .registry import ROUTELESS, WEIGHTS, routes_of
from .world import digest, make_world

CASES = over_pages.CASES | over_files.CASES | over_pictures.CASES | over_texts.CASES
MOST_SECONDS = 5.0
# A case that is still busy after so many seconds of the processor is broken off.
HOPELESS = 30
ALL_ANEW = 1000


@dataclass
class Case:
    """What one case is: the rest follows from its seed and number."""

    seed: int
    number: int
    area: str
    route: str


@dataclass
class Finding:
    """A case that went wrong, and how."""

    case: Case
    problem: str


@dataclass
class Tally:
    """What a run came to."""

    counts: Counter[str] = field(default_factory=Counter)
    seconds: Counter[str] = field(default_factory=Counter)
    findings: list[Finding] = field(default_factory=list)
    slowest: float = 0.0
    slowest_case: Case | None = None
    wall: float = 0.0
    memory: list[int] = field(default_factory=list)

    def counted(self) -> dict[str, Any]:
        """As plain values."""
        values = {name: value for name, value in vars(self).items() if name != "findings"}
        values["findings"] = [asdict(finding) for finding in self.findings]
        values["slowest_case"] = asdict(self.slowest_case) if self.slowest_case else None
        return values | {"cases": sum(self.counts.values())}


def random_of(case: Case) -> random.Random:
    """The source of everything random in a case."""
    return random.Random(f"{case.seed}/{case.number}/{case.area}/{case.route}")


def make_case(seed: int, number: int, areas: Iterable[str] = ()) -> Case:
    """Which generator and route a number stands for; ``areas`` narrows the choice."""
    source = random.Random(f"{seed}/{number}")
    names = [name for name in WEIGHTS if not areas or name in areas]
    area = source.choices(names, [WEIGHTS[name] for name in names])[0]
    routes = [""] if area in ROUTELESS else routes_of(area)
    return Case(seed, number, area, source.choice(routes))


def memory_now() -> int:
    """Megabytes that this process holds."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) // 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def cpu() -> float:
    """Seconds of the processor, those of processes started meanwhile included."""
    result = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + result.ru_utime + result.ru_stime


class TooSlow(BaseException):
    """Not an Exception: nothing that a view catches may swallow it."""


@contextmanager
def broken_off(seconds: int) -> Iterator[None]:
    """Raises TooSlow when what is inside keeps the processor busy for too long."""

    def raise_it(*_: Any) -> None:
        raise TooSlow

    before = signal.signal(signal.SIGPROF, raise_it)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


@contextmanager
def quiet_logs() -> Iterator[list[str]]:
    """Logs are written as in use, to nowhere; what breaks in writing them is kept."""
    broken: list[str] = []

    class Handler(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            try:
                self.format(record).encode("utf-8", "surrogateescape")
            except Exception:
                broken.append(traceback.format_exc())

    names = ["", "django", "django.request", "django.security", "django.server", "axes"]
    loggers = [logging.getLogger(name) for name in names]
    before = [logger.handlers for logger in loggers]
    for logger in loggers:
        logger.handlers = [Handler()] if logger.name in ("root", "django", "django.server") else []
    try:
        yield broken
    finally:
        for logger, handlers in zip(loggers, before, strict=True):
            logger.handlers = handlers


@contextmanager
def as_in_use() -> Iterator[None]:
    """As in use: requests are of our kind, templates are drawn without what tests note of each,
    and mail can be sent (to nowhere).

    Anybody may make an account, and the form of the first one is shown though there are some:
    hostile input is to get as far as it can.
    """
    noting = Template._render
    Template._render = test_utils._TestState.saved_data.template_render
    mail = "django.core.mail.backends.dummy.EmailBackend"
    is_way_open, new_accounts.is_way_open = new_accounts.is_way_open, lambda digest: True
    try:
        with (
            override_settings(CAN_SEND_MAIL=True, EMAIL_BACKEND=mail, SIGN_UP=True),
            mock.patch("django.test.client.WSGIRequest", Request),
        ):
            yield
    finally:
        Template._render = noting
        new_accounts.is_way_open = is_way_open


class Runner:
    """Holds the world that cases begin with. Use inside a transaction that is rolled back."""

    def __init__(self) -> None:
        self.world = make_world()
        self.watch = Watch(self.world)
        self.media = Path(settings.MEDIA_ROOT)
        # Read once, outside of any case.
        self.forms = self.world.forms
        self.watch.begin()
        self.whole = digest()

    def run_case(self, case: Case, tally: Tally) -> None:
        """Run one case, roll it back, and note what it came to."""
        over_pages.before_each()
        self.watch.start()
        began = cpu()
        with transaction.atomic():
            try:
                with broken_off(HOPELESS):
                    CASES[case.area](self.watch, random_of(case), case.route)
            except TooSlow:
                self.watch.say(f"broken off after {HOPELESS} s: {traceback.format_exc()}")
            except Exception:
                self.watch.say(traceback.format_exc())
            transaction.set_rollback(True)
        took = cpu() - began
        tally.counts[case.area] += 1
        tally.seconds[case.area] += took
        if took > tally.slowest:
            tally.slowest, tally.slowest_case = took, case
        if took > MOST_SECONDS:
            self.watch.say(f"took {took:.1f} s of the processor")
        tally.findings += [Finding(case, text) for text in self.watch.problems]

    def tidy(self) -> None:
        """Files that were written by cases which were rolled back; browsers that were used long.

        The test client leaves finalizers behind with every request; those of a browser go with it,
        those of Django's own functions (two a request) are what a long run still grows by.
        """
        self.world.clients = {
            part: Client(raise_request_exception=False) for part in self.world.clients
        }
        kept = {str(self.world.records["photo"].image), str(self.world.records["import"].file)}
        folders = {name.rpartition("/")[0] for name in kept}
        for path in self.media.glob("builds/*"):
            if str(path.relative_to(self.media)) not in {f[: len("builds/0")] for f in folders}:
                shutil.rmtree(path, ignore_errors=True)

    def run(self, cases: Iterable[Case], tally: Tally | None = None) -> Tally:
        """Run cases one after the other."""
        tally = tally or Tally()
        began = time.monotonic()
        with quiet_logs() as broken:
            for count, case in enumerate(cases, 1):
                self.run_case(case, tally)
                if broken:
                    tally.findings.append(Finding(case, f"log: {broken.pop()}"))
                    broken.clear()
                if count % ALL_ANEW == 0:
                    tally.memory.append(memory_now())
                    self.check_all(case, tally)
        tally.wall += time.monotonic() - began
        tally.memory.append(memory_now())
        return tally

    def check_all(self, case: Case, tally: Tally) -> None:
        """Everything is as it was at the beginning, and the ledger adds up."""
        self.watch.start()
        self.watch.written = None
        if digest() != self.whole:
            self.watch.say("the ledger is not what it was at the beginning")
        self.watch.check_other()
        self.watch.check_ledger()
        tally.findings += [Finding(case, text) for text in self.watch.problems]
