"""Putting a backup's rows back, each as it was.

The tables are first brought to the shape they had in the backup, then filled in one transaction,
then brought up to date: so every migration must have a way back. Fields that keep a time use
``default=timezone.now``, never ``auto_now``, so that a restored row keeps its own.
"""

from collections.abc import Iterable, Iterator
from typing import IO, Any

from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import DataError, IntegrityError, connection, models, transaction
from django.db.migrations.executor import MigrationExecutor

from ..queries.rows import is_empty, list_all_models
from .errors import LedgerError

BATCH = 1000
Tables = Iterable[tuple[str, list[str], Iterable[list[Any]]]]
Nodes = list[tuple[str, str]]


def refuse_full(*, replace: bool) -> None:
    """Raises LedgerError when the database holds something and may not be emptied."""
    if not replace and not is_empty():
        raise LedgerError(
            "This database already holds accounts or builds. Restore into an empty one, "
            "or add --replace to empty it first."
        )


def restore_rows(*, tables: Tables, migrations: Nodes, replace: bool) -> int:
    """Put every row of a backup in place of what the database holds; returns how many.

    The tables are brought to the shape they had in the backup, filled in one transaction, and
    brought up to date. Raises LedgerError when the database holds something and may not be
    emptied, or when the rows do not fit.
    """
    refuse_full(replace=replace)
    executor = MigrationExecutor(connection)
    unknown = [node for node in migrations if node not in executor.loader.graph.nodes]
    if unknown:
        raise LedgerError(
            "A newer version of the program made this backup. Upgrade this one first."
        )
    executor.migrate(migrations)
    state = MigrationExecutor(connection).loader.project_state(migrations).apps
    count = 0
    try:
        with transaction.atomic():
            _empty(state)
            for label, columns, rows in tables:
                count += write_rows(_find(state, label), columns, rows)
            connection.check_constraints()
    except (IntegrityError, DataError, ValidationError, ValueError, TypeError, ArithmeticError):
        raise LedgerError(
            "The rows of this backup do not fit together, so nothing was changed. Use "
            "another copy of it, or an older backup."
        ) from None
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes())
    return count


def _find(state: Any, label: str) -> type[models.Model]:
    try:
        model: type[models.Model] = state.get_model(label)
    except (LookupError, ValueError):
        raise LedgerError(
            f"This backup holds rows of {label!r}, which are not known here."
        ) from None
    return model


def _empty(state: Any) -> None:
    """Delete every row of the tables as they are now; whoever is signed in signs in again."""
    Session.objects.all().delete()
    there = set(connection.introspection.table_names())
    for model in reversed(list_all_models()):
        # A table that a later version brought is not there in the shape of an older backup.
        if model._meta.db_table in there:
            rows = state.get_model(model._meta.label)._default_manager.all()
            rows._raw_delete(rows.db)


def write_rows(model: type[models.Model], columns: list[str], rows: Iterable[list[Any]]) -> int:
    """Write rows under their own keys and set the counter of keys after them."""
    fields = {field.attname: field for field in model._meta.concrete_fields}
    chosen = [fields[name] for name in columns if name in fields]
    if len(chosen) < len(columns):
        raise ValueError("a column that is not known")
    count = 0
    for batch in _batches(rows):
        model._default_manager.bulk_create(
            model(**{f.attname: _read(f, value) for f, value in zip(chosen, row, strict=True)})
            for row in batch
        )
        count += len(batch)
    for statement in connection.ops.sequence_reset_sql(no_style(), [model]):
        with connection.cursor() as cursor:
            cursor.execute(statement)
    return count


def _read(field: "models.Field[Any, Any]", value: Any) -> Any:
    return value if isinstance(field, models.JSONField) else field.to_python(value)


def _batches(rows: Iterable[list[Any]]) -> Iterator[list[list[Any]]]:
    batch: list[list[Any]] = []
    for row in rows:
        batch.append(row)
        if len(batch) == BATCH:
            yield batch
            batch = []
    if batch:
        yield batch


def restore_upload(*, name: str, source: IO[bytes]) -> None:
    """Put a stored file back under its own name."""
    if default_storage.exists(name):
        default_storage.delete(name)
    kept = default_storage.save(name, File(source, name=name))
    if kept != name:
        default_storage.delete(kept)
        raise LedgerError(f"The file {name!r} could not be put back under its name.")
