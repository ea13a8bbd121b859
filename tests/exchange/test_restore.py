"""A backup is put back whole, over a ledger of any shape, or the old ledger stands as it was."""

import fcntl
import hashlib
import io
import json
import os
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import psycopg
import pytest
from django.contrib.auth import get_user_model
from django.contrib.contenttypes.models import ContentType
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import connection, connections, models
from django.db.migrations.recorder import MigrationRecorder

from materials.exchange.backups import open_file, restore_backup, write_backup
from materials.exchange.faults import WorkbookError
from materials.models import Build, Change, Photo, Purchase, PurchaseLine
from materials.queries.rows import is_empty, iterate_rows, list_kept_models
from materials.services import fresh_ledger as fresh
from materials.services import restore
from materials.services.errors import LedgerError
from materials.services.photos import add_photos, holds_pixels_alone
from materials.services.restore import Choices, FiguresDiffer, restore_rows
from tests.photo_files import jpeg, sent

from .test_commands import run

pytestmark = pytest.mark.django_db(transaction=True)
REPLACE = Choices(replace=True)


def everything() -> dict[str, list]:
    return {model._meta.label: list(iterate_rows(model)) for model in list_kept_models()}


@pytest.fixture
def full(entries, records, settings, tmp_path):
    """A build with a record of every kind and a photo."""
    settings.MEDIA_ROOT = tmp_path / "media"
    add_photos(**entries.by, record=records["purchase"], files=[sent(jpeg())])
    yield records
    fresh.drop_kept()


def backup(key: bytes | None = None) -> io.BytesIO:
    stream = io.BytesIO()
    write_backup(stream, key=key)
    stream.seek(0)
    return stream


def put_back(stream: io.BytesIO, choices: Choices = REPLACE, key: bytes | None = None):
    return restore_backup(open_file(stream, key=key), choices=choices)


def stored_files() -> dict[str, bytes]:
    """Every file of the folder of uploads."""
    top = Path(default_storage.location)
    return {str(p.relative_to(top)): p.read_bytes() for p in top.rglob("*") if p.is_file()}


def probe() -> None:
    """What a newer version may have done: a column that must be filled, which we do not know."""
    field = models.IntegerField(default=7)
    field.set_attributes_from_name("probe")
    field.model = Build
    with connection.schema_editor() as editor:
        editor.add_field(Build, field)
    MigrationRecorder(connection).record_applied("materials", "9999_of_tomorrow")


def empty() -> None:
    call_command("flush", verbosity=0, interactive=False)


def changed(stream: io.BytesIO, change: Callable[[str, bytes], bytes | None]) -> io.BytesIO:
    """The same file with parts changed; the manifest stays."""
    out = io.BytesIO()
    with zipfile.ZipFile(stream) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            data = change(name, source.read(name))
            if data is not None:
                target.writestr(name, data)
    out.seek(0)
    return out


def signed(stream: io.BytesIO, parts: Callable[[dict[str, bytes]], None]) -> io.BytesIO:
    """The same file with parts changed, and a manifest that fits them: hashes prove nothing."""
    with zipfile.ZipFile(stream) as source:
        found = {name: source.read(name) for name in source.namelist()}
    manifest = json.loads(found.pop("manifest.json"))
    parts(found)
    manifest["parts"] = {
        name: {"sha256": hashlib.sha256(data).hexdigest()} for name, data in found.items()
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as target:
        for name, data in found.items():
            target.writestr(name, data)
        target.writestr("manifest.json", json.dumps(manifest))
    out.seek(0)
    return out


def test_every_row_and_photo_comes_back(full, build):
    before = everything()
    name = Photo.objects.get().image.name
    with default_storage.open(name) as file:
        picture = file.read()
    stream = backup()
    default_storage.delete(name)
    Purchase.objects.all().delete()
    get_user_model().objects.create_user("newcomer")
    counts, done = put_back(stream)
    assert everything() == before
    with default_storage.open(name) as file:
        assert file.read() == picture
    assert counts.rows == sum(len(rows) for rows in before.values())
    assert (counts.builds, counts.uploads) == (1, 2)
    assert (done.differences, done.left_out) == ([], [])
    # The next record gets a key that none ever had.
    newest = max(row[0] for row in before["materials.Change"])
    assert Change.objects.create(build=build, action="x", record_type="build").pk > newest


def test_an_occupied_database_is_left_alone(full):
    before = everything()
    with pytest.raises(LedgerError, match="--replace"):
        put_back(backup(), Choices())
    assert everything() == before
    assert fresh.list_kept() == []


# Over a database of a newer version.


def test_a_newer_database_does_not_stand_in_the_way_and_is_kept_as_it_is(full):
    before, stream = everything(), backup()
    probe()
    empty()
    assert is_empty()
    with pytest.raises(
        LedgerError, match=r"newer version .*materials\.9999_of_tomorrow.*--replace"
    ):
        put_back(stream, Choices())
    _, done = put_back(stream)
    assert everything() == before
    assert [done.kept] == fresh.list_kept()
    assert "probe" not in columns_of(Build)
    fresh.bring_back()
    try:
        assert "probe" in columns_of(Build)
        assert is_empty()
    finally:
        fresh.bring_back()


def columns_of(model) -> set[str]:
    with connection.cursor() as cursor:
        found = connection.introspection.get_table_description(cursor, model._meta.db_table)
    return {column.name for column in found}


def shape() -> dict[str, object]:
    """Every table: its columns, constraints and indexes."""
    found = {}
    with connection.cursor() as cursor:
        look = connection.introspection
        for table in look.table_names(cursor):
            columns = {
                (c.name, c.type_code, c.null_ok, c.default, c.display_size, c.collation)
                for c in look.get_table_description(cursor, table)
            }
            keys = look.get_constraints(cursor, table)
            # Those of PostgreSQL alone that follow from a column being NOT NULL have no name here.
            found[table] = (columns, {name: str(sorted(k.items())) for name, k in keys.items()})
    return found


def test_the_tables_of_a_fresh_ledger_are_those_of_the_migrations(full):
    migrated = shape()
    applied = set(MigrationRecorder(connection).applied_migrations())
    put_back(backup())
    assert set(MigrationRecorder(connection).applied_migrations()) == applied
    restored = shape()
    assert restored.keys() == migrated.keys()
    for table, (columns, keys) in migrated.items():
        assert restored[table][0] == columns, table
        assert sorted(restored[table][1].values()) == sorted(keys.values()), table
    assert ContentType.objects.filter(app_label="materials").count() > 20


# All or nothing.


@pytest.mark.parametrize(
    "change",
    [
        lambda name, data: data.replace(b"Hill shed", b"Hall shed"),
        lambda name, data: None if name.endswith("component.jsonl") else data,
        lambda name, data: data[:-9] if name.endswith(".jpg") else data,
        lambda name, data: b"{}" if name == "manifest.json" else data,
        lambda name, data: b"[" * 100_000 if name == "manifest.json" else data,
        lambda name, data: None if name == "manifest.json" else data,
    ],
    ids=["a word", "a part gone", "a photo cut", "empty manifest", "deep manifest", "none"],
)
def test_what_was_changed_is_refused_whole(full, change):
    before = everything()
    stream = changed(backup(), change)
    with pytest.raises(WorkbookError):
        put_back(stream)
    assert everything() == before


def test_rows_that_do_not_fit_together_change_nothing(full):
    """A consistent file of inconsistent rows: the database itself refuses."""
    before = everything()
    file = open_file(backup(), key=None)
    tables = [
        (label, file.columns(label), file.rows(label))
        for label in file.labels
        if label != "materials.component"
    ]
    migrations = [tuple(node) for node in file.manifest["migrations"]]
    with pytest.raises(LedgerError, match="fit together"):
        restore_rows(tables=tables, migrations=migrations, choices=REPLACE)
    assert everything() == before
    assert fresh.list_kept() == []


def test_a_newer_backup_asks_for_an_upgrade(full):
    with pytest.raises(LedgerError, match="Upgrade"):
        restore_rows(tables=[], migrations=[("materials", "9999_of_tomorrow")], choices=REPLACE)


def test_a_backup_whose_figures_differ_is_put_aside_unless_asked_for(full, tmp_path):
    line = PurchaseLine.objects.order_by("pk").first()
    right = line.base_qty
    PurchaseLine.objects.filter(pk=line.pk).update(base_qty=right + 1)
    file = tmp_path / "differs.zip"
    file.write_bytes(backup().getvalue())
    PurchaseLine.objects.filter(pk=line.pk).update(base_qty=right)
    before, photos = everything(), stored_files()
    with pytest.raises(FiguresDiffer) as refused:
        put_back(backup_of(file))
    assert any(text.startswith("Hill shed: ") for text in refused.value.found)
    code, printed, said = run("restore", file, "--replace")
    assert (code, printed) == (1, "")
    assert said.startswith("Some figures of this backup differ, so nothing was changed.")
    assert "--accept-differences" in said
    assert len(said.splitlines()) == 1 + len(refused.value.found)
    assert (everything(), stored_files()) == (before, photos)
    assert fresh.list_kept() == []
    code, printed, said = run("restore", file, "--replace", "--accept-differences")
    assert (code, said) == (0, "")
    assert "These figures differ:\nHill shed: " in printed
    assert PurchaseLine.objects.get(pk=line.pk).base_qty == right + 1


def backup_of(file: Path) -> io.BytesIO:
    return io.BytesIO(file.read_bytes())


def test_undone_and_done_again_and_dropped(full, tmp_path):
    file = tmp_path / "all.zip"
    file.write_bytes(backup().getvalue())
    before = everything()
    get_user_model().objects.create_user("newcomer")
    after = everything()
    code, printed, _ = run("restore", file, "--replace")
    assert (code, everything()) == (0, before)
    (kept,) = fresh.list_kept()
    assert f"The earlier ledger is kept as “{kept}”: restore --undo brings it back" in printed
    assert run("restore", "--undo")[0] == 0
    assert everything() == after
    assert run("restore", "--undo")[0] == 0
    assert everything() == before
    code, printed, _ = run("restore", "--drop-kept")
    assert (code, printed.count("Deleted “")) == (0, 1)
    assert fresh.list_kept() == []
    assert run("restore", "--drop-kept")[1] == "No restore has left a ledger here.\n"
    code, _, said = run("restore", "--undo")
    assert (code, said) == (
        1, "No restore has replaced a ledger here, so there is none to undo.\n"
    )  # fmt: skip
    assert everything() == before


@pytest.mark.parametrize("words", [[], ["--undo", "--drop-kept"], ["a.zip", "--undo"]])
def test_one_thing_is_asked_at_a_time(words, db):
    code, _, said = run("restore", *words)
    assert (code, said) == (1, "Name one backup to restore, or --undo, or --drop-kept.\n")


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="files of SQLite")
def test_the_first_two_to_open_what_came_back_need_not_change_its_way_of_writing(full, monkeypatch):
    """SQLite refuses one of two who change to the write-ahead log at once."""
    put, seen, stream = os.replace, [], backup()
    file = Path(connection.settings_dict["NAME"])

    def replace(source, target):
        if Path(target).name.startswith(file.name):
            # Where the format of the file says how it is written: sqlite.org/fileformat2, 1.3.
            seen.append(Path(source).read_bytes()[18:20])
        put(source, target)

    monkeypatch.setattr(fresh.os, "replace", replace)
    put_back(stream)
    assert seen == [b"\x02\x02"] * 2, "the one kept, and the one in its place"


def test_an_empty_ledger_is_not_kept(full):
    stream = backup()
    empty()
    assert put_back(stream, Choices())[1].kept is None
    assert fresh.list_kept() == []
    assert Build.objects.count() == 1


# The program must be stopped.


def another_connection(usual):
    """To the ledger itself, whatever stands in its place meanwhile."""
    if usual.vendor == "postgresql":
        options = usual.get_connection_params()
        named = {name: options[name] for name in ("dbname", "user", "host", "port", "password")
                 if options.get(name)}  # fmt: skip
        return psycopg.connect(**named)
    other = sqlite3.connect(usual.settings_dict["NAME"])
    # As the program opens it.
    other.execute("PRAGMA journal_mode=WAL")
    other.execute("SELECT count(*) FROM django_migrations").fetchall()
    return other


def test_while_anybody_has_it_open_nothing_is_replaced(full, monkeypatch):
    monkeypatch.setattr(fresh, "PATIENCE", 0.2)
    before, stream, usual = everything(), backup(), connections["default"]
    begun = []
    with closing(another_connection(usual)), monkeypatch.context() as patched:
        patched.setattr(restore, "_fill", lambda *_: begun.append(True))
        with pytest.raises(LedgerError, match="Stop the program first"):
            put_back(stream)
    assert not begun, "that is told before the work, which may take long"
    with pytest.raises(LedgerError, match="none to undo"):
        fresh.bring_back()
    assert everything() == before
    # Somebody comes while it is made.
    filled, opened = restore._fill, []

    def fill(*values):
        opened.append(another_connection(usual))
        return filled(*values)

    monkeypatch.setattr(restore, "_fill", fill)
    with pytest.raises(LedgerError, match="Stop the program first"):
        put_back(stream)
    opened[0].close()
    assert everything() == before
    assert fresh.list_kept() == []
    monkeypatch.undo()
    put_back(stream)


def test_two_restores_do_not_work_at_once(full):
    stream = backup()
    with fresh.fresh_ledger():
        if connection.vendor == "postgresql":
            # The lock is this connection's own: what another would be told.
            with closing(another_connection(connection)) as other:
                told = other.execute("SELECT pg_try_advisory_lock(%s)", [fresh._LOCK]).fetchone()
            assert told == (False,)
            return
        with pytest.raises(LedgerError, match="Another restore is at work"):
            put_back(stream)
    folder = os.open(Path(connection.settings_dict["NAME"]).parent, os.O_RDONLY)
    fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
    os.close(folder)


def test_where_nothing_can_be_written_beside_the_ledger_nothing_is_begun(full, monkeypatch):
    if connection.vendor == "postgresql":
        return
    before, stream = everything(), backup()
    with monkeypatch.context() as patched:
        patched.setattr("materials.services.fresh_ledger.os.access", lambda *_: False)
        with pytest.raises(LedgerError, match="Nothing can be written to the folder"):
            put_back(stream)
    assert everything() == before
    put_back(stream)


def test_what_a_killed_restore_left_is_taken_away(full):
    before, stream = everything(), backup()

    class Killed(BaseException):
        pass

    with fresh._place() as place:
        place.begin()
    put_back(stream)
    assert everything() == before
    with pytest.raises(Killed), fresh.fresh_ledger() as room, room.opened():
        raise Killed
    assert everything() == before
    with fresh._place() as place:
        place.begin()
        place.sweep()
    assert len(fresh.list_kept()) == 1


def test_the_new_file_has_the_rights_of_the_old_one(full):
    if connection.vendor == "postgresql":
        assert not is_empty(), "there are no files"
        return
    file = Path(connection.settings_dict["NAME"])
    connection.close()
    file.chmod(0o640)
    _, done = put_back(backup())
    connection.close()
    kept = file.with_name(done.kept)
    assert {path.stat().st_mode & 0o777 for path in (file, kept)} == {0o640}
    names = {p.name for p in file.parent.iterdir() if p.name.lstrip(".").startswith(file.name)}
    assert names == {file.name, kept.name}, "no log, no unfinished file"


# Photos.


def photo_parts(found: dict[str, bytes]) -> list[str]:
    return sorted(name for name in found if name.endswith(".jpg") and "-small" not in name)


def test_a_photo_that_would_be_refused_is_refused(full):
    """Each kind: tests/services/test_stored_files.py."""

    def spoil(found):
        found[photo_parts(found)[0]] = b"<html><script>alert(1)</script>"

    stream = signed(backup(), spoil)
    before = everything()
    for name in stored_files():
        default_storage.delete(name)
    with pytest.raises(LedgerError) as refused:
        put_back(stream)
    assert "is not a picture we can read. Use another copy of the backup" in str(refused.value)
    assert "--leave-out-photos. Nothing was changed." in str(refused.value)
    assert (everything(), stored_files()) == (before, {})
    assert fresh.list_kept() == []
    counts, done = put_back(stream, Choices(replace=True, leave_out_photos=True))
    assert (counts.uploads, len(done.left_out)) == (1, 1)
    assert done.left_out[0].endswith("is not a picture we can read.")
    assert [name for name in stored_files() if "-small" not in name] == []
    assert everything() == before


def test_a_file_may_not_leave_its_folder(full, tmp_path):
    """ASVS 5.0.0, 5.3.2: names in an archive are never followed out of the folder of uploads."""

    def move(found):
        found["uploads/../../outside.jpg"] = found.pop(photo_parts(found)[0])

    before, photos = everything(), stored_files()
    with pytest.raises(LedgerError, match="is no photo of this program"):
        put_back(signed(backup(), move))
    assert (everything(), stored_files()) == (before, photos)
    assert not list(tmp_path.rglob("outside*"))


def test_what_hides_in_a_photo_is_not_kept(full):
    """It opens as a picture; what is kept of it are the pixels, as of one that is sent."""
    hidden = b"PK\x03\x04 and a page <script>"
    whole = stored_files()

    def hide(found):
        found[photo_parts(found)[0]] += hidden

    for name in whole:
        default_storage.delete(name)
    put_back(signed(backup_with(whole), hide))
    kept = stored_files()
    assert kept.keys() == whole.keys()
    for data in kept.values():
        assert hidden not in data
        assert holds_pixels_alone(data)


def backup_with(files: dict[str, bytes]) -> io.BytesIO:
    """A backup in which there are these files."""

    def add(found):
        found |= {f"uploads/{name}": data for name, data in files.items()}

    return signed(backup(), add)


def test_a_damaged_photo_is_mended_and_stands_as_it_was_when_nothing_comes_of_it(full, monkeypatch):
    stream, whole = backup(), stored_files()
    name = Photo.objects.get().image.name
    default_storage.delete(name)
    default_storage.save(name, ContentFile(b"damaged"))
    damaged = stored_files()

    def refuse(*values, **named):
        raise LedgerError("not now")

    with monkeypatch.context() as patched:
        patched.setattr(fresh.Fresh, "take", refuse)
        with pytest.raises(LedgerError, match="not now"):
            put_back(stream)
    assert stored_files() == damaged
    put_back(stream)
    assert stored_files() == whole


def test_a_disk_without_room_changes_nothing(full, monkeypatch, tmp_path):
    file = tmp_path / "all.zip"
    file.write_bytes(backup().getvalue())
    before = everything()
    for name in stored_files():
        default_storage.delete(name)
    saved, calls = type(default_storage._wrapped).save, []

    def save(self, name, *values, **named):
        calls.append(name)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return saved(self, name, *values, **named)

    monkeypatch.setattr(type(default_storage._wrapped), "save", save)
    code, printed, said = run("restore", file, "--replace")
    assert (code, printed, len(said.splitlines())) == (1, "", 1)
    assert "No space left on device" in said
    assert len(calls) == 2
    assert (everything(), stored_files()) == (before, {})


def test_without_room_to_keep_the_old_ledger_it_stays_in_use(full, monkeypatch):
    if connection.vendor == "postgresql":
        # It is kept by a new name there, which takes no room.
        assert put_back(backup())[1].kept
        return
    before, stream = everything(), backup()

    def full_disk(self, held):
        raise sqlite3.OperationalError("database or disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(fresh._File, "_keep", full_disk)
        with pytest.raises(LedgerError, match=r"disk is full\), so nothing was changed"):
            put_back(stream)
    assert everything() == before
    assert put_back(stream)[1].kept


def test_what_strayed_into_the_folder_of_photos_is_in_no_backup(full):
    default_storage.save("notes.txt", ContentFile(b"mine"))
    with zipfile.ZipFile(backup()) as file:
        assert not [name for name in file.namelist() if "notes" in name]
