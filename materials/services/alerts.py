"""How members are told of deadlines: their private calendar address, and mail the day before.

The address belongs to one member of one build: it ends with the membership, and who revokes one
need not renew those of other builds in every calendar.
"""

import secrets
from datetime import datetime

from django.db import transaction

from ..models import Alerts, Member, hash_token
from .sharing import TOKEN_BYTES


@transaction.atomic
def make_address(*, member: Member, now: datetime) -> str:
    """Make or renew a member's calendar address; gives its secret, of which the hash is kept.

    The one before it stops working.
    """
    token = secrets.token_urlsafe(TOKEN_BYTES)
    new = {"last_opened_at": None, "opened_count": 0}
    _save(member, token_hash=hash_token(token), made_at=now, **new)
    return token


@transaction.atomic
def revoke_address(*, member: Member) -> None:
    """End a member's calendar address for good; nothing happens where there is none."""
    Alerts.objects.filter(member=member).update(token_hash=None, made_at=None)


@transaction.atomic
def want_mail(*, member: Member, wanted: bool, site: str) -> None:
    """Send a member mail the day before, or no more; ``site``: where links in it lead."""
    _save(member, wants_mail=wanted, site=site)


def _save(member: Member, **values: object) -> None:
    Alerts.objects.update_or_create(member=member, defaults=values)
