"""Cases that go through the addresses: each sends a request and has its answer judged."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random

from django.conf import settings
from django.core.cache import cache as shared_cache
from django.test import override_settings

from . import noise
from .asking import VISITORS, form_of, judge_post, post, send, who
from .filling import filled, spoil
from .judging import NOTES_READING, OWN_TO_ALL, Watch
from .registry import ROUTES, routes_of
from .sending import TYPES, body, odd_parts, odd_type, query, quoted, spoiled

METHODS = (
    "HEAD",
    "PUT",
    "DELETE",
    "OPTIONS",
    "PATCH",
    "TRACE",
    "CONNECT",
    "PROPFIND",
    "get",
    "F O",
    "",
    "M" * 3000,
)


def form_case(watch: Watch, random: Random, route: str) -> None:
    """A form with hostile values in it."""
    form = form_of(watch, random, route)
    pairs = spoil(random, filled(random, form), watch.world.keys)
    as_parts = form.takes_files or random.random() < 0.2
    part = who(random, route)
    url = form.action if random.random() < 0.95 else form.action + _odd_query(watch, random, route)
    judge_post(watch, random, route, part, post(watch, part, url, pairs, as_parts))


def trespass_case(watch: Watch, random: Random, route: str) -> None:
    """A form, right or hostile, from somebody who may not send it."""
    form = form_of(watch, random, route)
    pairs = filled(random, form)
    if random.random() < 0.5:
        pairs = spoil(random, pairs, watch.world.keys)
    of_build = form.action.startswith(f"/builds/{watch.world.build.pk}/")
    parts = ["viewer", "stranger", "removed", "anonymous", "share_link"]
    if route in OWN_TO_ALL:
        parts.remove("viewer")
    if not of_build:
        parts = ["anonymous", "share_link"]
    part = random.choice(parts)
    answer = post(watch, part, form.action, pairs, form.takes_files)
    if of_build:
        if answer.status_code not in (302, 400, 403, 404, 405):
            watch.say(f"{part} was answered {answer.status_code}")
        watch.check_unchanged(part)


def htmx_case(watch: Watch, random: Random, route: str) -> None:
    """A form or a page asked for by htmx, with what its headers may hold."""
    meta = {"HTTP_HX_REQUEST": random.choice(("true", "true", "false", "", noise.value(random)))}
    for name in ("TARGET", "TRIGGER", "TRIGGER_NAME", "PROMPT", "CURRENT_URL", "BOOSTED",
                 "HISTORY_RESTORE_REQUEST", "CURRENT_URL_URI_AUTOENCODED"):  # fmt: skip
        if random.random() < 0.4:
            meta[f"HTTP_HX_{name}"] = _header(random)
    form = form_of(watch, random, route)
    part = who(random, route)
    if random.random() < 0.3:
        send(watch, part, "GET", form.action + _odd_query(watch, random, route), **meta)
        watch.check_unchanged("asking for a page")
        return
    pairs = spoil(random, filled(random, form), watch.world.keys)
    answer = post(watch, part, form.action, pairs, form.takes_files, **meta)
    judge_post(watch, random, route, part, answer)


def body_case(watch: Watch, random: Random, route: str) -> None:
    """A body that does not fit its type, or is broken off, or is no form at all."""
    form = form_of(watch, random, route)
    sent, kind = body(filled(random, form), random.random() < 0.6)
    sent, kind = spoiled(random, sent, kind)
    meta = {}
    if random.random() < 0.2:
        wrong = (
            "",
            "-1",
            "0",
            "x",
            "9" * 30,
            "9" * 5000,
            str(len(sent) + 999),
            str(len(sent) // 2),
        )
        meta["CONTENT_LENGTH"] = random.choice(wrong)
    part = who(random, route)
    answer = send(watch, part, "POST", form.action, sent, kind, **meta)
    judge_post(watch, random, route, part, answer)


@cache
def names_asked() -> tuple[str, ...]:
    """Names of the parameters that views and filters read, found in their source."""
    root = Path(settings.BASE_DIR) / "materials"
    found: set[str] = {"sort", "page", "next"}
    for path in [*(root / "views").glob("*.py"), root / "forms" / "filters.py"]:
        source = path.read_text()
        found |= set(re.findall(r'GET(?:\.get|\.getlist)?[(\[]\s*"(\w+)"', source))
        found |= set(re.findall(r'"(\w+)" (?:not )?in request\.GET', source))
        found |= set(re.findall(r'_purchase\(request, build, "(\w+)"', source))
        found |= set(re.findall(r"^    (\w+) = (?:_one|django_filters)\b", source, re.M))
    return tuple(sorted(found | {"since", "until"}))


def _odd_query(watch: Watch, random: Random, route: str) -> str:
    known = watch.world.queries.get(route, [])
    pairs = list(random.choice(known)) if known and random.random() < 0.7 else []
    keys = watch.world.keys
    for _ in range(random.choice((0, 1, 1, 2, 4))):
        way = random.randrange(5)
        if not pairs or way == 0:
            pairs.append((random.choice(names_asked()), _asked(random, keys)))
            continue
        at = random.randrange(len(pairs))
        name, result = pairs[at]
        if way == 1:
            pairs[at] = (name, noise.bent(random, result))
        elif way == 2:
            pairs.insert(at, (name, _asked(random, keys)))
        elif way == 3:
            pairs[at] = (noise.text(random, 12), result)
        else:
            pairs[at] = (name, _asked(random, keys))
    text = query([(name[:500], result[:3000]) for name, result in pairs])
    if random.random() < 0.1:
        text += random.choice(
            ("&", "&&&=", "%", "%ff%fe", "%00", "=", "?", ";a=b", "%u1234", "&a[]=1")
        )
    return f"?{text}"


def _asked(random: Random, keys: list[str]) -> str:
    return random.choice(keys) if random.random() < 0.3 else noise.value(random)


def query_case(watch: Watch, random: Random, route: str) -> None:
    """A page with parameters that no page leads to."""
    part = random.choice(VISITORS.get(route, ("owner", "viewer", "stranger", "anonymous")))
    meta = {"HTTP_HX_REQUEST": "true"} if random.random() < 0.15 else {}
    url = watch.world.urls[route] + _odd_query(watch, random, route)
    send(watch, part, "GET", url, **meta)
    if route not in NOTES_READING:
        watch.check_unchanged("reading a page")


def path_case(watch: Watch, random: Random, route: str) -> None:
    """An address with a part in it that is none."""
    parts = watch.world.urls[route].split("/")
    at = random.randrange(len(parts))
    way = random.randrange(6)
    if way <= 2:
        result = random.choice(watch.world.keys) if way == 0 else noise.value(random)[:2000]
        parts[at] = quoted(result)
    elif way == 3:
        parts.insert(at, random.choice(("", ".", "..", "%2e%2e", "%00", "%ff", "%0d%0a", "%5c")))
    elif way == 4:
        del parts[at]
    else:
        parts[at] = quoted(noise.bent(random, parts[at])[:2000])
    url = "/" + "/".join(parts).lstrip("/") if random.random() < 0.9 else "/" + "/".join(parts)
    part = random.choice(("owner", "viewer", "stranger", "anonymous"))
    send(watch, part, random.choice(("GET", "GET", "POST")), url)
    if way <= 4 and part != "owner" and route not in NOTES_READING | OWN_TO_ALL | {"sign_out"}:
        watch.check_unchanged(f"{part} at an odd address")


HEADERS = (
    "HTTP_HOST", "HTTP_ACCEPT_LANGUAGE", "HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_HOST",
    "HTTP_X_FORWARDED_PROTO", "HTTP_COOKIE", "HTTP_REFERER", "HTTP_ORIGIN", "HTTP_USER_AGENT",
    "HTTP_IF_MODIFIED_SINCE", "HTTP_IF_NONE_MATCH", "HTTP_RANGE", "HTTP_ACCEPT",
    "HTTP_ACCEPT_ENCODING", "HTTP_X_HTTP_METHOD_OVERRIDE", "HTTP_CONTENT_ENCODING", "REMOTE_ADDR",
    "HTTP_FORWARDED", "HTTP_TRANSFER_ENCODING", "HTTP_X_CSRFTOKEN", "CONTENT_LENGTH",
    "CONTENT_TYPE",
)  # fmt: skip
HELD = (
    "localhost", "localhost:99999", "evil.example", "[::1]", "[::1", "a b", ".localhost",
    "localhost.",
    "en-US,en;q=0.9", "q=;q=;q=", "xx-" * 400, "*;q=1e400000", "1.2.3.4", "1.2.3.4, 5.6.7.8",
    "::ffff:1.2.3.4",
    "fe80::1%eth0", "999.1.1.1", ",,,,", "unknown", "1.2.3.4:80", "sessionid=",
    "sessionid=x; csrftoken=y",
    "a=b; " * 400, "=;=;", "$Version=1", "sessionid=\"\\342\"", "bytes=0-", "bytes=9-1",
    "bytes=0-0,5-9999",
    "Thu, 01 Jan 1970 00:00:00 GMT", "Thu, 99 Foo 99999", "\"*\"", "W/\"\"", "gzip;q=nan", "https",
    "null",
    "http://localhost/", "https://evil.example/", "DELETE", "chunked",
)  # fmt: skip
OVERSIZED = ("x" * 100_000, "a=b; " * 20_000, ",;=" * 30_000, "\xff" * 9000)


def _header(random: Random) -> str:
    if random.random() < 0.05:
        return random.choice(OVERSIZED)
    result = random.choice(HELD) if random.random() < 0.5 else noise.value(random)[:8000]
    # A server takes no line breaks and no zeros in a header.
    return re.sub(r"[\r\n\x00]", "", result)


def header_case(watch: Watch, random: Random, route: str) -> None:
    """Headers with anything in them."""
    meta = {name: _header(random) for name in random.sample(HEADERS, random.randrange(1, 6))}
    url, part = (
        watch.world.urls[route],
        random.choice((*VISITORS.get(route, ()), "owner", "anonymous")),
    )
    client = watch.world.clients[part]
    with override_settings(PROXIES=random.choice((0, 0, 1, 2))):
        if random.random() < 0.6:
            send(watch, part, "GET", url, **meta)
            if route not in NOTES_READING:
                watch.check_unchanged("reading a page")
            return
        sent, kind = body(filled(random, form_of(watch, random, route)), False)
        client.handler.enforce_csrf_checks = random.random() < 0.5
        try:
            answer = send(watch, part, "POST", url, sent, kind, **meta)
        finally:
            client.handler.enforce_csrf_checks = False
    judge_post(watch, random, route, part, answer)


def type_case(watch: Watch, random: Random, route: str) -> None:
    """A body and what is said of it do not go together; signed in or out, from our page or not."""
    part = random.choice((*VISITORS.get(route, ()), "owner", "viewer", "anonymous", "anonymous"))
    sent, kind = body(filled(random, form_of(watch, random, route)), random.random() < 0.6)
    kind = kind if random.random() < 0.2 else odd_type(random)
    sent = odd_parts(random, sent) if random.random() < 0.2 else sent[: random.randrange(4000)]
    meta = {"CONTENT_TYPE": kind.replace("\x00", ""), "HTTP_COOKIE": ""}
    method = random.choice(("POST", "POST", "POST", "GET", "PUT", "post"))
    client = watch.world.client(part)
    client.cookies["csrftoken"] = "a" * 32
    meta["HTTP_COOKIE"] = "; ".join(f"{m.key}={m.value}" for m in client.cookies.values())
    client.handler.enforce_csrf_checks = random.random() < 0.5
    try:
        answer = send(watch, part, method, watch.world.urls[route], sent, "a/b", **meta)
    finally:
        client.handler.enforce_csrf_checks = False
    judge_post(watch, random, route, part, answer)


def method_case(watch: Watch, random: Random, route: str) -> None:
    """Anything but GET and POST, which may change nothing."""
    part = random.choice((*VISITORS.get(route, ()), "owner", "viewer", "anonymous"))
    method = random.choice(METHODS)
    sent, kind = body(filled(random, form_of(watch, random, route)), random.random() < 0.5)
    kind = kind if random.random() < 0.7 else random.choice(TYPES)
    answer = send(watch, part, method, watch.world.urls[route], sent, kind)
    if method == "HEAD" and answer.status_code >= 500:
        watch.say("HEAD is not answered as GET is")
    if route not in NOTES_READING:
        watch.check_unchanged(f"{method}")


def secret_case(watch: Watch, random: Random, route: str) -> None:
    """A secret of a link, somebody else's, spoiled, or many of them in a row."""
    sound = watch.world.urls[route].strip("/").split("/")
    secret = sound[-1]
    pool = (
        secret, noise.bent(random, secret)[:400], noise.value(random)[:2000],
        watch.world.secret, str(watch.world.records["share_token"]), "x" * 43, secret.lower(),
    )  # fmt: skip
    for _ in range(random.choice((1, 1, 1, 1, 1, 1, 2, 3, 3, 45))):
        result = random.choice(pool)
        url = "/" + "/".join([*sound[:-1], quoted(result)]) + "/"
        if url.startswith("//"):
            continue
        part = random.choice(("anonymous", "stranger", "viewer"))
        answer = send(watch, part, random.choice(("GET", "GET", "HEAD", "POST")), url)
        if route in ("shared", "calendar") and answer.status_code == 200 and result != secret:
            watch.say(f"opened by a wrong secret {result!r}")
    if route == "join_link":
        watch.check_unchanged("opening an invitation")


def before_each() -> None:
    """What is kept beside the database is counted anew for each case."""
    shared_cache.clear()


CASES: dict[str, Callable[[Watch, Random, str], None]] = {
    "form": form_case,
    "trespass": trespass_case,
    "htmx": htmx_case,
    "body": body_case,
    "query": query_case,
    "path": path_case,
    "header": header_case,
    "type": type_case,
    "method": method_case,
    "secret": secret_case,
}
assert all(routes_of(area) for area in CASES)
assert all(set(areas) for areas in ROUTES.values())
