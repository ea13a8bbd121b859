"""Who may see and do what. Rights narrow the queryset before anything else runs."""

from datetime import date
from hmac import compare_digest

from django.contrib.auth.models import AnonymousUser, User
from django.db.models import QuerySet

from .choices import Role
from .models import Alerts, Build, Member, ShareLink, hash_token

EDITORS = (Role.OWNER, Role.CO_BUILDER)


class NotFound(LookupError):
    """There is no such thing, or this user may not know of it: answered alike."""


class NotAllowed(PermissionError):
    """The user may see the build but not do this."""


def list_builds(user: User | AnonymousUser) -> QuerySet[Build]:
    """Builds the user is a member of; a superuser sees all."""
    if not user.is_active or not user.is_authenticated:
        return Build.objects.none()
    if user.is_superuser:
        return Build.objects.all()
    return Build.objects.filter(members__user=user)


def get_build(user: User | AnonymousUser, build_id: int) -> Build:
    """One build of the user's. Raises NotFound for anybody else's."""
    build = list_builds(user).filter(pk=build_id).first()
    if build is None:
        raise NotFound("This build does not exist, or nobody shared it with you.")
    return build


def list_editable(user: User | AnonymousUser) -> QuerySet[Build]:
    """Builds the user may record in."""
    seen = list_builds(user)
    if user.is_superuser:
        return seen
    mine = Member.objects.filter(user=user.pk, role__in=EDITORS)
    return seen.filter(pk__in=mine.values("build_id"))


def role_on(user: User, build: Build) -> Role | None:
    """The user's role on a build; a superuser counts as owner."""
    if user.is_superuser:
        return Role.OWNER
    role = Member.objects.filter(build=build, user=user).values_list("role", flat=True).first()
    return None if role is None else Role(role)


def list_roles(user: User) -> dict[int, Role]:
    """The user's roles by build; a superuser's are not listed."""
    rows = Member.objects.filter(user=user).values_list("build_id", "role")
    return {build: Role(role) for build, role in rows}


def may_edit(user: User, build: Build) -> bool:
    """Whether the user may record and change things."""
    return role_on(user, build) in EDITORS


def require_editor(user: User, build: Build) -> None:
    """Raises NotAllowed for a viewer."""
    if not may_edit(user, build):
        raise NotAllowed("You can read this build but not change it. Ask its owner.")


def require_owner(user: User, build: Build) -> None:
    """Raises NotAllowed for anybody but the owner."""
    if role_on(user, build) != Role.OWNER:
        raise NotAllowed("Only the build's owner can do this.")


def open_link(token: str, on: date) -> ShareLink:
    """The share link of a token that still opens on a day.

    Raises NotFound alike for one that never was, is revoked or has expired. The row is found
    by the hash of the token: how long a search takes can at most tell of hashes, and a hash
    opens nothing.
    """
    wanted = hash_token(token)
    link = ShareLink.objects.filter(token_hash=wanted).select_related("build").first()
    is_known = compare_digest(wanted, link.token_hash if link is not None else "0" * len(wanted))
    if link is None or not is_known or link.revoked_at is not None:
        raise NotFound("This link does not exist.")
    if link.expires_on is not None and link.expires_on < on:
        raise NotFound("This link does not exist.")
    return link


def open_calendar(token: str) -> Alerts:
    """The calendar address of a token, while its member belongs to the build.

    Raises NotFound alike for one that never was, was revoked or renewed, or whose account is
    closed; found by its hash as ``open_link`` does.
    """
    wanted = hash_token(token)
    rows = Alerts.objects.filter(token_hash=wanted, member__user__is_active=True)
    found = rows.select_related("member__build").first()
    is_known = compare_digest(wanted, (found and found.token_hash) or "0" * len(wanted))
    if found is None or not is_known:
        raise NotFound("This address does not exist.")
    return found
