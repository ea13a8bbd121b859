"""What a service refuses."""

from datetime import date
from typing import Any

from ..queries.days import has_begun


class LedgerError(ValueError):
    """A refused action; ``str()`` is a sentence for the user, ``field`` where it belongs.

    ``about``: the key of the component it is about, if it is. ``is_stale``: what was shown was
    changed meanwhile.
    """

    is_stale = False

    def __init__(self, text: str, field: str | None = None, about: Any = None):
        super().__init__(text)
        self.field, self.about = field, about


def refuse_early(day: date, text: str, field: str) -> None:
    """Raises LedgerError when a day has not come yet."""
    if not has_begun(day):
        raise LedgerError(text, field)
