"""Keeping what was done about a caution."""

from collections.abc import Iterable

from django.contrib.auth.models import User
from django.db import transaction

from ..models import Build, CautionNote, Component
from .history import save_values


@transaction.atomic
def note_caution(
    *, actor: User, build: Build, component: Component, code: str, dealt_with: str
) -> CautionNote:
    """Note that somebody dealt with a caution about a component, and how."""
    note = CautionNote(build=build, actor=actor, actor_name=actor.get_username())
    values = {"component": component, "code": code, "dealt_with": dealt_with}
    save_values(actor=actor, build=build, record=note, values=values)
    return note


@transaction.atomic
def note_cautions(
    *,
    actor: User,
    build: Build,
    components: Iterable[Component],
    code: str,
    dealt_with: str,
) -> list[CautionNote]:
    """Note the same about several components at once: each keeps its own, or none does."""
    return [
        note_caution(
            actor=actor, build=build, component=component, code=code, dealt_with=dealt_with
        )
        for component in components
    ]
