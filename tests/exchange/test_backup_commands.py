"""backup and restore from the command line: exit codes, sentences, nothing lost or replaced."""

import os
import stat

import pytest

from materials.models import Build

from .test_commands import run

pytestmark = pytest.mark.django_db


@pytest.fixture
def file(build, records, tmp_path, settings):
    """One build as a file."""
    settings.MEDIA_ROOT = tmp_path / "media"
    path = tmp_path / "shed.zip"
    assert run("backup", path, "--build", "Hill shed")[0] == 0
    return path


def test_a_build_that_nobody_would_own_is_said(file):
    """There are several accounts, and none is named."""
    code, printed, _ = run("restore", file)
    assert code == 0
    assert "nobody owns it" in printed
    assert "--owner USERNAME" in printed
    code, printed, _ = run("restore", file, "--owner", "viewer")
    assert (code, printed) == (0, "Added the build “Hill shed”.\n")
    assert Build.objects.latest("pk").members.get().user.username == "viewer"
    code, _, output = run("restore", file, "--owner", "nobody-here")
    assert (code, len(output.splitlines())) == (1, 1)
    assert "No active user is called “nobody-here”" in output


@pytest.mark.parametrize("command", ["backup", "restore"])
def test_a_pipe_is_neither_replaced_nor_waited_for(command, tmp_path, db):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    code, _, printed = run(command, pipe)
    assert code == 1
    assert "is not a file" in printed
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.parametrize("data", [b"", b"hello", b"PK\x03\x04" + b"\0" * 99, None, "cut"])
def test_what_is_no_such_file_is_one_sentence(data, file, tmp_path):
    bad = tmp_path / "bad.zip"
    if data is not None:
        bad.write_bytes(file.read_bytes()[:900] if data == "cut" else data)
    count = Build.objects.count()
    code, printed, output = run("restore", bad, "--replace")
    assert (code, printed, len(output.splitlines())) == (1, "", 1)
    assert Build.objects.count() == count


def test_a_full_database_is_not_written_over(file, tmp_path):
    everything = tmp_path / "all.zip"
    assert run("backup", everything)[0] == 0
    code, _, printed = run("restore", everything)
    assert code == 1
    assert "already holds accounts or builds" in printed
    before = everything.read_bytes()
    assert run("backup", tmp_path / "nowhere" / "all.zip")[0] == 1
    assert run("backup", tmp_path)[0] == 1
    assert run("backup", everything, "--build", "No such build")[0] == 1
    assert everything.read_bytes() == before
    assert not [name for name in os.listdir(tmp_path) if name.startswith(".backup")]
