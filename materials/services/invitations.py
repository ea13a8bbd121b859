"""Letting people in by a link that works once."""

import hashlib
import secrets
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction

from ..access import require_owner
from ..choices import INVITED_ROLES, Role
from ..models import Build, Change, Invitation, Member
from ..queries.members import find_invitation, membership_of
from .errors import LedgerError
from .ledger import lock_build
from .members import add_member, link_person

SECRET_BYTES = 32  # 256 bits
DAYS = (1, 3, 7, 14, 30)
DEFAULT_DAYS = 14
MAX_OPEN = 50


class NoInvitation(LookupError):
    """There is no such invitation, or not any more: answered alike."""


class MemberAlready(LedgerError):
    """The user is a member; the invitation was not used up."""


def digest_of(secret: str) -> str:
    """What is stored of a secret: its SHA-256, in hex."""
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def invite(
    *, actor: User, build: Build, role: str, note: str, days: int, now: datetime
) -> tuple[Invitation, str]:
    """Make an invitation; returns it and its secret, which is stored nowhere.

    Raises LedgerError for a role that no link may give, or when too many are open.
    """
    lock_build(build)
    require_owner(actor, build)
    if role not in dict(INVITED_ROLES):
        raise LedgerError("Pass ownership on to a member instead of by a link.", "role")
    if days not in DAYS:
        raise LedgerError("Choose how long the link works.", "days")
    is_open = {"used_at": None, "revoked_at": None, "expires_at__gt": now}
    if build.invitations.filter(**is_open).count() >= MAX_OPEN:
        raise LedgerError(f"{MAX_OPEN} invitations are open already. Revoke those you do not need.")
    secret = secrets.token_urlsafe(SECRET_BYTES)
    made = Invitation.objects.create(
        build=build,
        role=role,
        note=note,
        digest=digest_of(secret),
        created_by=actor,
        expires_at=now + timedelta(days=days),
    )
    _note(actor, made, "made")
    return made, secret


@transaction.atomic
def revoke_invitation(*, actor: User, build: Build, invitation: Invitation, now: datetime) -> None:
    """Let nobody in by it any more. Raises LedgerError when somebody came in already."""
    lock_build(build)
    require_owner(actor, build)
    rows = Invitation.objects.filter(pk=invitation.pk, build=build)
    if rows.filter(used_at=None, revoked_at=None).update(revoked_at=now):
        _note(actor, invitation, "revoked")
    elif rows.exclude(used_at=None).exists():
        raise LedgerError("Somebody joined by this link already. See the members.")


@transaction.atomic
def join(
    *,
    actor: User,
    digest: str,
    now: datetime,
    person_pk: int | None = None,
    person_name: str = "",
) -> Member:
    """Use an invitation up and become a member of its build.

    ``person_pk`` names one of the build's people, ``person_name`` a new one. Raises
    NoInvitation when it was used, revoked or expired, MemberAlready, or LedgerError for a
    person that another member is.
    """
    found = find_invitation(digest, now)
    if found is None:
        raise NoInvitation
    build = lock_build(found.build)
    if membership_of(build, actor) is not None:
        raise MemberAlready("You are a member of this build already.")
    # Of two at once only one finds it unused, whatever the other has read before.
    taken = Invitation.objects.filter(
        pk=found.pk, used_at=None, revoked_at=None, expires_at__gt=now
    ).update(used_at=now, used_by=actor)
    if not taken:
        raise NoInvitation
    member = add_member(actor=actor, build=build, user=actor, role=Role(found.role))
    if person_pk is not None or person_name.strip():
        link_person(
            actor=actor, build=build, member=member, person_pk=person_pk, person_name=person_name
        )
    return member


def _note(actor: User, invitation: Invitation, action: str) -> None:
    """A line of history without the rows: there is nothing in them to read or to undo."""
    Change.objects.create(
        build=invitation.build,
        actor=actor,
        actor_name=actor.get_username() if actor else "",
        action=action,
        record_type="invitation",
        record_id=invitation.pk,
        summary=str(invitation),
    )
