"""The database that migrations make: made once for a run of many processes, and copied.

Whoever begins the run has it made beside the collection of tests, and names the file in the
environment. Where none is named (one process, another kind of database), migrations run as ever.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import django
from django.core.management import call_command
from django.db import connections

ROOT = Path(__file__).resolve().parent.parent
NAME = "MADE_DATABASE"
PATIENCE = 300


@contextmanager
def made_beside() -> Iterator[None]:
    """Begin to make it; who is started meanwhile finds it named."""
    with tempfile.TemporaryDirectory(prefix="buildledger-made-") as folder:
        os.environ[NAME] = str(Path(folder) / "made.sqlite3")
        maker = subprocess.Popen([sys.executable, "-m", "tests.made_database"], cwd=ROOT)
        try:
            yield
        finally:
            del os.environ[NAME]
            maker.terminate()
            maker.wait()


def copy_made(place: Path) -> bool:
    """Put a copy at a place; False where there is none, or it could not be made."""
    if NAME not in os.environ:
        return False
    made, until = Path(os.environ[NAME]), time.monotonic() + PATIENCE
    while not made.exists() and time.monotonic() < until:
        time.sleep(0.05)
    if not made.exists() or not made.stat().st_size:
        return False
    shutil.copyfile(made, place)
    return True


def make() -> None:
    """Make it, to be seen when it is whole; an empty file says that it cannot be."""
    made = Path(os.environ[NAME])
    begun = made.with_suffix(".begun")
    os.environ |= {
        "DATABASE_URL": f"sqlite:///{begun}",
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "LOG_FORMAT": "text",
    }
    try:
        django.setup()
        call_command("migrate", verbosity=0)
        connections.close_all()
    except BaseException:
        begun.write_bytes(b"")
        raise
    finally:
        begun.replace(made)


if __name__ == "__main__":
    make()
