"""Write everything, or one build, into one file."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand

from ...exchange.backups import write_backup, write_build
from ...exchange.faults import shown
from ...services.files import replacing
from ._builds import find_build, stop

# Nobody takes such a file for a backup.
UNFINISHED = ".backup-"


class Command(BaseCommand):
    """``backup TO [--build NAME]``: one file; the server may go on serving meanwhile.

    Everything is sealed where BACKUP_KEY_FILE names a key. A build is for another server, which
    has another key or none, so its file is not.
    """

    help = "Back up the database and the photos into one file while the server runs."

    def add_arguments(self, parser):
        parser.add_argument("to", metavar="TO", help="name of the new file")
        parser.add_argument("--build", metavar="NAME", help="this build only, for another server")

    def handle(self, *args, **options):
        target = Path(options["to"])
        if target.is_dir():
            stop(self, f"{shown(target, 200)} is a folder: enter the name of a file after it.")
        if target.exists() and not target.is_file():
            # A device or a pipe would be replaced by the file.
            stop(self, f"{shown(target, 200)} is not a file: choose another place.")
        build = find_build(self, options["build"]) if options["build"] else None
        try:
            with replacing(target, prefix=UNFINISHED) as stream:
                counts = (
                    write_build(build, stream)
                    if build
                    else write_backup(stream, key=settings.BACKUP_KEY)
                )
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or "the name cannot be used"
            stop(self, f"{shown(target, 200)} cannot be written ({why}): choose another place.")
        self.stdout.write(f"Wrote {counts.summary()} to {shown(target, 200)}.")
