"""Mail: the link for a new password."""

import logging
from collections.abc import Callable
from threading import Thread

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.template.loader import render_to_string

from .accounts import reset_parts

log = logging.getLogger(__name__)


def send_reset_link(*, email: str, address_of: Callable[[dict[str, str]], str]) -> None:
    """Send a link to every account with this e-mail, to the address as the account has it.

    It is sent aside from the answer, which therefore tells neither by its words nor by its
    time whether there is such an account.
    """
    users = get_user_model().objects.filter(email__iexact=email, is_active=True)
    known = [user for user in users if user.email]

    # Writing a letter takes its time as well, so that is done aside too.
    def write() -> None:
        for user in known:
            _send(_mail(user, address_of(reset_parts(user))))

    _aside(write)


def _aside(work: Callable[[], None]) -> None:
    Thread(target=work).start()


def _mail(user: User, link: str) -> EmailMessage:
    body = render_to_string("mail/new_password.txt", {"user": user, "link": link})
    return EmailMessage("A new password for buildledger", body, to=[user.email])


def _send(mail: EmailMessage) -> None:
    try:
        mail.send()
    except Exception as error:
        # Whatever the mail server objects to: for whoever runs this, not for who asked.
        log.error("Mail for a new password was not sent: %s", type(error).__name__)
