"""Hours by kind, own and paid; hours and money are never mixed."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

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
        """All hours."""
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
    by_kind = dict.fromkeys(LabourKind, ZERO)
    own = own_extra = paid = paid_extra = ZERO
    for entry in entries:
        by_kind[entry.kind] += entry.own_hours + entry.paid_hours
        own += entry.own_hours
        paid += entry.paid
        if entry.kind in EXTRA_KINDS:
            own_extra += entry.own_hours
            paid_extra += entry.paid
    return Hours(by_kind, own, own_extra, paid, paid_extra)


def hours_by(entries: Iterable[LabourInput], what: str) -> dict[Key | None, Fraction]:
    """Hours by ``task`` or ``person``; key None holds those without one."""
    totals: dict[Key | None, Fraction] = {}
    for entry in entries:
        key = entry.task if what == "task" else entry.person
        totals[key] = totals.get(key, ZERO) + entry.own_hours + entry.paid_hours
    return totals
