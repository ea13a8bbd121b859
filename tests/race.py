"""Two processes at once, each with a connection of its own to one database."""

import os
import subprocess
import sys
import textwrap
from pathlib import Path

from django.conf import settings
from django.db import connection

RUNNER = """
import os, pathlib, sys, textwrap, time
import django
django.setup()
number, folder = int(sys.argv[1]), pathlib.Path(sys.argv[2])
def ready():
    (folder / f"ready-{number}").touch()
    until = time.monotonic() + 60
    while not (folder / f"ready-{1 - number}").exists():
        assert time.monotonic() < until, "the other never came"
        time.sleep(0.001)
exec(sys.argv[3])
print(said)
"""


def race(tmp_path: Path, source: str) -> list[str]:
    """Run the same lines in two processes that wait for each other at ``ready()``.

    ``number`` is 0 in one and 1 in the other; each leaves ``said``. A database in memory is
    written out for them.
    """
    if connection.vendor == "sqlite":
        path = tmp_path / "race.sqlite3"
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(path)])
        url = f"sqlite:///{path}"
    else:
        of = connection.settings_dict
        host = str(of["HOST"]).replace("/", "%2F")
        password = f":{of['PASSWORD']}" if of["PASSWORD"] else ""
        port = f":{of['PORT']}" if of["PORT"] else ""
        url = f"postgresql://{of['USER']}{password}@{host}{port}/{of['NAME']}"
    env = os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    folder = tmp_path / "race"
    folder.mkdir()
    started = [
        subprocess.Popen(
            [sys.executable, "-c", RUNNER, str(n), str(folder), textwrap.dedent(source)],
            env=env,
            cwd=settings.BASE_DIR,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for n in range(2)
    ]
    ended = [process.communicate(timeout=120) for process in started]
    assert [process.returncode for process in started] == [0, 0], [err for _, err in ended]
    return [out.strip() for out, _ in ended]
