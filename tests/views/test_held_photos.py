"""Photos chosen in a form that comes back are held, listed, and kept with the record once saved."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.models import Conversion, HeldPhoto, Photo, Purchase, RetailPrice
from materials.services.held_photos import MOST, hold_photos
from tests.photo_files import jpeg, sent
from tests.world import once

pytestmark = once("records")

SHORT = {
    "what": "Roof sheet",
    "quantity_text": "6 pieces",
    "price": "4.10",
    "price_for": "each",
    "source": "salvage",
    "supplier": "Yard",
    "state": "received",
    "bought_on": "2026-03-01",
}
ROWS = ("TOTAL_FORMS", "INITIAL_FORMS", "MIN_NUM_FORMS", "MAX_NUM_FORMS")


def rows(prefix: str, count: int) -> dict[str, str]:
    """What the browser sends of rows under a form."""
    values = (str(count), "0", "0", "100")
    return {f"{prefix}-{name}": value for name, value in zip(ROWS, values, strict=True)}


@pytest.fixture
def forms(build, records):
    """Of each form with a photo: what makes it whole, what spoils it, and what it makes."""
    board, stud = records["component"], records["price"].component
    lines = rows("lines", 1) | rows("charges", 0)
    lines |= {
        "lines-0-component": str(board.pk),
        "lines-0-quantity_text": "3 pieces",
        "lines-0-source": "retail",
        "lines-0-usable_percent": "100",
    }
    made = rows("outputs", 1) | {"outputs-0-component": stud.pk, "outputs-0-made_text": "2 pieces"}
    return {
        "log": (SHORT, {"quantity_text": "some"}, Purchase),
        "purchase_add": (
            lines | {"number": "P77", "bought_on": "2026-03-01", "state": "received"},
            {"lines-0-quantity_text": "some"},
            Purchase,
        ),
        "conversion_add": (
            made
            | {
                "number": "C77",
                "converted_on": "2026-03-02",
                "source": str(board.pk),
                "used_text": "1 piece",
            },
            {"used_text": "some"},
            Conversion,
        ),
        "price_add": (
            {"component": str(board.pk), "price": "9", "priced_on": "2026-03-01"},
            {"price": "dear"},
            RetailPrice,
        ),
    }


def held_in(answer) -> list[str]:
    """Keys that a page carries, ticked."""
    return re.findall(r'name="held_photo" value="([^"]+)"[^>]* checked', answer.content.decode())


WAYS = [
    *((name, "refused") for name in ("log", "purchase_add", "conversion_add", "price_add")),
    *((name, "looked at") for name in ("log", "conversion_add")),
    *((name, "asked for a row") for name in ("purchase_add", "conversion_add")),
]
PRESSED = {"looked at": {"look": "1"}, "asked for a row": {"add_row": "lines"}}


@pytest.mark.parametrize(("name", "way"), WAYS)
def test_a_photo_outlives_a_form_that_comes_back(name, way, clients, build, forms):
    client, url = clients["owner"], reverse(name, args=[build.pk])
    whole, fault, model = forms[name]
    other = fault if way == "refused" else PRESSED[way]
    before = model.objects.count()
    answer = client.post(url, whole | other | {"photo": sent(jpeg(), "pile.jpg")})
    (key,) = held_in(answer)
    assert "pile.jpg" in answer.content.decode()
    assert model.objects.count() == before
    assert not Photo.objects.exists()
    # It stays through a second fault, and a second photo joins it.
    answer = client.post(url, whole | fault | {"held_photo": key, "photo": sent(jpeg())})
    assert held_in(answer)[0] == key
    answer = client.post(url, whole | {"held_photo": held_in(answer)})
    assert answer.status_code == 302, answer.content.decode()
    photos = model.objects.latest("pk").photos
    assert photos.count() == 2
    assert all(photo.image.size and photo.thumbnail.size for photo in photos.all())
    assert not HeldPhoto.objects.exists()


def test_into_several_lines_it_comes_along(clients, build):
    url = reverse("purchase_add", args=[build.pk])
    answer = clients["owner"].post(url, SHORT | {"from_short": "1", "photo": sent(jpeg())})
    assert len(held_in(answer)) == 1


def test_on_the_page_of_photos_sound_ones_are_held_beside_a_broken_one(clients, build, records):
    url = reverse("photo_add", args=[build.pk, "purchase", records["purchase"].pk])
    files = [sent(jpeg(), "good.jpg"), sent(b"no picture", "torn.jpg")]
    answer = clients["owner"].post(url, {"chosen": files, "caption": "Pile"})
    assert answer.status_code == 422
    (key,) = held_in(answer)
    assert "“torn.jpg” is not a picture" in answer.content.decode()
    answer = clients["owner"].post(url, {"held_photo": key, "caption": "Pile"})
    assert answer.status_code == 302
    assert [photo.caption for photo in records["purchase"].photos.all()] == ["Pile"]


def test_what_is_unticked_is_left_out(clients, build):
    url = reverse("log", args=[build.pk])
    clients["owner"].post(url, SHORT | {"quantity_text": "some", "photo": sent(jpeg())})
    assert clients["owner"].post(url, SHORT).status_code == 302
    assert not Photo.objects.exists()


def test_nobody_else_takes_or_sees_what_is_held(clients, build):
    url = reverse("log", args=[build.pk])
    answer = clients["owner"].post(url, SHORT | {"look": "1", "photo": sent(jpeg())})
    keys = held_in(answer)
    answer = clients["co_builder"].post(url, SHORT | {"look": "1", "held_photo": keys})
    assert held_in(answer) == []
    answer = clients["co_builder"].post(url, SHORT | {"held_photo": keys})
    assert answer.status_code == 422
    assert not Photo.objects.exists()
    assert HeldPhoto.objects.count() == 1


@pytest.mark.parametrize("key", ["a\x00b", "\ud800", "é" * 50, "x" * 5000])
def test_no_key_is_an_error(key, clients, build):
    typed = {**SHORT, "held_photo": [key.encode(errors="surrogatepass")]}
    url = reverse("log", args=[build.pk])
    assert clients["owner"].post(url, typed).status_code == 422
    assert held_in(clients["owner"].post(url, {**typed, "look": "1"})) == []


def test_one_held_no_more_is_said_and_nothing_is_saved_without_it(clients, build):
    url = reverse("log", args=[build.pk])
    before = Purchase.objects.count()
    answer = clients["owner"].post(url, SHORT | {"held_photo": "gone"})
    assert answer.status_code == 422
    assert Purchase.objects.count() == before
    assert "no longer kept. Choose it again" in answer.content.decode()


def test_only_so_many_for_so_long(cast):
    owner = cast["owner"]
    old, _ = hold_photos(actor=owner, files=[sent(jpeg())])
    HeldPhoto.objects.update(sent_at=timezone.now() - timedelta(days=3))
    for _ in range(MOST // 10 + 1):
        hold_photos(actor=owner, files=[sent(jpeg((4, 4))) for _ in range(10)])
    assert HeldPhoto.objects.count() == MOST
    assert not HeldPhoto.objects.filter(pk=old[0].pk).exists()
    _, refused = hold_photos(actor=owner, files=[sent(jpeg((4, 4))) for _ in range(12)])
    assert refused == ["At most 10 photos at a time: the rest was left out."]
