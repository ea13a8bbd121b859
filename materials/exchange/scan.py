"""Walking a sheet's XML for what the fast reader does not tell.

The fast reader gives an empty cell for a formula whose result was never saved and for an
error value, and reserves the whole block between a sheet's corners. A document type (the
carrier of entity bombs) is refused, so nothing is ever expanded.
"""

import posixpath
import re
from collections.abc import Callable, Iterable
from xml.parsers import expat

from .archive import DAMAGED, Archive, SheetScan
from .faults import WorkbookError

# A hostile sheet could hold millions of unsaved formulas; this many faults say enough.
MAX_MARKED = 10_000
SHARED_TEXTS = "xl/sharedStrings.xml"
_REFERENCE = re.compile(r"([A-Z]{1,4})([0-9]{1,8})")

Attributes = dict[str, str]
Start = Callable[[str, Attributes], None]


def walk(
    chunks: Iterable[bytes],
    start: Start,
    end: Callable[[str], None] | None = None,
    text: Callable[[str], None] | None = None,
) -> None:
    """Walk XML; names reach the handlers without their prefix. Raises WorkbookError."""
    parser = expat.ParserCreate()
    parser.buffer_text = True
    names: dict[str, str] = {}

    def local(name: str) -> str:
        found = names.get(name)
        if found is None:
            found = names[name] = name.rpartition(":")[2]
        return found

    def refuse(*_: object) -> None:
        raise WorkbookError(DAMAGED)

    parser.StartElementHandler = lambda name, attributes: start(local(name), attributes)
    if end is not None:
        parser.EndElementHandler = lambda name: end(local(name))
    if text is not None:
        parser.CharacterDataHandler = text
    parser.StartDoctypeDeclHandler = refuse
    try:
        for chunk in chunks:
            parser.Parse(chunk, False)
        parser.Parse(b"", True)
    except WorkbookError:
        raise
    except (expat.ExpatError, LookupError, ValueError):
        # An encoding that is not known, or not one that can be read, is no ExpatError.
        raise WorkbookError(DAMAGED) from None


def sheet_parts(archive: Archive) -> dict[str, str]:
    """Part of each sheet of an .xlsx by the sheet's name."""
    ids: dict[str, str] = {}
    targets: dict[str, str] = {}

    def sheet(name: str, attributes: Attributes) -> None:
        if name == "sheet":
            found = [value for key, value in attributes.items() if key.endswith(":id")]
            if found:
                ids[attributes.get("name", "")] = found[0]

    def relation(name: str, attributes: Attributes) -> None:
        if name == "Relationship":
            target = attributes.get("Target", "")
            path = target[1:] if target.startswith("/") else posixpath.join("xl", target)
            targets[attributes.get("Id", "")] = posixpath.normpath(path)

    walk(archive.read("xl/workbook.xml"), sheet)
    walk(archive.read("xl/_rels/workbook.xml.rels"), relation)
    return {name: targets[rid] for name, rid in ids.items() if rid in targets}


def _position(reference: str) -> tuple[int, int]:
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise WorkbookError(DAMAGED)
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - 64
    return int(match[2]), column


class _SheetWalk:
    """State of the walk through one .xlsx sheet."""

    def __init__(self, shared: list[int]) -> None:
        self.scan = SheetScan()
        self.shared = shared
        self.row = self.column = 0
        self.kind = ""
        self.has_formula = self.has_value = self.in_value = False

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "c":
            self.scan.cells += 1
            reference = attributes.get("r")
            if reference:
                self.row, self.column = _position(reference)
            else:
                self.column += 1
            self.kind = attributes.get("t", "")
            self.has_formula = self.has_value = False
        elif name in ("v", "is"):
            self.in_value = True
            self.has_value = self.has_value or name == "is"
        elif name == "f":
            self.has_formula = True
        elif name == "row":
            number = attributes.get("r", "")
            self.row, self.column = int(number) if number.isdecimal() else self.row + 1, 0
        elif name == "mergeCell" and len(self.scan.merges) < MAX_MARKED:
            first, _, last = attributes.get("ref", "").partition(":")
            self.scan.merges.append((*_position(first), *_position(last or first)))

    def text(self, data: str) -> None:
        if self.in_value:
            self.has_value = True
            if self.kind == "s" and data.isdecimal() and len(data) < 9:
                index = int(data)
                self.scan.text_length += self.shared[index] if index < len(self.shared) else 0

    def end(self, name: str) -> None:
        if name in ("v", "is"):
            self.in_value = False
        elif name == "c":
            if self.has_value:
                self.scan.fill(self.row, self.column)
                if self.kind == "e" and len(self.scan.errors) < MAX_MARKED:
                    self.scan.errors.add((self.row, self.column))
            # An empty text (t="str") is a saved result: =IF(A1="","",A1) gives one.
            elif self.has_formula and self.kind != "str" and len(self.scan.unsaved) < MAX_MARKED:
                self.scan.unsaved.add((self.row, self.column))


def shared_text_lengths(archive: Archive) -> list[int]:
    """How long each text is that cells of an .xlsx share."""
    lengths: list[int] = []

    def start(name: str, _: Attributes) -> None:
        if name == "si":
            lengths.append(0)

    def text(data: str) -> None:
        if lengths:
            lengths[-1] += len(data)

    if SHARED_TEXTS in archive:
        walk(archive.read(SHARED_TEXTS), start, text=text)
    return lengths


def scan_sheet(archive: Archive, part: str, shared: list[int]) -> SheetScan:
    """Walk one sheet of an .xlsx. Raises WorkbookError when it is damaged."""
    state = _SheetWalk(shared)
    walk(archive.read(part), state.start, state.end, state.text)
    return state.scan


class _TableWalk:
    """State of the walk through the tables of an .ods, where cells and rows may repeat."""

    def __init__(self) -> None:
        self.scans: dict[str, SheetScan] = {}
        self.scan = SheetScan()
        self.row = self.column = self.row_repeat = 0
        self.filled_to = 0
        self.repeat = self.text_length = self.row_text_length = 0

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "table":
            self.scan = self.scans[_attribute(attributes, "name")] = SheetScan()
            self.row = 0
        elif name == "table-row":
            self.row_repeat = _number(attributes, "number-rows-repeated")
            self.row, self.column, self.filled_to = self.row + 1, 0, 0
            self.row_text_length = 0
        elif name in ("table-cell", "covered-table-cell"):
            self._cell(attributes)

    def _cell(self, attributes: Attributes) -> None:
        first = self.column + 1
        self.repeat, self.text_length = _number(attributes, "number-columns-repeated"), 0
        self.column += self.repeat
        is_filled = "office:value-type" in attributes
        if is_filled:
            self.filled_to = self.column
        if attributes.get("calcext:value-type") == "error" and len(self.scan.errors) < MAX_MARKED:
            self.scan.errors.add((self.row, first))
        if "table:formula" in attributes and not is_filled and len(self.scan.unsaved) < MAX_MARKED:
            self.scan.unsaved.add((self.row, first))
        wide = _number(attributes, "number-columns-spanned")
        high = _number(attributes, "number-rows-spanned")
        if wide * high > 1 and len(self.scan.merges) < MAX_MARKED:
            merge = (self.row, first, self.row + high - 1, first + wide - 1)
            self.scan.merges.append(merge)

    def text(self, data: str) -> None:
        self.text_length += len(data)

    def end(self, name: str) -> None:
        if name == "table-cell":
            self.row_text_length += self.text_length * self.repeat
        elif name == "table-row":
            self.row += self.row_repeat - 1
            self.scan.text_length += self.row_text_length * self.row_repeat
            if self.filled_to:
                self.scan.fill(self.row, self.filled_to)


def _attribute(attributes: Attributes, name: str) -> str:
    return attributes.get(f"table:{name}", "")


def _number(attributes: Attributes, name: str) -> int:
    value = _attribute(attributes, name)
    if not value.isdecimal():
        return 1
    # Nine digits are more rows than any sheet has: the count of a hostile file.
    return max(1, int(value[:9]))


def scan_tables(archive: Archive) -> dict[str, SheetScan]:
    """Walk every table of an .ods. Raises WorkbookError when it is damaged."""
    state = _TableWalk()
    walk(archive.read("content.xml"), state.start, state.end, state.text)
    return state.scans
