"""What is logged, and what may not stand in a log: the secret part of a link."""

import logging
import re
from typing import Any

# Whatever follows the address of shared pages, one part of an address that is long enough to be
# a random secret and has no dot as files have, and anything as long and random as a token.
_SECRET = re.compile(
    r"(?<=/shared/)[^/\s?#\"']+|(?<=/)[A-Za-z0-9_-]{30,}(?=[/?\s\"']|$)|[A-Za-z0-9_-]{43,}"
)


class HideSecrets(logging.Filter):
    """Writes “…” in place of secrets: who reads a log must not be able to open a link."""

    def filter(self, record: logging.LogRecord) -> bool:
        told = record.getMessage()
        hidden = _SECRET.sub("…", told)
        if hidden != told:
            record.msg, record.args = hidden, ()
        return True


LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"hide_secrets": {"()": "buildledger.logs.HideSecrets"}},
    "formatters": {
        "served": {
            "()": "django.utils.log.ServerFormatter",
            "format": "[{server_time}] {message}",
            "style": "{",
        }
    },
    "handlers": {"served": {"class": "logging.StreamHandler", "formatter": "served"}},
    "loggers": {
        "django.server": {
            "handlers": ["served"],
            "filters": ["hide_secrets"],
            "level": "INFO",
            "propagate": False,
        },
        # Their handlers are those of “django”; the secret is gone before they see it.
        "django.request": {"filters": ["hide_secrets"]},
        "django.security": {"filters": ["hide_secrets"]},
        "django.security.csrf": {"filters": ["hide_secrets"]},
    },
}
