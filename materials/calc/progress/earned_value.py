"""Planned cost of work done against what it took (the terms of ANSI/EIA-748).

Any one unit: money or hours, never both. ``None`` is not known; nothing is ever divided by 0.
"""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class EarnedValue:
    """Where work stands on a day.

    ``whole``: planned cost of all the work (BAC). ``earned``: planned cost of the work done
    (EV). ``actual``: what it took (AC). ``planned``: planned cost of what should be done by
    now (PV), None where there is no schedule.
    """

    whole: Fraction | None
    earned: Fraction | None
    actual: Fraction | None
    planned: Fraction | None = None

    @property
    def cost_index(self) -> Fraction | None:
        """CPI = EV / AC; None while nothing was earned or nothing spent."""
        return _ratio(self.earned, self.actual) if self.earned else None

    @property
    def schedule_index(self) -> Fraction | None:
        """SPI = EV / PV."""
        return _ratio(self.earned, self.planned)

    @property
    def at_completion(self) -> Fraction | None:
        """EAC = BAC / CPI: the rest goes as the work so far went."""
        return estimate_at_completion(self.whole, self.cost_index)

    @property
    def at_completion_as_planned(self) -> Fraction | None:
        """EAC = AC + BAC − EV: the rest goes as planned."""
        rest = _difference(self.whole, self.earned)
        return None if rest is None or self.actual is None else self.actual + rest

    @property
    def to_complete(self) -> Fraction | None:
        """ETC = EAC − AC: what is still to come."""
        return _difference(self.at_completion, self.actual)

    @property
    def variance_at_completion(self) -> Fraction | None:
        """VAC = BAC − EAC: below 0 when the plan will be passed."""
        return _difference(self.whole, self.at_completion)

    @property
    def to_complete_index(self) -> Fraction | None:
        """TCPI = (BAC − EV) / (BAC − AC): how well the rest must go to meet the plan.

        None when the plan is used up already.
        """
        left = _difference(self.whole, self.actual)
        if left is None or left <= 0:
            return None
        return _ratio(_difference(self.whole, self.earned), left)


def estimate_at_completion(whole: Fraction | None, index: Fraction | None) -> Fraction | None:
    """EAC = BAC / CPI; None without an index."""
    return _ratio(whole, index)


def _difference(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    return None if one is None or other is None else one - other


def _ratio(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    return None if one is None or not other else one / other
