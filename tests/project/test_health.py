"""The health page and the health report."""

import io
import os
from datetime import UTC, datetime

import pytest
from django.core.management import call_command
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from materials.models import PurchaseLine
from materials.queries import health as queries
from materials.views import health as views
from tests.entries import line

FINE = {"database": "ok", "migrations": "ok", "media": "ok"}


@pytest.fixture(autouse=True)
def anew(settings, tmp_path):
    """Nothing was seen before, nothing is remembered after."""
    settings.MEDIA_ROOT = tmp_path / "media"
    views.seen.answers = {}
    yield
    views.seen.answers = {}


def ask(**more):
    return Client().get("/health/", **more)


def test_all_is_well(db):
    answer = ask()
    assert (answer.status_code, answer.json()) == (200, FINE)
    assert "no-store" in answer["Cache-Control"]
    assert answer.cookies == {}
    assert Client().head("/health/").status_code == 200
    assert Client().post("/health/").status_code == 405


def test_asked_often_it_looks_once(db, monkeypatch):
    """So that nobody keeps the database busy with it; after a while it looks again."""
    now = [1000.0]
    monkeypatch.setattr(views.time, "monotonic", lambda: now[0])
    ask()
    with CaptureQueriesContext(connection) as queries:
        for _ in range(20):
            assert ask().status_code == 200
    assert len(queries) == 0
    now[0] += views.SECONDS
    with CaptureQueriesContext(connection) as queries:
        ask()
    assert 0 < len(queries) < 10


class HeldLock:
    """A lock that somebody holds; keeps how it was asked for."""

    def __init__(self):
        self.asked = []

    def acquire(self, **how):
        self.asked.append(how)
        return False


def test_who_comes_while_somebody_looks_does_not_wait(db, monkeypatch):
    """Held by somebody, the lock is asked for once, and not waited for."""
    held = HeldLock()
    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(views.seen, "_looking", held)
        assert ask().status_code == 503
    assert held.asked == [{"blocking": False}]
    assert ask().status_code == 200


def test_a_database_that_does_not_answer(db, monkeypatch):
    def fails(*args, **kwargs):
        raise OperationalError("host 10.0.0.7 refused user ledger with password spade")

    with monkeypatch.context() as broken:
        broken.setattr(connection, "cursor", fails)
        broken.setattr(connection, "close", lambda: None)
        answer = ask()
    assert answer.status_code == 503
    assert answer.json() == FINE | {"database": "does not answer", "migrations": "not known"}


def test_migrations_to_be_applied(db, monkeypatch):
    monkeypatch.setattr(queries, "list_unapplied", lambda: ["materials.0002_x"])
    answer = ask()
    assert (answer.status_code, answer.json()["migrations"]) == (503, "to be applied")
    assert "0002" not in answer.content.decode()


def test_what_is_to_be_applied_is_known(db):
    assert queries.list_unapplied() == []
    rows = MigrationRecorder(connection).migration_qs.filter(app="materials")
    newest = rows.order_by("-name").first()
    text = f"materials.{newest.name}"
    newest.delete()
    assert text in queries.list_unapplied()


def test_a_folder_that_takes_no_file(db, settings, tmp_path):
    (tmp_path / "file").write_text("")
    settings.MEDIA_ROOT = tmp_path / "file" / "media"
    answer = ask()
    assert answer.status_code == 503
    assert answer.json() == FINE | {"media": "cannot be written"}
    assert str(tmp_path) not in answer.content.decode()


def test_trying_leaves_no_file(db, settings):
    ask()
    assert os.listdir(settings.MEDIA_ROOT) == []


def test_it_answers_beside_the_proxy_without_a_redirect(db, settings):
    settings.SECURE_SSL_REDIRECT = True
    assert ask().status_code == 200
    assert Client().get("/sign-in/").status_code == 301


# The report


def report(*args: str) -> tuple[int, str]:
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("health_report", *args, stdout=out, stderr=err)
    except SystemExit as end:
        return int(end.code or 0), out.getvalue() + err.getvalue()
    return 0, out.getvalue() + err.getvalue()


def test_the_report_tells_everything_and_checks_every_ledger(entries):
    entries.purchase("P1", line(entries.component("Board"), "1 piece"))
    code, printed = report()
    assert code == 0, printed
    for part in ("Python 3.11", "Django 5.2", "MB", "Builds checked: 1. Differences: none."):
        assert part in printed
    assert printed.endswith("All is well.\n")


def test_a_figure_that_does_not_follow_from_its_facts_is_trouble(entries):
    entries.purchase("P1", line(entries.component("Board"), "1 piece"))
    PurchaseLine.objects.update(base_qty=7)
    code, printed = report()
    assert code == 1
    assert "Hill shed: " in printed
    assert "All is well" not in printed


def test_the_report_names_what_is_to_be_applied(db, monkeypatch):
    for module in (queries, __import__(COMMAND, fromlist=["x"])):
        monkeypatch.setattr(module, "list_unapplied", lambda: ["materials.0002_x"])
    code, printed = report()
    assert code == 1
    assert "to be applied: materials.0002_x" in printed


COMMAND = "materials.management.commands.health_report"
NOW = datetime(2026, 5, 4, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("hours", "code", "words"),
    [(1, 0, "newest backup:"), (37, 1, "older than 36 hours"), (None, 1, "there is none")],
)
def test_backups(hours, code, words, db, tmp_path, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    folder = tmp_path / "backups"
    folder.mkdir()
    if hours is not None:
        for name, more in (("new.zip", 0), ("old.zip", 90)):
            (folder / name).write_bytes(b"x")
            at = NOW.timestamp() - (hours + more) * 3600
            os.utime(folder / name, (at, at))
    got, printed = report("--backups", str(folder))
    assert got == code
    assert words in printed


def test_a_folder_of_backups_that_is_not_there(db, tmp_path):
    code, printed = report("--backups", str(tmp_path / "nowhere"))
    assert code == 1
    assert "cannot be read" in printed


def test_little_room_is_trouble(db, monkeypatch, settings):
    settings.MEDIA_ROOT.mkdir()
    monkeypatch.setattr(queries.shutil, "disk_usage", lambda path: type("U", (), {"free": 5}))
    code, printed = report()
    assert code == 1
    assert "make room" in printed
