"""Served for real: the service's own command and settings, asked as a proxy asks."""

import http.client
import json
import re

import pytest

from tests.own_database import ROOT, manage, own_database

from .served import bare, serve, settings_of_deploy

README = (ROOT / "README.md").read_text(encoding="utf-8")
PASSWORD = "sawdust-and-lime"


class Visitor:
    """A browser behind the proxy: keeps cookies, speaks HTTPS as far as the app is told."""

    def __init__(self, port: int):
        self.port, self.cookies = port, {}

    def ask(self, method: str, path: str, body: str = "", **headers: str):
        values = {"Host": "ledger.example", "X-Forwarded-Proto": "https"}
        values |= {"X-Forwarded-For": "198.51.100.7", "X-Request-ID": "0123456789abcdef"}
        if self.cookies:
            values["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        if body:
            values["Content-Type"] = "application/x-www-form-urlencoded"
            values["Origin"] = "https://ledger.example"
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        connection.request(method, path, body or None, values | headers)
        answer = connection.getresponse()
        text = answer.read().decode("utf-8", "replace")
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, value = cookie.split(";")[0].split("=", 1)
            self.cookies[name] = value
        connection.close()
        return answer, text


def production(env: dict[str, str], folder) -> dict[str, str]:
    """The settings of the service, with a database and a folder of the test."""
    own = {"DATA_ROOT": str(folder / "data"), "DATABASE_URL": env["DATABASE_URL"]}
    return bare(env, **settings_of_deploy() | own)


@pytest.mark.database
def test_the_settings_of_the_service_pass_the_deployment_check(tmp_path):
    with own_database(tmp_path) as env:
        env = production(env, tmp_path) | {"SECRET_KEY": "a-key-of-a-test-0123456789" * 3}
        printed = manage(env, "check", "--deploy", "--fail-level", "WARNING")
    assert "no issues" in printed


def test_each_setting_of_the_service_is_one_that_is_read():
    read = (ROOT / "buildledger/settings.py").read_text() + (
        ROOT / "buildledger/env.py"
    ).read_text()
    for name in settings_of_deploy():
        assert f'"{name}"' in read, name
    cells = re.findall(r"^\| (`[A-Z_]+`(?:, `[A-Z_]+`)*) \|", README, re.MULTILINE)
    result = {name for cell in cells for name in re.findall(r"[A-Z_]+", cell)}
    assert settings_of_deploy().keys() <= result
    used = set(re.findall(r'(?:read_\w+\(|environ\.get\()"([A-Z_]+)"', read))
    assert used <= result


@pytest.mark.database
def test_served_by_the_command_of_the_service(tmp_path):
    with (
        own_database(tmp_path, made=True) as env,
        serve(production(env, tmp_path), tmp_path) as served,
    ):
        assert f"https://ledger.example{served.way}" in served.printed
        visitor = Visitor(served.port)
        make_account(visitor, served.way)
        look(Visitor(served.port))
    log = served.log.read_text()
    events = [json.loads(line) for line in log.splitlines()]
    assert {event["logger"] for event in events} >= {"gunicorn.error", "buildledger.requests"}
    # An unknown host is told of; nothing else went wrong.
    wrong = {event["logger"] for event in events if event["level"] in ("error", "critical")}
    assert wrong == {"django.security.DisallowedHost"}
    asked = [event for event in events if event["logger"] == "buildledger.requests"]
    assert {event["request"] for event in asked} == {"0123456789abcdef"}
    key = (tmp_path / "data" / "secret_key").read_text()
    for secret in (key, PASSWORD, "198.51.100.7", served.way.split("/")[2]):
        assert secret not in log


def make_account(visitor: "Visitor", way: str) -> None:
    """The first account, by the address that was printed."""
    answer, _ = visitor.ask("GET", way)
    assert (answer.status, answer.headers["Location"]) == (302, "/start/")
    answer, text = visitor.ask("GET", "/start/")
    (token, *_) = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', text)
    typed = f"username=ann&password={PASSWORD}&csrfmiddlewaretoken={token}"
    answer, _ = visitor.ask("POST", "/start/", typed)
    assert (answer.status, answer.headers["Location"]) == (302, "/builds/add/")
    # Whichever process is asked, it knows.
    for _ in range(8):
        assert Visitor(visitor.port).ask("GET", way)[0].status == 404


def look(visitor: Visitor) -> None:
    answer, text = visitor.ask("GET", "/health/")
    assert (answer.status, json.loads(text)) == (
        200,
        {"database": "ok", "migrations": "ok", "media": "ok"},
    )
    # Whoever comes without the proxy's word for HTTPS is sent there, but for the health page.
    answer, _ = visitor.ask("GET", "/sign-in/", **{"X-Forwarded-Proto": "http"})
    assert (answer.status, answer.headers["Location"]) == (301, "https://ledger.example/sign-in/")
    assert answer.headers["Content-Security-Policy"]
    answer, _ = visitor.ask("GET", "/health/", **{"X-Forwarded-Proto": "http"})
    assert answer.status == 200
    answer, text = visitor.ask("GET", "/sign-in/")
    assert answer.status == 200
    # For this host, and for no other under its name.
    assert answer.headers["Strict-Transport-Security"] == "max-age=31536000"
    look_at_styles(visitor, text)
    sign_in(visitor, text)
    answer, _ = visitor.ask("GET", "/nowhere/", Host="elsewhere.example")
    assert answer.status == 400


def look_at_styles(visitor: Visitor, html: str) -> None:
    """A static file has a hashed name, for ever; packed where the browser takes it."""
    (sheet,) = re.findall(r'href="(/static/ledger\.[0-9a-f]{12}\.css)"', html)
    answer, text = visitor.ask("GET", sheet)
    assert answer.status == 200
    assert "{" in text
    assert answer.headers["Content-Type"].startswith("text/css")
    cached = answer.headers["Cache-Control"]
    assert "immutable" in cached
    assert int(re.search(r"max-age=(\d+)", cached)[1]) >= 31536000
    for name in ("Content-Security-Policy", "X-Content-Type-Options", "X-Frame-Options"):
        assert answer.headers[name], name
    answer, _ = visitor.ask("GET", sheet, **{"Accept-Encoding": "gzip"})
    assert answer.headers["Content-Encoding"] == "gzip"


def sign_in(visitor: Visitor, html: str) -> None:
    """With the cookies that a browser takes over HTTPS, from this host, for all of it."""
    (token,) = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', html)
    typed = f"username=ann&password={PASSWORD}&csrfmiddlewaretoken={token}"
    answer, _ = visitor.ask("POST", "/sign-in/", typed)
    assert (answer.status, answer.headers["Location"]) == (302, "/")
    cookies = answer.headers.get_all("Set-Cookie")
    assert {cookie.split("=")[0] for cookie in cookies} == {
        "__Host-sessionid",
        "__Host-csrftoken",
        "__Host-known",
    }
    for cookie in cookies:
        for rule in ("Secure", "HttpOnly", "Path=/", "SameSite=Lax"):
            assert rule in cookie, (rule, cookie.split("=")[0])
        assert "Domain" not in cookie
    (session,) = [cookie for cookie in cookies if "sessionid" in cookie]
    assert f"Max-Age={14 * 24 * 3600}" in session
    answer, text = visitor.ask("GET", "/")
    assert answer.status == 200
    assert "Sign out" in text
    assert answer.headers["Cache-Control"] == "private, no-cache"
    (token,) = set(re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', text)) or {""}
    answer, _ = visitor.ask("POST", "/sign-out/", f"csrfmiddlewaretoken={token}")
    assert answer.status == 302
    assert answer.headers["Clear-Site-Data"] == '"cache"'
    assert visitor.ask("GET", "/")[0].status == 302
