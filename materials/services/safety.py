"""Keeping what was done about a caution."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from ..models import Build, CautionNote, Component
from .history import save_values


@transaction.atomic
def note_caution(
    *, actor: AbstractBaseUser, build: Build, component: Component, code: str, dealt_with: str
) -> CautionNote:
    """Note that somebody dealt with a caution about a component, and how."""
    note = CautionNote(build=build, actor=actor, actor_name=actor.get_username())
    values = {"component": component, "code": code, "dealt_with": dealt_with}
    save_values(actor=actor, build=build, record=note, values=values)
    return note
