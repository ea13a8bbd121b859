"""Known faults in what requirements.txt pins: ``python -m tests.audit``.

Ends with 1 only for a fault that a service of such faults really reported. Where no service can
be asked, it says so and ends with 0: a closed network is no fault of the program. Being told
nothing about a package is not the same as being told that it is sound, and is not taken for it.
"""

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

PINNED = Path(__file__).resolve().parent.parent / "requirements.txt"
# Asked one after another until one answers for every package.
SERVICES = ("pypi", "osv")
Run = Callable[[str], "subprocess.CompletedProcess[str]"]


@dataclass
class AuditAnswer:
    """What a service said: faults by package, how many it knows, which it does not."""

    known: int = 0
    unknown: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def ask(service: str) -> "subprocess.CompletedProcess[str]":
    """pip-audit's answer of one service, as JSON."""
    command = [sys.executable, "-m", "pip_audit", "--requirement", str(PINNED), "--no-deps"]
    command += ["--disable-pip", "--progress-spinner", "off", "--timeout", "20"]
    command += ["--vulnerability-service", service, "--format", "json"]
    try:
        return subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    except subprocess.TimeoutExpired:
        return subprocess.CompletedProcess(command, 2, "", "it did not answer within 5 minutes")


def read(output: str) -> AuditAnswer | None:
    """What an answer says; None when it is none."""
    try:
        packages: list[dict[str, Any]] = json.loads(output)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return None
    result = AuditAnswer()
    for package in packages:
        if "skip_reason" in package:
            result.unknown.append(package["name"])
            continue
        result.known += 1
        for fault in package["vulns"]:
            mended = ", ".join(fault.get("fix_versions") or []) or "no version yet"
            name = f"{package['name']} {package['version']}"
            result.faults.append(f"{name}: {fault['id']}, mended in {mended}")
    return result


def main(run: Run = ask, write: Callable[[str], Any] = sys.stdout.write) -> int:
    """Ask, say what was found in plain words; 1 for a fault, else 0."""
    known = 0
    for service in SERVICES:
        printed = read(run(service).stdout)
        if printed is None:
            write(f"Audit: the service “{service}” cannot be reached from here.\n")
            continue
        for text in printed.faults:
            write(f"Audit: {text}\n")
        if printed.faults:
            return 1
        if printed.known and not printed.unknown:
            write(f"Audit: {printed.known} pinned packages, no known fault ({service}).\n")
            return 0
        known = max(known, printed.known)
        write(f"Audit: “{service}” knows nothing of {len(printed.unknown)} packages.\n")
    write(
        f"Audit: NOT DONE for all packages ({known} were looked at): no service answered for the"
        " rest. This says nothing about them; run it where the network is open.\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
