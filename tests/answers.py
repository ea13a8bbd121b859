"""Reading answers."""

from typing import Any


def status(answer: Any) -> int:
    """The status of an answer that was read to its end, which closes its file."""
    if answer.streaming:
        b"".join(answer)
    return answer.status_code
