"""Deadlines of a build, and how a member is told of them: a calendar address, and mail."""

import hashlib
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from .. import access
from ..calc.deadlines import zone_words
from ..exchange.calendar import write_calendar
from ..forms.alerts import MailForm
from ..models import Alerts, Build, Member
from ..queries.deadlines import get_alerts, in_order, list_due, list_events
from ..queries.members import membership_of
from ..services.alerts import make_address, revoke_address, want_mail
from ..services.sharing import note_opened
from .base import build_view, page
from .editing import edit, posted
from .sharing import PRIVATE, wrong_token

# A calendar program asks every hour or so; it may keep what it has and ask whether that holds.
FEED = PRIVATE | {"Cache-Control": "private, no-cache"}


def _url(build: Build) -> str:
    return reverse("deadlines", args=[build.pk])


def _member(request: HttpRequest, build: Build) -> Member:
    """The membership of whoever asks. Raises Http404 for an administrator who is no member."""
    member = membership_of(build, request.user)
    if member is None:
        raise Http404
    return member


@build_view()
def deadlines(request: HttpRequest, build: Build) -> HttpResponse:
    """What ends and what must be fetched, and how one is told of it."""
    now = timezone.now()
    member = membership_of(build, request.user)
    return page(
        request,
        build,
        "deadlines/list.html",
        section="purchases",
        title="Deadlines",
        rows=in_order(list_due(build, now), now),
        member=member,
        alerts=get_alerts(member),
        can_send=settings.CAN_SEND_MAIL,
        zone=zone_words(build.time_zone),
    )


@never_cache
@build_view()
def calendar_make(request: HttpRequest, build: Build) -> HttpResponse:
    """Make or renew the address; the answer to the form is the only page that ever shows it."""
    member = _member(request, build)
    had_one = get_alerts(member).token_hash is not None
    if request.method == "POST":
        token = make_address(member=member, now=timezone.now())
        address = request.build_absolute_uri(reverse("calendar", args=[token]))
        made = page(
            request,
            build,
            "deadlines/made.html",
            section="purchases",
            title="Calendar address",
            address=address,
            had_one=had_one,
        )
        for name, value in PRIVATE.items():
            made.headers[name] = value
        return made
    return page(
        request,
        build,
        "deadlines/make.html",
        section="purchases",
        title="Make a new calendar address" if had_one else "Make a calendar address",
        had_one=had_one,
        cancel_url=_url(build),
    )


@build_view()
def calendar_revoke(request: HttpRequest, build: Build) -> HttpResponse:
    """Ask, then end one's calendar address."""
    member = _member(request, build)
    if request.method == "POST":
        revoke_address(member=member)
        messages.success(request, "Revoked. The calendar address no longer works.")
        return redirect("deadlines", build.pk)
    return page(
        request,
        build,
        "page_confirm.html",
        section="purchases",
        title="Revoke the calendar address?",
        message=["Your calendar gets no more deadlines of this build. What it has may stay there."],
        confirm_label="Revoke it",
        cancel_url=_url(build),
    )


@build_view()
def deadline_mail(request: HttpRequest, build: Build) -> HttpResponse:
    """Ask for mail the day before a deadline, or for no more."""
    member = _member(request, build)
    alerts = get_alerts(member)
    form = MailForm(posted(request), initial={"wants_mail": alerts.wants_mail})

    def save(valid: Any) -> None:
        site = request.build_absolute_uri("/").rstrip("/")
        want_mail(member=member, wanted=valid.cleaned_data["wants_mail"], site=site)

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Mail before deadlines",
        section="purchases",
        back=_url(build),
        done="Saved.",
        guarded=False,
        cautions=_why_no_mail(request),
    )


def _why_no_mail(request: HttpRequest) -> list[str]:
    if not settings.CAN_SEND_MAIL:
        return ["This server sends no mail. Ask whoever runs it, or use the calendar address."]
    if not getattr(request.user, "email", ""):
        return ["Your account has no e-mail yet. Add it on the page Account."]
    return []


@csrf_exempt  # it changes nothing for anybody; without this a POST would be answered 403
@login_not_required
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """The deadlines of a calendar address, the same for whoever has it; sets no cookie."""
    try:
        alerts = access.open_calendar(token)
    except access.NotFound:
        answer = wrong_token(request)
    else:
        if request.method in ("GET", "HEAD"):
            answer = _feed(request, alerts)
        else:
            answer = HttpResponseNotAllowed(["GET", "HEAD"])
    for name, value in FEED.items():
        answer.headers[name] = value
    return answer


def _feed(request: HttpRequest, alerts: Alerts) -> HttpResponse:
    now, build = timezone.now(), alerts.member.build
    events = list_events(build, now)
    addresses = {
        event.purchase.pk: request.build_absolute_uri(
            reverse("purchase", args=[build.pk, event.purchase.pk])
        )
        for event in events
    }
    body = write_calendar(build, events, addresses)
    if request.method == "GET":
        note_opened(alerts, now)
    whole = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    whole.headers["ETag"] = etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    return get_conditional_response(request, etag=etag, response=whole) or whole
