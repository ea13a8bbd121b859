"""One build many times over, by the database itself."""

from django.db import connection, models, transaction
from django.db.models import Max

from materials.models import Build
from materials.queries.rows import list_build_models

# Rows that one statement writes at most, so that no statement takes minutes.
AT_ONCE = 200


def multiply_build(build: Build, times: int) -> None:
    """Write so many more builds with the same rows; the build must be the only one there is.

    Every key of a copy is that of the first one and a multiple of the highest key of its table, so
    that links need no looking up.
    """
    tables = list_build_models()
    strides = {model: _highest(model) for model in tables}
    for first in range(1, times + 1, AT_ONCE):
        last = min(first + AT_ONCE - 1, times)
        with transaction.atomic(), connection.cursor() as cursor:
            for model in tables:
                if strides[model]:
                    cursor.execute(_statement(model, strides), [first, last, strides[model]])
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for model in tables:
                table = model._meta.db_table
                cursor.execute(
                    f"SELECT setval(pg_get_serial_sequence('{table}', 'id'),"
                    f" (SELECT coalesce(max(id), 1) FROM {table}))"
                )


def _highest(model: type[models.Model]) -> int:
    return model._default_manager.aggregate(highest=Max("pk"))["highest"] or 0


def _statement(model: type[models.Model], strides: dict[type[models.Model], int]) -> str:
    table = model._meta.db_table
    columns, values = [], []
    for field in model._meta.concrete_fields:
        columns.append(f'"{field.column}"')
        target = model if field.primary_key else field.related_model
        moved = f" + copies.n * {strides[target]}" if target in strides else ""
        values.append(f'own."{field.column}"{moved}')
    numbers = (
        "WITH RECURSIVE copies(n) AS (SELECT %s UNION ALL SELECT n + 1 FROM copies WHERE n < %s)"
    )
    if connection.vendor == "postgresql":
        numbers = numbers.replace("SELECT %s", "SELECT %s::bigint", 1)
    return (
        f'{numbers} INSERT INTO "{table}" ({", ".join(columns)}) SELECT {", ".join(values)}'
        f' FROM "{table}" AS own CROSS JOIN copies WHERE own."{model._meta.pk.column}" <= %s'
    )
