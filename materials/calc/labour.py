"""Hours by kind, own and paid; hours and money are never mixed."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from .exact import add_up
from .types import Key, LabourInput, LabourKind

ZERO = Fraction(0)
EXTRA_KINDS = (LabourKind.SOURCING, LabourKind.PREPARING)


@dataclass(frozen=True, slots=True)
class Hours:
    """Totals of a build's hours.

    ``extra``: sourcing and preparing, the hours that salvage costs. ``own`` and ``own_extra``
    are the part nothing was paid for; ``paid_labour`` and ``paid_extra`` are money.
    """

    by_kind: dict[LabourKind, Fraction]
    own: Fraction
    own_extra: Fraction
    paid_labour: Fraction
    paid_extra: Fraction

    @property
    def total(self) -> Fraction:
        return sum(self.by_kind.values(), ZERO)

    @property
    def extra(self) -> Fraction:
        """Sourcing and preparing hours."""
        return sum((self.by_kind[kind] for kind in EXTRA_KINDS), ZERO)

    def own_value(self, rate: Fraction | None) -> Fraction | None:
        """Own hours at the stated rate; None when no rate is stated and there are hours."""
        return at_rate(self.own, rate)


def at_rate(hours: Fraction, rate: Fraction | None) -> Fraction | None:
    """Hours x rate; 0 for no hours, None when there are hours but no rate."""
    if not hours:
        return ZERO
    return None if rate is None else hours * rate


def total_hours(entries: Iterable[LabourInput]) -> Hours:
    """Sum labour by kind; a conversion's hours come in as preparing hours of nobody."""
    listed = list(entries)
    extra = [entry for entry in listed if entry.kind in EXTRA_KINDS]
    by_kind: dict[LabourKind, list[Fraction]] = {kind: [] for kind in LabourKind}
    for entry in listed:
        by_kind[entry.kind] += (entry.own_hours, entry.paid_hours)
    return Hours(
        {kind: add_up(hours) for kind, hours in by_kind.items()},
        add_up(entry.own_hours for entry in listed),
        add_up(entry.own_hours for entry in extra),
        add_up(entry.paid for entry in listed),
        add_up(entry.paid for entry in extra),
    )


def hours_by(entries: Iterable[LabourInput], what: str) -> dict[Key | None, Fraction]:
    """Hours by ``task`` or ``person``; key None holds those without one."""
    hours: dict[Key | None, list[Fraction]] = {}
    for entry in entries:
        key = entry.task if what == "task" else entry.person
        hours.setdefault(key, []).extend((entry.own_hours, entry.paid_hours))
    return {key: add_up(parts) for key, parts in hours.items()}


def own_hours_by_person(entries: Iterable[LabourInput]) -> dict[Key, Fraction]:
    """Own hours of each named person who has any; hours of conversions are nobody's."""
    hours: dict[Key, Fraction] = {}
    for entry in entries:
        if entry.person is not None and entry.own_hours:
            hours[entry.person] = hours.get(entry.person, ZERO) + entry.own_hours
    return hours
