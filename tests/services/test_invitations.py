"""A link lets one person in, once, for a while, and is stored nowhere."""

import base64
import json
from datetime import timedelta

import pytest
from django.core import serializers
from django.utils import timezone

from materials import access
from materials.models import Attempt, Change, Invitation, Person
from materials.services import invitations
from materials.services.errors import LedgerError

NOW = timezone.now()


@pytest.fixture
def by(cast, build):
    return {"actor": cast["owner"], "build": build}


@pytest.fixture
def make(by):
    """Make an invitation; returns its secret."""

    def invite(**values) -> str:
        values = {"role": "co-builder", "note": "Ben", "days": 14, "now": NOW} | values
        return invitations.invite(**by, **values)[1]

    return invite


def join(user, secret, **values):
    digest = invitations.digest_of(secret)
    return invitations.join(actor=user, digest=digest, **({"now": NOW} | values))


def test_the_secret_has_256_bits_and_only_its_digest_is_stored(make):
    secrets = {make() for _ in range(20)}
    assert len(secrets) == 20
    for secret in secrets:
        assert len(base64.urlsafe_b64decode(secret + "=")) == 32
    stored = serializers.serialize("json", [*Invitation.objects.all(), *Change.objects.all()])
    assert not [secret for secret in secrets if secret in stored]
    digests = set(Invitation.objects.values_list("digest", flat=True))
    assert digests == {invitations.digest_of(secret) for secret in secrets}


def test_the_digest_is_sha_256():
    # FIPS 180-2, appendix B.1: the message “abc” (from memory).
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert invitations.digest_of("abc") == expected


def test_joining_makes_a_member_and_uses_the_link_up(make, build, cast):
    secret = make(role="viewer")
    member = join(cast["stranger"], secret)
    assert (member.role, access.role_on(cast["stranger"], build)) == ("viewer", "viewer")
    used = Invitation.objects.get()
    assert (used.used_by, used.used_at) == (cast["stranger"], NOW)
    with pytest.raises(invitations.NoInvitation):
        join(cast["removed"], secret)
    assert access.role_on(cast["removed"], build) is None


def test_making_using_and_revoking_are_in_the_history(make, by, build, cast):
    secret = make()
    join(cast["stranger"], secret)
    make(note="")
    last = Invitation.objects.first()
    invitations.revoke_invitation(**by, invitation=last, now=NOW)
    lines = Change.objects.filter(build=build).values_list("record_type", "action", "summary")
    assert list(lines[:4]) == [
        ("invitation", "revoked", "Invitation as co-builder"),
        ("invitation", "made", "Invitation as co-builder"),
        ("member", "added", "stranger (co-builder)"),
        ("invitation", "made", "Invitation as co-builder for Ben"),
    ]


@pytest.mark.parametrize("days", [1, 14])
def test_a_link_works_until_its_time_is_over(days, make, cast):
    secret = make(days=days)
    end = NOW + timedelta(days=days)
    with pytest.raises(invitations.NoInvitation):
        join(cast["stranger"], secret, now=end)
    assert join(cast["stranger"], secret, now=end - timedelta(seconds=1))


def test_a_revoked_link_lets_nobody_in(make, by, cast):
    secret = make()
    invitations.revoke_invitation(**by, invitation=Invitation.objects.get(), now=NOW)
    with pytest.raises(invitations.NoInvitation):
        join(cast["stranger"], secret)


def test_a_used_link_is_not_revoked(make, by, cast):
    join(cast["stranger"], make())
    with pytest.raises(LedgerError, match="joined by this link already"):
        invitations.revoke_invitation(**by, invitation=Invitation.objects.get(), now=NOW)


@pytest.mark.parametrize("part", ["owner", "co_builder", "viewer"])
def test_who_is_a_member_uses_nothing_up(part, make, cast):
    with pytest.raises(invitations.MemberAlready):
        join(cast[part], make())
    assert Invitation.objects.get().used_at is None


def test_a_link_found_unused_by_two_lets_one_in(make, cast, monkeypatch, build):
    """Both have read it before either has written: what was read counts for nothing."""
    secret = make()
    read = Invitation.objects.select_related("build", "created_by").get()
    monkeypatch.setattr(invitations, "find_invitation", lambda digest, now: read)
    join(cast["stranger"], secret)
    with pytest.raises(invitations.NoInvitation):
        join(cast["removed"], secret)
    assert build.members.filter(user__in=[cast["stranger"], cast["removed"]]).count() == 1


def test_a_person_that_is_taken_leaves_the_link_unused(make, cast, build):
    ann = Person.objects.create(build=build, name="Ann")
    build.members.filter(user=cast["owner"]).update(person=ann)
    secret = make()
    with pytest.raises(LedgerError, match="Ann is owner already"):
        join(cast["stranger"], secret, person_pk=ann.pk)
    assert Invitation.objects.get().used_at is None
    assert access.role_on(cast["stranger"], build) is None
    member = join(cast["stranger"], secret, person_name="Sam")
    assert member.person.name == "Sam"


def test_no_link_gives_ownership(make):
    with pytest.raises(LedgerError, match="Pass ownership on"):
        make(role="owner")


@pytest.mark.parametrize("days", [0, -1, 2, 3650])
def test_only_the_offered_times(days, make):
    with pytest.raises(LedgerError, match="how long"):
        make(days=days)


def test_not_without_end(make, monkeypatch, by):
    monkeypatch.setattr(invitations, "MAX_OPEN", 2)
    make(), make()
    with pytest.raises(LedgerError, match="Revoke those"):
        make()
    invitations.revoke_invitation(**by, invitation=Invitation.objects.first(), now=NOW)
    assert make()


@pytest.mark.parametrize("part", ["co_builder", "viewer", "stranger"])
def test_only_an_owner_invites_and_revokes(part, make, build, cast):
    make()
    his = {"actor": cast[part], "build": build, "now": NOW}
    with pytest.raises(access.NotAllowed):
        invitations.invite(**his, role="viewer", note="", days=14)
    with pytest.raises(access.NotAllowed):
        invitations.revoke_invitation(**his, invitation=Invitation.objects.get())
    assert Invitation.objects.get().revoked_at is None


def test_an_address_is_not_kept_as_such(db):
    from materials.services.attempt_limits import UNKNOWN_LINKS, count_attempt

    count_attempt(limit=UNKNOWN_LINKS, who="203.0.113.9", at=NOW)
    assert "203.0.113" not in json.dumps(list(Attempt.objects.values("what", "who")))
