"""Make what is missing, bring the database up to date, and serve it by gunicorn."""

import contextlib
import os
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connections
from django.urls import reverse
from django.utils import timezone

from ...exchange.backups import write_backup
from ...exchange.faults import shown
from ...queries.health import list_unapplied, list_unknown
from ...queries.rows import is_empty
from ...services.files import replacing
from ...services.first_account import open_way
from ._bind import Bind, NoBind, address_of, needs_of, read_bind
from ._builds import stop
from .backup import UNFINISHED

MOST = 64


class Command(BaseCommand):
    """``serve [--bind ADDRESS:PORT] [--address URL] [--workers N] [--threads N]``.

    The secret key is made before the settings are read: see manage.py. What comes out of it is
    gunicorn itself, in this process, so that whoever started it can also stop it.
    """

    help = "Set up what is missing and serve the program. Without accounts, prints a way in."
    requires_migrations_checks = False

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument(
            "--bind", default="127.0.0.1:8000", metavar="ADDRESS:PORT", help="where to serve it"
        )
        parser.add_argument("--address", metavar="URL", help="how people reach it, if not so")
        parser.add_argument("--workers", type=int, default=2, help="processes (2)")
        parser.add_argument("--threads", type=int, default=4, help="threads of each (4)")

    def handle(self, **options: Any) -> None:
        # Database, photos, backups: what is made here is for this user alone.
        os.umask(0o077)
        bind = self._bind(options)
        with contextlib.suppress(OSError):
            # For backups by hand too; where it cannot be made, _back_up says so when it matters.
            Path(settings.BACKUP_ROOT).mkdir(mode=0o700, parents=True, exist_ok=True)
        self._bring_up_to_date()
        self._collect()
        self._say(bind, options["address"] or address_of(bind))
        connections.close_all()
        self.stdout.flush()
        words = ["-c", "python:buildledger.serving", "buildledger.wsgi", "--bind", bind.text]
        words += [f"--workers={options['workers']}", f"--threads={options['threads']}"]
        paths = [str(settings.BASE_DIR), os.environ.get("PYTHONPATH", "")]
        os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, paths))
        os.execv(sys.executable, [sys.executable, "-m", "gunicorn", *words])

    def _bind(self, options: dict[str, Any]) -> Bind:
        """Where to serve it, as far as that can be; ends the command when it cannot."""
        if settings.DEBUG:
            stop(self, "DEBUG shows the inside of the program to visitors: unset it first.")
        if not all(1 <= options[name] <= MOST for name in ("workers", "threads")):
            stop(self, f"Workers and threads are numbers from 1 to {MOST}.")
        given = options["address"]
        if given and not given.startswith(("http://", "https://")):
            stop(self, "An address begins with http:// or https://, like https://ledger.example.")
        try:
            bind = read_bind(options["bind"])
            bind.try_it()
        except NoBind as error:
            stop(self, error)
        return bind

    def _bring_up_to_date(self) -> None:
        """Migrate where there is something to migrate, after a backup where there is a ledger."""
        unknown = list_unknown()
        if unknown:
            stop(
                self,
                f"A newer version of the program changed this database ({unknown[0]}): install"
                " that version again, or put a backup of before back: restore FILE --replace.",
            )
        names = list_unapplied()
        if not names:
            return
        if is_empty():
            self.stdout.write("Setting up the database.")
        else:
            self._back_up()
        call_command("migrate", verbosity=0, interactive=False)

    def _back_up(self) -> None:
        folder = Path(settings.BACKUP_ROOT)
        stamp = datetime.now().astimezone().strftime("%Y%m%d-%H%M%S")
        kind = "sealed" if settings.BACKUP_KEY else "zip"
        target = folder / f"before-migrating-{stamp}-{os.getpid()}.{kind}"
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            with replacing(target, prefix=UNFINISHED) as stream:
                counts = write_backup(stream, as_stored=True, key=settings.BACKUP_KEY)
        except OSError as error:
            stop(
                self,
                f"No backup can be written to {shown(folder, 200)} ({error.strerror}). Nothing"
                " was changed: make room or set DATA_ROOT.",
            )
        self.stdout.write(f"Backed up {counts.summary()} to {target}.")
        self.stdout.write("Bringing the database up to date.")
        self.stdout.flush()

    def _collect(self) -> None:
        """Styles and scripts under names of their content; a folder made beforehand may do."""
        root = Path(settings.STATIC_ROOT)
        try:
            call_command("collectstatic", verbosity=0, interactive=False)
        except OSError as error:
            if not (root / "staticfiles.json").is_file():
                stop(
                    self,
                    f"Styles and scripts cannot be written to {shown(root, 200)}"
                    f" ({error.strerror}): set STATIC_ROOT or DATA_ROOT to a folder of this user.",
                )

    def _say(self, bind: Bind, address: str) -> None:
        """Where it is, what it still needs there, and the way in when nobody has an account."""
        for line in needs_of(bind):
            self.stdout.write(line)
        address = address.rstrip("/")
        secret = open_way(now=timezone.now())
        if secret is None:
            self.stdout.write(f"Serving {address}/")
        else:
            self.stdout.write("Nobody has an account yet. Create the first one at this address:")
            self.stdout.write(f"  {address}{reverse('first_link', args=[secret])}")
            self.stdout.write("It works once. Give it to nobody. The next start prints a new one.")
        if sys.stdin and sys.stdin.isatty():
            self.stdout.write("Stop with Ctrl+C.")
