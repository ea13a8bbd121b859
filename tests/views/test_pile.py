"""After a yard day: photos first, details later."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.models import Change, Conversion, LabourEntry, Photo, Purchase, RetailPrice
from materials.queries.checks import find_differences
from materials.queries.photos import list_pile
from materials.services import photos as service
from materials.services.photos import add_to_pile
from materials.services.records import undo_change
from tests.entries import line
from tests.fuzz.pages import read_page
from tests.photo_files import jpeg, sent
from tests.world import once

pytestmark = once("entries", "clients")

GOT = {
    "what": "Pantile",
    "quantity_text": "60 pieces",
    "price": "40",
    "price_for": "line",
    "source": "salvage",
    "state": "received",
}


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def urls(build):
    return {name: reverse(name, args=[build.pk]) for name in
            ("pile", "pile_add", "log", "home", "conversion_add", "price_add")}  # fmt: skip


@pytest.fixture
def three(entries) -> list[Photo]:
    """Three photos that wait."""
    kept, _ = add_to_pile(**entries.by, files=[sent(jpeg()) for _ in range(3)], caption="barn")
    return kept


def got(**more) -> dict:
    return GOT | {"bought_on": timezone.localdate().isoformat()} | more


def asked(url: str, photos) -> str:
    return f"{url}?{'&'.join(f'pile={photo.pk}' for photo in photos)}"


def waiting(build) -> list[int]:
    return [photo.pk for photo in list_pile(build)]


def test_many_photos_come_at_once_with_one_note(clients, build, urls):
    files = [sent(jpeg(), f"{n}.jpg") for n in range(service.MAX_OF_PILE_AT_ONCE)]
    answer = clients["owner"].post(urls["pile_add"], {"chosen": files, "caption": "barn sale"})
    assert (answer.status_code, answer.url) == (302, urls["pile"])
    assert len(waiting(build)) == 30
    assert {photo.caption for photo in list_pile(build)} == {"barn sale"}
    page = clients["viewer"].get(urls["pile"]).content.decode()
    assert "30 photos to sort." in page
    assert "30 photos to sort" in clients["viewer"].get(urls["home"]).content.decode()
    entry = Change.objects.filter(build=build).first()
    assert (entry.kind, entry.summary) == ("several at once", "Pile: 30 photos to sort")


def test_a_broken_one_is_named_and_the_others_are_kept(clients, build, urls):
    files = [sent(jpeg(), "one.jpg"), sent(b"only words", "list.txt")]
    answer = clients["owner"].post(urls["pile_add"], {"chosen": files}, follow=True)
    said = answer.content.decode()
    assert "The photo waits to be sorted." in said
    assert "“list.txt” is not a picture" in said
    assert len(waiting(build)) == 1


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ([], "Take or choose a photo first."),
        ([b"only words"], "is not a picture"),
        ([b""], "is empty"),
        ([b"x"] * 31, "At most 30 photos at a time"),
    ],
)
def test_what_is_refused_is_said_and_the_note_stays(files, said, clients, build, urls):
    data = {"chosen": [sent(each) for each in files], "caption": "barn sale"}
    answer = clients["owner"].post(urls["pile_add"], data)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page
    assert 'value="barn sale"' in page
    assert waiting(build) == []


def test_the_pile_has_an_end(clients, build, urls, three, monkeypatch):
    monkeypatch.setattr(service, "MAX_OF_PILE", 4)
    files = [sent(jpeg()), sent(jpeg())]
    answer = clients["owner"].post(urls["pile_add"], {"chosen": files})
    assert "The pile holds at most 4 photos, and 3 wait there" in answer.content.decode()
    assert len(waiting(build)) == 3


def test_the_same_sending_counts_once(clients, build, urls):
    forms, _ = read_page(clients["owner"].get(urls["pile"]).content.decode())
    token = next(e.value for form in forms for e in form.fields if e.name == "form_token")
    for _ in range(2):
        data = {"chosen": [sent(jpeg())], "form_token": token}
        assert clients["owner"].post(urls["pile_add"], data).status_code == 302
    assert len(waiting(build)) == 1


def test_three_photos_become_two_purchases(clients, build, urls, three):
    """Tick two, log; tick the third, log: then nothing waits."""
    owner = clients["owner"]
    address = asked(urls["log"], three[:2])
    page = owner.get(address).content.decode()
    forms, _ = read_page(page)
    form = next(one for one in forms if any(each.name == "what" for each in one.fields))
    shown = [each for each in form.fields if each.name == "pile"]
    assert [(each.value, each.sent) for each in shown] == [(str(p.pk), True) for p in three[:2]]
    # The note of the photos is where the note of the line is.
    assert next(each.value for each in form.fields if each.name == "note") == "barn"
    first = owner.post(address, got(pile=[p.pk for p in three[:2]]))
    bought = Purchase.objects.latest("pk")
    assert first.url == f"{urls['pile']}?saved=purchase-{bought.pk}"
    assert [photo.purchase for photo in Photo.objects.order_by("pk")] == [bought, bought, None]
    second = owner.post(asked(urls["log"], three[2:]), got(what="Ridge tile", pile=three[2].pk))
    assert waiting(build) == []
    page_of_it = reverse("purchase", args=[build.pk, Purchase.objects.latest("pk").pk])
    assert second.url.startswith(page_of_it)
    assert "to sort" not in owner.get(urls["home"]).content.decode().split("<h1")[1]
    assert list(find_differences(build)) == []


def test_an_unticked_photo_stays_in_the_pile(clients, build, urls, three):
    clients["owner"].post(asked(urls["log"], three), got(pile=three[0].pk))
    assert waiting(build) == [three[1].pk, three[2].pk]


@pytest.mark.parametrize("kind", ["purchase", "photo", "several at once"])
def test_sorting_is_undone_as_one(kind, clients, build, urls, three, entries):
    clients["owner"].post(asked(urls["log"], three[:2]), got(pile=[p.pk for p in three[:2]]))
    undo_change(**entries.by, change=Change.objects.filter(record_type=kind).first())
    assert not Purchase.objects.exists()
    assert waiting(build) == [photo.pk for photo in three]
    undone = Change.objects.first()
    undo_change(**entries.by, change=undone)
    assert Photo.objects.filter(purchase__isnull=False).count() == 2


def test_with_what_was_made_of_it_all_is_one_act(clients, build, urls, three, entries):
    made = {
        "outputs-TOTAL_FORMS": 1, "outputs-INITIAL_FORMS": 0,
        "outputs-0-new_name": "Half tile", "outputs-0-made_text": "100 pieces",
    }  # fmt: skip
    clients["owner"].post(asked(urls["log"], three), got(pile=[p.pk for p in three], **made))
    whole = Change.objects.first()
    assert "made into 100 pieces Half tile" in whole.summary
    undo_change(**entries.by, change=whole)
    assert (Purchase.objects.count(), Conversion.objects.count()) == (0, 0)
    assert len(waiting(build)) == 3


def test_a_pile_becomes_an_offer_a_conversion_or_a_price_too(clients, build, urls, three, entries):
    owner, today = clients["owner"], timezone.localdate().isoformat()
    offered = asked(urls["log"], three[:1]) + "&state=offer"
    owner.post(offered, got(state="offer", pile=three[0].pk))
    assert Photo.objects.get(pk=three[0].pk).purchase.state == "offer"
    beam = entries.component("Beam")
    entries.purchase("P9", line(beam, "4 pieces"))
    owner.post(asked(urls["conversion_add"], three[1:2]), {
        "number": "C1", "converted_on": today, "source": beam.pk, "used_text": "1 piece",
        "outputs-TOTAL_FORMS": 1, "outputs-INITIAL_FORMS": 0, "outputs-0-new_name": "Post",
        "outputs-0-made_text": "2 pieces", "pile": three[1].pk,
    })  # fmt: skip
    assert Photo.objects.get(pk=three[1].pk).conversion == Conversion.objects.get()
    priced = {"component": beam.pk, "price": "30", "priced_on": today, "pile": three[2].pk}
    owner.post(asked(urls["price_add"], three[2:]), priced)
    assert Photo.objects.get(pk=three[2].pk).price == RetailPrice.objects.get()
    assert waiting(build) == []


def test_hours_take_the_notes_along_and_leave_the_photos(clients, build, urls, three):
    owner, log = clients["owner"], reverse("labour_add", args=[build.pk])
    assert f'formaction="{log}">Log hours' in owner.get(urls["pile"]).content.decode()
    page = owner.get(asked(log, three[:2])).content.decode()
    form = next(one for one in read_page(page)[0] if any(f.name == "hours" for f in one.fields))
    typed = {field.name: field.value for field in form.fields if field.sent}
    assert typed["note"] == "barn"
    answer = owner.post(asked(log, three[:2]), typed | {"person": "Ines", "hours": "2.5"})
    saved = LabourEntry.objects.get()
    assert (saved.note, saved.hours) == ("barn", Decimal("2.5"))
    # Back at the pile, where all three still wait.
    assert answer.url == f"{urls['pile']}?saved=labour-{saved.pk}"
    assert waiting(build) == [photo.pk for photo in three]
    assert owner.get(log).context["form"].initial.get("note", "") == ""


def test_a_fault_keeps_the_ticks(clients, build, urls, three):
    address = asked(urls["log"], three)
    answer = clients["owner"].post(address, got(price="cheap", pile=three[1].pk))
    assert answer.status_code == 422
    forms, _ = read_page(answer.content.decode())
    boxes = [each for form in forms for each in form.fields if each.name == "pile"]
    assert [each.sent for each in boxes] == [False, True, False]
    assert len(waiting(build)) == 3


def test_a_photo_that_somebody_sorted_meanwhile_is_said(clients, build, urls, three):
    clients["co_builder"].post(asked(urls["log"], three[:1]), got(pile=three[0].pk))
    before = Purchase.objects.count()
    address = asked(urls["log"], three[:2])
    answer = clients["owner"].post(address, got(pile=[p.pk for p in three[:2]]))
    assert answer.status_code == 422
    assert "A photo of the pile was sorted or deleted meanwhile." in answer.content.decode()
    assert Purchase.objects.count() == before
    # The page comes back with what still waits: saved again it goes through.
    assert f'name="pile" value="{three[0].pk}"' not in answer.content.decode()
    assert clients["owner"].post(address, got(pile=three[1].pk)).status_code == 302


@pytest.mark.parametrize("key", ["0", "x", "9" * 30, "-1", "999999"])
def test_photos_that_are_none_change_nothing(key, clients, build, urls, three):
    assert clients["owner"].get(f"{urls['log']}?pile={key}").status_code == 200
    assert clients["owner"].post(f"{urls['log']}?pile={key}", got(pile=key)).status_code == 302
    assert len(waiting(build)) == 3


def test_another_builds_photos_stay_there(clients, other_build, urls, three, build):
    elsewhere = asked(reverse("log", args=[other_build.pk]), three)
    answer = clients["stranger"].post(elsewhere, got(pile=[p.pk for p in three]))
    assert answer.status_code == 302
    assert Purchase.objects.filter(build=other_build).exists()
    assert len(waiting(build)) == 3


def test_a_photo_of_the_pile_has_a_note_and_can_be_deleted(clients, build, urls, three):
    owner = clients["owner"]
    edit = reverse("photo_edit", args=[build.pk, three[0].pk])
    assert owner.post(edit, {"caption": "40 for all"}).url == urls["pile"]
    assert "40 for all" in owner.get(urls["pile"]).content.decode()
    delete = reverse("photo_delete", args=[build.pk, three[1].pk])
    assert owner.get(delete).status_code == 200
    assert owner.post(delete).url == urls["pile"]
    assert waiting(build) == [three[0].pk, three[2].pk]


def test_who_sees_the_pile(clients, build, urls, three):
    for part, code in (("owner", 200), ("viewer", 200), ("stranger", 404), ("anonymous", 302)):
        assert clients[part].get(urls["pile"]).status_code == code
    page = clients["viewer"].get(urls["pile"]).content.decode()
    assert 'name="pile"' not in page
    assert clients["viewer"].post(urls["pile_add"], {"chosen": [sent(jpeg())]}).status_code == 403


def test_an_entry_kept_without_signal_comes_in_once(clients, cast, build, urls):
    """Sent by a device as it was kept: the same answers as for any form."""
    headers = {"Outbox-Account": str(cast["owner"].pk)}
    token = "12345678-1234-4234-8234-123456789012"
    for repeat in (False, True):
        answer = clients["owner"].post(
            urls["pile_add"], {"taken": [sent(jpeg())], "form_token": token}, headers=headers
        )
        assert answer.status_code == 200
        assert answer.json()["repeat"] is repeat
    assert len(waiting(build)) == 1


def test_the_newest_first_day_does_not_matter(build, three):
    """They stand in the order they came, whenever that was."""
    Photo.objects.filter(pk=three[2].pk).update(added_at=timezone.now() - timedelta(days=9))
    assert waiting(build) == [photo.pk for photo in three]


def test_a_receipt_of_several_lines_takes_its_photos_along(clients, build, urls, three):
    """From the short form to the long one: the ticked photos go with what that saves."""
    owner, add = clients["owner"], reverse("purchase_add", args=[build.pk])
    page = owner.post(add, got(pile=three[0].pk, from_short="1"))
    forms, _ = read_page(page.content.decode())
    form = next(one for one in forms if any(each.name == "lot_split" for each in one.fields))
    data = {each.name: each.value for each in form.fields if each.sent}
    assert data["pile"] == str(three[0].pk)
    assert owner.post(add, data).url.startswith(urls["pile"])
    assert [photo.purchase for photo in Photo.objects.order_by("pk")] == [
        Purchase.objects.get(), None, None,
    ]  # fmt: skip
