"""``manage.py demo``: a ledger of its own beside whatever is configured, for this machine alone."""

import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

import pytest
from django.core.management import call_command

from materials.management.commands.demo import own_host
from tests.made_database import copy_made
from tests.own_database import ROOT
from tests.project.served import free_port

README = (ROOT / "README.md").read_text(encoding="utf-8")
KEPT = ("PATH", "LANG", "LC_ALL", "TMPDIR", "HOME")


@pytest.fixture
def configured(tmp_path):
    """An environment that names a ledger of somebody's own, ready to be served to the world."""
    folder = tmp_path / "own"
    (folder / "media").mkdir(parents=True)
    (folder / "static").mkdir()
    own = {
        "DATABASE_URL": f"sqlite:///{folder}/ledger.sqlite3",
        "MEDIA_ROOT": f"{folder}/media",
        "STATIC_ROOT": f"{folder}/static",
        "SECRET_KEY": "somebody's own",
        "ALLOWED_HOSTS": "*",
        "HTTPS": "1",
        "EMAIL_URL": "smtp://u:p@mail.example",
        "DJANGO_SETTINGS_MODULE": "buildledger.settings",
    }
    return {name: os.environ[name] for name in KEPT if name in os.environ} | own


def demo(env: dict[str, str], *words: str, root: Path = ROOT) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "manage.py", "demo", *words],
        env=env, cwd=root, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def written(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


def test_it_leaves_a_configured_ledger_as_it_is(configured, tmp_path):
    """Whatever ledger, folders and settings the environment names."""
    (tmp_path / "own/ledger.sqlite3").write_bytes(b"")
    before = written(tmp_path / "own")
    place = tmp_path / "demo"
    place.mkdir()
    copy_made(place / "demo.sqlite3")
    for said in ("is loaded", "was left as it is"):
        done = demo(configured | {"DEMO_FOLDER": str(place)}, "--no-serve")
        assert done.returncode == 0, done.stderr
        assert said in done.stdout
    assert written(tmp_path / "own") == before
    assert (tmp_path / "own/ledger.sqlite3").stat().st_size == 0
    with sqlite3.connect(place / "demo.sqlite3") as kept:
        assert kept.execute("select count(*) from materials_build").fetchone()[0] > 0
    assert (place / "secret_key").stat().st_mode & 0o077 == 0
    assert "somebody's own" not in (place / "secret_key").read_text()


@pytest.mark.slow
def test_a_ledger_of_an_env_file_is_left_as_it_is(configured, tmp_path):
    """A checkout of its own with such a file, and a ledger of its own in the project's folder."""
    root = checkout(tmp_path)
    own = root / ".buildledger.sqlite3"
    own.write_bytes(b"")
    (root / ".env").write_text(f"DATABASE_URL=sqlite:///{own}\nMEDIA_ROOT={root}/.media\n")
    env = {name: configured[name] for name in KEPT if name in configured}
    done = demo(env, "--no-serve", root=root)
    assert done.returncode == 0, done.stderr
    assert own.stat().st_size == 0
    assert not (root / ".media").exists()
    assert (root / ".demo/demo.sqlite3").stat().st_size > 0
    assert not (root / ".static").exists()
    assert not (root / ".secret_key").exists()


def checkout(folder: Path) -> Path:
    """A copy of the program."""
    root = folder / "checkout"
    root.mkdir()
    for name in ("buildledger", "materials", "static", "templates"):
        shutil.copytree(ROOT / name, root / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "manage.py", root)
    return root


def read_only(root: Path) -> None:
    for path in (root, *root.rglob("*")):
        path.chmod(path.stat().st_mode & ~0o222)


@pytest.mark.slow
def test_it_is_served_from_a_program_that_cannot_be_written_to(configured, tmp_path):
    """Styles and scripts come from where they are; nothing is collected first."""
    root, place, port = checkout(tmp_path), tmp_path / "demo", free_port()
    read_only(root)
    before = written(root)
    env = {name: configured[name] for name in KEPT if name in configured}
    env |= {"DEMO_FOLDER": str(place), "PYTHONDONTWRITEBYTECODE": "1"}
    server = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", str(port)],
        env=env, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    try:
        page = answer_of(f"http://127.0.0.1:{port}/sign-in/", server)
        (sheet,) = re.findall(r'href="(/static/ledger[^"]*\.css)"', page)
        assert "{" in answer_of(f"http://127.0.0.1:{port}{sheet}", server)
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(60)
        server.stdout.close()
    assert written(root) == before


def answer_of(address: str, server: subprocess.Popen) -> str:
    until = time.monotonic() + 60
    while True:
        try:
            with urlopen(address, timeout=10) as answer:
                return answer.read().decode()
        except OSError:
            assert server.poll() is None, "the demo ended"
            assert time.monotonic() < until, "the demo does not answer"
            time.sleep(0.2)


def test_it_is_not_served_where_others_reach_it(configured, tmp_path):
    done = demo(configured | {"DEMO_FOLDER": str(tmp_path / "demo")}, "--bind", "0.0.0.0")
    assert done.returncode == 1
    assert "Everybody can read the demo's password" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "demo/demo.sqlite3").exists()


@pytest.mark.parametrize(
    ("bind", "host"),
    [
        ("127.0.0.1", "127.0.0.1"),
        ("127.0.0.7", "127.0.0.7"),
        ("::1", "[::1]"),
        ("[::1]", "[::1]"),
        ("localhost", "localhost"),
        ("0.0.0.0", None),
        ("::", None),
        ("::ffff:10.0.0.1", None),
        ("10.0.0.1", None),
        ("ledger.example", None),
        ("localhost.ledger.example", None),
        ("", None),
    ],
)
def test_only_this_machine_may_be_named(bind, host):
    assert own_host(bind) == host


def test_a_folder_that_cannot_be_had_is_told_in_a_sentence(configured, tmp_path):
    (tmp_path / "file").write_text("")
    done = demo(configured | {"DEMO_FOLDER": str(tmp_path / "file/demo")}, "--no-serve")
    assert done.returncode == 1
    assert done.stderr.startswith("The demo cannot be kept in")
    assert len(done.stderr.splitlines()) == 1


def test_with_settings_of_another_ledger_it_does_nothing(db, capsys):
    """As ``--settings`` or another program may call it."""
    with pytest.raises(SystemExit):
        call_command("demo", "--no-serve")
    assert "has a ledger of its own" in capsys.readouterr().err


def test_other_names_than_this_machines_are_not_answered(configured, tmp_path):
    script = "from buildledger import demo_settings as s; print(s.ALLOWED_HOSTS, s.HTTPS, s.DEBUG)"
    printed = subprocess.check_output(
        [sys.executable, "-c", script], cwd=ROOT, text=True,
        env=configured | {"DEMO_FOLDER": str(tmp_path / "demo"), "DEBUG": "1"},
    )  # fmt: skip
    assert printed.split() == ["['localhost',", "'127.0.0.1',", "'[::1]']", "False", "False"]


def test_the_readme_names_its_command_and_its_folder():
    first = README.split("```sh\n")[1].splitlines()[0]
    assert first.endswith(".venv/bin/python manage.py demo")
    assert "`.demo`" in README
    assert "DEMO_FOLDER" in README
