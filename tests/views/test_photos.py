"""Photos on their pages: who sees them, how they are sent, what each refusal says.

Numbers in comments are requirements of OWASP ASVS 5.0.0, read in the primary text.
"""

import io
import re
from html import unescape

import pytest
from django.urls import reverse
from PIL import Image

from materials.models import Change, Photo
from materials.services.photos import MAX_BYTES, add_photos
from tests.photo_files import form_body, jpeg, png, sent
from tests.world import once

pytestmark = once("records", "clients")

PARTS = ("owner", "co_builder", "viewer", "stranger", "anonymous")


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "kept" / "media"
    return settings.MEDIA_ROOT


@pytest.fixture
def photo(entries, records) -> Photo:
    """A photo of the purchase."""
    return add_photos(**entries.by, record=records["purchase"], files=[sent(jpeg((900, 600)))])[0]


@pytest.fixture
def add_url(build, records) -> str:
    return reverse("photo_add", args=[build.pk, "purchase", records["purchase"].pk])


def both(build, photo) -> list[str]:
    return [reverse(name, args=[build.pk, photo.pk]) for name in ("photo", "photo_small")]


def text_of(answer) -> str:
    return unescape(answer.content.decode())


def test_who_sees_a_picture(clients, build, photo):
    """8.2.2, 8.3.1."""
    for url in both(build, photo):
        answers = {part: clients[part].get(url) for part in PARTS}
        assert {part: answer.status_code for part, answer in answers.items()} == {
            "owner": 200,
            "co_builder": 200,
            "viewer": 200,
            "stranger": 404,
            "anonymous": 302,
        }
        assert answers["anonymous"]["Location"].startswith(reverse("sign_in"))
        assert b"\xff\xd8" not in answers["stranger"].content


def test_a_picture_through_a_build_of_ones_own_is_not_found(clients, other_build, photo):
    """8.4.1."""
    for url in both(other_build, photo):
        assert clients["stranger"].get(url).status_code == 404


def test_who_may_look_no_longer_after_leaving(clients, build, cast, photo):
    url = both(build, photo)[0]
    etag = clients["viewer"].get(url)["ETag"]
    build.members.filter(user=cast["viewer"]).delete()
    assert clients["viewer"].get(url, headers={"if-none-match": etag}).status_code == 404


@pytest.mark.parametrize(("n", "size", "name"), [(0, (900, 600), ""), (1, (320, 213), "-small")])
def test_a_picture_is_sent_as_a_picture_and_nothing_else(n, size, name, clients, build, photo):
    answer = clients["viewer"].get(both(build, photo)[n])
    assert Image.open(io.BytesIO(answer.content)).size == size
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    # 5.4.1, 5.4.2: a name of our own, in the form of RFC 6266.
    assert answer["Content-Disposition"] == f'inline; filename="photo-{photo.pk}{name}.jpg"'
    assert answer["Cache-Control"] == "private, no-cache"
    assert answer["Content-Security-Policy"].startswith("default-src 'none'; ")
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    again = clients["viewer"].get(both(build, photo)[n], headers={"if-none-match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again["Cache-Control"] == "private, no-cache"


def test_a_file_has_no_address_of_its_own(clients, build, photo, settings):
    """5.3.1: nothing is served from where files are kept."""
    stored = photo.image.name
    for url in (f"/{stored}", f"/media/{stored}", f"/static/{stored}", f"/static/../{stored}"):
        assert clients["owner"].get(url).status_code == 404
    assert not str(settings.MEDIA_ROOT).startswith(str(settings.STATIC_ROOT))


def test_a_picture_whose_file_is_gone_is_not_found(clients, build, photo, media):
    (media / photo.image.name).unlink()
    assert clients["owner"].get(both(build, photo)[0]).status_code == 404


def test_photos_are_added_from_camera_and_device(clients, build, records, add_url):
    data = {"taken": sent(jpeg()), "chosen": [sent(jpeg()), sent(jpeg())], "caption": " A  pile "}
    answer = clients["co_builder"].post(add_url, data, follow=True)
    assert answer.redirect_chain == [
        (reverse("purchase", args=[build.pk, records["purchase"].pk]), 302)
    ]
    assert "3 photos are saved." in text_of(answer)
    assert [photo.caption for photo in records["purchase"].photos.all()] == ["A pile"] * 3
    assert Photo.objects.first().added_by.username == "co_builder"


@pytest.mark.parametrize("kind", ["conversion", "price"])
def test_conversions_and_new_prices_have_a_page_of_photos(kind, clients, build, records):
    record = records[kind]
    form = clients["owner"].get(reverse(f"{kind}_edit", args=[build.pk, record.pk]))
    url = reverse("photos", args=[build.pk, kind, record.pk])
    assert f'href="{url}"' in text_of(form)
    answer = clients["owner"].post(f"{url}add/", {"chosen": sent(jpeg())}, follow=True)
    assert answer.redirect_chain == [(url, 302)]
    assert "The photo is saved." in text_of(answer)
    assert 'alt="Photo 1 of' in text_of(answer)


def test_a_page_of_photos_is_of_a_record_that_has_them(clients, build, records):
    for kind, pk in (("task", records["task"].pk), ("nonsense", 1), ("purchase", 10**6)):
        for url in ("photos", "photo_add"):
            where = reverse(url, args=[build.pk, kind, pk])
            assert clients["owner"].get(where).status_code == 404
            assert clients["owner"].post(where, {"chosen": sent(jpeg())}).status_code == 404
    assert not Photo.objects.exists()


REFUSED = {
    "none": (None, "Take or choose a photo first."),
    "empty": (b"", "“pile.jpg” is empty: choose the photo itself."),
    "words": (b"only words", "“pile.jpg” is not a picture we can read"),
    "svg": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "“pile.jpg” is not a picture we can"),
    "torn": (jpeg()[:400], "“pile.jpg” is broken or incomplete: take it or send it again."),
    "flood": (png(60_000, 60_000), "“pile.jpg” has more than 50 million pixels"),
    "large": (bytes(MAX_BYTES + 1), "“pile.jpg” is over 15 MB: send a smaller picture."),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_each_refusal_is_a_plain_sentence(kind, clients, records, add_url, media):
    data, result = REFUSED[kind]
    files = {} if data is None else {"chosen": [sent(jpeg()), sent(data, "pile.jpg")]}
    answer = clients["owner"].post(add_url, files | {"caption": "Kept words"})
    assert answer.status_code == 422
    assert result in text_of(answer)
    assert 'value="Kept words"' in text_of(answer)
    assert not Photo.objects.exists()
    assert not [path for path in media.rglob("*") if path.is_file()]


@pytest.mark.parametrize(
    "name",
    [
        b"../../x.jpg",
        b"..\\\\..\\\\x.jpg",
        b"/etc/cron.d/x",
        b"x\x00.php",
        b"a/../../b.jpg",
        b"%2e%2e%2fx.jpg",
        b"..jpg",
        b"x" * 300 + b".jpg",
        "„ä\u202egpj.exe".encode(),
        b"<img src=x onerror=alert(1)>.jpg",
    ],
)
def test_a_name_reaches_no_path(name, clients, add_url, build, media, tmp_path):
    """5.3.2."""
    body, kind = form_body("chosen", name, jpeg())
    assert clients["owner"].generic("POST", add_url, body, kind).status_code == 302
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert len(files) == 2
    assert {path.parent for path in files} == {media / "builds" / str(build.pk)}
    assert all(re.fullmatch(r"[0-9a-f]{32}(-small)?\.jpg", path.name) for path in files)


def test_a_name_is_shown_as_words_only(clients, add_url):
    body, kind = form_body("chosen", b"<img src=x onerror=alert(1)>.jpg", b"words")
    page = clients["owner"].generic("POST", add_url, body, kind).content.decode()
    assert "<img src=x" not in page
    assert "&lt;img src=x" in page


def test_a_caption_is_words_only_and_stands_for_the_picture(clients, build, records, add_url):
    clients["owner"].post(add_url, {"chosen": sent(jpeg()), "caption": '"><script>1</script>'})
    page = clients["viewer"].get(reverse("purchase", args=[build.pk, records["purchase"].pk]))
    assert b"<script>1" not in page.content
    assert b'alt="&quot;&gt;&lt;script&gt;1' in page.content
    answer = clients["owner"].post(add_url, {"chosen": sent(jpeg()), "caption": "a\x00b"})
    assert answer.status_code == 422


def test_readers_see_photos_and_no_form(clients, build, photo, records):
    url = reverse("purchase", args=[build.pk, records["purchase"].pk])
    for part, may in (("owner", True), ("viewer", False)):
        page = text_of(clients[part].get(url))
        assert 'alt="Photo 1 of purchase P1"' in page
        assert f'href="{both(build, photo)[0]}"' in page
        assert f'src="{both(build, photo)[1]}"' in page
        assert ('type="file"' in page) is may
        assert (reverse("photo_edit", args=[build.pk, photo.pk]) in page) is may


@pytest.mark.parametrize("part", ["viewer", "stranger", "anonymous"])
def test_who_may_not_add_adds_nothing(part, clients, add_url, media):
    answer = clients[part].post(add_url, {"chosen": sent(jpeg())})
    assert answer.status_code == {"viewer": 403, "stranger": 404, "anonymous": 302}[part]
    assert not Photo.objects.exists()
    assert not [path for path in media.rglob("*") if path.is_file()]


def test_a_caption_is_changed(clients, build, photo):
    url = reverse("photo_edit", args=[build.pk, photo.pk])
    assert clients["owner"].get(url).status_code == 200
    assert clients["owner"].post(url, {"caption": "x" * 201}).status_code == 422
    assert clients["owner"].post(url, {"caption": "The receipt"}).status_code == 302
    photo.refresh_from_db()
    assert photo.caption == "The receipt"


def test_deleting_asks_first_and_the_history_brings_it_back(clients, build, photo):
    owner, url = clients["owner"], reverse("photo_delete", args=[build.pk, photo.pk])
    asked = text_of(owner.get(url))
    assert "“Photo 1 of purchase P1” will be deleted." in asked
    assert Photo.objects.exists()
    assert owner.post(url).status_code == 302
    assert not Photo.objects.exists()
    assert owner.get(both(build, photo)[0]).status_code == 404
    change = Change.objects.get(record_type="photo", action="deleted")
    assert owner.get(reverse("change", args=[build.pk, change.pk])).status_code == 200
    owner.post(reverse("change_undo", args=[build.pk, change.pk]))
    assert owner.get(both(build, photo)[0]).status_code == 200
