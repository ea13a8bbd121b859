"""Whether the program can work, and what it runs on: for whoever watches over a server."""

import os
import platform
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

import django
from django.conf import settings
from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from .builds import list_all
from .checks import find_differences

FINE = "ok"
# Less than this and the next backup or a few photos may not fit.
LEAST_FREE = 500 * 1024 * 1024


@dataclass(frozen=True)
class Size:
    """A name and a number of bytes."""

    name: str
    size: int


def check_health() -> dict[str, str]:
    """What must hold for anything to work, each ``ok`` or a word or two of what is wrong.

    Names no host, path, user or error text: anybody may read it.
    """
    answers = {"database": "does not answer", "migrations": "not known", "media": _media()}
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            cursor.fetchone()
        answers["database"] = FINE
        answers["migrations"] = FINE if not list_unapplied() else "to be applied"
    except Error:
        connection.close()
    return answers


def list_unapplied() -> list[str]:
    """Migrations that the program has and the database does not."""
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [f"{migration.app_label}.{migration.name}" for migration, _ in plan]


def list_unknown() -> list[str]:
    """Migrations that the database has and the program does not: those of a newer version."""
    loader = MigrationLoader(connection, ignore_no_migrations=True)
    known = loader.disk_migrations
    return [
        f"{app}.{name}"
        for app, name in sorted(loader.applied_migrations)
        if app in loader.migrated_apps and (app, name) not in known
    ]


def _media() -> str:
    """Whether a file can be kept: tried, for rights alone say nothing of a full disk."""
    try:
        os.makedirs(settings.MEDIA_ROOT, exist_ok=True)
        with tempfile.TemporaryFile(dir=settings.MEDIA_ROOT) as file:
            file.write(b"x")
            file.flush()
    except OSError:
        return "cannot be written"
    return FINE


def list_versions() -> list[tuple[str, str]]:
    """The parts that this runs on, and which version each is."""
    engine = "PostgreSQL" if connection.vendor == "postgresql" else "SQLite"
    return [
        ("Python", platform.python_version()),
        ("Django", django.get_version()),
        (engine, ".".join(map(str, connection.get_database_version()))),
    ]


def list_sizes() -> list[Size]:
    """Bytes of the database, of the uploads, and what is free beside the uploads."""
    root = Path(settings.MEDIA_ROOT)
    kept = sum(path.stat().st_size for path in root.rglob("*") if path.is_file())
    sizes = [Size("database", _database_size()), Size("uploads", kept)]
    if root.exists():
        sizes.append(Size("free", shutil.disk_usage(root).free))
    return sizes


def _database_size() -> int:
    sql = "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
    if connection.vendor == "postgresql":
        sql = "SELECT pg_database_size(current_database())"
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return int(cursor.fetchone()[0])


def check_every_ledger() -> tuple[int, list[str]]:
    """How many builds were worked out again, and each stored figure that is not as it should."""
    builds = list(list_all())
    found = [f"{build.name}: {text}" for build in builds for text in find_differences(build)]
    return len(builds), found
