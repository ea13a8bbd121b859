"""Recording what a form says once, however often it arrives.

A template that records writes ``{% load once %}{% form_token %}`` inside its form, and its view
saves once. The token (``SentForm``, unique by user) is written in the transaction of the record,
so of two requests on any processes one waits and finds the other. The same content leads to what
was recorded; other content is refused with the form as typed; what a service refuses frees the
token. Tokens are pruned after 400 days and belong in no workbook and no backup.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from ..models import SentForm
from .errors import LedgerError

# Longer than a browser keeps a page, over a winter without building, and sends it again.
KEPT = timedelta(days=400)
PRUNED_AT_ONCE = 100
# One form in so many looks for old ones.
PRUNED_EACH = 20


@dataclass(frozen=True)
class Recorded:
    """Where to see what was recorded, and whether that had been done before."""

    address: str
    is_repeat: bool = False


def record_once(*, actor: User, token: str, content: str, write: Callable[[], str]) -> Recorded:
    """Run ``write``, which records something and returns its address, unless it was run before.

    ``token`` names the form as it was shown to ``actor``, ``content`` is a digest of what was
    sent in it. Token and record are written in one transaction, and no two rows hold the same
    token of a user: of two requests at once, on whichever processes, one waits for the other
    and then finds its row. What ``write`` raises undoes both, so a refused form can be corrected
    and sent again. Raises LedgerError when the form was recorded with another content.
    """
    with transaction.atomic():
        try:
            with transaction.atomic():
                sent = SentForm.objects.create(user=actor, token=token, content=content)
        except IntegrityError:
            before = SentForm.objects.get(user=actor, token=token)
            if before.content != content:
                raise LedgerError(
                    "This page was saved already, and it has changed since. To log this "
                    "too, save again. To change what was saved, open it from its list."
                ) from None
            return Recorded(before.address, is_repeat=True)
        if sent.pk % PRUNED_EACH == 0:
            _forget_old(actor)
        sent.address = write()
        sent.save(update_fields=["address"])
        return Recorded(sent.address)


def _forget_old(actor: User) -> None:
    """Drop what is too old to arrive again; rows another request is dropping are left to it.

    Only the oldest are looked at, by key, so that a year of forms is not read each time.
    """
    oldest = SentForm.objects.select_for_update(skip_locked=True).filter(user=actor).order_by("pk")
    limit = timezone.now() - KEPT
    rows = oldest.values_list("pk", "sent_at")[:PRUNED_AT_ONCE]
    if old := [pk for pk, sent_at in rows if sent_at < limit]:
        SentForm.objects.filter(pk__in=old).delete()
