"""Import a workbook into a build, or say everything that is wrong with it."""

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand

from ...exchange.faults import WorkbookError, shown
from ...exchange.importer import check_book
from ...exchange.reader import read_workbook
from ...queries.exchange import find_import_owner
from ...services.errors import LedgerError
from ...services.imports import import_plan
from ._builds import find_called, stop


class Command(BaseCommand):
    help = "Import a workbook (.xlsx, .ods, or a folder of CSV files) into a build."

    def add_arguments(self, parser):
        parser.add_argument("file", metavar="FILE")
        parser.add_argument(
            "--build", required=True, metavar="NAME", help="a new name, or an existing build"
        )
        parser.add_argument("--dry-run", action="store_true", help="check only, save nothing")
        parser.add_argument("--owner", metavar="USERNAME", help="who owns a new build")

    def handle(self, *args, **options):
        name = options["build"].strip()
        try:
            owner = find_import_owner(options["owner"])
            if not name:
                stop(self, "Enter the build's name after --build.")
            build = find_called(self, name)
            checked = check_book(read_workbook(options["file"]), name=name, build=build)
            for note in (*checked.notes, *checked.doubles):
                self.stdout.write(f"Note: {note}")
            if checked.plan is None:
                stop(self, *checked.faults)
            result = checked.plan.summary()
            if options["dry_run"]:
                self.stdout.write(f"No fault found. Would import {result}.")
                return
            import_plan(actor=owner, plan=checked.plan, build=build, owner=owner)
            if build is None and owner is None:
                self.stdout.write(
                    "Note: nobody owns the new build, so no account can open it. To own "
                    "it, import it under another name with --owner USERNAME."
                )
            self.stdout.write(f"Imported into {shown(name, 120)}: {result}.")
        except get_user_model().DoesNotExist:
            stop(self, f"No active user is called {shown(options['owner'])}: check the name.")
        except (WorkbookError, LedgerError) as error:
            stop(self, error)
