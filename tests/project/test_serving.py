"""Served for real: gunicorn with the settings that the README gives, asked as a proxy asks."""

import http.client
import json
import os
import re
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.own_database import ROOT, manage, manage_all, own_database

README = (ROOT / "README.md").read_text(encoding="utf-8")
KEY = "a-key-of-a-test-" + "0123456789abcdefghijklmnopqrstuvwxyz" * 2
# What a service manager leaves of an environment, and nothing of ours.
KEPT = ("PATH", "LANG", "LC_ALL", "TMPDIR")


def settings_of_readme() -> dict[str, str]:
    """The lines of the file of settings, as they stand in the README."""
    (block,) = re.findall(r"```ini\n(SECRET_KEY=.*?)```", README, re.DOTALL)
    return dict(line.split("=", 1) for line in block.strip().splitlines())


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


@contextmanager
def gunicorn(env: dict[str, str], log: Path):
    """The README's command on a free port; yields that port."""
    port = free_port()
    (command,) = re.findall(r"^ExecStart=\S+/python (.*)$", README, re.MULTILINE)
    command = command.replace("127.0.0.1:8000", f"127.0.0.1:{port}")
    with open(log, "wb") as errors:
        server = subprocess.Popen(
            [sys.executable, *command.split()], env=env, cwd=ROOT, stdout=errors, stderr=errors
        )
    try:
        until = time.monotonic() + 60
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                assert server.poll() is None, log.read_text()
                assert time.monotonic() < until, log.read_text()
                time.sleep(0.1)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=60)


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


def production(env: dict[str, str]) -> dict[str, str]:
    """The README's settings, with a database, key and folders of the test."""
    own = {name: env[name] for name in ("DATABASE_URL", "MEDIA_ROOT")} | {"SECRET_KEY": KEY}
    own["STATIC_ROOT"] = f"{env['MEDIA_ROOT']}-static"
    return {name: os.environ[name] for name in KEPT if name in os.environ} | (
        settings_of_readme() | own
    )


@pytest.mark.database
def test_the_settings_of_the_readme_pass_the_deployment_check(tmp_path):
    with own_database(tmp_path) as env:
        printed = manage(production(env), "check", "--deploy", "--fail-level", "WARNING")
    assert "no issues" in printed


def test_each_setting_of_the_readme_is_one_that_is_read():
    read = (ROOT / "buildledger/settings.py").read_text() + (
        ROOT / "buildledger/env.py"
    ).read_text()
    for name in settings_of_readme():
        assert f'"{name}"' in read, name
    cells = re.findall(r"^\| (`[A-Z_]+`(?:, `[A-Z_]+`)*) \|", README, re.MULTILINE)
    result = {name for cell in cells for name in re.findall(r"[A-Z_]+", cell)}
    assert settings_of_readme().keys() <= result
    used = set(re.findall(r'(?:read_\w+\(|environ\.get\()"([A-Z_]+)"', read))
    assert used <= result


@pytest.mark.database
def test_served_with_the_settings_of_the_readme(tmp_path):
    with own_database(tmp_path) as env:
        env = production(env)
        manage_all(
            env | {"DJANGO_SUPERUSER_PASSWORD": "sawdust-and-lime"},
            ("migrate",),
            ("collectstatic", "--no-input"),
            ("createsuperuser", "--no-input", "--username", "ann", "--email", "a@b.example"),
            settings="buildledger.settings",
        )
        log = tmp_path / "log"
        with gunicorn(env, log) as port:
            look(Visitor(port))
    events = [json.loads(line) for line in log.read_text().splitlines()]
    assert {event["logger"] for event in events} >= {"gunicorn.error", "buildledger.requests"}
    # An unknown host is told of; nothing else went wrong.
    wrong = {event["logger"] for event in events if event["level"] in ("error", "critical")}
    assert wrong == {"django.security.DisallowedHost"}
    asked = [event for event in events if event["logger"] == "buildledger.requests"]
    assert {event["request"] for event in asked} == {"0123456789abcdef"}
    for secret in (KEY, "sawdust-and-lime", "198.51.100.7"):
        assert secret not in log.read_text()


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
    typed = f"username=ann&password=sawdust-and-lime&csrfmiddlewaretoken={token}"
    answer, _ = visitor.ask("POST", "/sign-in/", typed)
    assert (answer.status, answer.headers["Location"]) == (302, "/")
    cookies = answer.headers.get_all("Set-Cookie")
    assert {cookie.split("=")[0] for cookie in cookies} == {
        "__Host-sessionid",
        "__Host-csrftoken",
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
