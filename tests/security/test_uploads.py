"""Uploads: how many within an hour, what becomes of what was typed, and what they are served as."""

import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import Attempt, ImportJob, Photo, Purchase
from materials.services import attempt_limits
from materials.services.attempt_limits import Limit
from tests.entries import line
from tests.photo_files import jpeg, sent
from tests.security.markup import Looked
from tests.views.screens import Page

NOW = timezone.now()
IN_USE = {
    name: getattr(attempt_limits, name)
    for name in ("PHOTOS", "PHOTOS_FROM", "TABLES", "TABLES_FROM")
}
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def few(monkeypatch, settings, tmp_path):
    """Limits low enough to reach."""
    settings.MEDIA_ROOT = tmp_path
    for name, most in (("PHOTOS", 2), ("PHOTOS_FROM", 3), ("TABLES", 2), ("TABLES_FROM", 3)):
        real = getattr(attempt_limits, name)
        monkeypatch.setattr(attempt_limits, name, Limit(real.what, most, real.within))


def test_the_limits_in_use_are_generous_and_by_the_hour():
    """What hands can do, and a household behind one address, stays far below them."""
    for kind in ("PHOTOS", "TABLES"):
        own, there = IN_USE[kind], IN_USE[f"{kind}_FROM"]
        assert own.within == there.within == HOUR
        assert 60 <= own.most < there.most


def count(user: int, address: str, at=NOW, is_table: bool = False) -> str:
    try:
        attempt_limits.count_upload(user=user, address=address, is_table=is_table, at=at)
    except attempt_limits.TooMany:
        return "refused"
    return "taken"


def test_an_account_is_counted_wherever_it_comes_from(db):
    assert [count(1, address) for address in "abc"] == ["taken", "taken", "refused"]
    assert count(2, "a") == "taken"
    assert count(1, "a", is_table=True) == "taken", "tables are counted apart"
    assert count(1, "c", at=NOW + HOUR) == "taken"


def test_an_address_is_counted_whoever_it_is(db):
    assert [count(user, "a") for user in (1, 2, 3, 4)] == ["taken"] * 3 + ["refused"]
    assert count(4, "b") == "taken", "what was refused there was not counted"


@pytest.fixture
def purchase(entries) -> Purchase:
    return entries.purchase("P1", line(entries.component("Board"), "1 piece"))


def photo(client: Client, build, purchase, **more):
    url = reverse("photo_add", args=[build.pk, "purchase", purchase.pk])
    return client.post(url, {"caption": "Beams & <b>more</b>", "chosen": [sent(jpeg())]} | more)


def test_one_too_many_is_told_when_and_loses_nothing(clients, build, purchase):
    client = clients["owner"]
    typed = {"caption": "Beams & <b>more</b>", "chosen": [sent(jpeg(), "trailer.jpg")]}
    url = reverse("photo_add", args=[build.pk, "purchase", purchase.pk])
    for _ in range(2):
        typed["chosen"] = [sent(jpeg(), "trailer.jpg")]
        assert client.post(url, typed).status_code == 302
    typed["chosen"] = [sent(jpeg(), "trailer.jpg")]
    answer = client.post(url, typed)
    assert answer.status_code == 429
    assert 3500 < int(answer["Retry-After"]) <= 3601
    html = answer.content.decode()
    page = Page(html)
    assert "Try again after" in page.text
    assert "Choose again: trailer.jpg" in page.text
    assert page.form.fields["caption"] == "Beams & <b>more</b>"
    assert f'action="{url}"' in html
    assert Looked(html).faults == []
    assert Photo.objects.count() == 2
    # An hour later it is sent from there.
    for row in Attempt.objects.all():
        row.at -= HOUR
        row.save()
    again = dict(page.form.fields) | {"chosen": [sent(jpeg())]}
    assert client.post(url, again).status_code == 302
    assert Photo.objects.filter(caption="Beams & <b>more</b>").count() == 3


def test_a_purchase_typed_with_a_photo_too_many_can_be_saved_without(clients, build, entries):
    board = entries.component("Board")
    client = clients["owner"]
    url = reverse("log", args=[build.pk])
    form = Page(client.get(url).content.decode()).form
    typed = form.fields | {"what": board.name, "quantity_text": "2 pieces", "source": "salvage"}
    Attempt.objects.bulk_create(
        Attempt(
            what=attempt_limits.PHOTOS.what,
            who=attempt_limits._key(f"user {entries.actor.pk}"),
            at=NOW,
        )
        for _ in range(2)
    )
    answer = client.post(url, typed | {"taken": [sent(jpeg())]})
    assert answer.status_code == 429
    kept = Page(answer.content.decode()).form.fields
    assert (
        kept.items()
        >= {
            name: value for name, value in typed.items() if value and name != "csrfmiddlewaretoken"
        }.items()
    )
    assert kept["quantity_text"] == "2 pieces"
    assert not Purchase.objects.exists()
    # Without the photo it is no upload, and is not held up.
    assert client.post(url, kept).status_code == 302
    assert Purchase.objects.get().lines.get().component == board


def test_tables_are_counted_whichever_way_they_come(clients, build):
    client = clients["owner"]
    pasted = {"pasted": "Component\tUnit\nBoard\tpiece"}
    urls = [
        reverse("imports", args=[build.pk]),
        reverse("upload_new"),
        reverse("build_file_new"),
    ]
    assert client.post(urls[0], pasted).status_code == 302
    assert client.post(urls[1], {"name": "x"}).status_code == 422
    answer = client.post(urls[0], pasted)
    assert answer.status_code == 429
    assert Page(answer.content.decode()).form.fields["pasted"].split() == pasted["pasted"].split()
    file = SimpleUploadedFile("x.zip", b"PK", "application/zip")
    assert client.post(urls[2], {"name": "y", "file": file}).status_code == 429
    assert ImportJob.objects.count() == 1
    other = clients["co_builder"]
    assert other.post(urls[0], pasted).status_code == 302


def test_who_is_not_signed_in_is_sent_to_the_sign_in_and_counts_for_nobody(db, build, purchase):
    assert photo(Client(), build, purchase).status_code == 302
    assert not Attempt.objects.exists()


def test_forms_without_files_are_not_counted(clients, build):
    for n in range(5):
        typed = {"name": f"Task {n}"}
        assert clients["owner"].post(reverse("task_add", args=[build.pk]), typed).status_code == 302
    assert not Attempt.objects.exists()


HTML = b"<!doctype html><html><script>alert(1)</script></html>"


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("x.html", "text/html"),
        ("x.svg", "image/svg+xml"),
        ("x.jpg", "image/jpeg"),
        ("x.jpg.html", "image/jpeg"),
        ("x.xhtml", "application/xhtml+xml"),
    ],
)
def test_a_page_sent_as_a_photo_is_no_photo(name, kind, clients, build, purchase):
    """5.2.2: by its content, whatever its name and type say."""
    client = clients["owner"]
    answer = photo(client, build, purchase, **{"chosen": [sent(HTML, name, kind)]})
    assert answer.status_code == 422
    assert not Photo.objects.exists()


def test_a_photo_with_a_page_in_it_keeps_the_picture_alone(clients, build, purchase, settings):
    """5.3.1, 5.3.2: drawn anew, under a name of ours, whatever it was called."""
    client = clients["owner"]
    mixed = jpeg(comment=HTML) + HTML
    answer = photo(client, build, purchase, **{"chosen": [sent(mixed, "../../x.html")]})
    assert answer.status_code == 302
    stored = Photo.objects.get()
    for file in (stored.image, stored.thumbnail):
        assert re.fullmatch(r"builds/\d+/[\w/-]*[A-Za-z0-9_-]{16,}(-small)?\.jpg", file.name)
        with file.open("rb") as data:
            assert b"<script" not in data.read()
    small = client.get(reverse("photo_small", args=[build.pk, stored.pk]))
    assert small["Content-Type"] == "image/jpeg"
    assert small["X-Content-Type-Options"] == "nosniff"


def test_a_table_that_was_uploaded_is_under_no_address(clients, build, settings):
    """5.3.1: it is read, never served; neither is anything by a path of the folder of uploads."""
    client = clients["owner"]
    file = SimpleUploadedFile("x.csv", b"Component,Unit\n<script>x</script>,piece\n", "text/csv")
    assert client.post(reverse("imports", args=[build.pk]), {"table": file}).status_code == 302
    root = Path(settings.MEDIA_ROOT)
    kept = [path.relative_to(root) for path in root.rglob("*") if path.is_file()]
    assert kept
    for path in kept:
        assert "x.csv" not in path.name
        for start in ("/media/", "/.media/", "/static/", "/", "/static/../.media/"):
            assert client.get(f"{start}{path}").status_code == 404
