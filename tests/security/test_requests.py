"""Headers and bodies that nobody's browser sends: answered in plain words, and told in one line."""

import io
import json
import logging

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from buildledger.logs import JsonLines, PlainLines
from buildledger.requests import Request
from tests.fuzz.over_pages import HEADERS, OVERSIZED
from tests.fuzz.sending import CHARSETS, TYPES, URLENCODED

MULTIPART = "multipart/form-data; boundary=cut"
MARK = "a" * 32


def part(head: bytes, content: bytes = b"x") -> bytes:
    return b"--cut\r\n" + head + b"\r\n\r\n" + content + b"\r\n--cut--\r\n"


NAMED = part(b'Content-Disposition: form-data; name="username"')
FILES = b"".join(
    b'--cut\r\nContent-Disposition: form-data; name="f"; filename="x"\r\n\r\nx\r\n'
    for _ in range(150)
)
# Each a content type and a body that it is no type for, or that is no body at all.
BROKEN = {
    "a charset of parts, in letters of its own": ("text/plain; charset*=nonsense'en'x", b"a"),
    "numbered and unnumbered parts of one": ("a/b; x*=u; x*0=v", b"a"),
    "the same within a part": (MULTIPART, part(b"Content-Disposition: form-data; n*=x; n*0=y")),
    "a charset within a part": (MULTIPART, part(b"Content-Disposition: form-data; n*=hex''%41")),
    "too many fields": (URLENCODED, b"&".join(b"a=1" for _ in range(6000))),
    "too many files": (MULTIPART, FILES + b"--cut--\r\n"),
    "no boundary": ("multipart/form-data", NAMED),
    "an empty boundary": ("multipart/form-data; boundary=", NAMED),
    "a huge boundary": ("multipart/form-data; boundary=" + "b" * 5000, NAMED),
    "another boundary": ("multipart/form-data; boundary=other", NAMED),
    "a boundary of no letters": ("multipart/form-data; boundary=\xe9", NAMED),
    "broken off": (MULTIPART, NAMED[:40]),
    "mixed": ("multipart/mixed; boundary=cut", NAMED),
    "base64 that is none": (
        MULTIPART,
        part(
            b"Content-Disposition: form-data; name=a\r\nContent-Transfer-Encoding: base64", b"!!!"
        ),
    ),
    "too long": (URLENCODED, b"a=" + b"x" * 3_000_000),
    "too long a part": (MULTIPART, NAMED.replace(b"\r\n\r\nx", b"\r\n\r\n" + b"x" * 3_000_000)),
    "a long header in a part": (MULTIPART, part(b"X: " + b"z" * 20_000)),
    "a huge type": ("x" * 100_000, b"a"),
    "a type of many parts": ("a/b; " + "a=b; " * 2_000, b"a"),
    "a type of very many parts": ("a/b; " + "a=b; " * 20_000, b"a"),
}
# Each takes a while, at so many addresses.
LONG = {"a type of very many parts"}
METHODS = (
    "TRACE", "PROPFIND", "get", "post", "CONNECT", "F O", "X" * 3000, "", "OPTIONS", "PUT",
    "DELETE", "PATCH",
)  # fmt: skip
# In reach of everybody, of members, of nobody, and of whatever watches.
PATHS = ("sign_in", "builds", "join", "health", None)


@pytest.fixture
def ask(cast, monkeypatch):
    """Sends as a server would hand it on, and gives status and page; signed in where told to."""
    monkeypatch.setattr("django.test.client.WSGIRequest", Request)
    browsers = {inside: Client(False, raise_request_exception=False) for inside in (False, True)}
    browsers[True].force_login(cast["owner"])
    for browser in browsers.values():
        browser.handler.enforce_csrf_checks = True

    def ask(method: str, path: str, body: bytes = b"", kind: str = "", *, inside=False, **meta):
        browser = browsers[inside]
        browser.cookies["csrftoken"] = MARK
        answer = browser.generic(method, path, body, **{"CONTENT_TYPE": kind} | meta)
        return answer.status_code, b"".join(answer).decode()

    return ask


def everywhere(ask, *args, **kwargs) -> list[tuple[int, str]]:
    """The same at addresses of each kind, signed out and in, by three methods."""
    paths = ["/nowhere/" if name is None else reverse(name) for name in PATHS]
    return [
        ask(method, path, *args, inside=inside, **kwargs)
        for path in paths
        for method in ("POST", "GET", "PUT")
        for inside in (False, True)
    ]


@pytest.mark.parametrize("kind", [URLENCODED, MULTIPART, "text/plain"])
@pytest.mark.parametrize("charset", CHARSETS)
def test_whatever_is_said_of_the_charset_is_no_fault_of_ours(kind, charset, ask):
    body = NAMED if kind == MULTIPART else b"username=a&password=%ff"
    found = everywhere(ask, body, f"{kind}; charset={charset}")
    assert max(status for status, _ in found) < 500
    status, page = ask("POST", reverse("sign_in"), body, f"{kind}; charset={charset}")
    assert status == 415
    assert "Send it again as UTF-8" in page


@pytest.mark.parametrize("charset", ["utf-8", "UTF8", '"utf-8"', "utf_8", "us-ascii"])
def test_utf_8_is_read_however_it_is_spelled(charset, ask):
    typed = f"csrfmiddlewaretoken={MARK}&username=Z%C3%BC&password=x".encode()
    status, page = ask("POST", reverse("sign_in"), typed, f"{URLENCODED}; charset={charset}")
    assert status == 200
    assert "Zü" in page


def test_a_long_query_with_a_charset_is_a_request_not_understood(ask):
    many = "&".join(["a=1"] * 6000)
    found = everywhere(ask, b"", "text/plain; charset=utf-8", QUERY_STRING=many)
    assert max(status for status, _ in found) < 500


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=pytest.mark.slow) if name in LONG else name for name in BROKEN],
)
def test_a_body_that_cannot_be_read_is_no_fault_of_ours(name, ask):
    kind, body = BROKEN[name]
    assert max(status for status, _ in everywhere(ask, body, kind)) < 500


@pytest.mark.parametrize("kind", TYPES)
def test_every_type_of_content_is_answered(kind, ask):
    for body in (b"", b"a=b", NAMED, NAMED[:30], b"\xff\xfe\x00"):
        assert ask("POST", "/nowhere/", body, kind)[0] in (404, 415)
        assert ask("POST", reverse("sign_in"), body, kind)[0] in (400, 403, 415)


@pytest.mark.parametrize("method", METHODS)
def test_every_method_is_answered_and_changes_nothing(method, ask):
    for name in PATHS:
        path = "/nowhere/" if name is None else reverse(name)
        for inside in (False, True):
            status, _ = ask(method, path, b"username=a", URLENCODED, inside=inside)
            assert status in (200, 302, 403, 404, 405), (status, path)
    assert User.objects.filter(username="a").count() == 0


@pytest.mark.parametrize("value", OVERSIZED)
def test_no_header_is_too_large_to_be_answered(value, ask):
    for name in HEADERS:
        if name not in ("CONTENT_LENGTH", "CONTENT_TYPE"):
            status, _ = ask("POST", reverse("sign_in"), b"a=b", URLENCODED, **{name: value})
            assert status < 500, name


@pytest.fixture
def written():
    """What the logs write, as a server writes it."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    root, told = logging.getLogger(), logging.getLogger("buildledger.requests")
    before = told.level
    told.setLevel(logging.INFO)
    root.addHandler(handler)
    yield lambda: [json.loads(line) for line in stream.getvalue().splitlines()]
    root.removeHandler(handler)
    told.setLevel(before)


def test_what_somebody_may_not_do_is_one_line_of_the_log(written, clients, build):
    """The role is too small for it."""
    url = reverse("component_add", args=[build.pk])
    assert clients["viewer"].post(url, {"name": "Board"}).status_code == 403
    (event,) = written()
    assert (event["level"], event["status"]) == ("warning", 403)
    assert event["reason"].startswith("Forbidden (Permission denied)")
    assert "traceback" not in event


def test_a_form_without_its_mark_is_one_line_of_the_log(written, ask):
    assert ask("POST", reverse("sign_in"), b"username=a", URLENCODED)[0] == 403
    (event,) = written()
    assert event["status"] == 403
    assert "CSRF token missing" in event["reason"]
    assert "traceback" not in event


def test_a_page_that_is_not_there_is_one_line_of_the_log(written, ask):
    assert ask("GET", "/nowhere/")[0] == 404
    (event,) = written()
    assert (event["logger"], event["status"]) == ("buildledger.requests", 404)


@pytest.mark.parametrize("name", ["no boundary", "too many fields", "too long"])
def test_what_was_not_understood_has_no_traceback(name, written, ask):
    kind, body = BROKEN[name]
    assert ask("POST", reverse("sign_in"), body, kind)[0] == 400
    events = written()
    assert len(events) <= 2
    assert not [event for event in events if "traceback" in event]


def test_lines_for_people_have_no_traceback_of_a_refusal_either():
    try:
        raise ValueError("may not")
    except ValueError as error:
        values = {"msg": "Forbidden", "exc_info": (ValueError, error, error.__traceback__)}
    refused = logging.makeLogRecord(values | {"status_code": 403})
    broken = logging.makeLogRecord(values | {"status_code": 500})
    assert "Traceback" not in PlainLines().format(refused)
    assert "Traceback" in PlainLines().format(broken)
