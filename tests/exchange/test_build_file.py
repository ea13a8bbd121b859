"""One build as a file, added elsewhere: the same figures, history and photos under new keys."""

import io
import json
import zipfile
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils.timezone import localdate, now

from materials.choices import Role
from materials.exchange.backup_file import Bundle, BundleFile
from materials.exchange.backups import read_build, write_backup, write_build
from materials.exchange.cost_json import as_data
from materials.exchange.faults import WorkbookError
from materials.models import (
    AccountEvent,
    Build,
    Change,
    Move,
    Passkey,
    Photo,
    Purchase,
    RecoveryCode,
    SecondFactor,
)
from materials.queries.checks import find_differences
from materials.queries.reports import get_cost_sheet
from materials.queries.rows import iterate_rows, list_build_models, list_kept_models, path_to_build
from materials.queries.uploads import list_uploads
from materials.services.errors import LedgerError
from materials.services.members import add_member
from materials.services.photos import add_photos, remove_photo
from materials.services.records import delete_record, undo_change
from materials.services.sharing import revoke_link
from materials.services.stored_files import is_ours
from tests.photo_files import jpeg, sent


@pytest.fixture
def full(entries, records, settings, tmp_path):
    """A build with a record of every kind, a photo, and deleted ones of both."""
    settings.MEDIA_ROOT = tmp_path / "media"
    _kept, gone = add_photos(
        **entries.by, record=records["purchase"], files=[sent(jpeg()), sent(jpeg((90, 40)))]
    )
    remove_photo(**entries.by, photo=gone)
    extra = entries.supplier("Gravel pit", note="closed on Mondays")
    delete_record(**entries.by, record=extra)
    return records


def written(build: Build) -> io.BytesIO:
    stream = io.BytesIO()
    write_build(build, stream)
    stream.seek(0)
    return stream


def report(build: Build) -> dict[str, Any]:
    return as_data(get_cost_sheet(build, localdate())) | {"build": ""}


def test_same_figures_under_new_keys(full, build, cast):
    made = read_build(written(build), actor=cast["stranger"], name="Copy")
    assert report(made) == report(build)
    assert list(find_differences(made)) == []
    assert made.name == "Copy"
    assert made.pk != build.pk
    assert [m.user for m in made.members.all()] == [cast["stranger"]]
    for model in list_build_models():
        if model in (Build, Change):
            continue
        one, other = ({row[0] for row in iterate_rows(model, which)} for which in (build, made))
        assert len(one) == len(other), model
        assert not one & other, model


def test_history_comes_along_and_can_be_undone(full, build, cast):
    made = read_build(written(build), actor=cast["stranger"])
    old = list(Change.objects.filter(build=build).values_list("summary", "actor_name", "at"))
    new = list(Change.objects.filter(build=made).values_list("summary", "actor_name", "at"))
    assert new[1:] == old
    assert new[0][0].startswith("Hill shed, with its history")
    gone = Change.objects.get(build=made, action="deleted", record_type="supplier")
    undo_change(actor=cast["stranger"], build=made, change=gone)
    assert made.suppliers.get(name="Gravel pit").note == "closed on Mondays"
    assert not build.suppliers.filter(name="Gravel pit").exists()
    picture = Change.objects.get(build=made, action="deleted", record_type="photo")
    undo_change(actor=cast["stranger"], build=made, change=picture)
    for photo in Photo.objects.filter(build=made):
        assert photo.image.name.startswith(f"builds/{made.pk}/")
        with default_storage.open(photo.image.name) as file:
            assert file.read(3) == b"\xff\xd8\xff"


def test_history_of_what_stays_behind_is_told_and_no_more(full, build, cast, entries, clients):
    """Members, invitations and links are no part of the file, nor is what stood in them."""
    add_member(**entries.by, user=cast["stranger"], role=Role.VIEWER)
    link, _ = entries.share_link("Aunt Ida")
    revoke_link(**entries.by, link=link)
    named = ("member", "share link")
    assert set(build.changes.values_list("record_type", flat=True)) > set(named)
    made = read_build(written(build), actor=cast["owner"], name="Copy")
    result = made.changes.filter(record_type__in=named)
    assert result.count() == build.changes.filter(record_type__in=named).count() >= 3
    assert [line for line in result if line.before or line.after or line.record_id] == []
    for change in made.changes.all():
        page = clients["owner"].get(reverse("change", args=[made.pk, change.pk]))
        assert page.status_code == 200
    assert clients["owner"].get(reverse("history", args=[made.pk])).status_code == 200
    # And on from there: a copy of the copy.
    assert report(read_build(written(made), actor=cast["owner"])) == report(build)


def test_the_copy_lives_its_own_life(full, build, cast):
    before = report(build)
    made = read_build(written(build), actor=cast["stranger"])
    purchase = made.purchases.get(photos__isnull=False)
    purchase.note = "changed"
    purchase.save()
    assert report(build) == before
    assert not build.purchases.filter(note="changed").exists()


def rewritten(stream: io.BytesIO, change) -> io.BytesIO:
    """A consistent file (its manifest agrees) whose rows were changed by somebody."""
    file = BundleFile(stream)
    out = io.BytesIO()
    bundle = Bundle(out)
    for label in file.labels:
        columns = file.columns(label)
        rows = [dict(zip(columns, row, strict=True)) for row in file.rows(label)]
        changed = change(label, rows)
        if changed is None:
            continue
        bundle.add_rows(
            changed[0],
            list(changed[1][0]) if changed[1] else columns,
            [list(row.values()) for row in changed[1]],
        )
    for name in file.uploads:
        with file.upload(name) as source:
            bundle.add_upload(name, source)
    bundle.finish("build", now())
    out.seek(0)
    return out


def on(label: str, edit):
    """Change every row of one model."""

    def change(found: str, rows: list[dict[str, Any]]):
        if found == f"materials.{label}":
            rows = [edit(dict(row)) for row in rows]
        return found, rows

    return change


def history_of_an_account(row: dict[str, Any]) -> dict[str, Any]:
    forged = {"model": "auth.user", "pk": 1, "fields": {"username": "root", "is_superuser": True}}
    return row | {"before": [forged], "after": None, "action": "deleted"}


HOSTILE = {
    "rows of accounts": lambda label, rows: (
        "auth.user" if label == "materials.supplier" else label, rows),
    "members": lambda label, rows: (
        "materials.member" if label == "materials.supplier" else label, rows),
    "an account in the history": on("change", history_of_an_account),
    "a key that is no key": on("supplier", lambda row: row | {"id": "7"}),
    "a negative key": on("supplier", lambda row: row | {"id": -7}),
    "a link to nowhere": on("purchaseline", lambda row: row | {"component_id": 987654}),
    "two builds": lambda label, rows: (
        label, [*rows, rows[0] | {"id": 99}] if label == "materials.build" else rows),
    "no build": lambda label, rows: None if label == "materials.build" else (label, rows),
    "an unknown column": on("supplier", lambda row: row | {"is_staff": True}),
    "a binary fraction": on("purchaseline", lambda row: row | {"unit_price": 1.1}),
    "a number that signals": on("purchaseline", lambda row: row | {"unit_price": "sNaN"}),
    "a history without keys": on("change", lambda row: row | {
        "before": [{"model": "materials.supplier", "fields": {}}]}),
    "an unknown unit": on("component", lambda row: row | {"unit": "furlong"}),
    "an area in no unit": on("buildarea", lambda row: row | {"area_unit": "sq"}),
    "an estimate in no unit": on("estimate", lambda row: row | {"area_unit": "sq"}),
    "an unknown currency": on("build", lambda row: row | {"currency": "???"}),
    "a quantity that is none": on("purchaseline", lambda row: row | {"quantity_text": "some"}),
    "a state that is none": on("purchase", lambda row: row | {"state": "stolen"}),
    "a number too large": on("purchaseline", lambda row: row | {"unit_price": "1" + "0" * 30}),
    "more than there is": on("leftover", lambda row: row | {
        "quantity_text": "9999 pieces", "base_qty": "9999"}),
    "text for a date": on("purchase", lambda row: row | {"bought_on": "yesterday"}),
}  # fmt: skip


@pytest.mark.parametrize("case", HOSTILE)
def test_hostile_rows_are_refused_whole(case, full, build, cast):
    stream = rewritten(written(build), HOSTILE[case])
    before = {model._meta.label: list(iterate_rows(model)) for model in list_kept_models()}
    files = list(list_uploads())
    with pytest.raises((LedgerError, WorkbookError)) as refused:
        read_build(stream, actor=cast["stranger"])
    assert str(refused.value)
    assert before == {m._meta.label: list(iterate_rows(m)) for m in list_kept_models()}
    assert list(list_uploads()) == files


def test_what_only_begins_to_be_stored_or_strayed_in_stays_out(full, build, cast):
    """A file that would be refused must not keep the others from coming back."""
    folder = f"builds/{build.pk}"
    before = sorted(name for name in list_uploads(folder) if is_ours(name))
    for stray in (".a.jpg.unfinished", "notes.txt"):
        default_storage.save(f"{folder}/{stray}", ContentFile(b""))
    stream = written(build)
    with zipfile.ZipFile(stream) as bundle:
        held = sorted(name for name in bundle.namelist() if name.startswith("uploads/"))
    photos = [name for name in before if "/tables/" not in name]
    assert held == [f"uploads/{name}" for name in photos] != []
    stream.seek(0)
    assert report(read_build(stream, actor=cast["stranger"])) == report(build)


def test_wrong_derived_figures_are_worked_out_again(full, build, cast):
    stream = rewritten(
        written(build), on("purchaseline", lambda row: row | {"landed_amount": "1.0000"})
    )
    made = read_build(stream, actor=cast["stranger"])
    assert report(made) == report(build)


def test_pictures_are_drawn_anew(full, build, cast):
    """What hides in a picture's bytes stays outside (ASVS 5.0.0, 5.2.2)."""
    photo = Photo.objects.get(build=build)
    with default_storage.open(photo.image.name, "ab") as file:
        file.write(b"<script>alert(1)</script>")
    made = read_build(written(build), actor=cast["stranger"])
    for kept in default_storage.listdir(f"builds/{made.pk}")[1]:
        with default_storage.open(f"builds/{made.pk}/{kept}") as file:
            assert b"script" not in file.read()


def test_no_picture_no_build(full, build, cast):
    """A file that is no picture is refused in a sentence."""
    photo = Photo.objects.get(build=build)
    with default_storage.open(photo.image.name, "wb") as file:
        file.write(b"<html>")
    with pytest.raises(LedgerError, match="picture"):
        read_build(written(build), actor=cast["stranger"])


def test_too_much_is_refused_by_the_directory(full, build, cast):
    """ASVS 5.0.0, 5.2.3: judged by what it would unpack to, before it is unpacked."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("manifest.json", json.dumps({"x": "0" * 5_000_000}))
    out.seek(0)
    with pytest.raises(WorkbookError, match="unpack"):
        read_build(out, actor=cast["stranger"], max_unpacked=1_000_000)


def test_every_model_belongs_to_a_build_or_stays(db):
    """A new model must say how it goes with its build; what is an account's goes with none."""
    of_accounts = {AccountEvent, SecondFactor, RecoveryCode, Passkey}
    for model in list_kept_models():
        if model._meta.app_label == "materials":
            goes = model is Move or path_to_build(model) is not None
            assert goes is (model not in of_accounts), model
    assert not of_accounts & set(list_build_models())


def test_a_move_goes_along_as_one_side(full, build, entries, second, cast):
    """The other build is not in the file, not even by name."""
    entries.transfer(full["component"], "1 piece", second)
    stream = written(build)
    rows = json.dumps([*BundleFile(stream).rows("materials.move")])
    assert second.name not in rows
    made = read_build(stream, actor=cast["stranger"])
    assert report(made) == report(build)
    assert list(find_differences(made)) == []
    far = read_build(written(second), actor=cast["stranger"])
    assert report(far) == report(second)


class TestScreens:
    def test_out_and_in(self, full, build, clients):
        sent_out = clients["viewer"].get(f"/builds/{build.pk}/file/")
        assert sent_out["Content-Type"] == "application/zip"
        assert 'filename="hill-shed.zip"' in sent_out["Content-Disposition"]
        stream = io.BytesIO(b"".join(sent_out))
        stream.name = "hill-shed.zip"
        answer = clients["stranger"].post("/builds/bring-in/", {"file": stream, "name": "Twin"})
        made = Build.objects.get(name="Twin")
        assert answer.status_code == 302
        assert answer.url == f"/builds/{made.pk}/"
        assert clients["stranger"].get(answer.url).status_code == 200
        assert clients["owner"].get(answer.url).status_code == 404

    @pytest.mark.parametrize("data", [b"PK\x03\x04", b"", b"name,qty\n", b"\x00" * 1000])
    def test_something_else(self, data, cast, clients):
        stream = io.BytesIO(data)
        stream.name = "x.zip"
        answer = clients["stranger"].post("/builds/bring-in/", {"file": stream, "name": "Mine"})
        assert answer.status_code == 422
        assert "Mine" in answer.content.decode()
        assert not Build.objects.exists()

    def test_a_backup_of_everything_is_no_build(self, full, clients):
        stream = io.BytesIO()
        write_backup(stream)
        stream.seek(0)
        stream.name = "all.zip"
        answer = clients["stranger"].post("/builds/bring-in/", {"file": stream})
        assert answer.status_code == 422
        assert "command restore" in answer.content.decode()
        assert Purchase.objects.exists()
