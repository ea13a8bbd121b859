"""One row of somebody's table to plain values, or to sentences that say what to fix.

Nothing here knows what the build holds; ``resolve`` does.
"""

import re

from ..cells import CellError
from ..faults import shown
from .cells import UNREADABLE, Cell, cell_text, tag_of
from .dates import is_month
from .fields import Field
from .mapping import Mapping
from .read_cells import CellReaders, RowRead
from .words import CHOICES, TOTAL_WORDS

_TOTAL = re.compile(r"(?:sub|grand)?[\s-]*totals?\b.*|.*\btotals?", re.IGNORECASE)
_MONEY_FIELDS = ("unit_price", "total", "tax", "haulage", "discount", "paid")


class RowReader(CellReaders):
    """Reads rows in their order; ``carried`` holds what an empty cell would repeat."""

    def __init__(self, mapping: Mapping, carried: dict[str, Cell] | None = None):
        super().__init__(mapping)
        self.carried: dict[str, Cell] = dict(carried or {})

    def read(self, cells: list[Cell], mended: dict[str, str], *, forced: bool = False) -> RowRead:
        """Understand a row. ``mended``: typed instead of cells; ``forced``: never left out."""
        found = RowRead()
        raw = self.raw(cells, mended)
        own = {key: cell for key, cell in raw.items() if tag_of(cell) not in ("", "m")}
        if not forced:
            found.skip = self._skip(cells, own, mended)
            if found.skip:
                return found
        self._repeat(raw)
        # Units first: quantities need them.
        for each in sorted(self.mapping.fields, key=lambda f: f.how != "unit"):
            cell = raw.get(each.key)
            column = self.mapping.column(each.key)
            if cell is None:
                continue
            if tag_of(cell) == "m":
                cell = self._covered(found, each, cell)
                if cell is None:
                    continue
            if tag_of(cell) == "e":
                found.fault(each.key, cell[1])
                continue
            try:
                if UNREADABLE in (cell if isinstance(cell, str) else ""):
                    raise CellError(
                        f"{shown(cell)} holds a character that cannot be read. Choose "
                        "another encoding for the file, or type the cell again."
                    )
                self.by_how[each.how](found, each, cell, column)
            except CellError as error:
                found.fault(each.key, str(error))
        self._defaults(found, raw)
        return found

    def raw(self, cells: list[Cell], mended: dict[str, str]) -> dict[str, Cell]:
        """The cells of a row by field, what was corrected in their place."""
        raw: dict[str, Cell] = {}
        for key, columns in self.mapping.by_field.items():
            filled = [cells[c.place] for c in columns if c.place < len(cells)]
            filled = [cell for cell in filled if cell is not None]
            if len(filled) > 1 and columns[0].field.how == "note":
                raw[key] = "; ".join(cell_text(c) for c in filled if tag_of(c) not in ("e", "m"))
            elif filled:
                raw[key] = filled[0]
        for key, text in mended.items():
            raw[key] = text.strip() or None
        return {key: cell for key, cell in raw.items() if cell is not None}

    def _skip(self, cells: list[Cell], own: dict[str, Cell], mended: dict[str, str]) -> str:
        if not own:
            return "The columns that are read are empty."
        if any(mended.values()):
            return ""
        same = sum(
            cell_text(cells[place]).casefold() == heading
            for place, heading in self.mapping.headings
            if place < len(cells)
        )
        if same > 1 and same * 2 > len(own):
            return "The headings again."
        return self._sum_or_remark(cells, own)

    def _sum_or_remark(self, cells: list[Cell], own: dict[str, Cell]) -> str:
        item = own.get("item", own.get("task"))
        is_total = any(_is_total(cell) for cell in cells if isinstance(cell, str))
        complete = all(f.key in own for f in self.mapping.fields if f.needed)
        if is_total and (not complete or item is None or _is_total(item, exactly=True)):
            return "It looks like a total."
        if isinstance(item, str) and is_month(item) and not {"date", "quantity"} & own.keys():
            return "It looks like the total of a month."
        if item is None and not {"hours", "date", "quantity"} & own.keys():
            if any(key in own for key in _MONEY_FIELDS):
                return "A sum without a component."
            if "note" in own and len(own) == 1:
                return "Only a remark."
        if len(own) == 1 and isinstance(next(iter(own.values())), str):
            filled = [cell for cell in cells if tag_of(cell) not in ("", "m")]
            if len(filled) == 1 and len(self.mapping.by_field) > 1:
                return "A heading within the table."
        return ""

    def _repeat(self, raw: dict[str, Cell]) -> None:
        for each in self.mapping.fields:
            if not each.repeats:
                continue
            if raw.get(each.key) is not None:
                cell = raw[each.key]
                self.carried[each.key] = cell[1] if tag_of(cell) == "m" else cell
            elif (
                self.mapping.options["repeat"]
                and each.key in self.mapping.by_field
                and each.key in self.carried
            ):
                raw[each.key] = self.carried[each.key]

    def _covered(self, found: RowRead, each: Field, cell: Cell) -> Cell:
        if each.how in ("date", "name", "text", "source", "state", "labour", "unit"):
            return cell[1]
        if each.how == "note":
            return None
        found.fault(
            each.key,
            f"The cell is merged with the ones above, which show {shown(cell_text(cell))} "
            "once for several rows. Enter what belongs to this row.",
        )
        return None

    def _defaults(self, found: RowRead, raw: dict[str, Cell]) -> None:
        options, values = self.mapping.options, found.values
        for each in self.mapping.fields:
            # A unit given for numbers that have none was put to those numbers already.
            if each.key == "unit" or self._is_bad(found, each):
                continue
            if each.key not in values and options.get(each.key):
                values[each.key] = options[each.key]
        if self.mapping.kind == "purchases" and "source" not in values:
            self._missing(found, "source", "enter salvage, seconds or retail")
        if self.mapping.kind == "hours" and "labour" not in values:
            self._missing(found, "labour", "enter " + CHOICES["labour"][1])
        hints = {
            "date": "the day, like 2026-04-03",
            "item": "what it is",
            "quantity": "how much, like 12 ft",
            "person": "who worked",
            "hours": "the hours, like 4.5",
            "unit_price": "the price",
        }
        for each in self.mapping.fields:
            if each.needed and each.key not in values:
                self._missing(found, each.key, f"enter {hints[each.key]}")

    @staticmethod
    def _is_bad(found: RowRead, each: Field) -> bool:
        return any(key == each.key for key, _ in found.faults)

    @staticmethod
    def _missing(found: RowRead, key: str, hint: str) -> None:
        found.fault(key, f"This is missing: {hint}.")


def _is_total(cell: Cell, *, exactly: bool = False) -> bool:
    if not isinstance(cell, str) or len(cell) > 60:
        return False
    word = " ".join(cell.split()).casefold().strip(" :.=")
    if word in TOTAL_WORDS or exactly:
        return word in TOTAL_WORDS
    return bool(_TOTAL.fullmatch(word) and len(word.split()) <= 4)
