"""The way in to a ledger on which nobody has an account yet.

``open_way`` makes a secret each time the program is started, and the one before ends. Its digest
stands in the database, so that every process knows it, among what serves for a while only and is
in no backup. It works once, and never when there is an account, however that came about.
"""

import secrets
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from ..models import Attempt
from ..queries.accounts import FIRST, has_accounts
from .accounts import make_account
from .invitations import SECRET_BYTES, digest_of


class NoWay(LookupError):
    """The secret is not the newest one, was used, or there is an account: answered alike."""


@transaction.atomic
def open_way(*, now: datetime) -> str | None:
    """A new secret, which is stored nowhere; None when there is an account."""
    Attempt.objects.filter(what=FIRST).delete()
    if has_accounts():
        return None
    secret = secrets.token_urlsafe(SECRET_BYTES)
    Attempt.objects.create(what=FIRST, who=digest_of(secret), at=now)
    return secret


@transaction.atomic
def make_first_account(*, digest: str, username: str, password: str, shown_name: str = "") -> User:
    """Use the secret up and make the account.

    Raises NoWay, or LedgerError for a name that cannot be; then the secret is not used up.
    """
    # Of two at once only one finds it there.
    taken, _ = Attempt.objects.filter(what=FIRST, who=digest).delete()
    if not taken or has_accounts():
        raise NoWay
    return make_account(username=username, password=password, shown_name=shown_name)
