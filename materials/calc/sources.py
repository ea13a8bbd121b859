"""Where material came from: by source of what was received, and from other builds beside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from .exact import add_up
from .prices import retail_equivalent
from .types import BuildInput, SourceInput

SOURCES = ("salvage", "seconds", "retail")
MOVED_IN = "moved in"


@dataclass(frozen=True, slots=True)
class SourceRow:
    """Landed cost received from one source; ``left_out`` is the cost without retail price.

    ``retail_equivalent`` is None when things were received and none of them has a price.
    """

    source: str
    cost: Fraction
    retail_equivalent: Fraction | None
    left_out: Fraction

    @property
    def below_new_percent(self) -> Fraction | None:
        """How far what has a new price cost less than new; below 0 where it cost more."""
        new = self.retail_equivalent
        return None if not new else (new - self.cost + self.left_out) / new * 100


def by_source(build: BuildInput) -> tuple[SourceRow, ...]:
    """Everything received, by the source of its lines."""
    return tuple(
        source_row(build, source, [entry for entry in build.sources if entry.source == source])
        for source in SOURCES
    )


def from_other_builds(build: BuildInput) -> SourceRow | None:
    """What came from other builds, at the cost it brought along; None where nothing did."""
    entries = [
        SourceInput(MOVED_IN, part.key, part.moved_in, part.moved_in_cost)
        for part in build.components
        if part.moved_in
    ]
    return source_row(build, MOVED_IN, entries) if entries else None


def source_row(build: BuildInput, source: str, entries: Sequence[SourceInput]) -> SourceRow:
    """What came in of a kind, beside what the same would have cost new."""
    parts = {part.key: part for part in build.components}
    values = [
        retail_equivalent(parts[entry.component], entry.usable, build.retail_tax_share)
        for entry in entries
    ]
    known = [value for value in values if value is not None]
    pairs = zip(entries, values, strict=True)
    return SourceRow(
        source,
        add_up(entry.cost for entry in entries),
        add_up(known) if known or not entries else None,
        add_up(entry.cost for entry, value in pairs if value is None),
    )
