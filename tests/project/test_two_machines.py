"""One ledger served by two machines: as much apart as two hosts are, and nobody sees a seam.

Each has its own port, folder of data and folder for temporary files. They share the secret key,
the database, MEDIA_ROOT and WORK_ROOT. One browser goes from the one to the other at each step,
as it would behind a proxy that deals requests out in turn.
"""

import json
import re
import time
from urllib.parse import urlencode

import pytest

from tests.own_database import begin, own_database
from tests.photo_files import jpeg

from .served import Served, bare, serve, settings_of_deploy
from .test_serving import PASSWORD, Visitor

ROWS = 5000
KEY = "one-key-for-both-machines-0123456789" * 2
SEED = """
from materials.services.accounts import ensure_user
from materials.services.builds import create_build
user, _ = ensure_user(username="ann", password="sawdust-and-lime")
create_build(actor=user, values={"name": "Lime kiln", "currency": "USD"})
"""
COUNT = """
import json
from materials.models import Build, ImportRow, PurchaseLine
from materials.queries.checks import find_differences
build = Build.objects.get()
lines = PurchaseLine.objects.exclude(component__name="Slate")
print(json.dumps({
    "quantities": sorted(int(q) for q in lines.values_list("base_qty", flat=True)),
    "slate": PurchaseLine.objects.filter(component__name="Slate").count(),
    "rows": ImportRow.objects.count(),
    "differences": [str(d) for d in find_differences(build)],
}))
"""
BEGUN = """
import sys, threading, time
from pathlib import Path
from materials.services import long_work
def make(stream, tell):
    print("begun", flush=True)
    while not Path(sys.argv[1]).exists():
        time.sleep(0.1)
    stream.write(b"worked out once")
long_work.do("a" * 65, make, wait=0)
for thread in threading.enumerate():
    if isinstance(thread, long_work._Thread):
        thread.join(60)
"""
LOOKED = """
import sys, time
from pathlib import Path
from materials.services import long_work
def never(stream, tell):
    raise AssertionError("begun a second time")
seen = []
until = time.monotonic() + 60
while time.monotonic() < until:
    work = long_work.do("a" * 65, never, wait=0)
    seen += [] if work.state in seen else [work.state]
    if work.result is not None:
        break
    Path(sys.argv[1]).touch()
    time.sleep(0.1)
print(seen, work.result.read().decode(), flush=True)
"""


class Traveller(Visitor):
    """A browser whose every request goes to the next machine."""

    def __init__(self, ports: list[int]):
        super().__init__(ports[0])
        self.ports, self.turn = ports, 0

    def ask(self, method: str, path: str, body="", **headers: str):
        self.port = self.ports[self.turn % len(self.ports)]
        self.turn += 1
        return super().ask(method, path, body, **headers)

    def token(self, path: str) -> dict[str, str]:
        """The marks of a page's forms, by a request of its own: to the machine before."""
        _, text = self.ask("GET", path)
        fields = re.findall(r'name="(csrfmiddlewaretoken|form_token)" value="([^"]*)"', text)
        assert "csrfmiddlewaretoken" in dict(fields), text[:2000]
        return dict(fields)

    def post(self, path: str, values: dict[str, str], form: str = ""):
        """Fill a form in and send it; gives the answer, which leads on."""
        sent = self.token(form or path) | values
        answer, text = self.ask("POST", path, urlencode(sent))
        assert answer.status == 302, (path, answer.status, re.sub(r"<[^>]+>|\s+", " ", text)[:3000])
        return answer.headers["Location"]

    def send(self, path: str, name: str, file: bytes, kind: str) -> str:
        """Send one file by a form."""
        parts = [
            f'--cut\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode()
            for key, value in self.token(path).items()
        ]
        head = f'--cut\r\nContent-Disposition: form-data; name="{name}"; filename="f.{kind}"\r\n'
        body = b"".join([*parts, head.encode(), b"\r\n", file, b"\r\n--cut--\r\n"])
        kind = "multipart/form-data; boundary=cut"
        answer, text = self.ask("POST", path, body.decode("latin-1"), **{"Content-Type": kind})
        assert answer.status == 302, (answer.status, re.sub(r"<[^>]+>|\s+", " ", text)[:3000])
        return answer.headers["Location"]


def machine(env: dict[str, str], folder, name: str) -> dict[str, str]:
    """The settings of one of two machines."""
    own, shared = folder / name, folder / "shared"
    for path in (own / "tmp", shared):
        path.mkdir(parents=True, exist_ok=True)
    more = {
        "DATA_ROOT": str(own), "TMPDIR": str(own / "tmp"), "SECRET_KEY": KEY,
        "MEDIA_ROOT": str(shared / "media"), "WORK_ROOT": str(shared / "work"),
    }  # fmt: skip
    return bare(env, **settings_of_deploy() | more | {"DATABASE_URL": env["DATABASE_URL"]})


def out_of(env: dict[str, str], script: str, *words: str) -> str:
    process = begin(env, script, *words)
    printed, _ = process.communicate(timeout=120)
    assert process.returncode == 0
    return printed


@pytest.mark.database
def test_work_begun_on_one_machine_is_looked_at_and_fetched_on_the_other(tmp_path):
    with own_database(tmp_path) as env:
        one, other = (machine(env, tmp_path, name) for name in ("one", "other"))
        may_end = str(tmp_path / "may end")
        begun = begin(one, BEGUN, may_end)
        assert begun.stdout is not None
        assert begun.stdout.readline().strip() == "begun"
        printed = out_of(other, LOOKED, may_end)
        begun.communicate(timeout=60)
    assert printed.strip() == "['going', 'done'] worked out once"


@pytest.mark.database
@pytest.mark.slow
def test_one_browser_goes_from_machine_to_machine(tmp_path):
    with own_database(tmp_path) as env:
        one, other = (machine(env, tmp_path, name) for name in ("one", "other"))
        # The second comes once the first has brought the database up to date.
        with serve(one, tmp_path) as first, serve(other, tmp_path) as second:
            look_at(first, second)
            assert (tmp_path / "shared" / "media").is_dir()
            out_of(one, SEED)
            browser = Traveller([first.port, second.port])
            browser.post("/sign-in/", {"username": "ann", "password": PASSWORD})
            log_and_look(browser)
            job = import_half(browser)
            assert first.process is not None
            first.process.kill()
            first.process.wait()
            alone = Traveller([second.port])
            alone.cookies = browser.cookies
            finish(alone, job)
        found = json.loads(out_of(other, COUNT))
        assert found["quantities"] == list(range(1, ROWS + 1))
        assert (found["slate"], found["rows"]) == (1, ROWS + 1)
        assert found["differences"] == []


def look_at(*machines: Served) -> None:
    """Each is well; the media folder is made by whoever is asked first."""
    for served in machines:
        answer, _ = Visitor(served.port).ask("GET", "/health/")
        assert answer.status == 200


def log_and_look(browser: Traveller) -> None:
    """A purchase by way of both, with a photo that the other shows."""
    typed = {
        "what": "Slate", "quantity_text": "40 pieces", "price": "1.10", "price_for": "each",
        "source": "salvage", "bought_on": "2026-03-04", "state": "received",
        "usable_percent": "100",
    }  # fmt: skip
    browser.post("/builds/1/purchases/log/", typed)
    for _ in range(2):
        _, text = browser.ask("GET", "/builds/1/purchases/")
        assert "44.00" in text
        _, text = browser.ask("GET", "/builds/1/cost-sheet/")
        assert "44.00" in text
    browser.send("/builds/1/photos/of/purchase/1/add/", "chosen", jpeg(), "jpg")
    _, text = browser.ask("GET", "/builds/1/purchases/1/")
    (photo, *_) = re.findall(r'"(/builds/1/photos/\d+/[^"]*)"', text)
    for _ in range(2):
        answer, _ = browser.ask("GET", photo)
        assert answer.status == 200


def import_half(browser: Traveller) -> str:
    """A long table, each step on the other machine, until some of it is imported."""
    rows = ["Date,Vendor,Item,Qty,Unit,Each"]
    rows += [f"2026-03-{n % 28 + 1:02},Yard {n % 9},Board {n % 40},{n + 1},ft,0.50"
             for n in range(ROWS)]  # fmt: skip
    table = browser.send("/builds/1/import/", "table", "\n".join(rows).encode(), "csv")
    job = table.removesuffix("table/")
    while "First rows of" not in (text := browser.ask("GET", table)[1]):
        # It took long to look at.
        if 'name="opened"' in text:
            browser.post(table, {"opened": "1"})
        time.sleep(0.3)
    chosen = {"place": "0", "heading_row": "1", "kind": "purchases"}
    place = browser.post(table, chosen)
    place = go_on(browser, place, "columns/")
    _, text = browser.ask("GET", place)
    chosen = {}
    for name, options in re.findall(r'<select name="([\w-]+)"(.*?)</select>', text, re.DOTALL):
        for value in re.findall(r'value="([^"]*)" selected', options):
            chosen[name] = value
    place = browser.post(place, chosen | {"source": "salvage"})
    go_on(browser, place, "rows/")
    browser.post(f"{job}run/", {"action": "start"}, form=f"{job}rows/")
    return job


def go_on(browser: Traveller, place: str, to: str) -> str:
    """Press the button until the page leads on; by turns here and there."""
    for _ in range(200):
        if place.endswith(to):
            return place
        if "reading=1" in place:
            time.sleep(0.5)
            _, text = browser.ask("GET", place)
            if "Match the columns" not in text:
                continue
            sent = dict(re.findall(r'name="(place|heading_row|kind)" value="([^"]*)"', text))
            place = browser.post(place.partition("?")[0], sent, form=place)
        else:
            place = browser.post(place, {})
    raise AssertionError(f"it does not come to {to}")


def finish(browser: Traveller, job: str) -> None:
    """The rest of the import on the machine that is left."""
    for _ in range(100):
        _, text = browser.ask("GET", f"{job}run/")
        if f"{ROWS:,} rows imported" in text:
            return
        browser.post(f"{job}run/", {})
    raise AssertionError("it does not end")
