"""“manage.py serve”: what it makes, what it refuses, and what it says."""

import http.client
import io
import json
import os
import re
import socket
import stat
import subprocess
import sys
from pathlib import Path
from urllib.request import urlopen

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from buildledger import env as envs
from materials.management.commands import serve as command
from materials.management.commands._bind import NoBind, address_of, needs_of, read_bind
from materials.models import Attempt
from materials.services.accounts import ensure_user
from tests.migrations.test_first_release import ROWS, TELL, compare
from tests.own_database import ROOT, manage_all, own_database

from .served import bare, free_port, serve

# One process: loading the program again for another takes as long as all else.
COMMAND = "manage.py serve --bind 127.0.0.1:8000 --workers 1"


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def status(port: int, path: str) -> int:
    """What is answered, without going where it leads."""
    asked = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    asked.request("GET", path)
    answer = asked.getresponse().status
    asked.close()
    return answer


@pytest.mark.database
def test_from_nothing_and_again(tmp_path):
    """All that is kept lies in one folder, for its owner alone; each start has its own address."""
    data = tmp_path / "data"
    with own_database(tmp_path) as env:
        env = bare(env, DATA_ROOT=str(data))
        with serve(env, tmp_path, COMMAND) as first:
            assert "Setting up the database." in first.printed
            assert "Backed up" not in first.printed
            assert status(first.port, "/health/") == 200
            assert status(first.port, first.way) == 302
            assert status(first.port, "/sign-up/") == 404
        with serve(env | {"SIGN_UP": "1"}, tmp_path, COMMAND) as second:
            assert "database" not in second.printed, "there was nothing to migrate"
            assert second.way != first.way
            assert status(second.port, first.way) == 404
            assert status(second.port, second.way) == 302
            assert status(second.port, "/sign-up/") == 200
    assert mode(data) == 0o700
    assert mode(data / "secret_key") == 0o600
    assert len((data / "secret_key").read_text()) >= 60
    assert list((data / "backups").iterdir()) == []
    assert (data / "static" / "staticfiles.json").is_file()
    assert (first.log.read_text() + second.log.read_text()).count("secret_key") == 0


@pytest.mark.database
@pytest.mark.slow
def test_a_ledger_of_the_first_release_is_backed_up_as_it_was_and_migrated(tmp_path):
    """The backup has the older columns, so that the older program can read it."""
    data = tmp_path / "data"
    media = {"MEDIA_ROOT": str(tmp_path / "media")}
    with own_database(tmp_path) as env:
        manage_all(
            env,
            *(("migrate", app) for app in ("contenttypes", "auth", "sessions", "axes")),
            ("migrate", "materials", "0001_initial"),
            ("tests.migrations.look:load", str(ROWS)),
        )
        with serve(bare(env, DATA_ROOT=str(data), **media), tmp_path, COMMAND) as served:
            (said,) = re.findall(r"Backed up 3 builds .* to (/\S+\.zip)\.$", served.printed, re.M)
            assert "/start/" not in served.printed, "there are accounts"
            assert json.loads(urlopen(f"http://127.0.0.1:{served.port}/health/").read()) == {
                "database": "ok", "migrations": "ok", "media": "ok",
            }  # fmt: skip
        (told,) = manage_all(env, TELL)
        assert compare(json.loads(told)) == []
    backup = Path(said)
    assert backup.parent == data / "backups"
    assert (mode(backup.parent), mode(backup)) == (0o700, 0o600)
    with own_database(tmp_path) as other:
        _, told = manage_all(other, ("restore", str(backup)), TELL)
    fleeting = frozenset({"materials.attempt", "materials.sentform"})
    assert compare(json.loads(told), fleeting) == []
    rows = subprocess.run(
        ["unzip", "-p", str(backup), "manifest.json"], capture_output=True, check=False
    ).stdout
    assert ["materials", "0001_initial"] in json.loads(rows)["migrations"]


@pytest.mark.database
@pytest.mark.parametrize(
    ("given", "more", "says"),
    [
        ("--bind 8000", {}, "like 127.0.0.1:8000."),
        ("", {"DATA_ROOT": "/proc/nowhere"}, "set DATA_ROOT to a folder of this user"),
    ],
)
def test_what_cannot_be_served_is_said_in_a_sentence(given, more, says, tmp_path):
    env = bare({"DATABASE_URL": f"sqlite:///{tmp_path}/l.sqlite3"}, DATA_ROOT=str(tmp_path / "d"))
    done = subprocess.run(
        [sys.executable, "manage.py", "serve", *given.split()],
        env=env | more, cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 1
    assert says in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "l.sqlite3").exists(), "nothing was made"


# What it says and does, without a process of its own.


@pytest.fixture
def run(settings, tmp_path, monkeypatch, db):
    """Run it up to where gunicorn would begin; gives what it printed and gunicorn's words."""
    settings.STATIC_ROOT, settings.BACKUP_ROOT = tmp_path / "static", str(tmp_path / "backups")
    settings.ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
    monkeypatch.setenv("PYTHONPATH", os.environ.get("PYTHONPATH", ""))
    begun: list[list[str]] = []
    monkeypatch.setattr(command.os, "execv", lambda program, words: begun.append(words))
    monkeypatch.setattr(command.os, "umask", lambda mask: 0)
    monkeypatch.setattr(command.connections, "close_all", lambda: None)

    def start(*words: str) -> tuple[str, list[str]]:
        out = io.StringIO()
        call_command("serve", *words, stdout=out, stderr=out)
        return out.getvalue(), begun.pop()

    return start


def test_on_this_machine_it_needs_nothing_more(run):
    port = free_port()
    said, words = run("--bind", f"127.0.0.1:{port}", "--workers", "3")
    assert re.fullmatch(
        r"Nobody has an account yet\. .*\n"
        rf"  http://127\.0\.0\.1:{port}/start/[\w-]{{43}}/\n"
        r"It works once\. .*\n",
        said,
    )
    assert words[1:] == [
        "-m", "gunicorn", "-c", "python:buildledger.serving", "buildledger.wsgi",
        "--bind", f"127.0.0.1:{port}", "--workers=3", "--threads=4",
    ]  # fmt: skip


def test_with_an_account_it_prints_no_way_in(run):
    ensure_user(username="ann", password="x")
    port = free_port()
    said, _ = run("--bind", f"127.0.0.1:{port}", "--address", "https://ledger.example/")
    assert said == "Serving https://ledger.example/\n"
    assert not Attempt.objects.exists()


def test_for_others_it_says_what_is_needed(run, settings):
    said, words = run("--bind", f"0.0.0.0:{free_port()}")
    assert "ALLOWED_HOSTS names this machine only" in said
    assert "Put a proxy that speaks HTTPS in front." in said
    assert words[words.index("--bind") + 1].startswith("0.0.0.0:")
    settings.ALLOWED_HOSTS = ["ledger.example", "127.0.0.1"]
    said, _ = run("--bind", f"0.0.0.0:{free_port()}")
    assert "ALLOWED_HOSTS" not in said
    assert "CSRF_TRUSTED_ORIGINS=https://ledger.example" in said
    settings.HTTPS = True
    said, _ = run("--bind", f"0.0.0.0:{free_port()}")
    assert said.startswith("Nobody has an account yet.")
    assert "  https://ledger.example/start/" in said


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("--bind 127.0.0.1:70000", "like 127.0.0.1:8000."),
        ("--bind 203.0.113.9:8000", "choose an address of this machine"),
        ("--bind no-such-host.invalid:8000", "choose an address of this machine"),
        ("--workers 0", "from 1 to 64."),
        ("--threads 65", "from 1 to 64."),
        ("--address ledger.example", "like https://ledger.example."),
        ("debug", "unset it first."),
    ],
)
def test_what_cannot_be_is_refused_before_anything_is_done(given, says, run, settings):
    settings.DEBUG = given == "debug"
    out = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("serve", *given.replace("debug", "").split(), stdout=out, stderr=out)
    assert says in out.getvalue()
    assert len(out.getvalue().splitlines()) == 1
    assert not settings.STATIC_ROOT.exists()
    assert not Attempt.objects.exists()


def test_a_port_in_use_is_told_before_anything_is_done(run, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(SystemExit):
        run("--bind", f"127.0.0.1:{taken.getsockname()[1]}")
    assert not (tmp_path / "static").exists()
    assert not Attempt.objects.exists()


def test_a_database_of_a_newer_version_is_left_alone(run):
    MigrationRecorder(connection).record_applied("materials", "9999_of_tomorrow")
    out = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("serve", "--bind", f"127.0.0.1:{free_port()}", stdout=out, stderr=out)
    assert "A newer version of the program changed this database (materials.9999" in out.getvalue()
    assert not Attempt.objects.exists()


def test_without_a_backup_nothing_is_migrated(run, settings, monkeypatch, tmp_path):
    ensure_user(username="ann", password="x")
    (tmp_path / "file").touch()
    settings.BACKUP_ROOT = str(tmp_path / "file" / "backups")
    monkeypatch.setattr(command, "list_unapplied", lambda: ["materials.0002_more"])
    ran = []
    monkeypatch.setattr(command, "call_command", lambda name, **options: ran.append(name))
    out = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("serve", "--bind", f"127.0.0.1:{free_port()}", stdout=out, stderr=out)
    assert "No backup can be written" in out.getvalue()
    assert "Nothing was changed" in out.getvalue()
    assert ran == []


def test_styles_that_were_collected_before_may_do(run, settings, monkeypatch, tmp_path):
    """As in an image, where nothing can be written beside them."""

    def cannot(name, **options):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(command, "call_command", cannot)
    with pytest.raises(SystemExit):
        run("--bind", f"127.0.0.1:{free_port()}")
    settings.STATIC_ROOT.mkdir()
    (settings.STATIC_ROOT / "staticfiles.json").write_text("{}")
    assert run("--bind", f"127.0.0.1:{free_port()}")[1]


# The address.


@pytest.mark.parametrize(
    ("text", "result", "is_here"),
    [
        ("127.0.0.1:8000", "127.0.0.1:8000", True),
        ("127.8.0.1:80", "127.8.0.1:80", True),
        (" LocalHost:65535 ", "localhost:65535", True),
        ("[::1]:8000", "[::1]:8000", True),
        ("0.0.0.0:1", "0.0.0.0:1", False),
        ("[::]:8000", "[::]:8000", False),
        ("192.0.2.7:8000", "192.0.2.7:8000", False),
        ("ledger.example:8000", "ledger.example:8000", False),
    ],
)
def test_an_address(text, result, is_here):
    bind = read_bind(text)
    assert (bind.text, bind.is_here) == (result, is_here)


@pytest.mark.parametrize(
    "text",
    ["", "8000", ":8000", "127.0.0.1", "127.0.0.1:", "127.0.0.1:0", "127.0.0.1:65536", "::1:80",
     "http://127.0.0.1:80", "127.0.0.1:80/x", "127.0.0.1:80 --daemon", "127.0.0.1:²", "unix:/x"],
)  # fmt: skip
def test_what_is_no_address(text):
    with pytest.raises(NoBind, match=r"like 127\.0\.0\.1:8000"):
        read_bind(text)


@pytest.mark.parametrize(
    ("bind", "hosts", "https", "origins", "result"),
    [
        ("127.0.0.1:8000", ["127.0.0.1"], False, [], "http://127.0.0.1:8000"),
        ("[::1]:8000", ["[::1]"], False, [], "http://[::1]:8000"),
        ("0.0.0.0:8000", ["127.0.0.1"], False, [], "http://127.0.0.1:8000"),
        ("0.0.0.0:8000", ["127.0.0.1", "barn.example"], False, [], "http://barn.example:8000"),
        ("0.0.0.0:8000", ["*"], False, [], "http://127.0.0.1:8000"),
        ("127.0.0.1:8000", ["l.example"], True, [], "https://l.example"),
        ("127.0.0.1:8000", ["l.example"], True, ["https://a.example:8443"],
         "https://a.example:8443"),
        ("127.0.0.1:8000", [".l.example"], True, ["https://*.l.example"], "https://127.0.0.1:8000"),
    ],
)  # fmt: skip
def test_where_people_reach_it(bind, hosts, https, origins, result, settings):
    settings.ALLOWED_HOSTS, settings.HTTPS, settings.CSRF_TRUSTED_ORIGINS = hosts, https, origins
    assert address_of(read_bind(bind)) == result
    assert not list(needs_of(read_bind("127.0.0.1:8000")))


# The secret key.


@pytest.fixture
def kept(monkeypatch, tmp_path):
    """Where the key is kept; nothing of it stands in the environment."""
    monkeypatch.setenv("SECRET_KEY", "")
    monkeypatch.setattr(envs, "LOCAL_SECRET", tmp_path / "new" / "secret_key")
    return envs.LOCAL_SECRET


def test_a_key_is_made_once_for_its_owner_alone(kept, monkeypatch):
    with pytest.raises(ImproperlyConfigured, match="There is no secret key yet"):
        envs.read_secret_key(debug=False)
    before = os.umask(0)
    try:
        envs.provide_local_secret()
    finally:
        os.umask(before)
    key = kept.read_text()
    assert len(key) >= 60
    assert (mode(kept), mode(kept.parent)) == (0o600, 0o700)
    assert [path.name for path in kept.parent.iterdir()] == ["secret_key"]
    monkeypatch.setenv("SECRET_KEY", "")
    envs.provide_local_secret()
    assert key == kept.read_text() == os.environ["SECRET_KEY"] == envs.read_secret_key(debug=False)


def test_a_key_that_others_could_read_is_closed_to_them(kept):
    kept.parent.mkdir()
    kept.write_text("k" * 60)
    kept.chmod(0o644)
    envs.provide_local_secret()
    assert mode(kept) == 0o600
    assert kept.read_text() == "k" * 60


def test_an_empty_file_is_no_key(kept):
    kept.parent.mkdir()
    kept.touch()
    envs.provide_local_secret()
    assert len(kept.read_text()) >= 60


def test_a_key_of_ones_own_is_used_and_none_is_made(kept, monkeypatch):
    monkeypatch.setenv("SECRET_KEY", "mine")
    envs.provide_local_secret()
    assert not kept.exists()


def test_all_that_is_kept_lies_in_one_folder_or_hidden_beside_the_program(monkeypatch):
    monkeypatch.setenv("DATA_ROOT", "/somewhere")
    assert envs.kept_at("media") == Path("/somewhere/media")
    monkeypatch.setenv("DATA_ROOT", "")
    assert envs.kept_at("media") == ROOT / ".media"
