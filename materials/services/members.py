"""Who belongs to a build: changing roles, leaving, removing, changing the owner.

What somebody did stays: their entries are the build's, and the history names them. ``access``
narrows what a request sees; here and in ``invitations`` the owner is asked for again under the
build's lock. Share links end when who made them leaves or only reads: they know the addresses.
The last owner can neither leave nor be made less. Membership is never undone: an
editor could give himself another role by it.
"""

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from ..access import EDITORS, require_owner
from ..choices import AccountEvents, Role
from ..models import Build, Invitation, Member, Person, Timer
from ..queries.labour import last_labour
from ..queries.members import get_member, is_last_owner, membership_of
from ..queries.sharing import list_open_links_of
from .account_log import note_event
from .builds import get_or_add_person
from .errors import LedgerError
from .history import remove_record, save_values
from .labour import stop_timer
from .ledger import lock_build
from .sharing import revoke_link

LAST_OWNER = "A build needs an owner. Pass ownership on to another member first, or invite one."


@transaction.atomic
def add_member(*, actor: User, build: Build, user: User, role: Role) -> Member:
    """Make a user a member. Raises LedgerError for one who is a member already."""
    lock_build(build)
    if membership_of(build, user) is not None:
        raise LedgerError(f"{user.get_username()} is a member of this build already.")
    member = Member(build=build)
    save_values(actor=actor, build=build, record=member, values={"user": user, "role": role})
    return member


@transaction.atomic
def change_role(*, actor: User, build: Build, member: Member, role: Role, now: datetime) -> Member:
    """Give a member another part. Raises LedgerError when no owner would be left."""
    lock_build(build)
    require_owner(actor, build)
    member = get_member(build, member.pk)
    if role != Role.OWNER and is_last_owner(member):
        raise LedgerError(LAST_OWNER, "role")
    _set_role(actor, build, member, role, now)
    return member


@transaction.atomic
def change_owner(*, actor: User, build: Build, to: Member, now: datetime) -> None:
    """Make another member the owner, and the actor a co-builder. Raises LedgerError."""
    lock_build(build)
    require_owner(actor, build)
    to, own = get_member(build, to.pk), membership_of(build, actor)
    if own is not None and own.pk == to.pk:
        raise LedgerError("You are the owner already: choose another member.", "member")
    _set_role(actor, build, to, Role.OWNER, now)
    if own is not None and own.role == Role.OWNER:
        _set_role(actor, build, own, Role.CO_BUILDER, now)


@transaction.atomic
def remove_member(*, actor: User, build: Build, member: Member, now: datetime) -> None:
    """Take a member out. Raises LedgerError for the last owner."""
    lock_build(build)
    require_owner(actor, build)
    _remove(actor, build, get_member(build, member.pk), now)


@transaction.atomic
def leave(*, actor: User, build: Build, now: datetime) -> None:
    """End one's own membership. Raises LedgerError for the last owner."""
    lock_build(build)
    member = membership_of(build, actor)
    if member is None:
        raise LedgerError("You are not a member of this build.")
    _remove(actor, build, member, now)


@transaction.atomic
def link_person(
    *,
    actor: User,
    build: Build,
    member: Member,
    person_pk: int | None = None,
    person_name: str = "",
) -> Member:
    """Say which of the build's people a member is: one that is there, a new one, or none.

    Raises LedgerError for one that another member is, and for a viewer who would add one.
    """
    lock_build(build)
    if person_pk is not None:
        person = Person.objects.filter(build=build, pk=person_pk).first()
        if person is None:
            raise LedgerError("That person was deleted meanwhile. Choose another.", "person")
    elif person_name.strip() and member.role not in EDITORS:
        raise LedgerError("You can read this build but not add people to it.", "name")
    else:
        person = get_or_add_person(actor=actor, build=build, name=person_name)
    if person is not None:
        others = Member.objects.filter(person=person).exclude(pk=member.pk).select_related("user")
        taken = others.first()
        if taken is not None:
            raise LedgerError(
                f"{person.name} is {taken.user.get_username()} already: choose another, "
                "or enter a name that can be told apart.",
                "person" if person_pk is not None else "name",
            )
    save_values(actor=actor, build=build, record=member, values={"person": person})
    return member


def _set_role(actor: User, build: Build, member: Member, role: Role, now: datetime) -> None:
    was = member.role
    save_values(actor=actor, build=build, record=member, values={"role": role})
    if was == Role.OWNER and role != Role.OWNER:
        _revoke_made_by(build, member.user, now)
    if role not in EDITORS:
        _end_links_of(actor, build, member)
        _close_timer(actor, build, member, now)


def _remove(actor: User, build: Build, member: Member, now: datetime) -> None:
    if is_last_owner(member):
        raise LedgerError(LAST_OWNER)
    _close_timer(actor, build, member, now)
    _revoke_made_by(build, member.user, now)
    _end_links_of(actor, build, member)
    remove_record(actor=actor, build=build, record=member)


def _close_timer(actor: User, build: Build, member: Member, now: datetime) -> None:
    """Log what a running timer has timed: its owner could not stop it any more."""
    if not Timer.objects.filter(build=build, user=member.user).exists():
        return
    last = last_labour(build, member.user)
    person = member.person or (last.person if last is not None else None)
    if person is None:
        name = member.user.get_username()[:80]
        person = get_or_add_person(actor=actor, build=build, name=name)
        assert person is not None
    stop_timer(
        actor=actor,
        build=build,
        person=person,
        at=now,
        user=member.user,
        note="Timed until the membership ended. Correct it if it ran too long.",
    )


def _end_links_of(actor: User, build: Build, member: Member) -> None:
    """End the share links that a member made, who knows their addresses; tell every owner."""
    links = list_open_links_of(build, member.user)
    if not links:
        return
    for link in links:
        revoke_link(actor=actor, build=build, link=link)
    labels = "; ".join(link.label for link in links)
    about = f"{build}: {labels}. {member.user.get_username()} made them."
    owners = Member.objects.filter(build=build, role=Role.OWNER).exclude(pk=member.pk)
    for owner in owners.select_related("user"):
        note_event(user=owner.user, what=AccountEvents.LINKS_ENDED, about=about)


def _revoke_made_by(build: Build, user: User, now: datetime) -> None:
    """No way back in by a link that a former owner kept."""
    Invitation.objects.filter(build=build, created_by=user, used_at=None, revoked_at=None).update(
        revoked_at=now
    )
