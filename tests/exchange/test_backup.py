"""A backup puts everything back; taken while others write, it is of one moment."""

import io
import json
import time
import zipfile
from itertools import chain
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.core.files.storage import default_storage

from materials.exchange.backup_file import BundleFile
from materials.exchange.backups import restore_backup, write_backup
from materials.exchange.faults import WorkbookError
from materials.models import Change, Photo, Purchase
from materials.queries.rows import iterate_rows, list_kept_models
from materials.services.errors import LedgerError
from materials.services.photos import add_photos
from materials.services.restore import restore_rows
from tests.own_database import begin, manage, manage_all, own_database
from tests.photo_files import jpeg, sent

WRITER = """
import json, sys
from decimal import Decimal
from datetime import date
from django.contrib.auth import get_user_model
from django.utils.timezone import localdate
from materials.exchange.cost_json import as_data
from materials.queries.reports import get_cost_sheet
from materials.models import Build, Component, Purchase
from materials.services.purchases import save_purchase

build = Build.objects.order_by("pk").first()
actor = get_user_model().objects.get()
part = Component.objects.filter(build=build, unit="piece").first()
print("ready", flush=True)
n = 0
while True:
    n += 1
    save_purchase(
        actor=actor, build=build, purchase=Purchase(),
        values={"number": f"W{n}", "bought_on": date(2026, 5, 4)},
        lines=[{"component": part, "quantity_text": f"{n} pieces", "source": "salvage",
                "unit_price": Decimal("1.35")}],
        charges=[{"kind": "haulage", "amount": Decimal("2.10")}],
    )
    with open(sys.argv[1], "a") as file:
        file.write(json.dumps(as_data(get_cost_sheet(build, localdate()))) + "\\n")
"""
BUILD = "Cutler Lane seed house"


def everything() -> dict[str, list]:
    return {model._meta.label: list(iterate_rows(model)) for model in list_kept_models()}


@pytest.fixture
def full(entries, records, settings, tmp_path):
    """A build with a record of every kind and a photo."""
    settings.MEDIA_ROOT = tmp_path / "media"
    add_photos(**entries.by, record=records["purchase"], files=[sent(jpeg())])
    return records


def backup() -> io.BytesIO:
    stream = io.BytesIO()
    write_backup(stream)
    stream.seek(0)
    return stream


def test_every_row_and_photo_comes_back(full, build):
    before = everything()
    name = Photo.objects.get().image.name
    with default_storage.open(name) as file:
        picture = file.read()
    stream = backup()
    default_storage.delete(name)
    Purchase.objects.all().delete()
    get_user_model().objects.create_user("newcomer")
    counts = restore_backup(stream, replace=True)
    assert everything() == before
    with default_storage.open(name) as file:
        assert file.read() == picture
    assert counts.rows == sum(len(rows) for rows in before.values())
    assert (counts.builds, counts.uploads) == (1, 2)
    # The next record gets a key that none ever had.
    newest = max(row[0] for row in before["materials.Change"])
    assert Change.objects.create(build=build, action="x", record_type="build").pk > newest


def test_an_occupied_database_is_left_alone(full):
    before = everything()
    with pytest.raises(LedgerError, match="--replace"):
        restore_backup(backup(), replace=False)
    assert everything() == before


def tampered(stream: io.BytesIO, change) -> io.BytesIO:
    """The same file with one part changed; the manifest stays."""
    out = io.BytesIO()
    with zipfile.ZipFile(stream) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            data = change(name, source.read(name))
            if data is not None:
                target.writestr(name, data)
    out.seek(0)
    return out


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
    stream = tampered(backup(), change)
    with pytest.raises(WorkbookError):
        restore_backup(stream, replace=True)
    assert everything() == before


def test_a_file_may_not_leave_its_folder(full, tmp_path):
    """ASVS 5.0.0, 5.3.2: names in an archive are never followed out of the folder of uploads."""
    stream = backup()
    manifest = json.loads(zipfile.ZipFile(stream).read("manifest.json"))
    name = next(part for part in manifest["parts"] if part.startswith("uploads/"))
    manifest["parts"]["uploads/../../outside.jpg"] = manifest["parts"].pop(name)
    out = io.BytesIO()
    with zipfile.ZipFile(stream) as source, zipfile.ZipFile(out, "w") as target:
        for part in source.namelist():
            data = json.dumps(manifest) if part == "manifest.json" else source.read(part)
            target.writestr("uploads/../../outside.jpg" if part == name else part, data)
    out.seek(0)
    with pytest.raises(WorkbookError):
        restore_backup(out, replace=True)
    assert not list(tmp_path.parent.rglob("outside.jpg"))


def test_rows_that_do_not_fit_together_change_nothing(full):
    """A consistent file of inconsistent rows: the database itself refuses."""
    before = everything()
    stream = backup()
    file = BundleFile(stream)

    tables = [
        (label, file.columns(label), file.rows(label))
        for label in file.labels
        if label != "materials.component"
    ]
    migrations = [tuple(node) for node in file.manifest["migrations"]]
    with pytest.raises(LedgerError, match="fit together"):
        restore_rows(tables=tables, migrations=migrations, replace=True)
    assert everything() == before


def test_a_newer_backup_asks_for_an_upgrade(full):
    with pytest.raises(LedgerError, match="Upgrade"):
        restore_rows(tables=[], migrations=[("materials", "9999_of_tomorrow")], replace=True)


def test_missing_photo_file_does_not_stop_a_backup(full):
    default_storage.delete(Photo.objects.get().thumbnail.name)
    assert len(BundleFile(backup()).uploads) == 1


def lines_of(file: Path) -> list[str]:
    """The lines written whole so far."""
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    return text.split("\n")[:-1]


def wait_for_lines(file: Path, count: int) -> None:
    """Until another process has written so many."""
    until = time.monotonic() + 60
    while len(lines_of(file)) < count:
        assert time.monotonic() < until, "the writer stands still"
        time.sleep(0.02)


@pytest.mark.database
@pytest.mark.parametrize("count", [1, pytest.param(5, marks=pytest.mark.slow)])
def test_taken_under_load_and_restored_elsewhere(count: int, tmp_path: Path):
    """Purchases are written while backups are taken; each is the ledger of one moment: restored,
    its report equals the one of exactly as many writes."""
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    with own_database(tmp_path / "one") as here, own_database(tmp_path / "two") as there:
        manage_all(here, ("migrate",), ("materials.management.commands.demo:load",))
        result = tmp_path / "reports.jsonl"
        writer = begin(here, WRITER, str(result))
        try:
            assert writer.stdout.readline() == "ready\n"
            for n in range(count):
                wait_for_lines(result, 2 * n + 1)
                manage(here, "backup", str(tmp_path / f"{n}.zip"))
            wait_for_lines(result, len(lines_of(result)) + 1)
        finally:
            writer.kill()
            writer.wait()
            writer.stdout.close()
        reports = [json.loads(line) for line in lines_of(result)]
        steps = [
            (
                ("restore", str(tmp_path / f"{n}.zip"), *(["--replace"] if n else [])),
                ("check_ledger",),
                ("cost_report", "--build", BUILD, "--json"),
            )
            for n in range(count)
        ]
        outcome = manage_all(there, *chain(*steps))
        written = []
        for n in range(count):
            assert "none" in outcome[3 * n + 1]
            found = json.loads(outcome[3 * n + 2])
            with open(tmp_path / f"{n}.zip", "rb") as stream:
                rows = BundleFile(stream).rows("materials.purchase")
                written.append(sum("W" in row for row in ([str(v)[:1] for v in r] for r in rows)))
            assert found == reports[written[n] - 1]
        assert written[0] >= 1
        assert count == 1 or written[-1] > written[0], "nothing was written meanwhile: no load"
