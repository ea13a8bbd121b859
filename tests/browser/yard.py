"""A phone that keeps a build, and what one logs with it where there is no signal."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from time import monotonic
from typing import Any

from django.urls import reverse
from playwright.sync_api import Error

from materials.choices import State
from materials.models import Build, LabourEntry, Photo, Purchase, RetailPrice, Timer
from tests.photo_files import jpeg

from .wire import Wire

# What the console says of requests that fail: they are what is tested.
FAILS = ("Failed to load resource", "net::ERR_", "Failed to fetch", "FetchEvent")
PHOTO = {"name": "pile.jpg", "mimeType": "image/jpeg", "buffer": jpeg((900, 600))}

STORED = """() => new Promise((done, fail) => {
  const asked = indexedDB.open("buildledger");
  asked.onerror = fail;
  asked.onsuccess = () => {
    const got = asked.result.transaction("outbox").objectStore("outbox").getAll();
    got.onsuccess = () => {
      asked.result.close();
      done(got.result.map((entry) => ({ ...entry, files: entry.files.length })));
    };
  };
})"""


@dataclass
class Phone:
    """A page in a browser that may keep the build, and the wire it hangs on."""

    page: Any
    build: Build
    wire: Wire

    def to(self, name: str, *named: Any, query: str = "") -> str:
        """An address of the build."""
        return reverse(name, args=[self.build.pk, *named]) + query

    def open(self, name: str, *named: Any, query: str = "") -> None:
        """A page of the build."""
        self.page.goto(self.to(name, *named, query=query))

    def keep(self) -> None:
        """Keep the build on this device."""
        self.open("yard")
        self.page.get_by_role("button", name="Keep on this device").click()
        self.page.get_by_text("8 of 8 pages are kept").wait_for()

    def cut(self, way: str) -> None:
        """Lose the signal in a way that a wire has, or as the device itself notices."""
        if way == "offline":
            self.page.context.set_offline(True)
        elif way == "no such host":
            self.page.context.route("**/*", lambda route: route.abort("namenotresolved"))
        else:
            self.wire.cut(way)

    def mend(self) -> None:
        """The signal is back."""
        self.page.context.unroute_all(behavior="ignoreErrors")
        self.wire.mend()
        self.page.context.set_offline(False)

    def save(self) -> None:
        """The chief button of the form."""
        self.page.locator("button.primary").locator("visible=true").first.click()

    def new_tab(self) -> "Phone":
        """Another page of the same browser."""
        return Phone(self.page.context.new_page(), self.build, self.wire)

    def row(self, text: str) -> Any:
        """An entry in the list of what waits."""
        return self.page.locator("[data-waits-list] > li", has_text=text)

    def listed(self) -> list[str]:
        """What waits, as the page of the build lists it."""
        self.page.locator("[data-waits-list]").wait_for(state="attached")
        return [text.strip() for text in self.page.locator("[data-what]").all_text_contents()]

    def wait_for(self, count: int) -> None:
        """So many entries are listed."""
        said = "1 entry" if count == 1 else f"{count} entries"
        self.page.get_by_text(f"Kept on this device: {said}.").wait_for()

    def kept(self) -> list[dict[str, Any]]:
        """The entries as they are stored, with how many photos each has."""
        found: list[dict[str, Any]] = self.page.evaluate(STORED)
        return found

    def wait_until(self, seen: Callable[[list[dict[str, Any]]], Any]) -> None:
        """Until what is stored is so; a page may be left meanwhile."""
        end = monotonic() + 10
        while monotonic() < end:
            with suppress(Error):
                if seen(self.kept()):
                    return
            self.page.wait_for_timeout(50)
        kept = [(each["said"], each["state"], each["faults"]) for each in self.kept()]
        raise AssertionError(f"{self.page.url}: {kept}")

    def send(self) -> None:
        """Open the page of the build, which sends what waits, until nothing does."""
        self.open("yard")
        self.wait_until(lambda kept: not kept)

    # Each kind of entry, as it is typed into a form that stands open.

    def purchase(self, what="Pantile", much="5 pieces", price="3", photo=True) -> None:
        """A purchase, or an offer where the address says so."""
        page = self.page
        page.locator("[name=what]").fill(what)
        page.locator("[name=quantity_text]").fill(much)
        page.locator("[name=price]").fill(price)
        page.get_by_label("Salvage").check()
        if photo:
            page.set_input_files("[name=photo]", PHOTO)
        self.save()

    def hours(self, hours="1.25") -> None:
        """Hours that are typed."""
        self.page.locator("[name=person]").fill("Ida")
        self.page.locator("[name=hours]").fill(hours)
        self.save()

    def half_hour(self) -> None:
        """Hours by their button."""
        self.page.locator("[name=person]").fill("Ida")
        self.page.get_by_role("button", name="Log ½ h").click()

    def price(self, price="12.50", photo=True) -> None:
        """What something costs new."""
        self.page.locator("[name=component]").select_option(index=1)
        self.page.locator("[name=price]").fill(price)
        if photo:
            self.page.locator("#entry input[type=file]").set_input_files(PHOTO)
        self.save()

    def photo(self) -> None:
        """A photo of a purchase."""
        self.page.get_by_text("Add photos").first.click()
        self.page.locator("#photos [name=chosen]").set_input_files(PHOTO)
        self.page.get_by_role("button", name="Save photos").click()

    def pile(self, *pictures: dict[str, Any]) -> None:
        """Photos that are sorted later."""
        page = self.page
        page.locator("details.photo-add summary").click()
        page.locator("[name=chosen]").set_input_files([*pictures])
        page.get_by_role("button", name="Save photos").click()

    def timer(self, label: str) -> None:
        """“Start” or “Stop and log”."""
        self.page.get_by_role("button", name=label).locator("visible=true").first.click()

    def decline(self) -> None:
        """The first of the open offers."""
        self.page.get_by_text("Take or decline").first.click()
        self.page.get_by_role("button", name="Decline it").locator("visible=true").first.click()


def counts(build: Build) -> dict[str, int]:
    """How many there are of each kind."""
    purchases = Purchase.objects.filter(build=build)
    return {
        "received": purchases.filter(state=State.RECEIVED).count(),
        "offers": purchases.filter(state=State.OFFER).count(),
        "declined": purchases.filter(state=State.DECLINED).count(),
        "hours": LabourEntry.objects.filter(build=build).count(),
        "prices": RetailPrice.objects.filter(component__build=build).count(),
        "photos": Photo.objects.filter(build=build).count(),
        "timers": Timer.objects.filter(build=build).count(),
    }


def added(build: Build, before: dict[str, int]) -> dict[str, int]:
    """How many came of each kind, of which any came."""
    now = counts(build)
    return {kind: now[kind] - before[kind] for kind in now if now[kind] != before[kind]}
