"""Put a backup back, or add one build from its file."""

import os
from datetime import datetime
from pathlib import Path

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand

from ...exchange.backup_file import EVERYTHING, BundleFile
from ...exchange.backups import read_build, restore_backup, write_backup
from ...exchange.faults import WorkbookError, shown
from ...queries.builds import list_all
from ...queries.checks import find_differences
from ...queries.exchange import find_import_owner
from ...queries.rows import is_empty
from ...services.errors import LedgerError
from ...services.files import replacing
from ._builds import stop
from .backup import UNFINISHED


class Command(BaseCommand):
    """``restore FROM [--replace]``: all of it or nothing; afterwards every figure is checked."""

    help = "Restore a backup, or add the one build in a file."

    def add_arguments(self, parser):
        parser.add_argument("source", metavar="FROM")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="empty the database first; its contents are backed up before",
        )
        parser.add_argument("--owner", metavar="USERNAME", help="who owns the build of a file")

    def handle(self, *args, **options):
        source = Path(options["source"])
        if source.exists() and not source.is_file():
            # Reading a device or a pipe might never end.
            stop(self, f"{shown(source, 200)} is not a file: name a backup or a build file.")
        try:
            with open(options["source"], "rb") as stream:
                if BundleFile(stream).kind == EVERYTHING:
                    self._restore(stream, options)
                else:
                    self._add(stream, options)
        except OSError as error:
            why = error.strerror or "it cannot be read"
            stop(self, f"{shown(options['source'], 200)}: {why}.")
        except get_user_model().DoesNotExist:
            stop(self, f"No active user is called {shown(options['owner'])}: check the name.")
        except (WorkbookError, LedgerError) as error:
            stop(self, str(error))

    def _restore(self, stream, options) -> None:
        if options["replace"] and not is_empty():
            self._keep_present(Path(options["source"]))
        counts = restore_backup(stream, replace=options["replace"])
        wrong = [f"{b.name}: {text}" for b in list_all() for text in find_differences(b)]
        if wrong:
            stop(self, "\n".join(["Restored, but some figures differ:", *wrong]))
        self.stdout.write(f"Restored {counts.summary()}. Every stored figure was checked.")

    def _keep_present(self, source: Path) -> None:
        stamp = datetime.now().astimezone().strftime("%Y%m%d-%H%M%S")
        target = source.with_name(f"{source.stem}-replaced-{stamp}-{os.getpid()}.zip")
        with replacing(target, prefix=UNFINISHED) as stream:
            write_backup(stream)
        self.stdout.write(f"The earlier contents are kept in {shown(target, 200)}.")

    def _add(self, stream, options) -> None:
        owner = find_import_owner(options["owner"])
        build = read_build(stream, actor=owner)
        self.stdout.write(f"Added the build {shown(build.name, 120)}.")
        if owner is None:
            self.stdout.write(
                "Note: nobody owns it, so no account can open it. To own it, restore it "
                "again with --owner USERNAME."
            )
