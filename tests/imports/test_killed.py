"""A server killed in the middle of an import, started again, finishes it: each row once.

The real server runs in processes of its own over a database file; nothing is shared with the
test but that file.
"""

import contextlib
import http.client
import http.cookiejar
import json
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import urllib.parse
import urllib.request
from pathlib import Path

import pytest

from tests.searches import TIMES

ROOT = Path(__file__).resolve().parents[2]
PREPARE = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from materials.exchange.outside_tables import steps
from materials.queries.imports import get_job
from materials.services.accounts import ensure_user
from materials.services.builds import create_build
user, _ = ensure_user(username="ann", password="sawdust-and-lime")
build = create_build(actor=user, values={"name": "Pump house", "currency": "USD"})
rows = ["Date,Vendor,Item,Qty,Unit,Each"]
for n in range(ROWS):
    rows.append(f"2026-03-{n % 28 + 1:02},Yard {n % 9},Board {n % 40},{n + 1},ft,0.50")
data = "\\n".join(rows).encode()
job = steps.open_upload(actor=user, build=build, data=data, file_name="x.csv")
steps.choose_table(build, job.pk, place=0, heading_row=1, kind="purchases")
# A long one is copied first.
steps.continue_job(actor=user, build=build, pk=job.pk, seconds=None)
mapping = get_job(build, job.pk).mapping
mapping["options"]["source"] = "salvage"
steps.save_columns(build, job.pk, mapping)
job = steps.continue_job(actor=user, build=build, pk=job.pk, seconds=None)
assert job.state == "checked", job.state
"""
INSPECT = """
import django; django.setup()
import json
from materials.models import Build, Change, ImportedRecord, ImportJob, PurchaseLine
from materials.queries.checks import find_differences
build = Build.objects.get()
print(json.dumps({
    "quantities": sorted(int(q) for q in PurchaseLine.objects.values_list("base_qty", flat=True)),
    "differences": [str(d) for d in find_differences(build)],
    "state": ImportJob.objects.get().state,
    "history": list(Change.objects.filter(record_type="table").values_list("summary", flat=True)),
    "purchases": build.purchases.count(),
    "made": ImportedRecord.objects.filter(record_type="purchase").count(),
}))
"""


# A long table that was chosen, and of which no row was copied yet.
CHOSEN = PREPARE.partition("# A long one")[0]
NUMBERS = """
import django; django.setup()
import json
from materials.models import ImportJob, ImportRow
rows = ImportRow.objects.order_by("number").values_list("number", flat=True)
print(json.dumps({"numbers": list(rows), "state": ImportJob.objects.get().state}))
"""


class Served:
    """A server process over a database file, and a browser's worth of requests to it."""

    def __init__(self, folder: Path):
        self.database = folder / "ledger.sqlite3"
        self.env = {
            **os.environ,
            "DATABASE_URL": f"sqlite:///{self.database}",
            "MEDIA_ROOT": str(folder / "media"),
            "SECRET_KEY": "only-for-this-test",
            "DJANGO_SETTINGS_MODULE": "buildledger.settings",
            "DEBUG": "1",
        }
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.process: subprocess.Popen | None = None

    def script(self, code: str) -> str:
        """What a script over the same database prints."""
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, env=self.env, capture_output=True, text=True,
            timeout=300, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return done.stdout

    def start(self) -> None:
        """Start the server and wait until it answers."""
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{self.port}"],
            cwd=ROOT,
            env=self.env,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(300):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{self.port}/sign-in/", timeout=5).close()
                return
            except OSError:
                time.sleep(0.2)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        """End the server at once, as a power cut would."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None

    def count(self, state: str) -> int:
        """Rows of the import in a state, read from the file."""
        with sqlite3.connect(f"file:{self.database}?mode=ro", uri=True, timeout=20) as connection:
            sql = "select count(*) from materials_importrow where state = ?"
            (number,) = connection.execute(sql, [state]).fetchone()
        connection.close()
        return number

    def visit(self) -> "Visit":
        """A signed-in visitor."""
        visit = Visit(self.port)
        visit.post("/sign-in/", username="ann", password="sawdust-and-lime")
        return visit


class Visit:
    """Requests with cookies of their own."""

    def __init__(self, port: int):
        self.base = f"http://127.0.0.1:{port}"
        jar = http.cookiejar.CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))

    def get(self, path: str) -> str:
        with self.opener.open(self.base + path, timeout=120) as answer:
            return answer.read().decode()

    def post(self, path: str, **values: str) -> str:
        token = re.search(r'csrfmiddlewaretoken" value="([^"]+)', self.get(path))[1]
        data = urllib.parse.urlencode({"csrfmiddlewaretoken": token, **values}).encode()
        with self.opener.open(self.base + path, data, timeout=120) as answer:
            return answer.read().decode()


@pytest.fixture
def served(tmp_path):
    server = Served(tmp_path)
    yield server
    server.kill()


def press(visit: Visit, **values: str) -> None:
    """Press the button; a server that was killed meanwhile answers nothing."""
    with contextlib.suppress(OSError, http.client.HTTPException):
        visit.post("/builds/1/import/1/run/", **values)


def press_in_two_tabs(served, is_over) -> None:
    """Press the button in two tabs at once, again and again, until there is no more to do."""
    visits = [served.visit(), served.visit()]
    for _ in range(60):
        tabs = [threading.Thread(target=press, args=[visit]) for visit in visits]
        for tab in tabs:
            tab.start()
        for tab in tabs:
            tab.join()
        if is_over():
            return


def kill_among(served, state: str, **values: str) -> None:
    """Press the button, and kill the server once a row is in that state."""
    pressed = threading.Thread(target=press, args=[served.visit()], kwargs=values)
    pressed.start()
    for _ in range(600):
        if served.count(state):
            break
        time.sleep(0.02)
    served.kill()
    pressed.join()


@pytest.mark.slow
@pytest.mark.parametrize("count", [700, 700 + 330 * TIMES])
def test_a_killed_server_finishes_the_import_with_each_row_once(served, count):
    served.script(PREPARE.replace("ROWS", str(count)))
    served.start()
    kill_among(served, "done", action="start")
    done = served.count("done")
    assert 0 < done < count, "it was not in the middle"
    halfway = json.loads(served.script(INSPECT))
    # What is in is whole: the records of the rows that say so, and nothing else.
    assert len(halfway["quantities"]) == done
    assert halfway["differences"] == []
    assert halfway["state"] == "running"

    served.start()
    # The page of the import says where it stands; two tabs go on with it at once.
    assert "Importing rows" in served.visit().get("/builds/1/import/1/run/")
    press_in_two_tabs(served, lambda: not served.count("ready"))
    served.visit().get("/builds/1/import/1/run/")
    press(served.visit())
    found = json.loads(served.script(INSPECT))
    # Every row has a quantity of its own, so that one missing or doubled would be seen.
    assert found["quantities"] == list(range(1, count + 1))
    assert found["differences"] == []
    assert found["state"] == "done"
    assert found["made"] == found["purchases"]
    assert found["history"] == [f"Import of x.csv: {count:,} rows"]


@pytest.mark.slow
def test_a_killed_server_finishes_copying_a_long_sheet(served):
    count = 30_000
    served.script(CHOSEN.replace("ROWS", str(count)))
    served.start()
    kill_among(served, "new")
    halfway = json.loads(served.script(NUMBERS))
    assert halfway["state"] == "keeping", "it was not in the middle"
    assert halfway["numbers"] == list(range(1, len(halfway["numbers"]) + 1))

    served.start()
    assert "Copying the table" in served.visit().get("/builds/1/import/1/run/")
    press_in_two_tabs(served, lambda: json.loads(served.script(NUMBERS))["state"] != "keeping")
    found = json.loads(served.script(NUMBERS))
    assert found == {"numbers": list(range(1, count + 2)), "state": "columns"}
