"""What is logged and how, and what may not stand in a log: whatever opens something.

In production each event is one line of JSON on standard error; commands, which people run,
write plain lines. Every line passes ``hide``, its traceback too. A new kind of secret goes into
``walk`` in ``tests/security/test_logs.py``.
"""

import json
import logging
import re
from collections.abc import Iterator
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

from django.conf import settings
from django.http import HttpRequest

# The request being answered, so that each line written meanwhile can name it.
this_request: ContextVar[HttpRequest | None] = ContextVar("this_request", default=None)

# Whatever follows the address of shared pages, one part of an address that is long enough to be
# a random secret and has no dot as files have, anything as long and random as a token, and what
# stands behind the names under which browsers and headers carry secrets.
_SECRET = re.compile(
    r"(?<=/shared/)[^/\s?#\"']+|(?<=/calendar/)[^/\s?#\"']+|(?<=/)[A-Za-z0-9_-]{30,}(?=[/?\s\"']|$)|[A-Za-z0-9_-]{43,}"
    r"|(?<=sessionid=)[A-Za-z0-9]+|(?<=csrftoken=)[A-Za-z0-9]+"
    r"|(?<![A-Za-z0-9_.-])(?=[a-z]*[0-9])(?=[0-9]*[a-z])[a-z0-9]{32}(?![A-Za-z0-9_.-])"
    r"|(?<=://)[^/\s:@]*:[^/\s@]+(?=@)"
)
LEAST = 6


def hide(text: str) -> str:
    """A text with “…” in place of secrets: who reads a log must not be able to open anything."""
    for secret in _own_secrets():
        text = text.replace(secret, "…")
    return _SECRET.sub("…", text)


def _own_secrets() -> Iterator[str]:
    """What the settings hold and nobody else may: found exactly, whatever it looks like."""
    if not settings.configured:
        return
    database = settings.DATABASES["default"]
    keys = (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)
    for secret in (*keys, settings.EMAIL_HOST_PASSWORD, database.get("PASSWORD")):
        # A word as short as “ann” would blacken half of what is written.
        if secret and len(str(secret)) >= LEAST:
            yield str(secret)


class HideSecrets(logging.Filter):
    """Takes secrets out of a record before any handler sees it."""

    def filter(self, record: logging.LogRecord) -> bool:
        message = record.getMessage()
        hidden = hide(message)
        if hidden != message:
            record.msg, record.args = hidden, ()
        return True


def _is_refusal(record: logging.LogRecord) -> bool:
    """Whether a line tells of an answer that is no fault of the program: 4xx."""
    return 400 <= getattr(record, "status_code", 0) < 500


class OneLine(logging.Filter):
    """Why something was refused goes into the request's own line, where there is one."""

    def filter(self, record: logging.LogRecord) -> bool:
        request = getattr(record, "request", None)
        if request is None or not _is_refusal(record):
            return True
        if not logging.getLogger("buildledger.requests").isEnabledFor(logging.INFO):
            return True
        request.reason = hide(record.getMessage())
        return False


class PlainLines(logging.Formatter):
    """Lines for people."""

    def __init__(self) -> None:
        super().__init__("[{asctime}] {levelname} {name}: {message}", style="{")

    def format(self, record: logging.LogRecord) -> str:
        if _is_refusal(record):
            record.exc_info = record.exc_text = None
        return hide(super().format(record))


class JsonLines(logging.Formatter):
    """One event, one line: time, level, logger, message, and of which request it is.

    ``user`` is the key of the account and no name; ``reason`` says why something was refused,
    and ``traceback`` is there for errors of ours.
    """

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": hide(record.getMessage()),
        }
        # Django writes some lines when an answer is on its way out, and says of which request.
        attached = getattr(record, "request", None)
        request = attached if isinstance(attached, HttpRequest) else this_request.get()
        if request is not None:
            line["request"] = getattr(request, "request_id", "")
            line["method"] = request.method
            line["path"] = hide(request.path)
            user = _user_key(request)
            if user is not None:
                line["user"] = user
        for name in ("status", "milliseconds", "reason"):
            if name in record.__dict__:
                line[name] = record.__dict__[name]
        if record.exc_info and not _is_refusal(record):
            line["traceback"] = hide(self.formatException(record.exc_info))
        return json.dumps(line, ensure_ascii=False)


def _user_key(request: HttpRequest) -> int | None:
    """The key of whoever is signed in, as far as it was asked for: a log asks no database."""
    user = getattr(request, "_cached_user", None)
    return None if user is None else user.pk


def logging_settings(form: str) -> dict[str, Any]:
    """Django's LOGGING for ``json`` or ``text``."""
    is_json = form == "json"
    hides = {"filters": ["hide_secrets"]}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {
            "hide_secrets": {"()": "buildledger.logs.HideSecrets"},
            "one_line": {"()": "buildledger.logs.OneLine"},
        },
        "formatters": {
            "lines": {"()": f"buildledger.logs.{'JsonLines' if is_json else 'PlainLines'}"},
            "served": {
                "()": "django.utils.log.ServerFormatter",
                "format": "[{server_time}] {message}",
                "style": "{",
            },
        },
        "handlers": {
            "lines": {"class": "logging.StreamHandler", "formatter": "lines"},
            "served": {"class": "logging.StreamHandler", "formatter": "served"},
        },
        "root": {"handlers": ["lines"], "level": "WARNING"},
        "loggers": {
            # In place of Django's own handlers, which would send errors by mail.
            "django": {"handlers": [], "level": "INFO", "propagate": True},
            # Statements with what is in them: passwords' hashes, sessions, what people typed.
            "django.db.backends": {"level": "INFO"},
            "django.server": {
                "handlers": ["served"],
                # Beside a line of JSON for each request, a second one says nothing more.
                "level": "ERROR" if is_json else "INFO",
                "propagate": False,
                **hides,
            },
            "django.request": {"filters": ["hide_secrets", "one_line"]},
            "django.security": hides,
            "django.security.csrf": {"filters": ["hide_secrets", "one_line"]},
            "buildledger.requests": {"level": "INFO" if is_json else "WARNING", **hides},
        },
    }
