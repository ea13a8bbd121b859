"""Mail: the link for a new password, and notices about an account."""

import logging
from collections.abc import Callable
from threading import Thread

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils import timezone

from .reset_links import reset_parts

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


def send_notice(*, user: User, told: str, about: str, place: str, also_to: str = "") -> None:
    """Tell an account by mail what happened to it, aside; nothing where no mail can be sent.

    ``also_to``: a second address, that of before.
    """
    to = {address.lower(): address for address in (user.email, also_to) if address}
    if not settings.CAN_SEND_MAIL or not to:
        return
    told_of = {"user": user, "told": told, "about": about, "place": place}
    body = render_to_string("mail/notice.txt", told_of | {"at": timezone.now()})
    # One mail each, so that neither address learns of the other.
    mails = [EmailMessage(told.rstrip("."), body, to=[address]) for address in to.values()]

    def send() -> None:
        for mail in mails:
            _send(mail)

    _aside(send)


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
        log.error("Mail about an account was not sent: %s", type(error).__name__)
