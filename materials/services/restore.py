"""Putting a backup's rows and photos back, each as it was, or nothing of it.

The rows go into a ledger made beside the one in use: its tables are made in the shape they had in
the backup, filled, and brought up to date, and every figure is worked out again. Then the photos
are placed, and only then it takes the place of the old one. So it does not matter what shape that
one has, and what refuses, or is killed, leaves it as it was. Fields that keep a time use
``default=timezone.now``, never ``auto_now``, so that a restored row keeps its own.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DataError, IntegrityError, connection, models, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from ..queries.health import check_every_ledger, list_unknown
from ..queries.rows import is_empty
from .errors import LedgerError
from .fresh_ledger import fresh_ledger
from .stored_files import placing

BATCH = 1000
ANOTHER_COPY = "Use another copy of the backup, or add --leave-out-photos. Nothing was changed."
Tables = Iterable[tuple[str, list[str], Iterable[list[Any]]]]
Nodes = list[tuple[str, str]]
# Name and what reads at most so many bytes of it.
Uploads = Iterable[tuple[str, Callable[[int], bytes]]]


@dataclass
class Choices:
    """What whoever restores has decided."""

    replace: bool = False
    accept_differences: bool = False
    leave_out_photos: bool = False


@dataclass
class Restored:
    """``kept``: the name under which the old ledger is kept; ``left_out``: why, of each photo."""

    rows: int = 0
    kept: str | None = None
    differences: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


class FiguresDiffer(LedgerError):
    """A backup whose stored figures do not follow from its facts; ``found`` lists them."""

    def __init__(self, found: list[str]):
        super().__init__(
            "Some figures of this backup differ, so nothing was changed. Use an older backup, or"
            " add --accept-differences to take this one."
        )
        self.found = found


def refuse_full(*, replace: bool) -> None:
    """Raises LedgerError when the database holds something and may not be replaced."""
    if replace:
        return
    if not is_empty():
        raise LedgerError(
            "This database already holds accounts or builds. Restore into an empty one, or add"
            " --replace: the backup takes its place, and it is kept beside."
        )
    for name in list_unknown():
        raise LedgerError(
            f"A newer version of the program changed this database ({name}). Add --replace: the"
            " backup takes its place, and it is kept beside."
        )


def restore_rows(
    *, tables: Tables, migrations: Nodes, uploads: Uploads = (), choices: Choices
) -> Restored:
    """Put every row and photo of a backup in place of what the database holds.

    Raises LedgerError when the database holds something and may not be replaced, when rows,
    figures or photos are not as they should be, or while the program runs; all is as it was then.
    """
    refuse_full(replace=choices.replace)
    loader = MigrationLoader(None)
    if any(node not in loader.graph.nodes for node in migrations):
        raise LedgerError(
            "A newer version of the program made this backup. Upgrade this one first."
        )
    keep = not is_empty() or bool(list_unknown())
    done = Restored()
    with fresh_ledger() as fresh:
        with fresh.opened():
            done.rows = _fill(tables, migrations)
            done.differences = check_every_ledger()[1]
        if done.differences and not choices.accept_differences:
            raise FiguresDiffer(done.differences)
        with placing() as place:
            for name, read in uploads:
                try:
                    place(name, read)
                except LedgerError as error:
                    if not choices.leave_out_photos:
                        raise LedgerError(f"{error} {ANOTHER_COPY}") from None
                    done.left_out.append(str(error))
            done.kept = fresh.take(keep=keep)
    _forget()
    return done


def _fill(tables: Tables, migrations: Nodes) -> int:
    """Make the tables as they were in the backup, fill them, and bring them up to date."""
    _forget()
    state = _make_tables(migrations)
    rows = 0
    try:
        with transaction.atomic():
            for label, columns, values in tables:
                rows += write_rows(_find(state, label), columns, values)
            connection.check_constraints()
    except (IntegrityError, DataError, ValidationError, ValueError, TypeError, ArithmeticError):
        raise LedgerError(
            "The rows of this backup do not fit together, so nothing was changed. Use "
            "another copy of it, or an older backup."
        ) from None
    call_command("migrate", verbosity=0, interactive=False)
    return rows


def _forget() -> None:
    """What this process remembers of rows is of another ledger."""
    ContentType.objects.clear_cache()
    cache.clear()


def _make_tables(migrations: Nodes) -> Any:
    """The tables as they stand after some migrations, without going through each of them."""
    loader = MigrationLoader(connection)
    state = loader.project_state(migrations).apps
    with connection.schema_editor() as editor:
        for model in state.get_models():
            if model._meta.can_migrate(connection):
                editor.create_model(model)
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    done = {node for target in migrations for node in loader.graph.forwards_plan(target)}
    for app, name in sorted(done):
        recorder.record_applied(app, name)
    return state


def _find(state: Any, label: str) -> type[models.Model]:
    try:
        model: type[models.Model] = state.get_model(label)
    except (LookupError, ValueError):
        raise LedgerError(
            f"This backup holds rows of {label!r}, which are not known here."
        ) from None
    return model


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
