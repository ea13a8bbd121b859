"""Write a build as a workbook."""

import contextlib
import os
import tempfile
from pathlib import Path

from django.core.management.base import BaseCommand

from ...exchange.faults import shown
from ...exchange.writer import write_workbook
from ...queries.builds import list_named


class Command(BaseCommand):
    help = "Export a build as an .xlsx workbook that import_sheet reads back."

    def add_arguments(self, parser):
        parser.add_argument("--build", required=True, metavar="NAME")
        parser.add_argument("--to", required=True, metavar="FILE")

    def handle(self, *args, **options):
        name = options["build"].strip()
        builds = list_named(name)
        if not builds:
            self._stop(
                f"There is no build called {shown(name)}: cost_report --list prints the names."
            )
        if len(builds) > 1:
            self._stop(
                f"There are {len(builds)} builds called {shown(name)}: rename all but one first."
            )
        target = Path(options["to"])
        if target.is_dir():
            self._stop(f"{shown(target, 200)} is a folder: write the name of a file after --to.")
        try:
            self._write(builds[0], target)
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or "the name cannot be used"
            self._stop(f"{shown(target, 200)} cannot be written ({why}): choose another place.")
        self.stdout.write(f"Wrote {shown(name, 120)} to {shown(target, 200)}.")

    @staticmethod
    def _write(build, target: Path) -> None:
        """A workbook stands at the target only when it is complete."""
        handle, unfinished = tempfile.mkstemp(dir=target.parent, prefix=".export-")
        try:
            with os.fdopen(handle, "wb") as stream:
                write_workbook(build, stream)
            os.chmod(unfinished, 0o644)
            os.replace(unfinished, target)
        except BaseException:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(unfinished)
            raise

    def _stop(self, sentence: str) -> None:
        self.stderr.write(sentence)
        raise SystemExit(1)
