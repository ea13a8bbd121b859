"""Rows of the sheets Shares and Handed over, as they are written."""

from collections.abc import Iterator
from typing import Any

from ..models import Build
from ..queries.settling import iterate_hand_overs, iterate_shares


def share_rows(build: Build) -> Iterator[dict[str, Any]]:
    """Stated shares."""
    for share in iterate_shares(build):
        yield {"person": share.person.name, "weight": share.weight}


def hand_over_rows(build: Build) -> Iterator[dict[str, Any]]:
    """Money handed over."""
    for row in iterate_hand_overs(build):
        yield {
            "date": row.handed_on,
            "giver": row.giver.name,
            "receiver": row.receiver.name,
            "amount": row.amount,
            "note": row.note,
        }
