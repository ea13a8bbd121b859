"""Sending requests as somebody, and judging what comes back and what was written."""

import io
from random import Random
from typing import Any

from .judging import KEEPS_TYPED, Watch
from .pages import Form
from .sending import Pair, body

# Who comes to an address that is not of a build.
VISITORS = {
    "sign_in": ("anonymous",),
    "join": ("invited", "newcomer"),
    "join_account": ("newcomer",),
    "first_account": ("anonymous",),
    "sign_up": ("anonymous",),
    "password_forgotten": ("anonymous",),
    "password_new": ("resetting",),
    "sign_in_code": ("half in",),
    "sessions": ("careful",),
    "second_step_on": ("owner",),
    "second_step_off": ("careful",),
    "passkey_add": ("careful",),
    "passkey_remove": ("careful",),
    "recovery_codes": ("careful",),
    "account_delete": ("removed",),
}
# After a change, pages on which what was written is shown.
SHOWING = (
    "cost_sheet", "history", "components", "purchases", "purchase_lines", "settling_up", "needed",
    "hours_report", "budget", "left_over", "moves", "conversions", "labour", "tasks", "cautions",
    "share_links", "members", "builds", "compare", "log", "elements", "suppliers", "prices",
    "hand_overs", "shared", "imports",
)  # fmt: skip
KEPT = ("download", "build_file", "download_tables")


def send(
    watch: Watch, part: str, method: str, url: str, sent: bytes = b"", kind: str = "", **meta: Any
) -> Any:
    """Send a request as somebody, judge the answer, and give it."""
    length = {"CONTENT_LENGTH": str(len(sent)), "wsgi.input": io.BytesIO(sent)}
    # A server hands headers on as Latin-1, whatever was in them.
    values = {k: v.encode("utf-8", "replace").decode("latin-1") for k, v in meta.items()}
    kind = kind.encode("utf-8", "replace").decode("latin-1")
    client = watch.world.client(part)
    answer = client.generic(method, url, sent, kind, **(length | values))
    watch.check_answer(answer)
    return answer


def post(watch: Watch, part: str, url: str, pairs: list[Pair], as_parts: bool, **meta: Any) -> Any:
    """Send a form."""
    sent, kind = body(pairs, as_parts)
    return send(watch, part, "POST", url, sent, kind, **meta)


def form_of(watch: Watch, random: Random, route: str) -> Form:
    """A form that goes to a route; an empty one where no page has one."""
    forms = watch.world.forms.get(route)
    return random.choice(forms) if forms else Form(watch.world.urls[route], "post")


def who(random: Random, route: str) -> str:
    """Somebody who may send a route's form."""
    return random.choice(VISITORS.get(route, ("owner", "owner", "co_builder")))


def judge_post(watch: Watch, random: Random, route: str, part: str, answer: Any) -> None:
    """After a form: nothing half saved, and all pages still show what was saved."""
    if not watch.changed():
        return
    if answer.status_code >= 400 and route not in KEEPS_TYPED:
        watch.say(f"refused with {answer.status_code} and changed rows all the same")
    watch.check_other()
    if random.random() < 0.4:
        watch.check_ledger()
    target = answer.get("Location", "")
    if answer.status_code == 302 and target.startswith("/") and random.random() < 0.5:
        send(watch, part, "GET", target)
    names = [random.choice(SHOWING)] + [random.choice(KEPT)] * (random.random() < 0.06)
    for name in names:
        send(watch, part, "GET", watch.world.urls[name] + _comparing(watch, name))


def _comparing(watch: Watch, name: str) -> str:
    """Comparing wants to be told what."""
    keys = (watch.world.build.pk, watch.world.build.pk + 1)
    return f"?build={keys[0]}&build={keys[1]}" if name == "compare" else ""
