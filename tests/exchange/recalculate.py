"""Workbooks recalculated by engines that know nothing of the program."""

import csv
import io
import re
import shutil
import subprocess
import tempfile
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

from python_calamine import CalamineWorkbook

Cells = dict[str, list[list[Any]]]
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(E[+-][0-9]+)?")
# Comma, quote, UTF-8, from row 1, cells in full precision and not as shown.
_AS_TEXT = "44,34,76,1,,0,false,false,false,false,false"
_SAVED = re.compile(r"(</f>)<v>[^<]*</v>")


def without_results(data: bytes) -> bytes:
    """The workbook with no result saved beside any formula, so that each must be worked out."""
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as source,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for name in source.namelist():
            part = source.read(name)
            if name.startswith("xl/worksheets/"):
                part = _SAVED.sub(r"\1", part.decode()).encode()
            target.writestr(name, part)
    return stream.getvalue()


def by_libreoffice(books: dict[str, bytes], number: int = 2) -> dict[str, list[list[str]]]:
    """One sheet (by its number) of each workbook, when LibreOffice has worked every formula out.

    Values come as text in full precision. One run of the program for all the workbooks.
    """
    soffice = shutil.which("soffice")
    assert soffice, "LibreOffice is missing: install Debian's libreoffice-calc"
    with tempfile.TemporaryDirectory(prefix="recalculate-") as name:
        folder = Path(name)
        for key, data in books.items():
            (folder / f"{key}.xlsx").write_bytes(without_results(data))
        subprocess.run(
            [
                soffice,
                f"-env:UserInstallation={(folder / 'profile').as_uri()}",
                "--headless",
                "--convert-to",
                f"csv:Text - txt - csv (StarCalc):{_AS_TEXT},{number}",
                "--outdir",
                str(folder / "out"),
                *(str(folder / f"{key}.xlsx") for key in books),
            ],
            check=True,
            capture_output=True,
            timeout=900,
        )
        found = {}
        for key in books:
            (file,) = (folder / "out").glob(f"{key}-*.csv")
            with file.open(encoding="utf-8", newline="") as stream:
                found[key] = list(csv.reader(stream))
    return found


def read_cells(data: bytes, *sheets: str) -> Cells:
    """Values of some sheets, from their first row and column on."""
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {
        sheet: book.get_sheet_by_name(sheet).to_python(skip_empty_area=False) for sheet in sheets
    }


def by_python(data: bytes, sheet: str, rows: int, columns: int) -> list[list[Any]]:
    """One sheet of a workbook, after the formulas library has worked out every formula."""
    import formulas

    with tempfile.TemporaryDirectory(prefix="recalculate-") as name:
        path = Path(name) / "book.xlsx"
        path.write_bytes(without_results(data))
        model = formulas.ExcelModel().loads(str(path)).finish()
        solution = model.calculate()
    values: list[list[Any]] = [[""] * columns for _ in range(rows)]
    wanted = f"'[BOOK.XLSX]{sheet.upper()}'!"
    for node, found in solution.items():
        text = str(node).upper()
        if text.startswith(wanted) and ":" not in text:
            match = re.fullmatch(r"([A-Z]+)([0-9]+)", text.removeprefix(wanted))
            if match:
                column, row = ord(match[1]) - 65, int(match[2]) - 1
                if row < rows and column < columns:
                    values[row][column] = found.value[0, 0]
    return values


def figures(rows: list[list[Any]]) -> dict[str, Any]:
    """What the cost sheet shows: label to value, and for elements and components a row each."""
    found: dict[str, Any] = {"elements": {}, "components": {}}
    where: dict[str, Any] = found
    for row in rows:
        label, *cells = (*row, *[""] * 7)
        if label in ("By element", "By component"):
            where = found["elements" if label == "By element" else "components"]
        elif label and where is found:
            found.setdefault(label, plain(cells[0]))
        elif label:
            where[label] = [plain(cell) for cell in cells[:6]]
    return found


def plain(cell: Any) -> Any:
    """A cell as the report writes it: text as it is, numbers exact; “not known” is None."""
    if not isinstance(cell, str):
        return Decimal(repr(float(cell))) if hasattr(cell, "__float__") else cell
    if cell == "not known":
        return None
    return Decimal(cell) if NUMBER.fullmatch(cell) else cell
