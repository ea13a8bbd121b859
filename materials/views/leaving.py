"""Taking along all that is tied to one's account."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from ..exchange.account_file import write_account
from ..queries.own_data import stamp_of_own
from .files import ZIP, plain_name
from .long_work import long_file


@never_cache
def account_export(request: HttpRequest) -> HttpResponse:
    """Profile, memberships, sessions, log, entries and photos of the account as one file."""
    user = request.user
    name = plain_name(user.get_username()) or "account"
    return long_file(
        request,
        None,
        lambda stream, tell: write_account(user, stream, tell),
        kind="account",
        name=f"{name}, {timezone.localdate()}.zip",
        content_type=ZIP,
        title="Export account",
        steps="Parts written",
        stamp=stamp_of_own(user),
    )
