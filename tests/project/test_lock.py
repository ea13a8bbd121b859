"""The lock: what requirements.txt pins to run in use, with hashes, and nothing of the checks."""

import re
import subprocess
import sys

import pytest
from packaging.utils import canonicalize_name

from tests.lock import CHECKS, LOCK, PINNED, runtime

HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}\b")


def pins(text: str) -> dict[str, str]:
    """Version by name, as requirements.txt has them."""
    found = re.findall(r"^([\w.-]+)(?:\[\w+\])?==([\w.]+)", text, re.MULTILINE)
    return {canonicalize_name(name): version for name, version in found}


def test_what_runs_is_locked_at_the_version_that_is_pinned():
    asked, locked = pins(runtime()), pins(LOCK.read_text(encoding="utf-8"))
    assert "django" in asked
    assert {name: locked.get(name) for name in asked} == asked


def test_nothing_of_the_checks_is_locked():
    checks = pins(PINNED.read_text(encoding="utf-8").partition(CHECKS)[2])
    assert "pytest" in checks
    assert not checks.keys() & pins(LOCK.read_text(encoding="utf-8")).keys()


def test_each_is_locked_by_hashes_and_no_index_is_named():
    text = LOCK.read_text(encoding="utf-8")
    entries = re.split(r"^(?=\w)", text, flags=re.MULTILINE)[1:]
    assert len(entries) == len(pins(text))
    for entry in entries:
        assert HASH.search(entry), entry
    assert not re.search(r"index|find-links|://", text)


@pytest.mark.slow
def test_the_locked_files_alone_are_enough(tmp_path):
    """As the image installs them: each by its hash, and all that they need is among them."""
    home = tmp_path / "venv"
    subprocess.run([sys.executable, "-m", "venv", str(home)], check=True, timeout=300)
    python = str(home / "bin" / "python")
    install = [python, "-m", "pip", "install", "--require-hashes", "-r", str(LOCK)]
    done = subprocess.run(install, capture_output=True, text=True, timeout=1200, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    done = subprocess.run([python, "-m", "pip", "check"], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout
    show = (
        "from importlib.metadata import version; print(version('django'), version('cryptography'))"
    )
    done = subprocess.run([python, "-c", show], capture_output=True, text=True, check=True)
    asked = pins(runtime())
    assert done.stdout.split() == [asked["django"], asked["cryptography"]]
