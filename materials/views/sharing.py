"""Share links: their list and forms for members, and the one page that needs no account."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.defaults import page_not_found

from .. import access
from ..choices import Role
from ..forms.sharing import ShareLinkForm
from ..models import Build, ShareLink
from ..queries.shared_sheet import get_shared_sheet
from ..queries.sharing import LeakedName, list_leaked_names, list_share_links, parts_of
from ..services.attempt_limits import TooMany
from ..services.errors import LedgerError
from ..services.sharing import (
    count_wrong_token,
    make_link,
    note_opened,
    revoke_link,
    save_link,
)
from ..tables.sharing import ShareLinkTable
from . import pictures
from .attempt_limits import address_of, seconds_until
from .base import build_view, page, show_list
from .editing import edit, posted

LEAKS_SHOWN = 8
# Nothing of the page is kept, found by a search engine, or told to where a link leads.
PRIVATE = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}
# The page runs no script, sends nothing, and needs the app's styles and mark alone.
SHARED_POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)


@build_view(edits=True)
def share_links(request: HttpRequest, build: Build) -> HttpResponse:
    """All links, for those who may close them."""
    is_owner = access.role_on(request.user, build) == Role.OWNER

    def table(*args: Any, **kwargs: Any) -> ShareLinkTable:
        return ShareLinkTable(*args, may_change=is_owner, **kwargs)

    return show_list(
        request,
        build,
        table_class=table,
        rows=list_share_links(build),
        section="sharing",
        title="Share links",
        intro=(
            "Anybody with a link can read this build's cost sheet without an account, and "
            "nothing else. It shows quantities, hours, and what you tick. The owner makes "
            "links. The owner and co-builders can revoke them. Openings within a minute "
            "count once."
        ),
        add_url=reverse("share_add", args=[build.pk]) if is_owner else None,
        add_label="Make share link",
    )


@build_view(edits=True)
def share_add(request: HttpRequest, build: Build) -> HttpResponse:
    """Make share link; the answer to the form is the only page that ever shows it."""
    access.require_owner(request.user, build)
    form = ShareLinkForm(posted(request), build=build)
    if request.method == "POST" and form.is_valid():
        try:
            link, token = make_link(actor=request.user, build=build, values=form.values())
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
        else:
            return _made(request, build, link, token)
    return page(
        request,
        build,
        "page_form.html",
        section="sharing",
        title="Make share link",
        intro=(
            "Anybody with the link can read the current cost sheet without signing in, and "
            "can pass the link on. It shows no notes, photos or receipts."
        ),
        cautions=_cautions(build, form),
        form=form,
        submit_label="Make link",
        cancel_url=reverse("share_links", args=[build.pk]),
        status=422 if form.is_bound else 200,
    )


def _made(request: HttpRequest, build: Build, link: ShareLink, token: str) -> HttpResponse:
    answer = page(
        request,
        build,
        "sharing/made.html",
        section="sharing",
        link=link,
        address=request.build_absolute_uri(reverse("shared", args=[token])),
        cautions=leak_texts(list_leaked_names(build, parts_of(link))),
    )
    return _private(answer)


def _cautions(build: Build, form: ShareLinkForm) -> list[str]:
    return leak_texts(list_leaked_names(build, form.parts()))


def _private(answer: HttpResponse) -> HttpResponse:
    for name, value in PRIVATE.items():
        answer.headers[name] = value
    return answer


def leak_texts(leaks: list[LeakedName]) -> list[str]:
    """Names that would show what the ticked parts leave out, in words."""
    texts = [
        f"The {leak.kind} “{leak.shown}” holds the name {leak.holds}, and shows it. "
        "Rename it if nobody should see that."
        for leak in leaks[:LEAKS_SHOWN]
    ]
    more = len(leaks) - len(texts)
    return [*texts, f"And {more} more names like these."] if more > 0 else texts


@build_view(edits=True)
def share_edit(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Change what a link shows, for whom, and until when."""
    access.require_owner(request.user, build)
    link = list_share_links(build).get(pk=pk)
    form = ShareLinkForm(posted(request), build=build, record=link)

    def save(valid: Any) -> None:
        save_link(actor=request.user, build=build, link=link, values=valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change share link",
        section="sharing",
        back=reverse("share_links", args=[build.pk]),
        done="Saved. The address is the same. The page shows what is ticked now.",
        intro="Its address stays the same and cannot be shown again.",
        cautions=_cautions(build, form),
    )


@build_view(edits=True)
def share_revoke(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Ask, then close a link for good: to close a leak no co-builder need wait for the owner."""
    link = list_share_links(build).get(pk=pk)
    if request.method == "POST":
        revoke_link(actor=request.user, build=build, link=link)
        messages.success(request, "Revoked. The link no longer works.")
        return redirect("share_links", build.pk)
    return page(
        request,
        build,
        "page_confirm.html",
        section="sharing",
        title="Revoke this link?",
        message=[
            f"The link for “{link.label}” will stop working for good. Whoever read or "
            "printed the page keeps what they have."
        ],
        confirm_label="Revoke it",
        cancel_url=reverse("share_links", args=[build.pk]),
    )


@csrf_exempt  # it changes nothing for anybody; without this a POST would be answered 403
@login_not_required
def shared(request: HttpRequest, token: str) -> HttpResponse:
    """The cost sheet of a link, the same for everybody who has it; sets no cookie."""
    try:
        link = access.open_link(token, timezone.localdate())
    except access.NotFound:
        answer = wrong_token(request)
    else:
        if request.method in ("GET", "HEAD"):
            answer = _sheet(request, link)
        else:
            answer = HttpResponseNotAllowed(["GET", "HEAD"])
        answer.headers["Content-Security-Policy"] = SHARED_POLICY
    return _private(answer)


def wrong_token(request: HttpRequest) -> HttpResponse:
    """The page of any address that is not there; a bare line for a host that tries too many."""
    try:
        count_wrong_token(address=address_of(request), at=timezone.now())
    except TooMany as error:
        return HttpResponse(
            "Too many broken addresses. Wait a minute, then open the link again.",
            status=429,
            content_type="text/plain; charset=utf-8",
            headers={"Retry-After": str(seconds_until(error.until))},
        )
    return page_not_found(request, Http404())


def _sheet(request: HttpRequest, link: ShareLink) -> HttpResponse:
    sheet = get_shared_sheet(link.build, parts_of(link), timezone.localdate())
    money = sheet.money
    drawn: dict[str, Any] = {
        "needs": pictures.needs_met(sheet.elements, money.currency if money else ""),
        "tasks": pictures.tasks(sheet.tasks),
    }
    if money is not None:
        drawn["elements"] = pictures.element_strips(money.elements)
        drawn["sources"] = pictures.source_shares([row.money for row in sheet.sources])
    context = {"sheet": sheet, "money": money, "pictures": drawn, "until": link.expires_on}
    # Rendered without the request: no user, message or form token can get into the page.
    answer = HttpResponse(render_to_string("shared/sheet.html", context))
    if request.method == "GET":
        note_opened(link, timezone.now())
    return answer
