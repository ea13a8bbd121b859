"""A database with no room left, one that may only be read, one that others hold."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from django.db import connection, connections

# As PostgreSQL answers when its disk is full.
_FULL = """
CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'could not extend file' USING ERRCODE = '53100'; END $$;
CREATE TRIGGER no_room BEFORE INSERT ON materials_purchase FOR EACH STATEMENT
EXECUTE FUNCTION no_room();
"""
_ROOM = "DROP TRIGGER no_room ON materials_purchase; DROP FUNCTION no_room();"


def _run(statement: str) -> int | None:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        row = cursor.fetchone() if cursor.description else None
    return row[0] if row else None


@contextmanager
def full() -> Iterator[None]:
    """The database cannot grow; what still fits into it can be written."""
    if connection.vendor == "postgresql":
        _run(_FULL)
    else:
        # Pages that earlier tests left empty would be filled first.
        _run("VACUUM")
        _run(f"PRAGMA max_page_count = {_run('PRAGMA page_count')}")
    try:
        yield
    finally:
        _run(_ROOM if connection.vendor == "postgresql" else "PRAGMA max_page_count = 4294967294")


@contextmanager
def read_only() -> Iterator[None]:
    """Nothing can be written to it."""
    name = "PRAGMA query_only"
    if connection.vendor == "postgresql":
        name = "SET default_transaction_read_only"
    _run(f"{name} = on")
    try:
        yield
    finally:
        _run(f"{name} = off")


@contextmanager
def held() -> Iterator[None]:
    """Somebody else is writing and does not come to an end."""
    ready, over = threading.Event(), threading.Event()

    def hold() -> None:
        other = connections["default"]
        with other.cursor() as cursor:
            if other.vendor == "postgresql":
                cursor.execute("BEGIN; LOCK TABLE materials_build IN ACCESS EXCLUSIVE MODE")
            else:
                cursor.execute("BEGIN IMMEDIATE")
            ready.set()
            over.wait(60)
            cursor.execute("ROLLBACK")
        other.close()

    is_postgresql = connection.vendor == "postgresql"
    _run("SET lock_timeout = 200" if is_postgresql else "PRAGMA busy_timeout = 200")
    holder = threading.Thread(target=hold)
    holder.start()
    assert ready.wait(30)
    try:
        yield
    finally:
        over.set()
        holder.join()
        _run("RESET lock_timeout" if is_postgresql else "PRAGMA busy_timeout = 20000")


def away() -> Exception:
    """What a database that does not answer raises."""
    from django.db.utils import OperationalError

    error = OperationalError("connection failed")
    error.__cause__ = psycopg.OperationalError("connection failed")
    return error
