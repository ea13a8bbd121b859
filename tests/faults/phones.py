"""A phone that loses its signal, whose browser is killed, and that logs all the same."""

import json
import os
import random
import signal
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, Page

from tests.__main__ import find_chromium
from tests.photo_files import jpeg

from .served import Parent, Visitor, gone

QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
DAY = "2026-05-04"
# How long nothing may go, in seconds, before it counts as never going.
PATIENCE = 60
KINDS = ("purchase", "purchase", "offer", "hours", "price")
# Puts what is typed into a form's boxes.
TYPE = """(fields) => {
  const form = document.getElementById("entry");
  for (const [name, value] of Object.entries(fields)) {
    const box = form.elements[name];
    box.value = value;
  }
}"""
# What waits on the device, without its photos.
LIST = """() => new Promise((done) => {
  indexedDB.open("buildledger", 1).onsuccess = ({ target: { result } }) => {
    result.transaction("outbox").objectStore("outbox").getAll().onsuccess = (event) =>
      done(event.target.result.map((entry) =>
        [JSON.stringify(entry.fields), entry.state, entry.faults]));
  };
})"""


@dataclass(frozen=True)
class Entry:
    """One entry: where its form is, what is typed, and the mark by which it is found again."""

    kind: str
    path: str
    fields: dict[str, str]
    mark: str
    photo: bytes | None = None


def make_entry(chance: random.Random, number: int, builds: dict[str, int], key: str) -> Entry:
    """An entry of a kind by chance, in the build of that key."""
    kind, mark = chance.choice(KINDS), f"mark {number}"
    at, cents = f"/builds/{builds[key]}", f"{chance.randrange(100, 9000) / 100:.2f}"
    photo = (
        jpeg((chance.randrange(40, 200), 120))
        if kind != "hours" and chance.random() < 0.7
        else None
    )
    if kind == "hours":
        hours = chance.choice(("0.25", "0.5", "1:15"))
        fields = {"worked_on": DAY, "person": f"Hand {number}", "kind": "preparing", "hours": hours}
        return Entry(kind, f"{at}/hours/add/", fields | {"note": mark}, mark)
    if kind == "price":
        fields = {"component": str(builds[f"{key} Board"]), "price": cents, "priced_on": DAY}
        return Entry(kind, f"{at}/prices/add/", fields | {"priced_at": mark}, mark, photo)
    what = chance.choice(("Board", "Shelf", f"Plank {number}"))
    fields = {
        "what": what, "quantity_text": f"{chance.randrange(1, 90)} ft",
        "price": cents,
        "price_for": chance.choice(("each", "line")),
        "source": chance.choice(("salvage", "seconds")),
        "state": "offer" if kind == "offer" else "received", "bought_on": DAY, "supplier": "Yard",
        "note": mark,
    }  # fmt: skip
    return Entry(kind, f"{at}/purchases/log/", fields, mark, photo)


@dataclass
class Phone:
    """One browser with a profile that outlives it, used by whoever's cookies ``visitor`` has."""

    playwright: Any
    folder: Path
    parent: Parent
    visitor: Visitor
    told: set[str] = field(default_factory=set)
    begun: dict[str, Entry] = field(default_factory=dict)
    context: Any = None
    page: Page | None = None

    def start(self, build: int) -> None:
        """Open the browser, signed in; keep the build, if it is not kept yet."""
        profile = self.folder / "profile"
        self.context = self.playwright.chromium.launch_persistent_context(
            str(profile), executable_path=find_chromium(), args=QUIET, headless=True,
            viewport={"width": 390, "height": 844}, base_url=f"http://localhost:{self.parent.port}",
        )  # fmt: skip
        self.context.set_default_timeout(20_000)
        host = f"http://localhost:{self.parent.port}"
        cookies = self.visitor.cookies.items()
        self.context.add_cookies(
            [{"name": name, "value": value, "url": host} for name, value in cookies]
        )
        self.page = self.context.pages[0] if self.context.pages else self.context.new_page()
        self.page.goto(f"/builds/{build}/without-signal/")
        # Which of the two is shown is known once the scripts have run.
        self.page.locator(
            "[data-is-kept]:not([hidden]), [data-is-not-kept]:not([hidden])"
        ).wait_for()
        if self.page.locator("[data-act=keep]").is_visible():
            self.page.locator("[data-act=keep]").click()
            self.page.get_by_text("pages are kept").wait_for()

    def log(self, entry: Entry) -> None:
        """Fill the form and send it; the entry counts as told once the page says so."""
        page = self.page
        page.goto(entry.path)
        page.evaluate(TYPE, entry.fields)
        if entry.photo:
            file = {"name": "pile.jpg", "mimeType": "image/jpeg", "buffer": entry.photo}
            page.set_input_files("#entry [type=file]", file)
        self.begun[entry.mark] = entry
        page.evaluate("document.getElementById('entry').requestSubmit()")
        # Said to be kept, or on to what was recorded.
        page.locator("[data-sending]:not([hidden])").or_(page.locator("[data-waits-list]")).or_(
            page.locator(".saved")
        ).first.wait_for()
        self.told.add(entry.mark)
        page.wait_for_url(lambda url: not url.endswith(entry.path))

    def send_all(self, build: int) -> list[Any]:
        """With a signal, until nothing waits that can go; what is left."""
        page = self.page
        page.goto(f"/builds/{build}/without-signal/")
        least, until = None, time.monotonic()
        while True:
            left = page.evaluate(LIST)
            waiting = sum(state == "waiting" for _, state, _ in left)
            if least is None or waiting < least:
                least, until = waiting, time.monotonic() + PATIENCE
            if not waiting or time.monotonic() > until:
                return left
            # It may all go by itself before the button is reached.
            with suppress(Error):
                page.locator("[data-act=send]:visible").first.click(timeout=1000)
            page.wait_for_timeout(100)

    def kill(self) -> None:
        """Kill the browser whole, as an emptied battery would."""
        for number in self._processes():
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        for number in self._processes():
            gone(number)

    def _processes(self) -> list[int]:
        mark = f"--user-data-dir={self.folder / 'profile'}".encode()
        found = []
        for path in Path("/proc").glob("[0-9]*/cmdline"):
            with suppress(OSError):
                if mark in path.read_bytes():
                    found.append(int(path.parent.name))
        return found

    def end(self) -> None:
        """Close what is left of it."""
        with suppress(Error):
            self.context.close()

    def compare(self, report: dict[str, Any], left: list[Any]) -> list[str]:
        """What is lost or doubled, by the ledger and by what still waits on the phone."""
        wrong = list(report["wrong"])
        for mark, entry in self.begun.items():
            on_server = report["marks"].get(mark, 0)
            on_phone = sum(f'"{mark}"' in fields for fields, _, _ in left)
            if on_server + on_phone > 1:
                wrong.append(f"{mark} doubled: {on_server} in the ledger, {on_phone} on the phone")
            if mark in self.told and not on_server + on_phone:
                wrong.append(f"{mark} lost: {entry.kind}")
            photos = report["photos"].get(mark, 0)
            if mark in self.told and on_server and photos != bool(entry.photo):
                wrong.append(f"{mark}: {photos} photos")
        return wrong + [f"not accepted: {json.dumps(row)}" for row in left]


def kill_phones(
    playwright: Any, parent: Parent, folder: Path, moments: int, seed: int, victim: str
) -> tuple[Phone, list[str]]:
    """Log, with a signal that comes and goes, and kill the browser or the server among it."""
    chance = random.Random(seed)
    builds = parent.call("looks:prepare")
    parent.serve()
    visitor = Visitor(parent.port)
    assert visitor.sign_in().status == 302
    phone, number, wrong = Phone(playwright, folder, parent, visitor), 0, []
    build = builds["here"]
    phone.start(build)
    for moment in range(moments):
        kill = phone.kill if victim == "browser" else parent.kill_group
        timer = threading.Timer(chance.uniform(0.05, 2.5), kill)
        timer.start()
        with suppress(Error):
            while timer.is_alive():
                phone.context.set_offline(chance.random() < 0.5)
                number += 1
                phone.log(make_entry(chance, number, builds, "here"))
        timer.join()
        if victim == "browser":
            phone.end()
            phone.start(build)
        else:
            parent.serve()
        if moment % 5 == 4 or moment == moments - 1:
            phone.context.set_offline(False)
            left = phone.send_all(build)
            wrong += phone.compare(parent.call("looks:phone_report", build=build), left)
    phone.end()
    return phone, wrong


def live_a_day(
    playwright: Any, parent: Parent, folder: Path, entries: int, seed: int
) -> tuple[Phone, list[str]]:
    """A day logged by a phone whose signal comes and goes, and the same day with a signal."""
    chance = random.Random(seed)
    builds = parent.call("looks:prepare")
    parent.serve()
    visitor = Visitor(parent.port)
    assert visitor.sign_in().status == 302
    phone, online = Phone(playwright, folder, parent, visitor), random.Random(seed)
    phone.start(builds["there"])
    for number in range(entries):
        make_and_log(phone, chance, number, builds)
        entry = make_entry(online, number, builds, "tables")
        _log_online(visitor, entry)
        online.setstate(chance.getstate())
    phone.context.set_offline(False)
    left = phone.send_all(builds["there"])
    phoned, typed = (
        parent.call("looks:phone_report", build=builds[key]) for key in ("there", "tables")
    )
    wrong = phone.compare(phoned, left)
    wrong += [f"{key} differ" for key in phoned if key != "parts" and phoned[key] != typed[key]]
    phone.end()
    return phone, wrong


def make_and_log(phone: Phone, chance: random.Random, number: int, builds: dict[str, int]) -> None:
    """One entry; before it, now and then, the signal comes or goes, or the server dies."""
    entry = make_entry(chance, number, builds, "there")
    phone.log(entry)
    if chance.random() < 0.3:
        phone.context.set_offline(chance.random() < 0.6)
    if chance.random() < 0.05:
        phone.parent.kill_workers()
        phone.parent.wait()


def _log_online(visitor: Visitor, entry: Entry) -> None:
    files = [("photo", "pile.jpg", entry.photo)] if entry.photo else []
    fields = [*entry.fields.items()]
    answer = visitor.post(entry.path, fields, files)
    assert answer.status == 302, (entry, answer.text[:2000])
