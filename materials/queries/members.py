"""Reading who belongs to a build, and who is invited."""

from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db.models import Exists, OuterRef, QuerySet

from ..choices import Role
from ..models import Build, Invitation, Member, Person

LONGEST_INVITATION = timedelta(days=30)


def list_members(build: Build) -> QuerySet[Member]:
    """Members, owners first, then by when they joined."""
    rows = Member.objects.filter(build=build).select_related("user", "person")
    return rows.order_by(*_BY_ROLE, "joined_at", "pk")


# “owner” is the last of the roles by its letters, “co-builder” the first.
_BY_ROLE = ("-role",)


def get_member(build: Build, pk: int) -> Member:
    """A member of the build. Raises Member.DoesNotExist."""
    return Member.objects.select_related("user", "person").get(build=build, pk=pk)


def membership_of(build: Build, user: User) -> Member | None:
    """The user's own membership; None for an administrator who is no member."""
    return Member.objects.filter(build=build, user=user).select_related("person").first()


def list_memberships(user: User) -> QuerySet[Member]:
    """The user's memberships by the name of the build."""
    return (
        Member.objects.filter(user=user)
        .select_related("build", "person")
        .order_by("build__name", "pk")
    )


def list_open_invitations(build: Build, now: datetime) -> QuerySet[Invitation]:
    """Invitations that would still let somebody in, the newest first."""
    return Invitation.objects.filter(
        build=build, used_at__isnull=True, revoked_at__isnull=True, expires_at__gt=now
    ).select_related("created_by")


def get_invitation(build: Build, pk: int) -> Invitation:
    """An invitation of the build. Raises Invitation.DoesNotExist."""
    return Invitation.objects.get(build=build, pk=pk)


def find_invitation(digest: str, now: datetime) -> Invitation | None:
    """The invitation of a secret's digest, if it would still let somebody in."""
    return (
        Invitation.objects.filter(
            digest=digest,
            used_at__isnull=True,
            revoked_at__isnull=True,
            expires_at__gt=now,
            # Further away than any is made for: the clock was set back since.
            expires_at__lt=now + 2 * LONGEST_INVITATION,
        )
        .select_related("build", "created_by")
        .first()
    )


def list_free_persons(build: Build, but_for: Member | None = None) -> QuerySet[Person]:
    """People of the build that no member is, besides the one that ``but_for`` is."""
    free = Person.objects.filter(build=build, member__isnull=True)
    if but_for is not None and but_for.person_id is not None:
        free = free | Person.objects.filter(pk=but_for.person_id)
    return free


def own_person_name(build: Build, user: User) -> str:
    """Under which name the user pays and works on the build; empty when that is not said."""
    member = membership_of(build, user)
    return member.person.name if member is not None and member.person is not None else ""


def is_last_owner(member: Member) -> bool:
    """Whether the build would have no owner without this member."""
    others = Member.objects.filter(build=member.build_id, role=Role.OWNER).exclude(pk=member.pk)
    return member.role == Role.OWNER and not others.exists()


def list_only_owned(user: User) -> list[Build]:
    """Builds that would have no owner without the user, by name."""
    others = Member.objects.filter(build=OuterRef("pk"), role=Role.OWNER).exclude(user=user)
    own = Build.objects.filter(members__user=user, members__role=Role.OWNER)
    return list(own.exclude(Exists(others)).order_by("name", "pk"))
