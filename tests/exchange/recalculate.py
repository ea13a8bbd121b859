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
BATCH = 50
SECTIONS = {
    "By element": "elements",
    "By source": "sources",
    "By task": "tasks",
    "By person": "persons",
    "Still needed": "needed",
    "By component": "components",
}
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


class LibreOffice:
    """Works formulas out in the background, a batch of workbooks in each run of the program."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.waiting: list[str] = []
        self.keys: list[str] = []
        self.runs: list[subprocess.Popen] = []

    def add(self, key: str, data: bytes) -> None:
        """One more workbook."""
        (self.folder / f"{key}.xlsx").write_bytes(without_results(data))
        self.keys.append(key)
        self.waiting.append(str(self.folder / f"{key}.xlsx"))
        if len(self.waiting) == BATCH:
            self.start()

    def start(self) -> None:
        """Begin with those that wait; runs do not share a profile, or one would refuse."""
        soffice = shutil.which("soffice")
        assert soffice, "LibreOffice is missing: python -m tests installs it"
        profile = (self.folder / f"profile{len(self.runs)}").as_uri()
        command = [soffice, f"-env:UserInstallation={profile}", "--headless", "--convert-to",
                   f"csv:Text - txt - csv (StarCalc):{_AS_TEXT},2",
                   "--outdir", str(self.folder / "out"), *self.waiting]  # fmt: skip
        quiet = subprocess.DEVNULL
        self.runs.append(subprocess.Popen(command, stdout=quiet, stderr=quiet))
        self.waiting = []

    def cost_sheets(self) -> dict[str, list[list[str]]]:
        """The second sheet of each workbook: text, numbers in full precision."""
        if self.waiting:
            self.start()
        for run in self.runs:
            assert run.wait(timeout=900) == 0
        found = {}
        for key in self.keys:
            file = self.folder / "out" / f"{key}-Cost sheet.csv"
            with file.open(encoding="utf-8", newline="") as stream:
                found[key] = list(csv.reader(stream))
        return found


def by_libreoffice(data: bytes) -> list[list[str]]:
    """The cost sheet of one workbook."""
    with tempfile.TemporaryDirectory(prefix="recalculate-") as folder:
        office = LibreOffice(Path(folder))
        office.add("book", data)
        return office.cost_sheets()["book"]


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
    """What the cost sheet shows: label to value, and for each section its rows by label."""
    found: dict[str, Any] = {name: {} for name in SECTIONS.values()}
    where: dict[str, Any] = found
    for row in rows:
        label, *cells = (*row, *[""] * 7)
        if label in SECTIONS:
            where = found[SECTIONS[label]]
        elif label.startswith("Total, with "):
            # What is needed since a change, beyond the rows there are.
            found["more needed"] = int(label.split()[2])
            where["Total"] = [plain(cell) for cell in cells[:7]]
        elif label and where is found:
            found.setdefault(label, plain(cells[0]))
        elif label:
            where[label] = [plain(cell) for cell in cells[:7]]
    return found


def plain(cell: Any) -> Any:
    """A cell as the report writes it: text as it is, numbers exact; “not known” is None."""
    if not isinstance(cell, str):
        return Decimal(repr(float(cell))) if hasattr(cell, "__float__") else cell
    if cell == "not known":
        return None
    return Decimal(cell) if NUMBER.fullmatch(cell) else cell
