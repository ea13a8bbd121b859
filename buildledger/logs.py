"""What is logged, and what must not be: the secret part of a link."""

import logging
import re
from typing import Any

# One part of an address, long enough to be a random secret and without a dot, as files have.
_SECRET = re.compile(r"/[A-Za-z0-9_-]{30,}(?=[/?\s\"']|$)")


class HideSecrets(logging.Filter):
    """Writes an ellipsis where an address holds the secret of an invitation or a reset."""

    def filter(self, record: logging.LogRecord) -> bool:
        told = record.getMessage()
        hidden = _SECRET.sub("/…", told)
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
