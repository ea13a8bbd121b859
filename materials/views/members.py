"""Members of a build, and inviting more."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from .. import access
from ..choices import Role
from ..forms.members import InviteForm, NewOwnerForm, PersonForm, RoleForm, days_left
from ..models import Build, Member
from ..queries.members import (
    get_invitation,
    get_member,
    is_last_owner,
    list_members,
    list_open_invitations,
    membership_of,
)
from ..queries.sharing import list_open_links_of
from ..services import members as services
from ..services.errors import LedgerError
from ..services.invitations import invite, revoke_invitation
from .base import build_view, page
from .editing import edit, posted, press


def _list_url(build: Build) -> str:
    return reverse("members", args=[build.pk])


@build_view()
def members(request: HttpRequest, build: Build) -> HttpResponse:
    """Who belongs to the build; for its owner also who is invited."""
    now = timezone.now()
    owns = access.role_on(request.user, build) == Role.OWNER
    return page(
        request,
        build,
        "members/list.html",
        section="members",
        members=list(list_members(build)),
        own=membership_of(build, request.user),
        owns=owns,
        invitations=[
            (row, days_left(row.expires_at, now)) for row in list_open_invitations(build, now)
        ]
        if owns
        else [],
    )


@never_cache
@build_view(owns=True)
def member_invite(request: HttpRequest, build: Build) -> HttpResponse:
    """Make an invitation; its link is shown in the answer, and never again."""
    form = InviteForm(posted(request), build=build)
    if form.is_bound and form.is_valid():
        try:
            made, secret = invite(
                actor=request.user, build=build, now=timezone.now(), **form.values()
            )
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
        else:
            link = request.build_absolute_uri(reverse("join_link", args=[secret]))
            return page(
                request, build, "members/link.html", section="members", made=made, link=link
            )
    return page(
        request,
        build,
        "page_form.html",
        section="members",
        title="Invite somebody",
        intro="You get a link to send. The first person who opens it can join.",
        form=form,
        submit_label="Make link",
        cancel_url=_list_url(build),
        status=422 if form.is_bound else 200,
    )


@require_POST
@build_view(owns=True)
def invitation_revoke(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Take an invitation back."""
    found = get_invitation(build, pk)

    def revoke() -> str:
        revoke_invitation(actor=request.user, build=build, invitation=found, now=timezone.now())
        return "Revoked. The link no longer works."

    return press(request, revoke, _list_url(build))


@build_view(owns=True)
def member_role(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Give a member another part."""
    member = get_member(build, pk)
    form = RoleForm(posted(request), build=build, initial={"role": member.role})
    labels = _links_that_end(build, member)

    def save(valid: Any) -> None:
        role = Role(valid.cleaned_data["role"])
        services.change_role(
            actor=request.user, build=build, member=member, role=role, now=timezone.now()
        )

    return edit(
        request,
        build,
        form=form,
        save=save,
        title=f"Role of {member.user.get_username()}",
        intro=f"As a viewer, these share links end: {labels}." if labels else "",
        section="members",
        back=_list_url(build),
        done="Saved.",
    )


@build_view(owns=True)
def member_owner(request: HttpRequest, build: Build) -> HttpResponse:
    """Make another member the owner."""
    own = membership_of(build, request.user)
    form = NewOwnerForm(posted(request), build=build, own=own)

    def save(valid: Any) -> None:
        services.change_owner(
            actor=request.user, build=build, to=valid.cleaned_data["member"], now=timezone.now()
        )

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Pass ownership on",
        intro=(
            "The member you choose becomes the owner, and you become a co-builder. Then only "
            "the new owner can invite, remove and change roles."
        ),
        submit_label="Pass ownership on",
        section="members",
        back=_list_url(build),
        done="Ownership passed on.",
    )


@build_view()
def member_person(request: HttpRequest, build: Build) -> HttpResponse:
    """Say which of the build's people one is."""
    own = membership_of(build, request.user)
    if own is None:
        raise Member.DoesNotExist
    form = PersonForm(
        posted(request),
        build=build,
        role=own.role,
        shown=request.user.first_name or request.user.get_username(),
        member=own,
    )

    def save(valid: Any) -> None:
        services.link_person(actor=request.user, build=build, member=own, **valid.choice())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Your name here",
        section="members",
        back=_list_url(build),
        done="Saved.",
    )


@build_view(owns=True)
def member_remove(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Ask, then take a member out."""
    member = get_member(build, pk)
    if member.user == request.user:
        return redirect("member_leave", build.pk)
    name = member.user.get_username()

    def act() -> None:
        services.remove_member(actor=request.user, build=build, member=member, now=timezone.now())

    return _confirm(
        request,
        build,
        act=act,
        title=f"Remove {name}?",
        lines=[
            f"{name} will no longer see this build. What {name} recorded stays, and the "
            "history still names who did it.",
            "A running timer stops, and its hours are logged.",
            *_links_said(build, member),
        ],
        label=f"Remove {name}",
        last=is_last_owner(member),
        after=_list_url(build),
        done=f"{name} is no longer a member.",
    )


@build_view()
def member_leave(request: HttpRequest, build: Build) -> HttpResponse:
    """Ask, then end one's own membership."""
    own = membership_of(build, request.user)
    if own is None:
        raise Member.DoesNotExist

    def act() -> None:
        services.leave(actor=request.user, build=build, now=timezone.now())

    return _confirm(
        request,
        build,
        act=act,
        title="Leave build?",
        lines=[
            f"You will no longer see {build} any more, unless its owner invites you "
            "again. What you recorded stays, and the history still names you.",
            *_links_said(build, own),
        ],
        label="Leave",
        last=is_last_owner(own),
        after=reverse("builds"),
        done=f"You have left {build}.",
    )


def _links_that_end(build: Build, member: Member) -> str:
    """For whom the open share links are that a member made."""
    return "; ".join(link.label for link in list_open_links_of(build, member.user))


def _links_said(build: Build, member: Member) -> list[str]:
    labels = _links_that_end(build, member)
    return [f"These share links end: {labels}. The owner can make new ones."] if labels else []


def _confirm(
    request: HttpRequest,
    build: Build,
    *,
    act: Any,
    title: str,
    lines: list[str],
    label: str,
    last: bool,
    after: str,
    done: str,
) -> HttpResponse:
    """The page that asks; where it cannot be done, the page that says what to do first."""
    refused = last
    if last:
        lines = [services.LAST_OWNER]
    elif request.method == "POST":
        try:
            act()
        except LedgerError as error:
            lines, refused = [str(error)], True
        else:
            messages.success(request, done)
            return redirect(after)
    return page(
        request,
        build,
        "members/confirm.html",
        section="members",
        title="The last owner stays" if last else title,
        message=lines,
        refused=refused,
        last=last,
        confirm_label=label,
        cancel_url=_list_url(build),
        status=422 if refused and request.method == "POST" else 200,
    )
