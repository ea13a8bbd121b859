"""A backup taken while others write is of one moment; what puts it back: test_restore."""

import io
import json
import time
from itertools import chain
from pathlib import Path

import pytest
from django.core.files.storage import default_storage

from materials.exchange.backup_file import BundleFile
from materials.exchange.backups import write_backup
from materials.models import Photo
from materials.services.photos import add_photos
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
@pytest.mark.parametrize("count", [pytest.param(5, marks=pytest.mark.slow)])
def test_taken_under_load_and_restored_elsewhere(count: int, tmp_path: Path):
    """Purchases are written while backups are taken; each is the ledger of one moment: restored,
    its report equals the one of exactly as many writes."""
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    one, two = tmp_path / "one", tmp_path / "two"
    with own_database(one, made=True) as here, own_database(two) as there:
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
