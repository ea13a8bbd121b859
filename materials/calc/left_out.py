"""What a cost sheet does not hold, so that nobody takes its figures for more than they are."""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from fractions import Fraction

from .reports import ComponentRow, CostSheet
from .types import Key


@dataclass(frozen=True, slots=True)
class Named:
    """A component: the known money of it, and the key of its page where one may see that."""

    name: str
    money: Fraction
    key: Key | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Components and counts of rows, by what is not known of them."""

    unpriced: tuple[Named, ...]
    priced_as_bought: tuple[Named, ...]
    cost_unknown: tuple[Named, ...]
    not_bought_new: tuple[Named, ...]
    not_forecast: tuple[Named, ...]
    unknown_lines: int
    unknown_transfers: int
    unknown_ordered_lines: int
    notes: tuple[str, ...]

    def __bool__(self) -> bool:
        return any(getattr(self, field.name) for field in fields(self))


def list_left_out(sheet: CostSheet, *, for_members: bool = True) -> LeftOut:
    """For members with the keys of pages and the build's own notes; for others without."""

    def named(rows: Iterable[ComponentRow]) -> tuple[Named, ...]:
        parts = [(row.position.component, row.position.known_money) for row in rows]
        return tuple(
            Named(part.name, money, part.key if for_members else None) for part, money in parts
        )

    return LeftOut(
        unpriced=named(sheet.unpriced),
        priced_as_bought=named(sheet.priced_as_bought),
        cost_unknown=named(sheet.cost_unknown),
        not_bought_new=named(sheet.not_bought_new),
        not_forecast=named(sheet.not_forecast),
        unknown_lines=sheet.unknown_lines,
        unknown_transfers=sheet.unknown_transfers,
        unknown_ordered_lines=sheet.build.unknown_ordered_lines,
        notes=tuple(sheet.build.notes) if for_members else (),
    )
