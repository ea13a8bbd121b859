"""What became of forms that were sent: asked by a device whose answer was lost."""

from collections.abc import Sequence

from django.contrib.auth.models import User

from ..models import SentForm

MOST = 100


def list_receipts(user: User, tokens: Sequence[str]) -> dict[str, str]:
    """Address of what was recorded, by the token of the form that recorded it."""
    known = [token for token in tokens if token.isascii() and token.isprintable()][:MOST]
    rows = SentForm.objects.filter(user=user, token__in=known)
    return dict(rows.values_list("token", "address"))
