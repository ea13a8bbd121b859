"""What a file is, told by its content: never by its name (OWASP ASVS 5.0.0, 5.2.2).

Text is decoded and cut into rows here; workbooks are left to a process of their own.
"""

import codecs
import csv
import io
import zipfile
from collections import Counter
from collections.abc import Iterator
from typing import Literal

from ..archive import DAMAGED, ENCRYPTED
from ..faults import WorkbookError
from .cells import Cell, text_cell

OLE_MARK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ENCRYPTED_PART = "EncryptedPackage".encode("utf-16-le")
OLD_BOOK = ["Workbook".encode("utf-16-le"), "Book".encode("utf-16-le")]
ENDINGS = {
    "xlsx": (".xlsx", ".xlsm", ".xltx", ".xltm"),
    "ods": (".ods", ".ots"),
    "xls": (".xls", ".xlt"),
    "text": (".csv", ".tsv", ".txt", ".tab"),
}
CALLED = {"xlsx": "an .xlsx workbook", "ods": "an .ods workbook", "xls": "an old .xls workbook",
          "text": "plain text"}  # fmt: skip
# Encodings offered, with how they are told.
ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-16": "UTF-16",
    "cp1252": "Windows, western (1252)",
    "latin-1": "Latin 1",
    "cp1250": "Windows, central European (1250)",
    "cp1251": "Windows, Cyrillic (1251)",
    "mac-roman": "Roman, of old desktops",
    "cp437": "437, of the command line",
}
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright stroke"}
# A quoted text over more lines than this is a quotation mark that nobody closed.
MAX_QUOTED_LINES = 60
SAMPLE = 200_000
csv.field_size_limit(2_000_000)


def find_content(data: bytes) -> str:
    """xlsx, ods, xls or text. Raises WorkbookError for anything else."""
    if not data:
        raise WorkbookError("The file is empty (0 bytes): choose the table itself.")
    if data.startswith(OLE_MARK):
        if ENCRYPTED_PART in data:
            raise WorkbookError(ENCRYPTED)
        if not any(name in data for name in OLD_BOOK):
            raise WorkbookError(
                "The file is an old document, not a workbook: save its table as .xlsx or .csv."
            )
        return "xls"
    if data.startswith(b"PK"):
        return _kind_of_archive(data)
    start = data[:2000].lstrip(b"\xef\xbb\xbf \r\n\t").lower()
    if start.startswith((b"<!doctype html", b"<html", b"<table", b"<?xml", b"<meta")):
        raise WorkbookError(
            "The file is a web page or XML, whatever its name says: open it in a spreadsheet"
            " program and save it as .xlsx, or copy the table and paste it here."
        )
    if start.startswith((b"%pdf", b"{\\rtf", b"\x89png", b"\xff\xd8\xff", b"gif8", b"\x1f\x8b")):
        raise WorkbookError(
            "The file is not a table: save the table as .xlsx, .ods, .xls or .csv, or copy and"
            " paste it."
        )
    if _looks_binary(data):
        raise WorkbookError(
            "The file is neither a workbook nor text: save the table as .xlsx or .csv and try"
            " again."
        )
    return "text"


def _kind_of_archive(data: bytes) -> str:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as directory:
            names = {name.replace("\\", "/").casefold() for name in directory.namelist()[:3000]}
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, RuntimeError):
        raise WorkbookError(DAMAGED) from None
    if "xl/workbook.xml" in names:
        return "xlsx"
    if "content.xml" in names:
        return "ods"
    if "xl/workbook.bin" in names:
        raise WorkbookError("The workbook is a binary .xlsb: save it as .xlsx and try again.")
    raise WorkbookError(
        "The file is an archive, not a workbook: unpack it and choose the table in it."
    )


def _looks_binary(data: bytes) -> bool:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return False
    sample = data[:8000]
    if b"\0" in sample:
        return not _is_utf16(sample)
    odd = sum(byte < 32 and byte not in (9, 10, 11, 12, 13, 26, 27) for byte in sample)
    return odd > 8 and odd * 50 > len(sample)


def _is_utf16(sample: bytes) -> bool:
    """Western text in UTF-16 without a mark: every other byte is zero."""
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    return max(even, odd) > half * 0.6 and min(even, odd) < half * 0.05


def ending_note(name: str, content: str) -> str:
    """A note when a file's name says something else than its content; empty when they agree."""
    ending = f".{name.rpartition('.')[2].lower()}" if "." in name else ""
    if not ending or ending in ENDINGS[content]:
        return ""
    if any(ending in endings for endings in ENDINGS.values()):
        return f"The file's name ends in {ending}, but it is {CALLED[content]}: it is read as that."
    return f"The file is read as {CALLED[content]}."


def guess_encoding(data: bytes) -> str:
    """The encoding of a text: by its mark, as UTF-8, or the usual one of western desktops."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or (
        b"\0" in data[:8000] and _is_utf16(data[:8000])
    ):
        return "utf-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    else:
        return "utf-8"
    try:
        data.decode("cp1252")
    except UnicodeDecodeError:
        return "latin-1"
    return "cp1252"


def decode(data: bytes, encoding: str) -> str:
    """The text of a file. Raises WorkbookError when it is not in that encoding."""
    named = encoding
    if encoding == "utf-8":
        named = "utf-8-sig"
    elif encoding == "utf-16" and not data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        named = "utf-16-le" if data[1::2].count(0) >= data[0::2].count(0) else "utf-16-be"
    try:
        return data.decode(named).lstrip("\ufeff")
    except (UnicodeDecodeError, LookupError) as error:
        encoding_name = ENCODINGS.get(encoding, encoding[:20])
        line = data.count(b"\n", 0, getattr(error, "start", 0)) + 1
        raise WorkbookError(
            f"Line {line:,} of the file is not in {encoding_name}: choose another encoding."
        ) from None


def guess_delimiter(text: str) -> str:
    """The delimiter that cuts most rows into the same number of cells, more than one."""
    sample = text[:SAMPLE]
    best, best_score = ",", 0
    for delimiter in DELIMITERS:
        widths = []
        try:
            for row in csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter):
                if any(cell.strip() for cell in row):
                    widths.append(len(row))
                if len(widths) == 60:
                    break
        except csv.Error:
            continue
        common = [(count, width) for width, count in Counter(widths).items() if width > 1]
        if not common:
            continue
        count, width = max(common)
        # A comma in every price would also cut evenly; more columns that agree tell better.
        score = count * 100 // len(widths) * 10 + min(width, 30)
        if delimiter == "\t":
            score += 50
        if score > best_score:
            best, best_score = delimiter, score
    return best


class _NotClosed(Exception):
    """A quotation mark opened what never ends."""


def text_rows(text: str, delimiter: str, notes: list[str]) -> Iterator[tuple[int, list[Cell]]]:
    """Rows with their numbers. Where a quotation mark is never closed, marks are plain signs."""
    try:
        for number, row in _records(text, delimiter, csv.QUOTE_MINIMAL):
            if any(cell.count("\n") > MAX_QUOTED_LINES for cell in row):
                raise _NotClosed
            del number
    except (_NotClosed, csv.Error):
        notes.append(
            "A quotation mark in the text is never closed: quotation marks are read as "
            "plain characters."
        )
        records = _records(text, delimiter, csv.QUOTE_NONE)
    else:
        records = _records(text, delimiter, csv.QUOTE_MINIMAL)
    for number, row in records:
        yield number, [text_cell(cell) for cell in row]


def _records(text: str, delimiter: str, quoting: Literal[0, 3]) -> Iterator[tuple[int, list[str]]]:
    # A lone carriage return ended lines once; csv would refuse it unquoted.
    plain = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "\ufffd")
    rows = csv.reader(io.StringIO(plain, newline=""), delimiter=delimiter, quoting=quoting)
    yield from enumerate(rows, 1)
