"""End the sessions of an account, or of everybody, as when a phone was lost or a key leaked."""

from typing import Any

from django.core.management.base import BaseCommand

from ...queries.accounts import find_user
from ...services.account_log import COMMAND
from ...services.sessions import end_all_sessions, end_other_sessions
from ._builds import stop


class Command(BaseCommand):
    """``sign_out USERNAME`` or ``sign_out --everybody``: the logs of the accounts tell of it."""

    help = "End the sessions of an account, or of everybody. Who signs in again may go on."

    def add_arguments(self, parser: Any) -> None:
        whose = parser.add_mutually_exclusive_group(required=True)
        whose.add_argument("username", nargs="?", help="as the user signs in")
        whose.add_argument("--everybody", action="store_true", help="every account")

    def handle(self, **options: Any) -> None:
        name = options["username"]
        if options["everybody"]:
            count = end_all_sessions(place=COMMAND)
        elif (user := find_user(name)) is None:
            stop(self, f"No user is called “{name}”: check the spelling.")
        else:
            count = end_other_sessions(user=user, this=None, place=COMMAND)
        self.stdout.write(f"Sessions ended: {count}.")
