"""How prices rose from the time of an earlier build until now, as the builder states it."""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from ...calc import measures
from ...lifecycle.calc.escalation import Adjusted, IndexSeries, adjust_by_rate

ONE = Fraction(1)


@dataclass
class PriceRise:
    """A plain rate a year, a published index, or neither. Keeps what was used, for the notes.

    ``yearly``: a share of one, above −1.
    """

    on: date
    yearly: Fraction | None = None
    series: IndexSeries | None = None
    used: list[Adjusted] = field(default_factory=list)

    def since(self, day: date | None) -> Fraction:
        """What a price of a day is to be multiplied with; 1 where nothing was ever spent.

        Raises EscalationError where the index says nothing of that time.
        """
        if day is None or (self.yearly is None and self.series is None):
            return ONE
        if self.series is not None:
            adjusted = self.series.adjust(ONE, day, self.on)
            self.used.append(adjusted)
            return adjusted.factor
        assert self.yearly is not None
        months = max(0, (self.on.year - day.year) * 12 + self.on.month - day.month)
        years, rest = divmod(months, 12)
        # Within a year evenly, so that the factor stays exact.
        return adjust_by_rate(ONE, self.yearly, years) * (1 + self.yearly * Fraction(rest, 12))

    def summary(self) -> str:
        """What was done, in a sentence or two."""
        if self.series is not None:
            notes = dict.fromkeys(note for one in self.used for note in one.notes)
            spans = dict.fromkeys(
                f"{one.start.used.month:%B %Y} to {one.end.used.month:%B %Y}" for one in self.used
            )
            return " ".join(
                [f"Prices brought to today by {self.series.name}: {', '.join(spans)}.", *notes]
            )
        if self.yearly is not None:
            result = measures.plain(self.yearly * 100, 3)
            return f"Prices raised by {result}% for each year since they were paid."
        return "Prices as they were paid."
