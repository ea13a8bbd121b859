"""What a service refuses."""


class LedgerError(ValueError):
    """A refused action; ``str()`` is a sentence for the user, ``field`` where it belongs."""

    def __init__(self, text: str, field: str | None = None):
        super().__init__(text)
        self.field = field
