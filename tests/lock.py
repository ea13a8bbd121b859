"""Writes .deploy/requirements.lock: ``python -m tests.lock``.

All that runs in use, with what it pulls in: each at one version, with the hashes of every file of
that version, for every machine and every Python from 3.11 on. It names no index.
"""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PINNED = ROOT / "requirements.txt"
LOCK = ROOT / ".deploy" / "requirements.lock"
CHECKS = "# Tests and checks"


def runtime() -> str:
    """The part of requirements.txt that runs in use."""
    return PINNED.read_text(encoding="utf-8").partition(CHECKS)[0]


def main() -> int:
    """Has uv work it out; gives its exit code."""
    command = [sys.executable, "-m", "uv", "pip", "compile", "--quiet", "--universal"]
    command += ["--generate-hashes", "--no-header", "--no-annotate", "--python-version", "3.11"]
    command += ["-", "--output-file", str(LOCK)]
    return subprocess.run(command, input=runtime(), text=True, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
