"""What stands in the database after a kill. Called in a child of the parent process."""

import time
from collections import Counter
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

DAY = date(2026, 5, 4)
STOCK = 5_000_000


def prepare() -> dict[str, Any]:
    """A ledger with two builds to work in and a third to import into."""
    from django.core.management import call_command

    from materials.models import Component
    from materials.services.accounts import ensure_user
    from materials.services.builds import create_build
    from materials.services.components import save_component
    from tests.entries import Entries, line

    from .served import PASSWORD, USER

    call_command("migrate", verbosity=0)
    user, _ = ensure_user(username=USER, password=PASSWORD)
    values: dict[str, Any] = {}
    for key, name in (("here", "Pump house"), ("there", "Tool house"), ("tables", "Long barn")):
        build = create_build(actor=user, values={"name": name, "currency": "USD"})
        values[key] = build.pk
        for part in ("Board", "Shelf"):
            made = save_component(
                actor=user, build=build, component=Component(), values={"name": part, "unit": "ft"}
            )
            values[f"{key} {part}"] = made.pk
            if key == "here" and part == "Board":
                entries = Entries(user, build)
                entries.purchase("STOCK", line(made, f"{STOCK} ft", line_price_amount=Decimal(1)))
    return values


def _wait_for_the_dead() -> None:
    """Until the database server has noticed that killed processes are gone."""
    from django.db import connection

    if connection.vendor != "postgresql":
        return
    for _ in range(1000):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
                " AND pid <> pg_backend_pid() AND state <> 'idle'"
            )
            if not cursor.fetchone()[0]:
                return
        time.sleep(0.01)
    raise AssertionError("a transaction of a killed process goes on")


def look(builds: dict[str, int], deep: bool = False) -> dict[str, Any]:
    """Every record by its key, imports, and what is wrong in itself."""
    from materials.models import Build
    from materials.queries.checks import find_differences

    _wait_for_the_dead()
    wrong = _sound_file()
    records: dict[str, Any] = {}
    keys: dict[str, int] = {}
    for each in (_purchases, _conversions, _moves, _photos):
        each(builds, records, keys, wrong)
    _components(builds, records)
    names = ("here", "there", "tables") if deep else ("here", "there")
    for build in Build.objects.filter(pk__in=[builds[name] for name in names]):
        wrong += [f"check_ledger, {build.name}: {text}" for text in find_differences(build)]
    return {"records": records, "keys": keys, "imports": _imports(wrong), "wrong": wrong}


def _sound_file() -> list[str]:
    from django.db import connection

    if connection.vendor != "sqlite":
        return []
    wrong = []
    with connection.cursor() as cursor:
        for pragma, sound in (
            ("quick_check", "ok"), ("journal_mode", "wal"), ("synchronous", 2),
        ):  # fmt: skip
            cursor.execute(f"PRAGMA {pragma}")
            found = cursor.fetchone()[0]
            if found != sound:
                wrong.append(f"PRAGMA {pragma}: {found}")
        cursor.execute("PRAGMA foreign_key_check")
        wrong += [f"refers to nothing: {row}" for row in cursor.fetchall()]
    return wrong


def _changes(builds: dict[str, int], kind: str) -> Counter:
    from materials.models import Change

    ids = Change.objects.filter(
        build__in=(builds["here"], builds["there"]), record_type=kind
    ).values_list("record_id", flat=True)
    return Counter(ids)


def _purchases(builds: dict[str, int], records: Any, keys: Any, wrong: list[str]) -> None:
    from materials.models import Purchase

    changes = _changes(builds, "purchase")
    found = Purchase.objects.filter(build=builds["here"]).exclude(number="STOCK")
    for one in found.prefetch_related("lines__component", "charges"):
        lines, charges = list(one.lines.all()), list(one.charges.all())
        if not lines:
            wrong.append(f"purchase {one.number} has no line")
            continue
        landed = sum(line.landed_amount for line in lines)
        if landed != one.landed_amount or one.line_count != len(lines):
            wrong.append(f"purchase {one.number}: its lines come to {landed}, {one.landed_amount}")
        key = f"purchase of {lines[0].line_price_amount:.2f}"
        if key in records:
            wrong.append(f"{key} is there twice")
        keys[key] = one.pk
        records[key] = {
            "lines": [[line.component.name, line.quantity_text] for line in lines],
            "charges": len(charges),
            "total": f"{one.landed_amount:.2f}",
            "changes": changes[one.pk],
        }


def _conversions(builds: dict[str, int], records: Any, keys: Any, wrong: list[str]) -> None:
    from materials.models import Conversion

    changes = _changes(builds, "conversion")
    for one in Conversion.objects.filter(build=builds["here"]).prefetch_related("outputs"):
        keys[f"conversion {one.number}"] = one.pk
        records[f"conversion {one.number}"] = {
            "used": one.used_text,
            "made": [output.made_text for output in one.outputs.all()],
            "cost": f"{one.extra_cost_amount:.2f}",
            "changes": changes[one.pk],
        }


def _moves(builds: dict[str, int], records: Any, keys: Any, wrong: list[str]) -> None:
    from materials.models import Move

    changes = _changes(builds, "move")
    for one in Move.objects.all():
        keys[f"move {one.note}"] = one.pk
        records[f"move {one.note}"] = {"text": one.quantity_text, "changes": changes[one.pk]}
        if one.base_qty != one.to_qty:
            wrong.append(f"move {one.note}: {one.base_qty} left and {one.to_qty} arrived")


def _photos(builds: dict[str, int], records: Any, keys: Any, wrong: list[str]) -> None:
    from PIL import Image

    from materials.models import Photo

    for one in Photo.objects.filter(build=builds["here"]):
        if one.caption:
            key = f"photo {one.caption}"
            records[key] = records.get(key, 0) + 1
        else:
            key = f"photo of purchase {one.purchase_id}"
            records[f"photo in {_price_of(one)}"] = 1
        for file in (one.image, one.thumbnail):
            try:
                with Image.open(file.path) as picture:
                    picture.load()
            except OSError as error:
                wrong.append(f"{key}: {error}")


def _price_of(photo: Any) -> str:
    return f"{photo.purchase.lines.first().line_price_amount:.2f}"


def _components(builds: dict[str, int], records: Any) -> None:
    from materials.models import Component

    for name in Component.objects.filter(build=builds["here"]).values_list("name", flat=True):
        if name not in ("Board", "Shelf"):
            records[f"component {name}"] = 1


def _imports(wrong: list[str]) -> dict[str, Any]:
    """Imports by their key: how far each is. A line without a row, or twice, is a fault."""
    from materials.models import Change, ImportedRecord, ImportJob, PurchaseLine, RowState

    values, counted = {}, 0
    for job in ImportJob.objects.all():
        done = job.rows.filter(state=RowState.DONE)
        made = list(
            ImportedRecord.objects.filter(job=job, record_type="purchase").values_list(
                "record_id", flat=True
            )
        )
        lines = PurchaseLine.objects.filter(purchase__in=made)
        quantities = sorted(int(q) for q in lines.values_list("base_qty", flat=True))
        # The second line of the table asks for 1 ft, the third for 2 ft and so on.
        rows = sorted(number - 1 for number in done.values_list("number", flat=True))
        if quantities != rows or len(made) != len(set(made)):
            wrong.append(f"import {job.pk}: {len(rows)} rows done, {len(quantities)} lines there")
        entries = Change.objects.filter(record_type="table", record_id=job.pk).count()
        if entries != bool(rows) or job.done_count != len(rows):
            wrong.append(f"import {job.pk}: {entries} entries in the history, {job.done_count}")
        if job.file and not Path(job.file.path).is_file():
            wrong.append(f"import {job.pk}: its file is not there")
        counted += len(quantities)
        values[str(job.pk)] = {"state": job.state, "done": len(rows), "rows": job.rows.count()}
    there = PurchaseLine.objects.filter(purchase__build__name="Long barn").count()
    if there != counted:
        wrong.append(f"{there} lines are in the build of imports, {counted} belong to an import")
    return values


def look_into(path: str, must: list[str]) -> list[str]:
    """What is wrong with a backup that was said to be finished; [] for a sound one."""
    from materials.exchange.backup_file import BundleFile

    wrong = []
    with open(path, "rb") as stream:
        file = BundleFile(stream)
        file.check()
        columns = file.columns("materials.purchaseline")
        place = columns.index("line_price_amount")
        prices = {row[place] for row in file.rows("materials.purchaseline")}
        keys = {f"purchase of {Decimal(price):.2f}" for price in prices if price is not None}
        wrong += [f"the backup lacks {key}" for key in must if key not in keys]
        columns = file.columns("materials.photo")
        kept = set(file.uploads)
        for row in file.rows("materials.photo"):
            for name in ("image", "thumbnail"):
                if row[columns.index(name)] not in kept:
                    wrong.append(f"the backup lacks the photo {row[columns.index(name)]}")
    return wrong


def put_back(path: str, database: str, media: str) -> list[str]:
    """Restore a backup into another database, which the command checks; [] when it does."""
    import io

    from django.core.management import call_command
    from django.db import connection
    from django.test import override_settings

    connection.settings_dict["NAME"] = database
    result = io.StringIO()
    try:
        with override_settings(MEDIA_ROOT=media):
            call_command("restore", path, "--replace", stdout=result, stderr=result)
            call_command("restore", "--drop-kept", stdout=io.StringIO())
    except SystemExit:
        return [f"the backup cannot be put back: {result.getvalue()}"]
    return [] if "Every stored figure was checked" in result.getvalue() else [result.getvalue()]


def phone_report(build: int) -> dict[str, Any]:
    """All that a phone may have logged in a build, as its report and lists have it.

    ``marks``: how often the name or note that marks an entry stands there, and its photos.
    """
    from materials.models import Attempt, Build, LabourEntry, Photo, Purchase, RetailPrice
    from materials.queries.checks import find_differences
    from materials.queries.reports import get_cost_sheet

    _wait_for_the_dead()
    # Two hundred kills bring more photos within the hour than an account may send in one.
    Attempt.objects.all().delete()
    here = Build.objects.get(pk=build)
    sheet = get_cost_sheet(here, date(2026, 12, 31))
    purchases = Purchase.objects.filter(build=here).order_by("number")
    marks: Counter[str] = Counter()
    photos: Counter[str] = Counter()
    rows: list[Any] = []
    for purchase in purchases.prefetch_related("lines__component"):
        names = [line.component.name for line in purchase.lines.all()]
        for line in purchase.lines.all():
            marks[line.note] += 1
            photos[line.note] += Photo.objects.filter(purchase=purchase).count()
        rows.append([purchase.number, purchase.state, names, str(purchase.landed_amount)])
    for entry in LabourEntry.objects.filter(build=here).order_by("note", "pk"):
        marks[entry.note] += 1
        rows.append([entry.note, str(entry.hours), entry.kind])
    for price in RetailPrice.objects.filter(component__build=here).order_by("priced_at", "pk"):
        marks[price.priced_at] += 1
        photos[price.priced_at] += Photo.objects.filter(price=price).count()
        rows.append([price.priced_at, str(price.price)])
    figures = {name: str(getattr(sheet, name)) for name in ("spent", "savings", "remaining")}
    parts = {
        str(row.position.component.name): str(row.position.known_money) for row in sheet.components
    }
    wrong = [*_sound_file(), *find_differences(here)]
    return {
        "marks": dict(marks), "photos": dict(photos), "rows": rows, "figures": figures,
        "parts": parts, "wrong": wrong,
    }  # fmt: skip
