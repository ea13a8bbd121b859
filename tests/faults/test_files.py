"""Files on a full disk, and files that are said to be written: whole and kept, or not there."""

import errno
import gc
import os
import sqlite3
from contextlib import closing
from io import BytesIO

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse

from buildledger.env import as_it_may_be_opened
from materials.models import Photo
from materials.queries.uploads import list_uploads
from materials.services import stored_files
from materials.services.errors import LedgerError
from materials.services.files import DurableStorage, replacing
from materials.services.stored_files import is_ours
from tests.exchange.test_commands import run
from tests.faults.test_outages import logged, nothing_half_done, visitor  # noqa: F401
from tests.photo_files import jpeg, sent
from tests.views.screens import Page

pytestmark = pytest.mark.django_db(transaction=True)


class Small:
    """A file with room for so many bytes."""

    def __init__(self, file, room):
        self.file, self.room = file, room

    def __getattr__(self, name):
        return getattr(self.file, name)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def write(self, data):
        data = bytes(data)
        written = self.file.write(data[: max(0, self.room)])
        self.room -= len(data)
        if self.room < 0:
            self.file.flush()
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return written


def test_a_photo_without_room_leaves_no_file_and_no_purchase(
    visitor,  # noqa: F811
    build,
    settings,
    tmp_path,
    monkeypatch,
):
    settings.MEDIA_ROOT = tmp_path
    opened = os.fdopen
    calls = []

    def small(*args):
        calls.append(args)
        return Small(opened(*args), 100)

    monkeypatch.setattr("django.core.files.storage.filesystem.os.fdopen", small)
    answer, _ = logged(visitor, build, 1, photo=sent(jpeg((400, 300)), "pile.jpg"))
    assert calls
    assert answer.status_code == 507
    text = Page(answer.content.decode())
    assert "pile.jpg" in text.text
    assert "Send it again without the file" in answer.content.decode()
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []
    nothing_half_done(0)
    assert Photo.objects.count() == 0
    monkeypatch.undo()
    assert visitor.post(reverse("log", args=[build.pk]), text.form.fields).status_code == 302
    nothing_half_done(1)


@pytest.mark.parametrize(
    ("command", "name", "options"),
    [
        ("backup", "all.zip", ()),
        ("backup", "one.zip", ("--build", "Hill shed")),
        ("export_sheet", "b.xlsx", ("--build", "Hill shed", "--to")),
        ("export_sheet", "tables", ("--build", "Hill shed", "--csv")),
    ],
)
def test_a_command_without_room_says_so_and_leaves_nothing(
    command, name, options, entries, tmp_path, monkeypatch
):
    entries.fill(range(1))
    room = 300
    target = tmp_path / name
    order = (
        (command, *options, target) if command == "export_sheet" else (command, target, *options)
    )
    opened = os.fdopen
    with monkeypatch.context() as patched:
        patched.setattr("materials.services.files.os.fdopen", lambda *a: Small(opened(*a), room))
        code, printed, output = run(*order)
        gc.collect()
    assert (code, printed) == (1, "")
    assert output == (
        f"“{target}” cannot be written ({os.strerror(errno.ENOSPC)}): choose another place.\n"
    )
    left = [path for path in tmp_path.rglob("*") if path.is_file()]
    # Small tables may have had room; each is there whole or not at all.
    assert all(path.suffix == ".csv" and path.stat().st_size <= room for path in left)
    assert run(*order)[0] == 0


def test_a_file_that_may_only_be_read_is_opened_where_its_folder_is_closed(tmp_path, monkeypatch):
    file = tmp_path / "a 100% ledger.sqlite3"
    with closing(sqlite3.connect(file)) as made:
        made.execute("PRAGMA journal_mode=WAL")
        made.execute("CREATE TABLE kept (n)")
        made.execute("INSERT INTO kept VALUES (7)")
        made.commit()
    assert as_it_may_be_opened(file) == str(file)
    monkeypatch.setattr(os, "access", lambda *_: False)
    with closing(sqlite3.connect(as_it_may_be_opened(file), uri=True)) as read:
        read.execute("PRAGMA journal_mode=WAL")
        assert read.execute("SELECT n FROM kept").fetchall() == [(7,)]
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            read.execute("INSERT INTO kept VALUES (8)")
    # A log beside it holds what the file does not: it is read along, as SQLite does by itself.
    (tmp_path / f"{file.name}-wal").touch()
    assert as_it_may_be_opened(file) == str(file)
    assert as_it_may_be_opened(tmp_path / "none.sqlite3") == str(tmp_path / "none.sqlite3")


def test_an_upload_is_on_the_disk_before_its_row_can_be(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    synced = []
    real = os.fsync

    def note(handle):
        synced.append(os.readlink(f"/proc/self/fd/{handle}"))
        real(handle)

    monkeypatch.setattr(os, "fsync", note)
    assert isinstance(default_storage._wrapped, DurableStorage)
    name = default_storage.save("builds/1/a.jpg", ContentFile(b"x"))
    assert name == "builds/1/a.jpg"
    folders = [tmp_path / "builds/1", tmp_path / "builds", tmp_path]
    assert synced == [str(tmp_path / "builds/1/.a.jpg.unfinished"), *map(str, folders)]
    assert [path.name for path in folders[0].iterdir()] == ["a.jpg"]


class Killed(BaseException):
    """Ends a process that then tidies nothing up."""


@pytest.mark.parametrize("named", ["builds/1/a.jpg", "builds/1/tables/a"])
def test_a_killed_upload_leaves_nothing_that_a_backup_would_take_for_a_file(
    named, settings, tmp_path, monkeypatch
):
    settings.MEDIA_ROOT = tmp_path

    def kill(*_):
        raise Killed

    def ours() -> list[str]:
        return [name for name in list_uploads() if is_ours(name)]

    def save_until(step: str) -> None:
        with monkeypatch.context() as patched:
            patched.setattr(os, "unlink", lambda _: None)
            patched.setattr(f"materials.services.files.{step}", kill)
            with pytest.raises(Killed):
                default_storage.save(named, ContentFile(b"all of it"))

    for step in ("os.fsync", "os.replace"):
        save_until(step)
        assert ours() == []
        assert list(list_uploads()), "something was begun"
    save_until("sync_folder")
    assert ours() == [named]
    assert (tmp_path / named).read_bytes() == b"all of it"


def test_a_file_replaces_another_only_when_it_is_whole_and_kept(tmp_path, monkeypatch):
    target = tmp_path / "all.zip"
    target.write_bytes(b"the old one")
    synced = []
    real = os.fsync

    def note(handle):
        synced.append((os.readlink(f"/proc/self/fd/{handle}"), target.read_bytes()))
        real(handle)

    monkeypatch.setattr(os, "fsync", note)
    with replacing(target, prefix=".backup-") as stream:
        stream.write(b"the new one")
    (first, before), (second, after) = synced
    assert first.startswith(str(tmp_path / ".backup-"))
    assert (before, second, after) == (b"the old one", str(tmp_path), b"the new one")
    with pytest.raises(OSError, match="left"), replacing(target, prefix=".backup-") as stream:
        raise OSError(errno.ENOSPC, "no room left")
    assert [path.name for path in tmp_path.iterdir()] == ["all.zip"]


def test_what_a_killed_run_left_is_taken_away_and_what_a_living_one_writes_is_not(tmp_path):
    left = tmp_path / ".backup-dead"
    left.write_bytes(b"half of it")
    with replacing(tmp_path / "one.zip", prefix=".backup-") as first:
        assert not left.exists()
        with replacing(tmp_path / "two.zip", prefix=".backup-") as second:
            second.write(b"two")
        first.write(b"one")
    assert (tmp_path / "one.zip").read_bytes() == b"one"
    assert (tmp_path / "two.zip").read_bytes() == b"two"
    assert len(list(tmp_path.iterdir())) == 2


def test_a_table_of_a_backup_is_taken_up_to_its_limit(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(stored_files, "MAX_TABLE_BYTES", 10)
    with stored_files.placing() as place:
        place("builds/1/tables/a", BytesIO(b"0123456789").read)
    with (
        pytest.raises(LedgerError, match="too large"),
        stored_files.placing() as place,
    ):
        place("builds/1/tables/b", BytesIO(b"0123456789 ").read)
    assert list(list_uploads()) == ["builds/1/tables/a"]
