"""Saving photos, all or none of them, deleting them, and bringing them back.

Numbers in comments are requirements of OWASP ASVS 5.0.0, read in the primary text.
"""

import re
from pathlib import Path

import pytest

from materials.models import Change, Component, Conversion, Photo, Purchase, RetailPrice
from materials.queries.photos import describe_photos
from materials.services import photos as service
from materials.services.errors import LedgerError
from materials.services.photos import add_photos, remove_photo, save_caption
from materials.services.records import delete_record, undo_change
from tests.entries import DAY, line
from tests.photo_files import jpeg, sent


@pytest.fixture(autouse=True)
def media(settings, tmp_path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def add(entries, records):
    """Add pictures to a record, a purchase unless told otherwise."""

    def to(*files: bytes, kind: str = "purchase", caption: str = "") -> list[Photo]:
        uploads = [sent(data) for data in files]
        return add_photos(**entries.by, record=records[kind], files=uploads, caption=caption)

    return to


def files_in(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_files_are_kept_under_names_of_our_own(add, build, media):
    """5.3.2."""
    photo = add(jpeg(), caption="Receipt")[0]
    assert re.fullmatch(rf"builds/{build.pk}/[0-9a-f]{{32}}\.jpg", photo.image.name)
    assert re.fullmatch(rf"builds/{build.pk}/[0-9a-f]{{32}}-small\.jpg", photo.thumbnail.name)
    assert len(files_in(media)) == 2
    assert not any(path.stat().st_mode & 0o111 for path in files_in(media))
    assert (photo.width, photo.height, photo.caption) == (60, 40, "Receipt")


@pytest.mark.parametrize("kind", ["purchase", "conversion", "price"])
def test_a_photo_is_of_one_record(kind, add, records):
    photo = add(jpeg(), kind=kind)[0]
    assert getattr(photo, kind) == records[kind]
    words = {
        "purchase": "Photo 1 of purchase P1",
        "conversion": "Photo 1 of conversion C1",
        "price": "Photo 1 of new price of Shelf on 4 May 2026",
    }
    assert describe_photos(records[kind]) == [(photo, words[kind])]


def test_with_one_bad_file_none_is_saved(add, media):
    with pytest.raises(LedgerError, match="not a picture"):
        add(jpeg(), b"only words")
    assert not Photo.objects.exists()
    assert files_in(media) == []


@pytest.mark.parametrize("failing", ["save", "note"])
def test_when_saving_fails_no_file_is_left(failing, add, media, monkeypatch):
    """The second of two fails: both are undone, with their files."""
    done = []
    whole = Photo.save if failing == "save" else service.write_record

    def fail_second(*args, **kwargs):
        done.append(1)
        if failing == "note":
            whole(*args, **kwargs)
        if len(done) == 2:
            raise RuntimeError("the disk is full")
        if failing == "save":
            whole(*args, **kwargs)

    target = (Photo, "save") if failing == "save" else (service, "write_record")
    monkeypatch.setattr(*target, fail_second)
    changes = Change.objects.count()
    with pytest.raises(RuntimeError):
        add(jpeg(), jpeg())
    assert files_in(media) == []
    assert not Photo.objects.exists()
    assert Change.objects.count() == changes


def test_no_file_and_too_many_at_once_are_refused(add):
    with pytest.raises(LedgerError, match="Take or choose a photo first"):
        add()
    with pytest.raises(LedgerError, match="At most 10 photos at a time"):
        add(*[jpeg()] * 11)


def test_a_record_holds_so_many_and_no_more(add, media, monkeypatch):
    monkeypatch.setattr(service, "MAX_PHOTOS", 3)
    add(jpeg(), jpeg())
    text = "A purchase holds at most 3 photos, and this one has 2: leave some out"
    with pytest.raises(LedgerError, match=text):
        add(jpeg(), jpeg())
    add(jpeg())
    add(jpeg(), kind="conversion")
    assert len(files_in(media)) == 8


# History.


def undo(entries, **of) -> None:
    undo_change(**entries.by, change=Change.objects.filter(**of).order_by("pk").last())


def test_a_photo_is_deleted_and_brought_back(add, entries, media):
    photo = add(jpeg(), caption="Receipt")[0]
    before = (photo.pk, photo.image.name, photo.added_by)
    remove_photo(**entries.by, photo=photo)
    assert not Photo.objects.exists()
    assert len(files_in(media)) == 2
    undo(entries, record_type="photo", action="deleted")
    back = Photo.objects.get()
    assert (back.pk, back.image.name, back.added_by) == before
    assert abs((back.added_at - photo.added_at).total_seconds()) < 0.001
    assert back.image.read()[:2] == b"\xff\xd8"
    back.image.close()


def test_adding_and_captions_are_undone(add, entries):
    photo = add(jpeg(), caption="Receipt")[0]
    save_caption(**entries.by, photo=photo, caption="The receipt")
    undo(entries, record_type="photo", action="changed")
    assert Photo.objects.get().caption == "Receipt"
    undo(entries, record_type="photo", action="undone")
    undo(entries, record_type="photo", action="undone")
    undo(entries, record_type="photo", action="added")
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    ("kind", "users"),
    [("purchase", ("left-over", "conversion")), ("conversion", ("left-over",)), ("price", ())],
)
def test_photos_go_and_come_back_with_their_record(kind, users, add, entries, records):
    add(jpeg(), jpeg(), kind=kind)
    for user in (*users, kind):
        delete_record(**entries.by, record=records[user])
    assert not Photo.objects.exists()
    undo(entries, record_type=kind, action="deleted")
    model = {"purchase": Purchase, "conversion": Conversion, "price": RetailPrice}[kind]
    assert model.objects.get(pk=records[kind].pk).photos.count() == 2
    undo(entries, record_type=kind)
    assert not Photo.objects.exists()
    undo(entries, record_type=kind)
    assert Photo.objects.count() == 2


def test_photos_of_a_component_s_prices_come_back_with_it(add, entries):
    part = entries.component("Sash")
    price = entries.price(part, 4)
    add_photos(**entries.by, record=price, files=[sent(jpeg())])
    delete_record(**entries.by, record=part)
    assert not Photo.objects.exists()
    undo(entries, record_type="component", action="deleted")
    assert Component.objects.get(name="Sash").prices.get().photos.count() == 1


def test_a_photo_does_not_keep_its_purchase_from_being_undone(entries, records):
    purchase = entries.purchase("P7", line(records["component"], "1 piece"))
    add_photos(**entries.by, record=purchase, files=[sent(jpeg())])
    undo(entries, record_type="purchase", record_id=purchase.pk)
    assert not Purchase.objects.filter(number="P7").exists()
    assert not Photo.objects.exists()
    undo(entries, record_type="purchase", record_id=purchase.pk)
    assert Purchase.objects.get(number="P7", bought_on=DAY).photos.count() == 1


def test_a_photo_of_what_is_gone_is_not_brought_back(add, entries, records):
    photo = add(jpeg(), kind="price")[0]
    remove_photo(**entries.by, photo=photo)
    delete_record(**entries.by, record=records["price"])
    with pytest.raises(LedgerError, match="cannot be brought back as it was"):
        undo(entries, record_type="photo", action="deleted")
