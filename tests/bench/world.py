"""The scratch database of a run: builds made once, accounts, and a client that is signed in."""

import os
import platform
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.contrib.auth import get_user_model
from django.db import connection, connections
from django.test import Client

from materials.choices import Role
from materials.models import Build, Member

from .generate import make_build

ROOT = Path(__file__).resolve().parent.parent.parent


@dataclass
class World:
    """What every case is given.

    ``sizes`` are the numbers of purchase lines from the smallest build to the largest; ``many``
    the number of builds in the database with many. Limits are only for full sizes: ``is_quick``
    is a trial of the bench itself.
    """

    folder: Path
    sizes: tuple[int, int, int]
    runs: int
    many: int
    is_quick: bool = False
    client: Client = field(default_factory=Client)
    _builds: dict[Any, Build] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.user = get_user_model().objects.create_user("bench")
        self.client.force_login(self.user)

    def build(self, lines: int, least: int = 0) -> Build:
        """The build of so many lines, made when it is first asked for."""
        key = (lines, least)
        if key not in self._builds:
            made = make_build(f"Bench {lines} {least}", lines, least=least)
            Member.objects.create(build=made, user=self.user, role=Role.OWNER)
            self._builds[key] = made
            settle()
        return self._builds[key]

    def limit(self, value: float) -> float | None:
        """A limit, where it is one."""
        return None if self.is_quick else value


def settle() -> None:
    """What a PostgreSQL server does by itself after a while: count rows, mark what all may see."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")


def database_url(settings: dict[str, Any] | None = None) -> str:
    """The scratch database as another process opens it."""
    options = settings or connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{options['NAME']}"
    host, port = quote(options["HOST"], safe=""), f":{options['PORT']}" if options["PORT"] else ""
    secret = f":{quote(options['PASSWORD'], safe='')}" if options["PASSWORD"] else ""
    return f"postgresql://{quote(options['USER'], safe='')}{secret}@{host}{port}/{options['NAME']}"


def child_environment() -> dict[str, str]:
    """The environment of a process that works on the scratch database."""
    return os.environ | {
        "DATABASE_URL": database_url(),
        "DJANGO_SETTINGS_MODULE": "tests.bench.settings",
        "SECRET_KEY": os.environ.get("SECRET_KEY", "only-for-tests"),
        "PYTHONWARNINGS": "ignore",
    }


def in_child(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run ``python -m tests.bench.child`` on the scratch database; it must end well."""
    return subprocess.run(
        [sys.executable, "-m", "tests.bench.child", *arguments],
        cwd=ROOT,
        env=child_environment(),
        check=True,
        capture_output=True,
        text=True,
    )


@contextmanager
def copied_database() -> Iterator[Callable[[], Any]]:
    """A copy of the scratch database as it is now; what is given turns to it and back again.

    Only one of the two is the default connection at a time; both stay open.
    """
    settings = dict(connection.settings_dict)
    settings["NAME"] = f"{settings['NAME']}_copy"
    own = connections["default"]
    connection.close()
    if connection.vendor == "sqlite":
        with sqlite3.connect(own.settings_dict["NAME"]) as source:
            source.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        source.close()
        shutil.copyfile(own.settings_dict["NAME"], settings["NAME"])
    else:
        with own._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE IF EXISTS "{settings["NAME"]}"')
            cursor.execute(
                f'CREATE DATABASE "{settings["NAME"]}" TEMPLATE "{own.settings_dict["NAME"]}"'
            )
    other = type(own)(settings, "default")

    @contextmanager
    def turned() -> Iterator[None]:
        connections["default"] = other
        try:
            yield
        finally:
            connections["default"] = own

    try:
        yield turned
    finally:
        other.close()
        if own.vendor == "sqlite":
            for end in ("", "-wal", "-shm"):
                Path(f"{settings['NAME']}{end}").unlink(missing_ok=True)
        else:
            with own._nodb_cursor() as cursor:
                cursor.execute(f'DROP DATABASE IF EXISTS "{settings["NAME"]}"')


def machine() -> dict[str, str]:
    """What the figures were taken on."""
    model = next(
        (
            line.partition(":")[2].strip()
            for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
            if line.startswith("model name")
        ),
        platform.processor() or "not known",
    )
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            database = f"SQLite {sqlite3.sqlite_version}, synchronous=FULL"
        else:
            cursor.execute("SHOW server_version")
            version = str(cursor.fetchone()[0]).split()[0]
            cursor.execute("SHOW fsync")
            database = f"PostgreSQL {version}, fsync {cursor.fetchone()[0]}"
    return {
        "cores": str(os.cpu_count()),
        "processor": model,
        "system": f"{platform.system()} {platform.release()}",
        "python": platform.python_version(),
        "database": database,
        "load": f"{os.getloadavg()[0]:.1f}",
    }
