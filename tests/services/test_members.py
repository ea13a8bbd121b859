"""Parts, leaving, removing and handing over; what somebody did stays."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.utils import timezone

from materials import access
from materials.choices import Role
from materials.models import Change, Invitation, LabourEntry, Member, Person, Timer
from materials.queries.history import list_differences
from materials.services import members
from materials.services.errors import LedgerError
from materials.services.invitations import invite
from materials.services.labour import start_timer
from materials.services.records import not_undone, undo_change

NOW = timezone.now()


@pytest.fixture
def by(cast, build):
    """The owner, at his build."""
    return {"actor": cast["owner"], "build": build}


def member(build, user) -> Member:
    return Member.objects.get(build=build, user=user)


def roles(build) -> dict[str, str]:
    return {row.user.username: row.role for row in build.members.all()}


def last(build) -> Change:
    return Change.objects.filter(build=build).first()


def test_a_part_is_changed_and_the_history_says_so(by, build, cast):
    members.change_role(**by, member=member(build, cast["viewer"]), role=Role.CO_BUILDER, now=NOW)
    assert roles(build)["viewer"] == "co-builder"
    change = last(build)
    assert (change.record_type, change.action, change.actor) == ("member", "changed", cast["owner"])
    assert [tuple(row) for row in list_differences(change)] == [("Role", "viewer", "co-builder")]


@pytest.mark.parametrize("role", [Role.CO_BUILDER, Role.VIEWER])
def test_the_last_owner_is_not_made_less(role, by, build, cast):
    own = member(build, cast["owner"])
    with pytest.raises(LedgerError, match="Pass ownership on") as refused:
        members.change_role(**by, member=own, role=role, now=NOW)
    assert refused.value.field == "role"
    assert roles(build)["owner"] == "owner"


def test_the_last_owner_neither_leaves_nor_is_removed(by, build, cast):
    with pytest.raises(LedgerError, match="Pass ownership on"):
        members.leave(**by, now=NOW)
    with pytest.raises(LedgerError, match="Pass ownership on"):
        members.remove_member(**by, member=member(build, cast["owner"]), now=NOW)
    assert roles(build)["owner"] == "owner"


def test_one_of_two_owners_may_go(by, build, cast):
    members.change_role(**by, member=member(build, cast["viewer"]), role=Role.OWNER, now=NOW)
    members.leave(**by, now=NOW)
    assert roles(build) == {"co_builder": "co-builder", "viewer": "owner"}


def test_ownership_is_handed_over(by, build, cast):
    members.change_owner(**by, to=member(build, cast["co_builder"]), now=NOW)
    assert roles(build) == {"owner": "co-builder", "co_builder": "owner", "viewer": "viewer"}
    with pytest.raises(access.NotAllowed):
        members.change_owner(**by, to=member(build, cast["viewer"]), now=NOW)


def test_ownership_is_not_handed_to_oneself(by, build, cast):
    with pytest.raises(LedgerError, match="owner already"):
        members.change_owner(**by, to=member(build, cast["owner"]), now=NOW)


def test_an_administrator_gives_a_build_an_owner(build, cast, django_user_model):
    """A superuser counts as owner and is no member."""
    admin = django_user_model.objects.create_superuser("admin", password="pw-for-tests")
    members.change_owner(actor=admin, build=build, to=member(build, cast["viewer"]), now=NOW)
    assert roles(build) == {"owner": "owner", "co_builder": "co-builder", "viewer": "owner"}
    with pytest.raises(LedgerError, match="not a member"):
        members.leave(actor=admin, build=build, now=NOW)


@pytest.mark.parametrize("act", ["change_role", "change_owner", "remove_member"])
@pytest.mark.parametrize("part", ["co_builder", "viewer", "stranger"])
def test_only_an_owner_changes_who_belongs(part, act, build, cast):
    """Asked again inside the transaction: the right may be gone since the page was opened."""
    rest = {
        "change_role": {"member": member(build, cast["viewer"]), "role": Role.CO_BUILDER},
        "change_owner": {"to": member(build, cast["viewer"])},
        "remove_member": {"member": member(build, cast["viewer"])},
    }
    before = roles(build)
    with pytest.raises(access.NotAllowed):
        getattr(members, act)(actor=cast[part], build=build, now=NOW, **rest[act])
    assert roles(build) == before


def test_who_is_removed_sees_nothing_and_what_he_did_stays(entries, by, build, cast):
    his = {"actor": cast["co_builder"], "build": build}
    entry = type(entries)(**his).labour("Cob", 3)
    members.remove_member(**by, member=member(build, cast["co_builder"]), now=NOW)
    with pytest.raises(access.NotFound):
        access.get_build(cast["co_builder"], build.pk)
    assert LabourEntry.objects.filter(pk=entry.pk).exists()
    change = Change.objects.get(record_type="labour", record_id=entry.pk)
    assert change.actor == cast["co_builder"]
    assert (last(build).record_type, last(build).action) == ("member", "deleted")


def test_a_running_timer_is_logged_to_who_leaves(by, build, cast):
    his = {"actor": cast["co_builder"], "build": build}
    own = member(build, cast["co_builder"])
    members.link_person(**his, member=own, person_name="Cob")
    start_timer(**his, task=None, kind="sourcing", at=NOW - timedelta(hours=2))
    members.leave(**his, now=NOW)
    entry = LabourEntry.objects.get()
    assert (entry.person.name, entry.kind, entry.hours) == ("Cob", "sourcing", D(2))
    assert "Correct it" in entry.note
    assert not Timer.objects.exists()


def test_a_timer_of_somebody_of_no_name_is_logged_under_the_username(by, build, cast):
    his = {"actor": cast["co_builder"], "build": build}
    start_timer(**his, task=None, kind="sourcing", at=NOW - timedelta(hours=1))
    members.change_role(**by, member=member(build, cast["co_builder"]), role=Role.VIEWER, now=NOW)
    assert LabourEntry.objects.get().person.name == "co_builder"
    assert not Timer.objects.exists(), "a viewer could not stop it"


@pytest.mark.parametrize("how", ["change_owner", "removed"])
def test_no_link_that_a_former_owner_kept_lets_anybody_in(how, by, build, cast):
    made, _ = invite(**by, role="co-builder", note="", days=14, now=NOW)
    second = member(build, cast["co_builder"])
    if how == "change_owner":
        members.change_owner(**by, to=second, now=NOW)
    else:
        members.change_role(**by, member=second, role=Role.OWNER, now=NOW)
        members.remove_member(
            actor=cast["co_builder"], build=build, member=member(build, cast["owner"]), now=NOW
        )
    assert Invitation.objects.get(pk=made.pk).revoked_at is not None


def test_membership_is_not_changed_by_undoing(by, build, cast):
    """An editor could give himself another part, or come back, by undoing."""
    members.change_role(**by, member=member(build, cast["co_builder"]), role=Role.VIEWER, now=NOW)
    members.remove_member(**by, member=member(build, cast["co_builder"]), now=NOW)
    for change in Change.objects.filter(record_type="member"):
        assert not_undone(change)
        with pytest.raises(LedgerError, match="Undoing does not change members"):
            undo_change(**by, change=change)
    assert "co_builder" not in roles(build)


def test_a_member_is_one_of_the_people(by, build, cast, entries):
    entries.labour("Ann", 1)
    ann = Person.objects.get(name="Ann")
    own = member(build, cast["co_builder"])
    his = {"actor": cast["co_builder"], "build": build}
    members.link_person(**his, member=own, person_pk=ann.pk)
    assert member(build, cast["co_builder"]).person == ann
    viewer = member(build, cast["viewer"])
    for choice in ({"person_pk": ann.pk}, {"person_name": "ann"}):
        with pytest.raises(LedgerError):
            members.link_person(actor=cast["viewer"], build=build, member=viewer, **choice)
    members.link_person(**his, member=own)
    assert member(build, cast["co_builder"]).person is None


def test_a_person_of_another_build_is_nobody_here(by, build, other_build, cast):
    foreign = Person.objects.create(build=other_build, name="Far")
    own = member(build, cast["owner"])
    with pytest.raises(LedgerError, match="deleted meanwhile"):
        members.link_person(**by, member=own, person_pk=foreign.pk)


def test_a_viewer_adds_nobody_to_the_records(build, cast):
    own = member(build, cast["viewer"])
    with pytest.raises(LedgerError, match="not add people"):
        members.link_person(actor=cast["viewer"], build=build, member=own, person_name="Vee")
    assert not Person.objects.filter(name="Vee").exists()
