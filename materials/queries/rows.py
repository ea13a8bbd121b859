"""Every stored row as plain values, for a backup of everything or the file of one build."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.conf import settings
from django.contrib.auth import get_user_model
from django.db import connection, models, transaction
from django.db.migrations.loader import MigrationLoader

from ..models import Build, Change, Component, Move
from .transfers import ANOTHER

CHUNK = 2000
# What belongs to accounts of this server and not to a build that is carried elsewhere.
SERVER_ONLY = frozenset(
    {
        "member",
        "timer",
        "sharelink",
        "alerts",
        "reminder",
        "invitation",
        "importjob",
        "importrow",
        "importname",
        "importedrecord",
    }
)
# What serves for some days only and stands in no backup.
SHORT_LIVED = frozenset({"sentform", "attempt", "heldphoto", "opensession"})


@contextmanager
def consistent_read() -> Iterator[None]:
    """Everything read inside is of one moment, while others go on writing.

    SQLite: a deferred transaction reads one state of the write-ahead log and blocks nobody.
    PostgreSQL: REPEATABLE READ. Nothing may be written inside.
    """
    if connection.vendor == "postgresql":
        with transaction.atomic():
            # Inside another transaction (a test's) the level can no longer be set.
            if not connection.savepoint_ids:
                with connection.cursor() as cursor:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    if connection.in_atomic_block:
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def list_all_models() -> list[type[models.Model]]:
    """Accounts and every model of the program."""
    return [get_user_model(), *apps.get_app_config("materials").get_models()]


def list_kept_models() -> list[type[models.Model]]:
    """The models whose rows a backup keeps: accounts and all of the ledger."""
    return _kept(list_all_models())


def list_stored_models() -> list[type[models.Model]]:
    """The same as the database knows them: with the columns that it has before it is migrated."""
    stored = MigrationLoader(connection).project_state(list_migrations()).apps
    user = stored.get_model(settings.AUTH_USER_MODEL)
    ledger = [model for model in stored.get_models() if model._meta.app_label == "materials"]
    return _kept([user, *ledger])


def _kept(found: list[type[models.Model]]) -> list[type[models.Model]]:
    return [model for model in found if model._meta.model_name not in SHORT_LIVED]


def list_build_models() -> list[type[models.Model]]:
    """The models whose rows go with one build, the build itself first."""
    ledger = apps.get_app_config("materials").get_models()
    return [Build] + [
        model
        for model in ledger
        if model is not Build
        and model._meta.model_name not in SERVER_ONLY | SHORT_LIVED
        and (model is Move or path_to_build(model) is not None)
    ]


def which_of_build(model: type[models.Model], build: Build) -> models.Q:
    """The condition for rows of a build. Raises LookupError for a model that has none."""
    if model is Move:
        return models.Q(component__build=build) | models.Q(to_component__build=build)
    path = path_to_build(model)
    if path is None:
        raise LookupError(f"{model._meta.label} does not belong to a build.")
    return models.Q(**{path: build.pk})


def path_to_build(model: type[models.Model]) -> str | None:
    """The lookup that leads from a row to its build ("purchase__build"); None without one.

    Only links that a row cannot do without are followed.
    """
    if model is Build:
        return "pk"
    links = [
        field
        for field in model._meta.concrete_fields
        if isinstance(field, models.ForeignKey) and not field.null
    ]
    for link in links:
        if link.related_model is Build:
            return link.name
    for link in links:
        if link.related_model._meta.app_label != model._meta.app_label:
            continue
        onward = path_to_build(link.related_model)
        if onward is not None:
            return f"{link.name}__{onward}"
    return None


def list_columns(model: type[models.Model]) -> list[str]:
    """Names of the stored columns, as ``iterate_rows`` gives their values."""
    return [field.attname for field in model._meta.concrete_fields]


def iterate_rows(model: type[models.Model], build: Build | None = None) -> Iterator[list[Any]]:
    """Values of every row, or of those that belong to one build, in order of their keys."""
    rows = model._default_manager.order_by("pk")
    if build is not None:
        rows = rows.filter(which_of_build(model, build))
    columns = list_columns(model)
    own: set[int] = set()
    if build is not None and model is Move:
        own = set(Component.objects.filter(build=build).values_list("pk", flat=True))
    for row in rows.values_list(*columns).iterator(CHUNK):
        if build is not None and model is Move:
            yield _own_side(dict(zip(columns, row, strict=True)), own)
        elif build is not None and model is Change:
            yield _portable(dict(zip(columns, row, strict=True)))
        else:
            yield list(row)


def _portable(row: dict[str, Any]) -> list[Any]:
    """A line of history as it goes along: what stood in a record that stays here does not."""
    for name in ("before", "after"):
        models_named = {part["model"].rpartition(".")[2] for part in row[name] or ()}
        if models_named & SERVER_ONLY:
            row[name] = None
    return list(row.values())


def _own_side(row: dict[str, Any], own: set[int]) -> list[Any]:
    """A transfer between two builds as the one of them keeps it that is carried elsewhere.

    ``own``: keys of that build's components.
    """
    for component, text, quantity in (
        ("component_id", "quantity_text", "base_qty"),
        ("to_component_id", "to_text", "to_qty"),
    ):
        if row[component] is not None and row[component] not in own:
            row |= {component: None, text: "", quantity: None, "elsewhere": ANOTHER}
    return list(row.values())


def is_empty() -> bool:
    """Whether nothing at all was recorded yet: no account and no build, or not even tables."""
    if Build._meta.db_table not in connection.introspection.table_names():
        return True
    return not get_user_model()._default_manager.exists() and not Build.objects.exists()


def list_migrations() -> list[tuple[str, str]]:
    """The newest applied migration of each app: together they tell the shape of the tables."""
    loader = MigrationLoader(connection)
    applied = set(loader.applied_migrations) & loader.graph.nodes.keys()
    return sorted(
        node
        for node in applied
        if not any(
            child.key in applied and child.key[0] == node[0]
            for child in loader.graph.node_map[node].children
        )
    )
