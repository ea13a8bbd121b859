"""Everything that can be said of this installation's health."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from ...exchange.faults import shown
from ...queries.health import (
    FINE,
    LEAST_FREE,
    check_every_ledger,
    check_health,
    list_sizes,
    list_unapplied,
    list_versions,
)
from ...templatetags.figures import count

# A nightly backup that failed once is noticed before the second night is over.
OLDEST_BACKUP = timedelta(hours=36)
# As the README and “serve” call them.
SUFFIXES = {".zip", ".sealed"}


class Command(BaseCommand):
    """``health_report [--backups FOLDER]``: exit 0 when all is well, else 1."""

    help = (
        "Print versions, sizes, free space and the newest backup, and work out every "
        "stored figure again. Ends with 1 and a sentence for each fault."
    )
    # It says itself what is to be applied.
    requires_migrations_checks = False

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--backups", metavar="FOLDER", help="folder of the backups")

    def handle(self, **options: Any) -> None:
        problems = [f"{name}: {word}" for name, word in check_health().items() if word != FINE]
        works = not any(text.startswith(("database", "migrations")) for text in problems)
        if works:
            problems += self._figures()
        elif not any(text.startswith("database") for text in problems):
            problems += [f"to be applied: {name}" for name in list_unapplied()]
        if options["backups"]:
            problems += self._backups(Path(options["backups"]))
        for text in problems:
            self.stderr.write(text)
        if problems:
            raise SystemExit(1)
        self.stdout.write("All is well.")

    def _figures(self) -> list[str]:
        problems = []
        for name, version in list_versions():
            self.stdout.write(f"{name} {version}")
        for size in list_sizes():
            self.stdout.write(f"{size.name}: {count(size.size // 1024**2)} MB")
            if size.name == "free" and size.size < LEAST_FREE:
                problems.append(
                    f"less than {LEAST_FREE // 1024**2} MB are free for uploads: make room"
                )
        builds, differences = check_every_ledger()
        result = count(len(differences)) if differences else "none"
        self.stdout.write(f"Builds checked: {count(builds)}. Differences: {result}.")
        return problems + differences

    def _backups(self, folder: Path) -> list[str]:
        try:
            kept = [path.stat() for path in folder.iterdir() if path.suffix in SUFFIXES]
        except OSError as error:
            return [f"backups: {shown(folder, 200)} cannot be read ({error.strerror})"]
        if not kept:
            return [f"backups: there is none in {shown(folder, 200)}"]
        newest = max(kept, key=lambda status: status.st_mtime)
        at = datetime.fromtimestamp(newest.st_mtime, UTC)
        self.stdout.write(f"newest backup: {at:%Y-%m-%d %H:%M} UTC, {count(newest.st_size)} bytes")
        if timezone.now() - at > OLDEST_BACKUP:
            return ["backups: the newest is older than 36 hours"]
        return []
