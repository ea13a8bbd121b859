"""Entries that a device kept while there was no signal: its ticket, and answers it can read.

An entry is sent to the address of its own form, as that form would be, with its token and a
header that names the account it was made under. So there is one way to record a thing, and one
page for each fault; here that answer is only said again in a form that a script reads:

| answer | what it means |
|---|---|
| 200 ``address``, ``text``, ``repeat`` | recorded, now or before |
| 409 ``faults`` | what it was about has changed |
| 422 ``faults`` | refused, with the faults of its boxes; or only looked at |
| 401 | signed out, or in under another account |
| 410 | that account was deleted |
| 403 ``old`` | the ticket is too old; without it, no right to this |
| any other | as it is: gone, too large, too many, no room, out of order |
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import resolve_url
from django.utils import timezone
from django.views.decorators.http import require_safe

from .. import access
from ..queries.accounts import is_former
from ..queries.kept import stamp_of
from ..queries.sent_forms import list_receipts

# Key of the account that made an entry, and how many seconds ago that was by the device's clock.
ACCOUNT = "Outbox-Account"
AGE = "Outbox-Age"
# Older entries are not sent: tokens are kept but little longer.
OLDEST = timedelta(days=365)
_REDIRECTS = (301, 302)


def is_from_outbox(request: HttpRequest) -> bool:
    """Whether a device sends what it kept."""
    return ACCOUNT in request.headers


def written_at(request: HttpRequest) -> datetime:
    """When an entry was written: now, or as long ago as the device says that kept it."""
    age = request.headers.get(AGE, "") if is_from_outbox(request) else ""
    seconds = int(age) if age.isascii() and age.isdigit() and len(age) < 9 else 0
    return timezone.now() - min(timedelta(seconds=seconds), OLDEST)


class OutboxAnswers:
    """Says the answers to what a device kept in a form that its script can read."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        return _as_read(request, response) if is_from_outbox(request) else response

    def process_view(self, request: HttpRequest, *view: Any) -> HttpResponse | None:
        """Never record under one account what was written under another."""
        if not is_from_outbox(request):
            return None
        if request.headers[ACCOUNT] != str(request.user.pk):
            # Nobody signs in to a deleted account any more: the device may stop asking.
            return HttpResponse(status=410 if is_former(request.headers[ACCOUNT]) else 401)
        return None


def _as_read(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    if isinstance(response, JsonResponse):
        response[ACCOUNT] = request.headers[ACCOUNT]
        return response
    status, said = response.status_code, _said(request, response)
    if said is None:
        status, said = 401, {}
    elif "address" in said:
        status = 200
    elif status in _REDIRECTS:
        status = 409
    elif status == 200:
        # A page that was only looked at: nothing of it is recorded, so nothing may be dropped.
        status = 422
    answer = JsonResponse(said, status=status)
    if "Retry-After" in response.headers:
        answer["Retry-After"] = response.headers["Retry-After"]
    # A portal that stands in the way may answer anything, but not with this.
    answer[ACCOUNT] = request.headers[ACCOUNT]
    return answer


def _said(request: HttpRequest, response: HttpResponse) -> dict[str, Any] | None:
    """What an answer comes to; None where it leads to the sign-in."""
    recorded: dict[str, Any] | None = getattr(response, "recorded", None)
    if recorded is not None:
        again = "This was saved already and counts once."
        return {**recorded, "text": again} if recorded["repeat"] else recorded
    if response.status_code in _REDIRECTS and not hasattr(response, "faults"):
        address = response.headers["Location"]
        leads_to_sign_in = address.startswith(resolve_url(settings.LOGIN_URL))
        return None if leads_to_sign_in else {"address": address, "text": "", "repeat": False}
    # Django marks a request whose form was one of ours.
    is_old = response.status_code == 403 and not getattr(request, "csrf_processing_done", False)
    return {"faults": getattr(response, "faults", []), **({"old": True} if is_old else {})}


def tell(request: HttpRequest, response: HttpResponse, faults: list[str]) -> HttpResponse:
    """Note on an answer why nothing was recorded; for who looks at pages, say it on the next."""
    response.faults = faults  # type: ignore[attr-defined]
    if response.status_code in _REDIRECTS and not is_from_outbox(request):
        for fault in faults:
            messages.error(request, fault)
    return response


@require_safe
@login_not_required
def outbox(request: HttpRequest) -> HttpResponse:
    """The ticket: who is signed in, a mark for forms, and what became of earlier ones.

    ``?token=`` for each entry that waits; the answer has the address of those recorded.
    """
    user = request.user
    if not user.is_authenticated:
        return JsonResponse({}, status=401)
    return JsonResponse(
        {
            "account": str(user.pk),
            "name": user.get_username(),
            "mark": get_token(request),
            "receipts": list_receipts(user, request.GET.getlist("token")),
            "builds": {str(build.pk): stamp_of(build) for build in _kept(request)},
        }
    )


def _kept(request: HttpRequest) -> list[Any]:
    """The builds that the device keeps and its user may still see."""
    wanted = [key for key in request.GET.getlist("build") if key.isascii() and key.isdigit()]
    keys = [int(key) for key in wanted[:20] if len(key) < 10]
    return list(access.list_builds(request.user).filter(pk__in=keys)) if keys else []
