"""Print a link with which a user sets a new password."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.urls import reverse

from ...queries.accounts import find_user
from ...services.reset_links import reset_parts
from ._builds import stop


class Command(BaseCommand):
    """``reset_password USERNAME [--address URL]``.

    A link and not a password: whoever runs the server need not know anybody's password, it
    works where there is no terminal to type at, and it is worthless once used.
    """

    help = "Print a link with which a user sets a new password. It works once, within a day."

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("username", help="as the user signs in")
        parser.add_argument(
            "--address",
            default="http://127.0.0.1:8000",
            help="where the server is reached, like https://ledger.example",
        )

    def handle(self, **options: Any) -> None:
        address = options["address"].rstrip("/")
        if not address.startswith(("http://", "https://")):
            stop(self, "An address begins with http:// or https://, like https://ledger.example.")
        user = find_user(options["username"])
        if user is None:
            stop(self, f"No user is called “{options['username']}”: check the spelling.")
        if not user.is_active:
            stop(self, f"The account “{options['username']}” is switched off.")
        hours = settings.PASSWORD_RESET_TIMEOUT // 3600
        self.stdout.write(address + reverse("password_new", kwargs=reset_parts(user)))
        self.stdout.write(f"It works once, within {hours} hours. Give it to nobody else.")
