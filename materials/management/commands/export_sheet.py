"""Enter a build as a workbook."""

import io
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import BinaryIO

from django.core.management.base import BaseCommand

from ...exchange.csv_files import write_csv
from ...exchange.faults import shown
from ...exchange.schema import TITLES
from ...exchange.writer import write_workbook
from ...services.files import replacing
from ._builds import find_called, stop


class Command(BaseCommand):
    help = (
        "Export a build as an .xlsx workbook or a folder of CSV files. import_sheet imports both."
    )

    def add_arguments(self, parser):
        parser.add_argument("--build", required=True, metavar="NAME")
        parser.add_argument("--to", metavar="FILE")
        parser.add_argument("--csv", metavar="FOLDER")

    def handle(self, *args, **options):
        name = options["build"].strip()
        if not options["to"] and not options["csv"]:
            stop(self, "Add --to FILE for a workbook or --csv FOLDER for CSV files.")
        build = find_called(self, name)
        if build is None:
            stop(
                self,
                f"No build is called {shown(name)}: cost_report --list prints the names.",
            )
        if options["to"]:
            target = Path(options["to"])
            if target.is_dir():
                stop(
                    self, f"{shown(target, 200)} is a folder: enter the name of a file after --to."
                )
            self._try(target, lambda: self._write(target, partial(write_workbook, build)))
        if options["csv"]:
            folder = Path(options["csv"])
            self._try(folder, lambda: self._write_tables(build, folder))
        for target in filter(None, (options["to"], options["csv"])):
            self.stdout.write(f"Wrote {shown(name, 120)} to {shown(target, 200)}.")

    def _try(self, target: Path, write: Callable[[], None]) -> None:
        try:
            write()
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or "the name cannot be used"
            stop(self, f"{shown(target, 200)} cannot be written ({why}): choose another place.")

    def _write_tables(self, build, folder: Path) -> None:
        """A file for each sheet; the folder may be there already."""
        folder.mkdir(parents=True, exist_ok=True)
        for title in TITLES:
            self._write(folder / f"{title}.csv", partial(write_csv, title, build))

    @staticmethod
    def _write(target: Path, write: Callable[[BinaryIO], None]) -> None:
        """A file stands at the target only when it is complete."""
        # Packed, even a hundred thousand purchase lines are a few megabytes.
        made = io.BytesIO()
        write(made)
        with replacing(target, prefix=".export-", mode=0o644) as stream:
            stream.write(made.getbuffer())
