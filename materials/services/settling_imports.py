"""Writing the shares and hand-overs of a checked workbook."""

from collections.abc import Mapping
from typing import Any

from ..models import Build, HandOver, Share

BATCH = 1000


def write_settling(build: Build, plan: Any, persons: Mapping[str, int]) -> list[HandOver]:
    """Write a plan's shares, and its hand-overs, which come back; ``persons`` are keys by name."""
    Share.objects.bulk_create(
        [
            Share(build=build, person_id=persons[share.person], weight=share.weight)
            for share in plan.shares
        ],
        batch_size=BATCH,
    )
    return HandOver.objects.bulk_create(
        [
            HandOver(
                build=build,
                handed_on=row.handed_on,
                giver_id=persons[row.giver],
                receiver_id=persons[row.receiver],
                amount=row.amount,
                note=row.note,
            )
            for row in plan.hand_overs
        ],
        batch_size=BATCH,
    )
