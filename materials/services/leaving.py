"""Deleting an account, so that what it recorded stays and who it was does not.

Its row stays as “former member 12”, by its key: the history, undoing and backups lean on it. The
name cannot be signed in with, and nobody can choose it, since usernames hold no spaces. Name,
e-mail, password, sessions, keys, log and memberships go; names by which the account stood in a
build's records, and summaries that tell them, are rewritten in the history as well. What people
typed into notes stays as it was typed.
"""

import re
from copy import copy
from datetime import datetime

from axes.utils import reset as forget_failures
from django.apps import apps
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, QuerySet

from ..models import (
    AccountEvent,
    Change,
    HeldPhoto,
    Member,
    OpenSession,
    Passkey,
    Person,
    RecoveryCode,
    SecondFactor,
    SentForm,
    Timer,
)
from ..models.who_and_when import Signed
from ..queries.accounts import FORMER
from ..queries.members import list_only_owned
from ..queries.records import find_named
from .account_log import NOWHERE, Place, where_words
from .errors import LedgerError
from .mail import send_notice
from .members import leave

# What is the account's alone, and goes whole.
_OWN = (
    OpenSession, AccountEvent, SecondFactor, RecoveryCode, Passkey, SentForm, HeldPhoto, Timer,
    Member,
)  # fmt: skip
# Records that name people: by which link, and between what the summary tells the name.
_NAMING = {
    "labour": {"person": (r"^\S+ ", r" \S+ h$")},
    "hand-over": {"giver": (r"^\S+, ", " to "), "receiver": (" to ", "$")},
}


class OnlyOwner(LedgerError):
    """Builds would have no owner: they must go to somebody else first, or be deleted."""


def delete_account(*, user: User, now: datetime, place: Place = NOWHERE) -> str:
    """Delete an account; returns what it is called from now on.

    Raises OnlyOwner while a build has no other owner. It cannot be undone.
    """
    with transaction.atomic():
        user = get_user_model().objects.select_for_update().get(pk=user.pk)
        if list_only_owned(user):
            raise OnlyOwner("Pass these builds on first, or delete them. You are the only owner.")
        was, name = copy(user), f"{FORMER}{user.pk}"
        for member in Member.objects.filter(user=user).select_related("build").order_by("build"):
            leave(actor=user, build=member.build, now=now)
        _rename_persons(user, name)
        _rename_in_history(user, name)
        for model in _OWN:
            model._default_manager.filter(user=user).delete()
        _forget(user, name)
    forget_failures(username=was.get_username())
    send_notice(
        user=was,
        told="Your account was deleted.",
        about="What you recorded stays in its builds, without your name.",
        place=where_words(place),
    )
    return name


def _forget(user: User, name: str) -> None:
    user.username, user.first_name, user.last_name, user.email = name, "", "", ""
    user.is_active = user.is_staff = user.is_superuser = False
    user.last_login = None
    user.set_unusable_password()
    user.save()
    user.groups.clear()
    user.user_permissions.clear()


def _rename_persons(user: User, name: str) -> None:
    """Call whoever the account was in the records of its builds by the new name."""
    # How each membership stood at its end tells who the member was.
    ends = {change.record_id: change for change in _of_members(user)}
    for change in ends.values():
        (row, *_) = change.after or change.before or [{"fields": {}}]
        found = Person.objects.filter(pk=row["fields"].get("person"), member=None)
        person = found.filter(build=change.build_id).select_related("build").first()
        if person is not None:
            _rename_person(person, _free_name(person, name.capitalize()))


def _of_members(user: User) -> QuerySet[Change]:
    """The history of the account's memberships, the oldest line first."""
    is_own = Q(before__0__fields__user=user.pk) | Q(after__0__fields__user=user.pk)
    return Change.objects.filter(is_own, record_type="member").order_by("pk")


def _free_name(person: Person, name: str) -> str:
    """The new name as it can be in a build: no two people are called alike."""
    wanted, count = name, 1
    while (found := find_named(Person, person.build, wanted)) is not None and found != person:
        count += 1
        wanted = f"{name} ({count})"
    return wanted


def _rename_person(person: Person, name: str) -> None:
    """Rename a person, in what the history keeps of that person too."""
    told = Change.objects.filter(build=person.build_id)
    names = {person.name}
    for change in told.filter(record_type="person", record_id=person.pk):
        for row in [*(change.before or []), *(change.after or [])]:
            names.add(row["fields"]["name"])
            row["fields"]["name"] = name
        change.summary = name
        change.save(update_fields=["summary", "before", "after"])
    for change in list(told.filter(_links_to(person.pk), record_type__in=_NAMING)):
        summary = _retold(change, person.pk, names, name)
        if summary != change.summary:
            Change.objects.filter(pk=change.pk).update(summary=summary[:300])
    Person.objects.filter(pk=person.pk).update(name=name)


def _links_to(person: int) -> Q:
    """Lines of history whose record is linked to a person, before or after."""
    found = Q()
    for part in (part for parts in _NAMING.values() for part in parts):
        for side in ("before", "after"):
            found |= Q(**{f"{side}__0__fields__{part}": person})
    return found


def _retold(change: Change, person: int, names: set[str], name: str) -> str:
    """The summary of a line with another name where the record names the person."""
    summary = change.summary
    fields = [rows[0]["fields"] for rows in (change.before, change.after) if rows]
    for part, (ahead, behind) in _NAMING[change.record_type].items():
        if any(each.get(part) == person for each in fields):
            for was in names:
                summary = re.sub(
                    f"({ahead}){re.escape(was)}({behind})", rf"\g<1>{name}\g<2>", summary, count=1
                )
    return summary


def _rename_in_history(user: User, name: str) -> None:
    """Sign by the new name what the account signed, and name it so where others did something."""
    for model in apps.get_app_config("materials").get_models():
        if issubclass(model, Signed):
            model._default_manager.filter(actor=user).update(actor_name=name)
    was = user.get_username()
    for change in _of_members(user):
        if change.summary.startswith(f"{was} ("):
            change.summary = name + change.summary.removeprefix(was)
            change.save(update_fields=["summary"])
    made = f" {was} made them."
    for event in AccountEvent.objects.filter(about__endswith=made).exclude(user=user):
        event.about = f"{event.about.removesuffix(made)} {name} made them."[:300]
        event.save(update_fields=["about"])
