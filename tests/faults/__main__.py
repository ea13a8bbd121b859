"""``python -m tests.faults [--kills N] [--seed N] [--json FILE]``: kill, look, start again.

On SQLite, or on PostgreSQL where DATABASE_URL names it. Ends with 1 when anything was lost,
doubled or half done.
"""

import argparse
import json
import os
import secrets
import signal
import sys
import tempfile
from pathlib import Path


def main() -> int:
    """Kill, print, and write the figures."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults")
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=secrets.randbelow(10**9))
    parser.add_argument("--json", type=Path)
    parser.add_argument("--folder", type=Path, help="kept when something is wrong")
    options = parser.parse_args()
    # Ended from outside, it still ends what it started.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from .kills import Tally, kill_many

    def say(found: Tally) -> None:
        number = sum(found.kills.values())
        if options.json and number % 10 == 0:
            options.json.write_text(json.dumps(found.as_json() | {"seed": options.seed}, indent=1))
        if number % 10 == 0:
            sys.stdout.write(
                f"{number} kills, {found.whole_group} of the whole group, {found.seconds} s,"
                f" {len(found.wrong)} wrong\n"
            )
            sys.stdout.flush()

    folder = options.folder or Path(tempfile.mkdtemp(prefix="faults-"))
    sys.stdout.write(f"seed {options.seed}, {folder}\n")
    result = kill_many(options.kills, folder, options.seed, say)
    text = json.dumps(result.as_json() | {"seed": options.seed}, indent=1)
    if options.json:
        options.json.write_text(text)
    sys.stdout.write(text + "\n")
    return 1 if result.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
