"""What may be answered, and what may have changed."""

import re
import traceback
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from django.db import connection

from materials.models import Build
from materials.queries.checks import find_differences

from .noise import MARK
from .world import World, digest, rows_written

FINE = {200, 204, 206, 301, 302, 304, 400, 401, 403, 404, 405, 409, 413, 415, 422, 429}
# Reading these notes that they were read.
NOTES_READING = {"shared", "calendar"}
# Also those who may only look have something of their own there.
OWN_TO_ALL = {
    "member_person",
    "member_leave",
    "calendar_make",
    "calendar_revoke",
    "deadline_mail",
}
# A row of an import keeps what was typed into it, wrong as it may be, until it is imported.
KEEPS_TYPED = {"import_row", "import_rows"}
_TRACE = re.compile(rb"Traceback \(most recent call|File &quot;/|File \"/\S+\.py\"")


@dataclass
class Watch:
    """Looks at what a case did to the ledger."""

    world: World
    base: str = ""
    base_other: str = ""
    written: int | None = None
    problems: list[str] = field(default_factory=list)

    def begin(self) -> None:
        """Remember how everything stands."""
        self.base = digest()
        self.base_other = digest(self.world.other)

    def start(self) -> None:
        """Before a case."""
        self.problems = []
        self.written = rows_written()

    def changed(self) -> bool:
        """Whether the ledger is not what it was at the beginning."""
        if self.written is not None and rows_written() == self.written:
            return False
        return digest() != self.base

    def say(self, problem: str) -> None:
        """Note what is wrong."""
        self.problems.append(problem)

    def check_answer(self, answer: Any) -> None:
        """Status, content and headers of an answer."""
        content = b""
        try:
            content = b"".join(answer) if answer.streaming else answer.content
        except Exception:
            self.say(f"broke off while it was sent: {traceback.format_exc()}")
        status, kind = answer.status_code, answer.get("Content-Type", "")
        if status not in FINE:
            self.say(f"answered {status}: {_trace_of(answer)}")
        if kind.startswith("text/html") and MARK[:6].encode() in content:
            at = content.index(MARK[:6].encode())
            self.say(f"sent back unescaped: {content[max(0, at - 80) : at + 60]!r}")
        if _TRACE.search(content) and not kind.startswith(("text/csv", "application/")):
            self.say("shows a traceback")
        if kind.startswith("text/html") and "nosniff" not in answer.get(
            "X-Content-Type-Options", ""
        ):
            self.say("may be sniffed as something else")
        target = urlsplit(answer.get("Location", ""))
        if target.netloc or target.scheme or answer.get("Location", "/")[:2] == "//":
            self.say(f"leads elsewhere: {answer['Location']!r}")

    def check_unchanged(self, why: str) -> None:
        """Nothing may be other than it was."""
        if self.changed():
            self.say(f"{why} changed rows")

    def check_ledger(self) -> None:
        """All derived figures are what the facts give."""
        newest = Build.objects.last()
        for build in {self.world.build, newest} - {self.world.other}:
            for text in find_differences(build):
                self.say(f"half saved: {text}")
        connection.check_constraints()

    def check_other(self) -> None:
        """Other people's build is as it was."""
        if digest(self.world.other) != self.base_other:
            self.say("changed somebody else's build")


def _trace_of(answer: Any) -> str:
    result = getattr(answer, "exc_info", None)
    return "".join(traceback.format_exception(*result)) if result else "(no traceback)"
