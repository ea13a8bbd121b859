"""The test command: ``python -m tests``, with whatever pytest takes behind it.

Installs what drives the pages and works the workbooks out, where it may; then runs pytest on all
processors. Where something is missing and may not be installed it says what to type, runs all
that does not need it, and ends badly.
"""

import ctypes
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent


def loads(library: str) -> bool:
    """Whether a shared library is there."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def find_chromium() -> str | None:
    """The browser's program. The one without windows does the same in half the time."""
    names = ("chromium-headless-shell", "chromium")
    return os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, names)), None)


class Need(NamedTuple):
    """A package of Debian, how to tell that what it brings is there, and what needs it."""

    package: str
    is_there: Callable[[], object]
    mark: str
    # What else brings it, where no such package is known.
    instead: str = ""


NEEDS = (
    Need("chromium-headless-shell", find_chromium, "browser", instead="chromium"),
    # Playwright brings a driver that wants it.
    Need("libatomic1", lambda: loads("libatomic.so.1"), "browser"),
    Need("libreoffice-calc", lambda: shutil.which("soffice"), "office"),
    Need(
        "fonts-dejavu-core",
        lambda: next(Path("/usr/share/fonts").rglob("DejaVuSans.ttf"), None),
        "browser",
    ),
)


def missing(needs: Sequence[Need] = NEEDS) -> list[Need]:
    """What is not there."""
    return [need for need in needs if not need.is_there()]


def install(packages: Sequence[str]) -> None:
    """Have apt-get fetch packages, where it is there and may be used; else nothing happens."""
    if os.geteuid() or not shutil.which("apt-get"):
        return
    for words in (["update"], ["install", "-y", "--no-install-recommends", *packages]):
        subprocess.run(
            ["apt-get", "-qq", *words],
            env=os.environ | {"DEBIAN_FRONTEND": "noninteractive"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            check=False,
        )


def prepare(needs: Sequence[Need] = NEEDS, fetch: Callable[..., None] = install) -> list[Need]:
    """Install what is missing; gives what could not be, having said what to type."""
    if wanted := [need.package for need in missing(needs)]:
        sys.stderr.write(f"Not here yet, asking apt-get for it: {' '.join(wanted)}\n")
        fetch(wanted)
        # One name that apt-get does not know keeps it from all of them.
        if again := [need.instead or need.package for need in missing(needs)]:
            fetch(again)
    left = missing(needs)
    if left:
        packages = " ".join(need.instead or need.package for need in left)
        sys.stderr.write(
            "Some tests cannot run here, and this will end badly. Type this first:\n"
            f"  sudo apt-get install -y --no-install-recommends {packages}\n"
        )
    return left


def main(given: Sequence[str]) -> int:
    """Prepare, run pytest; its code, or 1 where something was left out."""
    left = prepare()
    without = [f"--without={mark}" for mark in sorted({need.mark for need in left})]
    # Workers must collect in one order, which sets would not keep. Each takes its share, and then
    # what another has not begun: tests of a module mostly stay together. One more than there are
    # processors, for whoever drives a browser mostly waits.
    workers = str((os.cpu_count() or 1) + 1)
    command = [sys.executable, "-m", "pytest", "-n", workers, "--dist", "worksteal"]
    # Bytecode is kept, or each process that a test starts would compile the program anew.
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(
        [*command, *without, *given],
        cwd=ROOT,
        env=env | {"PYTHONHASHSEED": "0"},
        check=False,
    )
    return done.returncode or bool(left)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
