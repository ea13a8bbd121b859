"""What may not stand in a log."""

import logging
import re

# Whatever follows the address of shared pages, and anything as long and random as a token.
TOKEN = re.compile(r"(?<=/shared/)[^/\s?#\"']+|[A-Za-z0-9_-]{43,}")


class HideTokens(logging.Filter):
    """Writes “…” in place of tokens: who reads a log must not be able to open a link."""

    def filter(self, record: logging.LogRecord) -> bool:
        text = record.getMessage()
        hidden = TOKEN.sub("…", text)
        if hidden != text:
            record.msg, record.args = hidden, ()
        return True
