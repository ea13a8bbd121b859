"""Put a backup back, add one build from its file, or undo such a restore."""

from pathlib import Path

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand

from ...exchange.backup_file import EVERYTHING
from ...exchange.backups import open_file, read_build, restore_backup
from ...exchange.faults import WorkbookError, shown
from ...exchange.sealed import is_sealed
from ...queries.exchange import find_import_owner
from ...services.errors import LedgerError
from ...services.fresh_ledger import bring_back, drop_kept
from ...services.restore import Choices, FiguresDiffer
from ._builds import stop

UNSEALED = (
    "This backup is not sealed, so anybody may have changed it. If you know where it comes from,"
    " add --accept-unsealed."
)


class Command(BaseCommand):
    """``restore FROM [--replace …]``, ``restore --undo``, ``restore --drop-kept``.

    All of it or nothing: the backup is made into a ledger of its own, whose figures are checked,
    and takes the place of the present one at the end.
    """

    help = "Restore a backup, or add the one build in a file. Stop the program before."

    def add_arguments(self, parser):
        parser.add_argument("source", metavar="FROM", nargs="?")
        for name, text in (
            ("--replace", "put it in place of the present ledger, which is kept beside"),
            ("--undo", "bring back the ledger that the last restore replaced"),
            ("--drop-kept", "delete the ledgers that restores replaced"),
            ("--accept-differences", "restore even if stored figures differ"),
            ("--accept-unsealed", "restore a backup without a seal although there is a key"),
            ("--leave-out-photos", "restore without the photos that are refused"),
        ):
            parser.add_argument(name, action="store_true", help=text)
        parser.add_argument("--owner", metavar="USERNAME", help="who owns the build of a file")

    def handle(self, *args, **options):
        asked = [options["source"] is not None, options["undo"], options["drop_kept"]]
        if sum(asked) != 1:
            stop(self, "Name one backup to restore, or --undo, or --drop-kept.")
        try:
            if options["undo"]:
                self._undo()
            elif options["drop_kept"]:
                self._drop_kept()
            else:
                self._read(Path(options["source"]), options)
        except get_user_model().DoesNotExist:
            stop(self, f"No active user is called {shown(options['owner'])}: check the name.")
        except FiguresDiffer as error:
            stop(self, error, *error.found)
        except (WorkbookError, LedgerError) as error:
            stop(self, error)
        except OSError as error:
            stop(self, f"The disk refused ({error.strerror}), so nothing was changed: fix that.")

    def _undo(self) -> None:
        back, kept = bring_back()
        self.stdout.write(f"Brought back {shown(back, 200)}.")
        self._say_kept(kept)

    def _drop_kept(self) -> None:
        names = drop_kept()
        for name in names:
            self.stdout.write(f"Deleted {shown(name, 200)}.")
        if not names:
            self.stdout.write("No restore has left a ledger here.")

    def _say_kept(self, name) -> None:
        self.stdout.write(
            f"The earlier ledger is kept as {shown(name, 200)}: restore --undo brings it back,"
            " restore --drop-kept deletes it."
        )

    def _read(self, source: Path, options) -> None:
        if source.exists() and not source.is_file():
            # Reading a device or a pipe might never end.
            stop(self, f"{shown(source, 200)} is not a file: name a backup or a build file.")
        try:
            stream = open(source, "rb")  # noqa: SIM115  # closed below
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or "it cannot be read"
            stop(self, f"{shown(source, 200)}: {why}.")
        with stream:
            file = open_file(stream, key=settings.BACKUP_KEY)
            if file.kind != EVERYTHING:
                self._add(stream, options)
                return
            if settings.BACKUP_KEY and not is_sealed(stream) and not options["accept_unsealed"]:
                stop(self, UNSEALED)
            self._restore(file, options)

    def _restore(self, file, options) -> None:
        names = ("replace", "accept_differences", "leave_out_photos")
        counts, done = restore_backup(file, choices=Choices(**{n: options[n] for n in names}))
        if done.differences:
            self.stdout.write(f"Restored {counts.summary()}. These figures differ:")
        else:
            self.stdout.write(f"Restored {counts.summary()}. Every stored figure was checked.")
        for text in done.differences:
            self.stdout.write(text)
        for text in done.left_out:
            self.stdout.write(f"Left out: {text}")
        if done.kept:
            self._say_kept(done.kept)

    def _add(self, stream, options) -> None:
        owner = find_import_owner(options["owner"])
        build = read_build(stream, actor=owner)
        self.stdout.write(f"Added the build {shown(build.name, 120)}.")
        if owner is None:
            self.stdout.write(
                "Note: nobody owns it, so no account can open it. To own it, restore it "
                "again with --owner USERNAME."
            )
