"""An account's own log, and the mail that tells its owner of what matters.

Only the account reads its log. Of an address it keeps the network, not the machine; of a
device what its browser calls itself. The newest ``KEPT`` lines stay.
"""

from dataclasses import dataclass

from django.contrib.auth.models import User
from django.utils import timezone

from ..choices import AccountEvents
from ..models import AccountEvent
from .mail import send_notice

KEPT = 500
# What somebody else may have done who got in: worth a mail.
TOLD = {
    AccountEvents.PASSWORD: "The password of your account was changed.",
    AccountEvents.EMAIL: "The e-mail of your account was changed.",
    AccountEvents.WRONG_CODE: "Somebody typed your password, but not your code.",
    AccountEvents.FACTOR_ON: "Your account now asks for a second step at sign-in.",
    AccountEvents.FACTOR_OFF: "Your account asks for no second step at sign-in any more.",
    AccountEvents.CODES: "New recovery codes were made for your account.",
    AccountEvents.CODE_USED: "A recovery code was used to sign in to your account.",
    AccountEvents.PASSKEY_ADDED: "A passkey was added to your account.",
    AccountEvents.PASSKEY_ENDED: "A passkey of your account was removed.",
    AccountEvents.PASSKEY_COPIED: "A passkey was refused: it may be a copy of yours.",
    AccountEvents.LINKS_ENDED: "Share links of your build ended.",
}


@dataclass(frozen=True)
class Place:
    """From where something was done: device as its browser calls itself, shortened address."""

    device: str = ""
    address: str = ""


NOWHERE = Place()
# What whoever runs the server does by command.
COMMAND = Place(device="a command on the server")


def note_event(
    *,
    user: User,
    what: AccountEvents,
    place: Place = NOWHERE,
    about: str = "",
    also_to: str = "",
    again: bool = True,
) -> None:
    """Write a line to the account's log, and a mail where it is one of ``TOLD``.

    ``also_to`` is a second address for the mail, as the one the account had until now.
    ``again``: whether to mail although the last line says the same of the same place.
    """
    is_news = again or not _is_last(user, what, place)
    AccountEvent.objects.create(
        user=user,
        what=what,
        about=about[:300],
        device=place.device,
        address=place.address,
        at=timezone.now(),
    )
    older = AccountEvent.objects.filter(user=user).values_list("pk", flat=True)[KEPT : KEPT + 1]
    if oldest := list(older):
        AccountEvent.objects.filter(user=user, pk__lte=oldest[0]).delete()
    if what in TOLD and is_news:
        send_notice(
            user=user, told=TOLD[what], about=about, place=where_words(place), also_to=also_to
        )


def where_words(place: Place) -> str:
    """A place in words; "" where nothing is known of it."""
    return ", ".join(part for part in (place.device, place.address) if part)


def _is_last(user: User, what: AccountEvents, place: Place) -> bool:
    last = AccountEvent.objects.filter(user=user).first()
    return last is not None and (last.what, last.address) == (what, place.address)
