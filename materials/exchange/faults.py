"""What is wrong in a workbook, each with the place to put it right."""

from collections import Counter
from dataclasses import dataclass, field


class WorkbookError(ValueError):
    """A file that cannot be read at all; ``str()`` is one sentence for the user."""


FORMULA = (
    "The cell holds a formula whose result was not saved: open the file in a spreadsheet"
    " program, let it calculate and save it, or type the value."
)
ERROR_VALUE = (
    "The cell holds an error like #REF! or #N/A: fix the formula, or type the value instead."
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to put right. ``row`` and ``column`` are None where the whole sheet is meant."""

    sheet: str
    row: int | None
    column: str | None
    text: str

    def __str__(self) -> str:
        place = self.sheet if self.row is None else f"{self.sheet} row {self.row}"
        return f"{place}, {self.column}: {self.text}" if self.column else f"{place}: {self.text}"


@dataclass
class Findings:
    """Faults and notes gathered while a workbook is checked; a note stops nothing."""

    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    rounded: Counter[str] = field(default_factory=Counter)

    def fault(self, sheet: str, row: int | None, column: str | None, text: str) -> None:
        self.faults.append(Fault(sheet, row, column, text))

    def note(self, text: str) -> None:
        """Add a note once."""
        if text not in self.notes:
            self.notes.append(text)

    def has_faults(self, *sheets: str) -> bool:
        """Whether any of the sheets (or any sheet at all) has a fault."""
        return any(not sheets or fault.sheet in sheets for fault in self.faults)


def shown(text: object, most: int = 40) -> str:
    """A user's own words in quotes, printable and short enough to stand in a sentence."""
    raw = str(text)
    clean = " ".join("".join(c if c.isprintable() else " " for c in raw[: most + 1]).split())
    return f"“{clean[:most].rstrip()}…”" if len(raw) > most else f"“{clean}”"
