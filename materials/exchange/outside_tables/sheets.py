"""From a file to its sheets in short, and to the rows of the one that was chosen."""

import base64
import json
from dataclasses import dataclass, field
from typing import Any

from ..archive import MAX_FILE_BYTES
from ..faults import WorkbookError
from .child import cut, summarise
from .isolated import ask_child
from .limits import MAX_SHEETS
from .marks import NOT_LOOKED_AT, ONLY_XLSX, Marks
from .sniff import (
    decode,
    ending_note,
    find_content,
    guess_delimiter,
    guess_encoding,
    text_rows,
)

TEXT_SHEET = "Table"


@dataclass
class Opened:
    """A file in short. ``sheets``: name, rows, columns, head (``[number, cells]``), fault."""

    content: str
    encoding: str = ""
    delimiter: str = ""
    sheets: list[dict[str, Any]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def open_file(data: bytes, name: str = "", encoding: str = "", delimiter: str = "") -> Opened:
    """Look at a file. Raises WorkbookError with one sentence when there is no table in it.

    ``encoding`` and ``delimiter`` are guessed where they are not given.
    """
    if len(data) > MAX_FILE_BYTES:
        raise WorkbookError(
            f"The file is larger than {MAX_FILE_BYTES // 1024 // 1024} MB: split it into several."
        )
    content = find_content(data)
    opened = Opened(content)
    if note := ending_note(name, content):
        opened.notes.append(note)
    if content == "text":
        opened.encoding = encoding or guess_encoding(data)
        text = decode(data, opened.encoding)
        opened.delimiter = delimiter or guess_delimiter(text)
        notes: list[str] = []
        found = summarise(text_rows(text, opened.delimiter, notes))
        opened.sheets = [{"name": TEXT_SHEET, **found, "notes": found["notes"] + notes}]
    else:
        first, *opened.sheets = ask_child(data, "list", content)
        opened.notes += first["notes"]
        if len(opened.sheets) == MAX_SHEETS:
            opened.notes.append(f"The first {MAX_SHEETS} sheets of the workbook can be chosen.")
    if not any(sheet["rows"] for sheet in opened.sheets):
        faults = [sheet["fault"] for sheet in opened.sheets if sheet["fault"]]
        raise WorkbookError(faults[0] if faults else "The file holds only blank cells.")
    return opened


def load_rows(
    data: bytes, content: str, place: int, encoding: str = "", delimiter: str = ""
) -> tuple[list[list[Any]], list[str]]:
    """All rows of one sheet as ``[number, cells]``, and notes. Raises WorkbookError."""
    notes: list[str] = []
    if content == "text":
        text = decode(data, encoding)
        rows = list(cut(text_rows(text, delimiter, notes), notes))
        return rows, notes
    *rows, last = ask_child(data, "load", content, str(place))
    return rows, last["notes"]


def look_for_marks(data: bytes, content: str, name: str) -> tuple[Marks | None, list[str]]:
    """What a sheet shows beyond its values, and notes; None where that was not looked at."""
    if content == "text":
        return None, []
    if content != "xlsx":
        return None, [ONLY_XLSX]
    try:
        (found,) = ask_child(data, "marks", content, name)
        return Marks(**found), []
    except (WorkbookError, TypeError, ValueError):
        # Whatever is wrong with it: the values were read, and that the rest was not is said.
        return None, [NOT_LOOKED_AT]


def make_copy(data: bytes, **told: Any) -> bytes:
    """A marked copy of an .xlsx (see ``marked.write_copy``). Raises WorkbookError."""
    head = json.dumps(told, separators=(",", ":")).encode()
    (found,) = ask_child(head + b"\n" + data, "copy", "xlsx")
    return base64.b64decode(found["file"])
