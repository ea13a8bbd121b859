"""The loop: let people write, kill, look, start again."""

import os
import random
import shutil
import signal
import time
from collections import Counter, defaultdict
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.own_database import own_database

from .book import Book
from .people import ACTS, OTHERS, Person
from .served import Parent, Visitor, gone

# So many kills with one database; then a new one, so that looking at all of it stays quick.
KILLS_OF_ONE = 100
# How long an act of each kind is let run before the kill, at most, in seconds.
LONGEST = defaultdict(lambda: 0.5, bring=1.6, backup=1.2, photo=0.7)


@dataclass
class Tally:
    """What came of so many kills."""

    kills: Counter = field(default_factory=Counter)
    whole_group: int = 0
    acknowledged: Counter = field(default_factory=Counter)
    unanswered: Counter = field(default_factory=Counter)
    repeated: int = 0
    backups_finished: int = 0
    backups_unfinished: int = 0
    backups_put_back: int = 0
    imports_finished: int = 0
    records_compared: int = 0
    wrong: list[str] = field(default_factory=list)
    seconds: float = 0

    def as_json(self) -> dict[str, Any]:
        """For a file."""
        return {
            **vars(self),
            "kills": dict(self.kills),
            "kills_in_all": sum(self.kills.values()),
            "acknowledged": dict(self.acknowledged),
            "acknowledged_in_all": sum(self.acknowledged.values()),
            "unanswered": dict(self.unanswered),
        }


class Round:
    """Kills over one database."""

    def __init__(self, result: Tally, env: dict[str, str], other: str, folder: Path, seed: int):
        self.tally, self.folder, self.other = result, folder, other
        self.chance = random.Random(seed)
        self.parent = Parent(env, folder)
        self.book = Book()
        self.mine: dict[tuple[str, str], list[str]] = defaultdict(list)
        self.backups = 0

    def run(self, kinds: list[str], say: Any) -> None:
        """One kill for each kind of act."""
        try:
            self.builds = self.parent.call("looks:prepare")
            self.parent.serve()
            self.visitor = Visitor(self.parent.port)
            assert self.visitor.sign_in().status == 302
            for i, kind in enumerate(kinds):
                self.kill_once(kind, is_whole=(i + len(kinds)) % 2 == 0)
                say()
            self._look(deep=True)
            self.tally.imports_finished += self.book.acknowledged["import finished"]
        finally:
            self.parent.end()
            self.tally.acknowledged += self.book.acknowledged
            self.tally.unanswered += self.book.unanswered
            self.tally.repeated += self.book.repeated

    def kill_once(self, kind: str, is_whole: bool) -> None:
        """Let people write, kill the server among it, look, and start it again."""
        backup = self._begin_backup() if kind == "backup" else None
        second = self.chance.choice(OTHERS)
        roles = [(second, "beside")] if backup else [(kind, "first"), (second, "beside")]
        people = [
            Person(
                self.book, self.builds, self.visitor.copy(), does, self.mine[does, part],
                self.chance.getrandbits(32),
            )
            for does, part in roles
        ]  # fmt: skip
        for person in people:
            person.start()
        for person in people:
            person.began.wait(20)
        self._pause(kind)
        for person in people:
            person.stop.set()
        if is_whole:
            self.parent.kill_group()
            if backup and self.chance.random() < 0.7:
                self._kill(backup)
        else:
            self.parent.kill_workers()
        self.tally.kills[kind] += 1
        self.tally.whole_group += is_whole
        for person in people:
            person.join(90)
            self.tally.wrong += person.broken
        if backup:
            self._look_at_backup(backup)
        if not is_whole:
            self.parent.wait()
        unanswered = list(self.book.open)
        self._look(deep=kind == "bring")
        if is_whole:
            self.parent.serve()
        self._send_again(unanswered)

    def _pause(self, kind: str) -> None:
        """A random while; or, half the time, until a file of the ledger is being written.

        Writing is a small part of what a server does for a request, so that random moments
        alone would seldom hit it.
        """
        seconds = self.chance.uniform(0, LONGEST[kind])
        if self.chance.random() < 0.5:
            return time.sleep(seconds)
        before, until = self._stand(), time.monotonic() + seconds + 0.5
        while time.monotonic() < until and self._stand() == before:
            time.sleep(0.0005)
        time.sleep(self.chance.choice((0, 0, 0.001, 0.003, 0.01, 0.03)))

    def _stand(self) -> list[tuple[int, int]]:
        """Sizes and times of what is written to."""
        lines = []
        for path in (*self.folder.glob("*.sqlite3*"), *self.folder.glob("media/builds/*"),
                     *self.folder.glob("backups/.*")):  # fmt: skip
            with suppress(FileNotFoundError):
                found = path.stat()
                lines.append((found.st_size, found.st_mtime_ns))
        return lines

    def _look(self, deep: bool = False) -> None:
        found = self.parent.call("looks:look", builds=self.builds, deep=deep)
        wrong = self.book.compare(found)
        self.tally.records_compared += len(found["records"])
        number = sum(self.tally.kills.values())
        self.tally.wrong += [f"kill {number} in {self.folder}: {text}" for text in wrong]

    def _send_again(self, acts: list[Any]) -> None:
        """What was not answered is sent again, as somebody would; it is recorded once.

        The look after the next kill shows whether it was.
        """
        self.book.open.clear()
        for act in acts:
            if not act.may_repeat or self.chance.random() < 0.3:
                continue
            answer = self.visitor.post(act.path, act.fields, act.files)
            if answer.status != 302:
                self.tally.wrong.append(f"sent again: {act.kind} {answer.status} {act.changes}")
                continue
            self.book.repeated += 1
            self.book.note(act)
            for key, (_, after) in act.changes.items():
                if after is not None and key.startswith("purchase of") and "purchases" in answer.to:
                    with suppress(ValueError):
                        self.book.keys[key] = int(answer.to.split("/")[4])

    # Backups while the server is killed.

    def _begin_backup(self) -> dict[str, Any]:
        self.backups += 1
        to = self.folder / "backups" / f"{self.backups}.zip"
        to.parent.mkdir(exist_ok=True)
        out = self.folder / "backups" / f"{self.backups}.said"
        must = [key for key in self.book.must if key.startswith("purchase of")]
        process = self.parent.command(out, "backup", str(to))
        return {"to": to, "out": out, "must": must, "process": process}

    def _kill(self, backup: dict[str, Any]) -> None:
        with suppress(ProcessLookupError):
            os.kill(backup["process"], signal.SIGKILL)

    def _look_at_backup(self, backup: dict[str, Any]) -> None:
        """What was said to be finished can be put back; what was not, does not stand there."""
        if not gone(backup["process"]):
            self.tally.wrong.append("a backup does not end")
        result = backup["out"].read_text() if backup["out"].exists() else ""
        is_there, is_said = backup["to"].exists(), "Wrote " in result
        if is_said and not is_there:
            self.tally.wrong.append(f"a backup that was said to be written is not there: {result}")
        if result and not is_said:
            self.tally.wrong.append(f"backup: {result[-1500:]}")
        if not is_there:
            self.tally.backups_unfinished += 1
            return
        self.tally.backups_finished += 1
        wrong = self.parent.call("looks:look_into", path=str(backup["to"]), must=backup["must"])
        media = self.folder / "put-back"
        wrong += self.parent.call(
            "looks:put_back", path=str(backup["to"]), database=self.other, media=str(media)
        )
        shutil.rmtree(media, ignore_errors=True)
        backup["to"].unlink()
        self.tally.backups_put_back += 1
        self.tally.wrong += [f"{backup['to']}: {text}" for text in wrong]


def kill_many(kills: int, folder: Path, seed: int, say: Any = lambda result: None) -> Tally:
    """So many kills over as many databases as that takes; the kinds of act in turn."""
    result, began = Tally(), time.monotonic()
    for first in range(0, kills, KILLS_OF_ONE):
        numbers = range(first, min(first + KILLS_OF_ONE, kills))
        kinds = [ACTS[number % len(ACTS)] for number in numbers]
        here = folder / f"round-{first}"
        here.mkdir(parents=True)
        with own_database(here, made=True) as env, own_database(here) as other:
            name = other["DATABASE_URL"].rpartition("/")[2]
            if env["DATABASE_URL"].startswith("sqlite"):
                name = other["DATABASE_URL"].removeprefix("sqlite:///")
            Round(result, env, name, here, seed + first).run(
                kinds, lambda: _say(result, began, say)
            )
        if not result.wrong:
            shutil.rmtree(here)
    _say(result, began, say)
    return result


def _say(result: Tally, began: float, say: Any) -> None:
    result.seconds = round(time.monotonic() - began, 1)
    say(result)
