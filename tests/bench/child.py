"""What is measured in a process of its own, because memory is part of the figure.

Prints one JSON object: ``seconds`` of the work itself, ``peak_mb`` of the whole process.
"""

import json
import pickle
import re
import sys
import time
from pathlib import Path
from typing import Any


def peak_mb() -> float:
    """Highest resident memory of this process so far, in MB."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


def export(build_id: str, to: str) -> None:
    """The build as a workbook, by the program."""
    import django

    django.setup()
    from materials.exchange.writer import write_workbook
    from materials.models import Build

    build = Build.objects.get(pk=int(build_id))
    started = time.perf_counter()
    with open(to, "wb") as stream:
        write_workbook(build, stream)
    report(started)


def cells(book: str, to: str) -> None:
    """Every cell of a workbook, formulas as they stand, kept for ``bare``."""
    from openpyxl import load_workbook

    with open(to, "wb") as stream:
        for sheet in load_workbook(book, read_only=True).worksheets:
            rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
            pickle.dump((sheet.title, rows), stream)
    report(time.perf_counter())


def bare(kept: str, to: str) -> None:
    """The same cells written by openpyxl's write-only mode and nothing else."""
    from openpyxl import Workbook

    sheets: list[tuple[str, list[list[Any]]]] = []
    with open(kept, "rb") as stream:
        while True:
            try:
                sheets.append(pickle.load(stream))
            except EOFError:
                break
    started = time.perf_counter()
    book = Workbook(write_only=True)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(to)
    report(started)


def report(started: float) -> None:
    """Print what was measured."""
    json.dump({"seconds": time.perf_counter() - started, "peak_mb": peak_mb()}, sys.stdout)


if __name__ == "__main__":
    {"export": export, "cells": cells, "bare": bare}[sys.argv[1]](*sys.argv[2:])
