"""Deleting a build that nobody else belongs to, with everything recorded in it.

The one thing here that no history brings back; ``views`` asks for the build's name first. What
was moved to or from another build stays there, as moved to or from a build that is kept elsewhere.
"""

from graphlib import TopologicalSorter

from django.apps import apps
from django.contrib.auth.models import User
from django.core.files.storage import default_storage
from django.db import connection, models, transaction

from ..access import require_owner
from ..models import Build, Member, Move
from ..queries.rows import path_to_build, which_of_build
from ..queries.uploads import list_uploads
from .errors import LedgerError
from .history import note_change, take_snapshot
from .ledger import lock_build

OTHERS_ARE_IN_IT = "Others belong to this build. Pass it on to one of them, or remove them first."


def delete_build(*, actor: User, build: Build) -> None:
    """Delete a build, its records, history and files. Raises LedgerError while it has others."""
    with transaction.atomic():
        build = lock_build(build)
        require_owner(actor, build)
        if Member.objects.filter(build=build).exclude(user=actor).exists():
            raise LedgerError(OTHERS_ARE_IN_IT)
        _let_go_of_moves(actor, build)
        for model in _from_the_last():
            rows = model._default_manager.filter(which_of_build(model, build))
            # Row by row it would be refused: a purchase protects its component, and so on.
            rows._raw_delete(rows.db)
        connection.check_constraints()
        transaction.on_commit(lambda: _delete_files(build.pk))


def _let_go_of_moves(actor: User, build: Build) -> None:
    """Leave to other builds what was moved between them and this one."""
    for move in Move.objects.filter(which_of_build(Move, build)).order_by("pk"):
        before, other = take_snapshot(move), None
        if move.component is not None and move.component.build_id == build.pk:
            move.component, move.quantity_text, move.base_qty = None, "", None
            move.was_on_hand = False
        else:
            other = move.component
        if move.to_component is not None and move.to_component.build_id == build.pk:
            move.to_component, move.to_text, move.to_qty = None, "", None
        else:
            other = other or move.to_component
        if other is None:
            move.delete()
            continue
        move.elsewhere = build.name
        move.save()
        note_change(
            actor=actor, build=other.build, record=move, before=before, after=take_snapshot(move)
        )


def _from_the_last() -> list[type[models.Model]]:
    """Models whose rows go with a build, each before what it leads to; the build itself last."""
    found = [
        model
        for model in apps.get_app_config("materials").get_models()
        if path_to_build(model) is not None
    ]
    leads_to = {
        model: {
            field.related_model
            for field in model._meta.concrete_fields
            if field.is_relation and field.related_model in found and field.related_model != model
        }
        for model in found
    }
    return list(TopologicalSorter(leads_to).static_order())[::-1]


def _delete_files(build: int) -> None:
    for name in list_uploads(f"builds/{build}"):
        default_storage.delete(name)
