"""Keys that nothing else will ever get."""

from django.db import connection, models


def reserve_keys(model: type[models.Model], count: int) -> list[int]:
    """That many new keys of a model, ascending; the database's own counter is moved past them.

    Called inside a transaction.
    """
    if not count:
        return []
    table, column = model._meta.db_table, model._meta.pk.column
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, %s)) FROM generate_series(1, %s)",
                [f'"{table}"', column, count],
            )
            return sorted(row[0] for row in cursor.fetchall())
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        row = cursor.fetchone()
        last = row[0] if row else 0
        cursor.execute(
            "UPDATE sqlite_sequence SET seq = %s WHERE name = %s"
            if row
            else "INSERT INTO sqlite_sequence (seq, name) VALUES (%s, %s)",
            [last + count, table],
        )
    return list(range(last + 1, last + count + 1))
