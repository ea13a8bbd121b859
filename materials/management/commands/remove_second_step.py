"""Take the second step off an account whose owner lost the phone and the recovery codes."""

from typing import Any

from django.core.management.base import BaseCommand

from ...queries.accounts import find_user
from ...services.account_log import COMMAND
from ...services.second_step import turn_off
from ._builds import stop


class Command(BaseCommand):
    """``remove_second_step USERNAME``: the password stays, the account's log tells of it."""

    help = (
        "Take the second step off an account. First make sure by voice or in "
        "person that it is its owner who asks."
    )

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("username", help="as the user signs in")

    def handle(self, **options: Any) -> None:
        user = find_user(options["username"])
        if user is None:
            stop(self, f"No user is called “{options['username']}”: check the spelling.")
        if not turn_off(user=user, place=COMMAND):
            stop(self, f"The account “{options['username']}” has no second step.")
        self.stdout.write(f"“{options['username']}” now signs in with the password alone.")
