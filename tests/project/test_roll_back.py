"""The README's upgrade and roll-back, line by line, by the commands that stand there.

The newer version is this one with a migration more: a column that must be filled, which this one
does not know. What needs a machine of its own (systemctl, git, pip) is done here in its place.
"""

import re
import shlex
import shutil
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path
from urllib.request import urlopen

import pytest

from tests.own_database import ROOT, own_database

from .served import bare, serve
from .test_deploy import README

PARTS = ("manage.py", "buildledger", "materials", "static", "templates")
COLUMN = "    probe = models.IntegerField(default=7)\n"
MIGRATION = """
from django.db import migrations, models

class Migration(migrations.Migration):
    dependencies = [("materials", "{newest}")]
    operations = [
        migrations.AddField("build", "probe", models.IntegerField(default=7)),
    ]
"""
MAKE = """
from materials.services.accounts import ensure_user
from materials.services.builds import create_build
user, _ = ensure_user(username="ann", password="sawdust-and-lime")
create_build(actor=user, values={{"name": "{name}", "currency": "USD"}})
"""
SHOW = """
from django.db import connection
from materials.models import Build
with connection.cursor() as cursor:
    found = connection.introspection.get_table_description(cursor, "materials_build")
print(sorted(Build.objects.values_list("name", flat=True)), "probe" in [c.name for c in found])
"""


def commands(heading: str) -> list[list[str]]:
    """Words of each command in the block that follows a heading of the README."""
    block = re.search(rf"\*\*{heading}\*\*.*?```sh\n(.*?)```", README, re.DOTALL)
    assert block, heading
    lines = [part for line in block[1].splitlines() for part in line.split("&&")]
    return [shlex.split(line) for line in lines]


class Machine:
    """A machine with the program on it, as the README sets it up."""

    def __init__(self, folder: Path, env: dict[str, str]):
        self.folder, self.home, self.data = folder, folder / "srv", folder / "data"
        self.env = bare(env, DATA_ROOT=str(self.data), PYTHONPATH=str(self.home))
        self.said: dict[str, str] = {}
        self.running: ExitStack | None = None
        for name in PARTS:
            copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy2
            self.home.mkdir(exist_ok=True)
            copy(ROOT / name, self.home / name)
        self.model = self.home / "materials" / "models" / "builds.py"
        self.older = self.model.read_text(encoding="utf-8")

    def run(self, words: list[str]) -> None:
        """One command of the README."""
        match words:
            case ["systemctl", "start", "buildledger"]:
                self.start()
            case ["systemctl", "stop", "buildledger"]:
                self.running.close()
            case ["git", "pull"]:
                self.upgrade()
            case ["git", "checkout", "EARLIER-VERSION"]:
                self.go_back()
            case [".venv/bin/pip", "install", "-r", "requirements.txt"]:
                pass
            case ["ledger", *rest]:
                self.said[rest[0]] = self.manage(*rest)
            case _:
                raise AssertionError(f"the README says something new: {words}")

    def manage(self, *words: str, given: str = "") -> str:
        words = tuple(word.replace("/var/lib/buildledger", str(self.data)) for word in words)
        done = subprocess.run(
            [sys.executable, "manage.py", *words],
            env=self.env, cwd=self.home, input=given, capture_output=True, text=True, timeout=300,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def start(self) -> None:
        self.running = ExitStack()
        command = "manage.py serve --bind 127.0.0.1:8000"
        served = self.running.enter_context(serve(self.env, self.folder, command, self.home))
        answer = urlopen(f"http://127.0.0.1:{served.port}/health/", timeout=60)
        assert b'"migrations": "ok"' in answer.read()
        self.said["serve"] = served.printed

    @property
    def more(self) -> Path:
        return self.home / "materials" / "migrations" / "9999_of_tomorrow.py"

    def upgrade(self) -> None:
        newest = sorted(self.more.parent.glob("0*.py"))[-1].stem
        self.more.write_text(MIGRATION.format(newest=newest), encoding="utf-8")
        heading = re.search(r"^class Build\(.*?\n    name = [^\n]*\n", self.older, re.M | re.S)
        text = self.older[: heading.end()] + COLUMN + self.older[heading.end() :]
        self.model.write_text(text, encoding="utf-8")

    def go_back(self) -> None:
        self.more.unlink()
        self.model.write_text(self.older, encoding="utf-8")

    def make(self, name: str) -> None:
        self.manage("shell", "-v0", "-c", MAKE.format(name=name))

    def show(self) -> str:
        return self.manage("shell", "-v0", "-c", SHOW).strip()


@pytest.fixture
def machine(tmp_path, monkeypatch):
    with own_database(tmp_path) as env:
        made = Machine(tmp_path, env)
        try:
            yield made
        finally:
            if made.running:
                made.running.close()


@pytest.mark.database
@pytest.mark.slow
@pytest.mark.parametrize("is_sealed", [False, True])
def test_upgraded_and_rolled_back(machine, is_sealed, tmp_path):
    if is_sealed:
        key = tmp_path / "key"
        key.write_text("1f" * 32)
        key.chmod(0o600)
        machine.env["BACKUP_KEY_FILE"] = str(key)
    machine.start()
    machine.make("Byre")
    for words in commands("To upgrade"):
        machine.run(words)
    assert "Bringing the database up to date." in machine.said["serve"]
    (own,) = (machine.data / "backups").glob("before-migrating-*")
    assert own.suffix == (".sealed" if is_sealed else ".zip")
    assert own.read_bytes().startswith(b"buildledger sealed" if is_sealed else b"PK")
    machine.make("Loft")
    assert machine.show() == "['Byre', 'Loft'] True"
    for words in commands("To roll back"):
        machine.run(words)
    assert "Restored 1 build" in machine.said["restore"]
    assert "The earlier ledger is kept as" in machine.said["restore"]
    assert "Differences: none." in machine.said["check_ledger"]
    assert machine.show() == "['Byre'] False"
    # What is written afterwards is written by the older version, into tables it knows.
    machine.make("Shed")
    assert machine.show() == "['Byre', 'Shed'] False"
    machine.running.close()
    # “serve” made one too, of the same moment.
    machine.manage("restore", str(own), "--replace")
    assert machine.show() == "['Byre'] False"
    machine.manage("restore", "--undo")
    machine.manage("restore", "--undo")
    assert machine.show() == "['Byre'] False"
    assert machine.manage("restore", "--drop-kept").count("Deleted") == 2


def test_the_service_is_stopped_first():
    for heading in ("To upgrade", "To roll back"):
        said = commands(heading)
        stop, start = (said.index(["systemctl", word, "buildledger"]) for word in ("stop", "start"))
        changes = [n for n, words in enumerate(said) if {"git", "restore"} & set(words[:2])]
        assert changes
        assert stop < min(changes)
        assert max(changes) < start
