"""Moves a workbook tells of: one side each, since the other build may be kept elsewhere."""

from collections.abc import Iterator, Mapping
from typing import Any

from ..models import Move


def planned_moves(plan: Any, components: Mapping[str, int]) -> Iterator[Move]:
    """Unsaved moves of a plan: material that came in, and left over that left at a value."""
    for entry in plan.moved_in:
        yield Move(
            moved_on=entry.moved_on,
            to_component_id=components[entry.component],
            to_text=entry.quantity_text,
            to_qty=entry.base_qty,
            value_amount=entry.cost_amount,
            elsewhere=entry.elsewhere,
            note=entry.note,
        )
    for entry in plan.left_over:
        if entry.value_amount is not None:
            yield Move(
                moved_on=entry.noted_on,
                component_id=components[entry.component],
                quantity_text=entry.quantity_text,
                base_qty=entry.base_qty,
                value_amount=entry.value_amount,
                note=entry.note,
            )
