"""Send mail about what is due today or tomorrow; run it by a timer, every hour or every day."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from ...services.reminders import send_reminders
from ._builds import stop


class Command(BaseCommand):
    """``send_reminders``: each deadline is told each member once, however often it runs."""

    help = "Mail members who want it what is due today or tomorrow, each deadline once."

    def handle(self, **options: Any) -> None:
        if not settings.CAN_SEND_MAIL:
            stop(self, "Mail is not set up: set EMAIL_URL first.")
        sent = send_reminders(timezone.now())
        self.stdout.write(
            f"Mails sent: {sent.mails}. Not sent, tried again next time: {sent.failed}."
        )
