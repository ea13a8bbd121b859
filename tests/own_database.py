"""A database of its own for a test that runs the program in processes of their own."""

import json
import os
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg
from django.conf import settings
from django.db import connection

from tests.made_database import copy_made

ROOT = Path(settings.BASE_DIR)


@contextmanager
def own_database(folder: Path, *, made: bool = False) -> Iterator[dict[str, str]]:
    """An environment in which the program finds an empty database and no photos.

    ``made``: what migrates it first may find that done, where a run made it for all of its tests.
    """
    name = f"own_{uuid.uuid4().hex[:12]}"
    base = {
        **{key: value for key, value in os.environ.items() if key != "DEBUG"},
        "SECRET_KEY": "only-for-tests",
        "MEDIA_ROOT": str(folder / "media"),
        "PYTHONPATH": str(ROOT),
    }
    if connection.vendor != "postgresql":
        file = folder / f"{name}.sqlite3"
        if made:
            copy_made(file)
        yield base | {"DATABASE_URL": f"sqlite:///{file}"}
        return
    options = connection.settings_dict
    place = quote(options["HOST"] or "", safe="")
    port = f":{options['PORT']}" if options["PORT"] else ""
    account = quote(options["USER"] or "", safe="")
    if options["PASSWORD"]:
        account += f":{quote(options['PASSWORD'], safe='')}"
    server = f"postgresql://{account}@{place}{port}"
    _run(server, f'CREATE DATABASE "{name}"')
    try:
        yield base | {"DATABASE_URL": f"{server}/{name}"}
    finally:
        _run(server, f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


def _run(server: str, statement: str) -> None:
    """Beside Django's connection, which a test without a database may not use."""
    with psycopg.connect(f"{server}/postgres", autocommit=True) as other:
        other.execute(statement)


def manage(env: dict[str, str], *words: str, ok: bool = True) -> str:
    """Run a command to its end; gives what it printed."""
    done = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *words],
        env=env,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert (done.returncode == 0) is ok, done.stdout + done.stderr
    return done.stdout if ok else done.stderr


def manage_all(
    env: dict[str, str], *steps: tuple[str, ...], settings: str = "tests.settings"
) -> list[str]:
    """Steps of tests/steps.py in one process, which must end well; gives what each printed."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.steps"],
        env=env | {"DJANGO_SETTINGS_MODULE": settings, "LOG_FORMAT": "text"},
        cwd=ROOT,
        input=json.dumps(steps),
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def begin(env: dict[str, str], script: str, *words: str) -> subprocess.Popen[str]:
    """Start a script of Python with Django set up."""
    start = "import django; django.setup()\n"
    return subprocess.Popen(
        [sys.executable, "-c", start + script, *words],
        env=env | {"DJANGO_SETTINGS_MODULE": "buildledger.settings"},
        stdout=subprocess.PIPE,
        text=True,
    )
