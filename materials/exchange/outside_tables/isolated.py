"""Opening workbooks in a process of their own, with limits, so that the server lives."""

import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

from ..archive import DAMAGED
from ..faults import WorkbookError
from .limits import CHILD_SECONDS, CHILDREN

ROOT = Path(__file__).resolve().parents[3]
# -I keeps the environment and the working folder out; the only thing added is this app's code.
_START = (
    "import sys; sys.path.insert(0, sys.argv.pop(1));"
    "from materials.exchange.outside_tables.child import main; main()"
)
_TOO_LONG = (
    "Reading the file took too long. Save the table alone in a new workbook, or as CSV, "
    "and try again."
)
_slots = threading.BoundedSemaphore(CHILDREN)


def ask_child(data: bytes, *arguments: str) -> list[Any]:
    """What the process answers, value by value. Raises WorkbookError with a sentence.

    A process that is ended by its limits or by the file means that the file is damaged.
    """
    with _slots:
        try:
            done = subprocess.run(
                [sys.executable, "-I", "-c", _START, str(ROOT), *arguments],
                input=data,
                capture_output=True,
                timeout=CHILD_SECONDS + 5,
                env={"PATH": os.defpath},
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise WorkbookError(_TOO_LONG) from None
    if done.returncode < 0 and -done.returncode in (9, 24):
        # SIGKILL and SIGXCPU: out of time (or ended by the system for want of memory).
        raise WorkbookError(_TOO_LONG)
    if done.returncode:
        raise WorkbookError(DAMAGED)
    values = [json.loads(line) for line in done.stdout.splitlines()]
    for value in values[-1:]:
        if isinstance(value, dict) and "refused" in value:
            raise WorkbookError(value["refused"])
    return values
