"""``python -m tests.fuzz [--cases N] [--seed N] [--area NAME]… [--only N] [--json FILE]``.

Ends with 1 when a case went wrong. A case that kills the process is told from outside: the
cases run in a process of their own, which is started again behind the one that killed it.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--area", action="append", default=[], help="only this generator")
    parser.add_argument("--only", type=int, help="run one case and tell what it did")
    parser.add_argument("--from", dest="start", type=int, default=0)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--inside", type=Path, help=argparse.SUPPRESS)
    return parser.parse_args()


def inside(result: argparse.Namespace) -> None:
    """Run the cases here, in a database of their own, and write what came of them."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    from django.conf import settings
    from django.db import transaction
    from django.test.utils import setup_databases, setup_test_environment, teardown_databases

    from .running import Runner, Tally, as_in_use, make_case

    setup_test_environment()
    databases = setup_databases(verbosity=0, interactive=False)
    with tempfile.TemporaryDirectory() as folder:
        settings.MEDIA_ROOT = folder
        with transaction.atomic(), as_in_use():
            runner, tally = Runner(), Tally()
            for start in range(result.start, result.cases, 250):
                numbers = range(start, min(start + 250, result.cases))
                runner.run(_noted(result, make_case, numbers), tally)
                result.inside.write_text(json.dumps(tally.counted()))
                for finding in tally.findings[runner.__dict__.setdefault("said", 0) :]:
                    print(finding.case, finding.problem[-3000:], flush=True)  # noqa: T201
                runner.__dict__["said"] = len(tally.findings)
                runner.tidy()
                if numbers[-1] % 1000 == 999:
                    print(f"{numbers[-1] + 1} cases, {tally.memory[-1]} MB", flush=True)  # noqa: T201
            transaction.set_rollback(True)
    teardown_databases(databases, verbosity=0)


def _noted(result: argparse.Namespace, make_case: Any, numbers: range) -> Any:
    """Cases, each noted before it runs: should it kill the process, it is known which."""
    place = result.inside.with_suffix(".at")
    for number in numbers:
        place.write_text(str(number))
        yield make_case(result.seed, number, result.area)


def outside(result: argparse.Namespace) -> int:
    """Keep a process running cases until all are done; add up what each of them found."""
    parts: list[dict[str, Any]] = []
    start, end = result.start, result.cases
    if result.only is not None:
        start, end = result.only, result.only + 1
    with tempfile.TemporaryDirectory() as folder:
        while start < end:
            place = Path(folder) / f"{start}.json"
            command = [sys.executable, "-m", "tests.fuzz", "--inside", str(place)]
            command += ["--seed", str(result.seed), "--from", str(start), "--cases", str(end)]
            command += [word for area in result.area for word in ("--area", area)]
            code = subprocess.run(command, check=False).returncode
            found = json.loads(place.read_text()) if place.exists() else {}
            parts.append(found)
            if code == 0:
                break
            at = place.with_suffix(".at")
            if code > 0 or not at.exists():
                return 1
            number = int(at.read_text())
            case = {"seed": result.seed, "number": number, "area": "", "route": ""}
            killed = {"case": case, "problem": f"ended the process with {code}"}
            found.setdefault("findings", []).append(killed)
            start = number + 1
    return _report(result, parts)


def _report(result: argparse.Namespace, parts: list[dict[str, Any]]) -> int:
    sums: dict[str, Any] = {"cases": 0, "wall": 0.0, "counts": {}, "seconds": {}, "findings": []}
    for part in parts:
        sums["cases"] += part.get("cases", 0)
        sums["wall"] += part.get("wall", 0.0)
        sums["findings"] += part["findings"]
        for name in ("counts", "seconds"):
            for area, number in part.get(name, {}).items():
                sums[name][area] = sums[name].get(area, 0) + number
    slow = max(parts, key=lambda part: part.get("slowest", 0))
    sums["slowest"], sums["slowest_case"] = slow.get("slowest"), slow.get("slowest_case")
    sums["memory"] = [number for part in parts for number in part.get("memory", [])]
    if result.json:
        result.json.write_text(json.dumps(sums, indent=1))
    busy = sum(sums["seconds"].values())
    out = [f"{area:10} {number:7}  {1000 * sums['seconds'][area] / number:8.1f} ms each"
           for area, number in sorted(sums["counts"].items())]  # fmt: skip
    out.append(
        f"{sums['cases']} cases, {sums['cases'] / max(busy, 0.001):.0f} for each second of the"
        f" processor, {sums['cases'] / max(sums['wall'], 0.001):.0f} for each second of the clock"
    )
    out.append(f"slowest {sums['slowest']:.2f} s: {sums['slowest_case']}")
    out.append(f"memory, MB, every 1000 cases: {sums['memory']}")
    out.append(f"findings: {len(sums['findings'])}")
    out += [f"{f['case']}: {f['problem'][-400:]}" for f in sums["findings"][:50]]
    print("\n".join(out))  # noqa: T201
    return 1 if sums["findings"] else 0


if __name__ == "__main__":
    arguments = _arguments()
    if arguments.inside:
        inside(arguments)
    else:
        sys.exit(outside(arguments))
