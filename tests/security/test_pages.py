"""Every page and every answer: nothing inline, nothing foreign, and headers that say so."""

import gzip
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from buildledger.middleware import HEADERS, POLICY
from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.management.commands._demo_lifecycle import add_life_choice
from materials.management.commands.demo import FOLDER
from materials.services.accounts import ensure_user
from materials.services.imports import import_plan
from tests.access.test_routes import OF_BUILD, ROUTES, address, records
from tests.answers import status
from tests.browser.screens import SCREENS, records_of, routes
from tests.security.markup import Looked

__all__ = ["records"]


@pytest.fixture
def demo(db, settings, tmp_path):
    """The demo build, a client of its owner, and the keys of its records."""
    settings.MEDIA_ROOT = tmp_path
    user, _ = ensure_user(username="ann", password="sawdust-and-lime")
    build = import_plan(actor=user, plan=check_book(read_workbook(FOLDER)).plan, owner=user)
    add_life_choice(user, build)
    client = Client()
    client.force_login(user)
    return build, client, records_of(build)


def pages(demo):
    """Every screen with its address, read by the owner."""
    build, client, keys = demo
    of_build = routes()
    for name, screens in SCREENS.items():
        own = (build.pk,) if of_build[name] else ()
        for screen in screens:
            named = [part.format(**keys) for part in screen.named]
            url = reverse(name, args=[*own, *named]) + screen.query.format(**keys)
            answer = client.get(url)
            assert answer.status_code in (200, 422), (name, url, answer.status_code)
            yield f"{name} {screen.label}".strip(), answer


def test_no_page_holds_anything_inline_or_foreign(demo):
    """And each, but for those that are open to anybody, shows the way out (7.4.4)."""
    seen = 0
    for name, answer in pages(demo):
        html = answer.content.decode()
        assert Looked(html).faults == [], name
        # A page of the shared sheet is nobody's: it knows no user.
        if not name.startswith("shared"):
            (form,) = re.findall(r'<form class="cover-sign-out".*?</form>', html, re.DOTALL)
            assert 'method="post"' in form, name
        seen += 1
    assert seen > len(SCREENS)


@pytest.mark.parametrize(
    "html",
    [
        "<p style='color:red'>",
        "<style>p{}</style>",
        "<script>go()</script>",
        "<button onclick=go()>",
        "<a href='javascript:go()'>",
        "<a href=' JavaScript:go()'>",
        "<img src=https://elsewhere.example/x.png>",
        "<form action=//elsewhere.example/>",
        "<svg><a xlink:href='data:text/html,x'>",
        "<base href=/elsewhere/>",
        "<meta http-equiv=refresh content=0>",
    ],
)
def test_what_may_not_be_there_would_be_seen(html):
    assert Looked(html).faults


# Answers of every kind


def kinds(clients, build, records):
    """(what, answer) of everything that answers: pages, files, refusals, errors, redirects."""
    owner, anonymous = clients["owner"], clients["anonymous"]
    for name in sorted(ROUTES):
        yield name, owner.get(address(name, build, records))
    for name in ("cost_sheet", "builds"):
        yield f"{name}, to the sign-in", anonymous.get(address(name, build, records))
    yield "not there", owner.get("/nowhere/")
    yield "without its last stroke", owner.get("/sign-in")
    yield "not allowed", clients["viewer"].get(address("build_edit", build, records))
    yield "wrong host", anonymous.get("/sign-in/", headers={"host": "elsewhere.example"})
    yield "no token of the form", Client(enforce_csrf_checks=True).post(reverse("sign_in"), {})
    yield "refused form", owner.post(address("task_add", build, records), {})
    yield "saved form", owner.post(address("task_add", build, records), {"name": "Roof"})
    yield "signed out", clients["viewer"].post(reverse("sign_out"))


def test_every_answer_carries_every_header(clients, build, records):
    for what, answer in kinds(clients, build, records):
        status(answer)
        for name in HEADERS:
            assert answer.get(name), (what, name)
        policy = answer["Content-Security-Policy"]
        # Tighter for shared pages and photos, looser nowhere.
        assert policy == POLICY or policy.startswith("default-src 'none'"), what
        assert "script" not in policy.replace("default-src", ""), what
        assert "frame-ancestors 'none'" in policy, what
        assert answer["X-Frame-Options"] == "DENY", what
        assert answer["X-Content-Type-Options"] == "nosniff", what
        assert answer["Referrer-Policy"] in ("same-origin", "no-referrer"), what
        assert re.fullmatch(r"[0-9]{4}-[0-9]{4}-[0-9]{4}", answer["X-Request-ID"]), what


def test_no_answer_may_be_kept_by_a_cache_on_the_way(clients, build, records):
    """Files are kept nowhere; pages are asked for anew each time, but Back still shows a form."""
    for what, answer in kinds(clients, build, records):
        status(answer)
        result = answer["Cache-Control"]
        # What the program says of itself to whoever asks is nobody's; it is asked for anew, too.
        own = "no-cache" in result if what in ("manifest", "worker") else "private" in result
        assert own or "no-store" in result, (what, result)
        assert "public" not in result, what
        if answer.get("Content-Disposition", "").startswith("attachment"):
            assert "no-store" in result, what


def test_a_photo_is_never_run_and_never_a_page(clients, build, records):
    """5.3.1: in a picture's own type, sniffed by nobody, under a policy that lets nothing run."""
    for name in ("photo", "photo_small"):
        answer = clients["owner"].get(address(name, build, records))
        assert answer["Content-Type"] == "image/jpeg"
        assert "sandbox" in answer["Content-Security-Policy"]
        assert re.fullmatch(
            r'inline; filename="photo-\d+(-small)?\.jpg"', answer["Content-Disposition"]
        )


@pytest.mark.parametrize("name", ["download", "download_tables", "download_table", "build_file"])
def test_a_file_is_carried_off_and_never_shown(name, clients, build, records):
    """5.4.1, 5.4.2: the build's name may say what it likes; the file is no page."""
    build.name = '<script>x</script>"; filename=x.html'
    build.save()
    answer = clients["owner"].get(address(name, build, records))
    status(answer)
    assert answer["Content-Disposition"].startswith("attachment; filename")
    assert "html" not in answer["Content-Type"]
    assert not answer["Content-Disposition"].rstrip('"').endswith(".html")


def test_an_error_of_ours_has_the_headers_too_and_tells_its_number(clients, build, monkeypatch):
    monkeypatch.setattr("materials.views.builds.get_kept_sheet", lambda *args: 1 / 0)
    client = clients["owner"]
    client.raise_request_exception = False
    answer = client.get(reverse("cost_sheet", args=[build.pk]))
    assert answer.status_code == 500
    for name, value in HEADERS.items():
        assert answer[name] == value
    html = answer.content.decode()
    assert f"give this number: <strong>{answer['X-Request-ID']}</strong>" in html
    assert Looked(html).faults == []
    assert "ZeroDivisionError" not in html


def test_other_refusals_tell_their_number(clients, build):
    answers = [
        clients["viewer"].get(reverse("build_edit", args=[build.pk])),
        Client().get("/sign-in/", headers={"host": "elsewhere.example"}),
        Client(enforce_csrf_checks=True).post(reverse("sign_in"), {}),
    ]
    assert [answer.status_code for answer in answers] == [403, 400, 403]
    for answer in answers:
        assert answer["X-Request-ID"] in answer.content.decode()
        assert Looked(answer.content.decode()).faults == []


def test_every_address_of_a_build_was_among_them():
    assert set(OF_BUILD) < set(ROUTES)
    assert Path(settings.BASE_DIR, "templates", "500.html").exists()


def test_pages_go_packed_and_files_as_they_are(clients, build, records):
    owner, packed = clients["owner"], {"accept-encoding": "gzip"}
    page = owner.get(reverse("cost_sheet", args=[build.pk]), headers=packed)
    assert page["Content-Encoding"] == "gzip"
    plain = owner.get(reverse("cost_sheet", args=[build.pk])).content
    assert len(page.content) < len(plain) / 3
    assert b"<h1>" in gzip.decompress(page.content)
    for name in ("download", "build_file"):
        answer = owner.get(reverse(name, args=[build.pk]), headers=packed)
        assert "Content-Encoding" not in answer.headers, name
        assert b"".join(answer)
