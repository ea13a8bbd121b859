"""Two processes at once, each with a connection of its own to one database."""

import multiprocessing
import sqlite3
import textwrap
import traceback
from contextlib import closing
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Barrier
from pathlib import Path

from django.db import connection, connections

# Forked, since a process takes longer to start than the race to run.
FORK = multiprocessing.get_context("fork")


def race(tmp_path: Path, source: str) -> list[str]:
    """Run the same lines in two processes that wait for each other at ``ready()``.

    ``number`` is 0 in one and 1 in the other; each leaves ``lines``. A database of SQLite is
    copied for them.
    """
    name = str(connection.settings_dict["NAME"])
    if connection.vendor == "sqlite":
        name = str(tmp_path / "race.sqlite3")
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [name])
        # SQLite refuses two at once who change to the log: as in use, it has one already.
        with closing(sqlite3.connect(name)) as copied:
            copied.execute("PRAGMA journal_mode=WAL")
    together = FORK.Barrier(2)
    result, tell = FORK.Pipe(duplex=False)
    code = textwrap.dedent(source)
    started = [FORK.Process(target=_run, args=(n, code, name, together, tell)) for n in range(2)]
    for process in started:
        process.start()
    lines = [result.recv() if result.poll(120) else "nothing" for _ in started]
    for process in started:
        process.join(60)
    assert [process.exitcode for process in started] == [0, 0], lines
    return [str(value) for value in lines]


def _run(number: int, code: str, name: str, together: Barrier, tell: Connection) -> None:
    """In the forked process, beside the connection it was born with and must not touch."""
    # Kept until the end: closing it would say goodbye in the other process's name.
    inherited = connections["default"]
    del connections["default"]
    connections.settings["default"]["NAME"] = name
    names = {"number": number, "ready": lambda: together.wait(60)}
    try:
        exec(code, names)
        tell.send(names["said"])
    except BaseException:
        tell.send(traceback.format_exc())
        raise SystemExit(1) from None
    finally:
        connections["default"].close()
        del inherited
