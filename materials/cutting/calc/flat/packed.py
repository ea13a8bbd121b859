"""Counts of all pieces in one whole number, so that two fillings are joined by one sum."""

from collections.abc import Sequence

from ..patterns import Pattern


class Packed:
    """Counts up to a demand: each has its own digits, and one more that shows when it is passed."""

    def __init__(self, demand: Sequence[int]) -> None:
        # Two counts within the demand may be summed before they are looked at.
        self.bits = [(2 * count + 1).bit_length() + 1 for count in demand]
        self.shifts = [sum(self.bits[:at]) for at in range(len(demand))]
        self.guard = sum(1 << (s + b - 1) for s, b in zip(self.shifts, self.bits, strict=True))
        self.most = self.guard + self.pack(demand)

    def pack(self, counts: Sequence[int]) -> int:
        """The counts as one number."""
        return sum(count << shift for count, shift in zip(counts, self.shifts, strict=True))

    def unpack(self, packed: int) -> Pattern:
        """The counts of a number."""
        return tuple(
            packed >> s & (1 << (b - 1)) - 1 for s, b in zip(self.shifts, self.bits, strict=True)
        )
