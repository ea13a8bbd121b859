"""What a service refuses."""

from datetime import date

from ..queries.days import has_begun


class LedgerError(ValueError):
    """A refused action; ``str()`` is a sentence for the user, ``field`` where it belongs."""

    def __init__(self, text: str, field: str | None = None):
        super().__init__(text)
        self.field = field


def refuse_early(day: date, text: str, field: str) -> None:
    """Raises LedgerError when a day has not come yet."""
    if not has_begun(day):
        raise LedgerError(text, field)
