"""Every screen of the app, by the name of its address; one that has no row here fails."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import get_resolver, reverse

from materials.models import Build, LeftOver
from materials.services.photos import add_photos
from tests.photo_files import jpeg, sent

Act = Callable[[Any], None]

# Addresses that show no page of the app, and why.
NO_SCREEN = {
    "sign_out": "only for POST",
    "purchase_state": "only for POST",
    "change_undo": "only for POST",
    "download": "a workbook",
    "download_table": "a CSV file",
    "download_tables": "an archive",
    "photo": "a picture by itself",
    "photo_small": "a picture by itself",
}


@dataclass(frozen=True)
class Screen:
    """One way to see a page: what its address names, and what is done to it first."""

    named: tuple[str, ...] = ()
    query: str = ""
    label: str = ""
    act: Act | None = None


def at(*named: str, query: str = "", label: str = "", act: Act | None = None) -> Screen:
    """A screen; ``{purchase}`` and the like stand for records of the demo build."""
    return Screen(named, query, label, act)


def press(page: Any, label: str) -> None:
    """Press a button that leads to another page."""
    with page.expect_navigation():
        page.get_by_role("button", name=label, exact=True).locator("visible=true").first.click()


def fault(button: str = "Save", **typed: str) -> Act:
    """Type what is refused, and send it."""

    def act(page: Any) -> None:
        for name, value in typed.items():
            page.locator(f"#entry [name='{name.replace('__', '-')}']").fill(value)
        press(page, button)
        page.locator("#faults, .faults").first.wait_for()

    return act


def wrong_workbook(page: Any) -> None:
    """A workbook with faults in it."""
    rows = b"Purchase,Date,Component,Quantity\nP1,soon,Nothing,some\nP2,2026-13-01,,3 gal\n"
    page.set_input_files("[name=workbook]", {"name": "x.xlsx", "mimeType": "", "buffer": rows})
    press(page, "Read it in")
    page.locator(".faults").first.wait_for()


def open_pages(page: Any) -> None:
    """The index of pages, which covers the page on a phone; on a desk it stands beside it."""
    button = page.get_by_role("button", name="Pages")
    if button.is_visible():
        button.click()
    page.locator("#pages").wait_for()


def understood(page: Any) -> None:
    """The short form with what was understood below it."""
    typed = {"what": "Barn siding", "quantity_text": "3 bundles", "price": "40"}
    for name, value in typed.items():
        page.locator(f"#entry [name={name}]").fill(value)
    page.get_by_label("Salvage").check()
    page.get_by_text("Its share of the charges").or_(page.get_by_text("Landed cost")).wait_for()


def timed(page: Any) -> None:
    """Work that is being timed."""
    press(page, "Start")
    page.get_by_text("running since").wait_for()


def conversion_understood(page: Any) -> None:
    """A conversion as it would come out, before it is saved."""
    page.locator("[name=source]").select_option(label="Hewn barn beam")
    page.locator("[name=used_text]").fill("4 bf")
    page.locator("[name=outputs-0-component]").select_option(label="Sawn board, 1 in")
    page.locator("[name=outputs-0-made_text]").fill("3 bf")
    press(page, "Show what it comes to")
    page.get_by_text("With the extra cost").wait_for()


LONG = "7" * 45
SCREENS: dict[str, tuple[Screen, ...]] = {
    "builds": (at(),),
    "sign_in": (at(label="signed in already"),),
    "build_add": (at(), at(label="faults", act=fault(floor_area="5 gal", budget_amount="x"))),
    "upload_new": (at(), at(label="faults", act=wrong_workbook)),
    "cost_sheet": (at(), at(label="index open", act=open_pages)),
    "build_edit": (at(),),
    "figure": tuple(at(name) for name in ("spent", "savings", "area_0", "forecast_low")),
    "budget": (at(),),
    "elements": (at(),),
    "element_add": (at(), at(label="faults", act=fault())),
    "element_edit": (at("{element}"),),
    "needed": (at(),),
    "cautions": (at(),),
    "caution_deal": (at("old-paint", "{component}"),),
    "components": (at(), at(query="?name=nowhere", label="nothing found")),
    "component_add": (at(), at(label="faults", act=fault(contents="some"))),
    "component": (at("{component}"), at("{drum}", label="in many states")),
    "component_edit": (at("{component}"),),
    "prices": (at(),),
    "price_add": (at(), at(label="faults", act=fault(price="dear"))),
    "price_edit": (at("{price}"),),
    "suppliers": (at(),),
    "supplier_add": (at(), at(label="faults", act=fault())),
    "supplier_edit": (at("{supplier}"),),
    "purchases": (at(), at(query="?state=ordered", label="filtered")),
    "purchase_lines": (at(query="?page=2", label="second leaf"),),
    "log": (
        at(),
        at(label="understood", act=understood),
        at(label="faults", act=fault(quantity_text="25", price="cheap")),
        at(query="?into={offer}", label="another line"),
    ),
    "purchase_add": (
        at(),
        at(query="?like={purchase}", label="another like it"),
        at(label="faults", act=fault(lines__0__quantity_text="25", charges__0__amount="x")),
    ),
    "purchase": (
        at("{purchase}"),
        at("{offer}", label="offer"),
        at("{ordered}", label="ordered"),
        at("{declined}", label="declined"),
    ),
    "purchase_edit": (at("{purchase}"),),
    "conversions": (at(),),
    "conversion_add": (
        at(),
        at(label="understood", act=conversion_understood),
        at(label="faults", act=fault(used_text="a lot")),
    ),
    "conversion_edit": (at("{conversion}"),),
    "left_over": (at(),),
    "stock_take": (at(), at(label="faults", act=fault(counted_on=""))),
    "left_over_add": (at(), at(label="faults", act=fault())),
    "left_over_edit": (at("{left_over}"),),
    "tasks": (at(),),
    "task_add": (at(), at(label="faults", act=fault())),
    "task_edit": (at("{task}"),),
    "labour": (at(),),
    "hours_report": (at(),),
    "timer": (at(), at(label="running", act=timed)),
    "labour_add": (at(), at(label="faults", act=fault(hours=LONG))),
    "labour_edit": (at("{labour}"),),
    "photo_edit": (at("{photo}"),),
    "photo_delete": (at("{photo}"),),
    "photos": (at("purchase", "{purchase}"), at("price", "{price}", label="none yet")),
    "photo_add": (
        at("purchase", "{purchase}"),
        at("purchase", "{purchase}", label="faults", act=fault("Save the photos")),
    ),
    "record_delete": (
        at("purchase", "{offer}"),
        at("component", "{component}", label="refused", act=lambda page: press(page, "Delete")),
    ),
    "history": (at(),),
    "change": (at("{change}"),),
    "downloads": (at(),),
    "upload": (at(), at(label="faults", act=wrong_workbook)),
}
# Screens of an area, for telling quickly where something is wrong.
AREAS = {
    "builds": "builds sign_in build_add build_edit upload_new upload cost_sheet figure budget",
    "elements": "elements element_add element_edit needed cautions caution_deal history change",
    "components": "components component_add component component_edit prices price_add price_edit",
    "purchases": "suppliers supplier_add supplier_edit purchases purchase_lines log purchase_add",
    "purchase": "purchase purchase_edit photo_edit photo_delete photos photo_add record_delete",
    "stock": "conversions conversion_add conversion_edit left_over stock_take left_over_add"
    " left_over_edit",
    "labour": "tasks task_add task_edit labour hours_report timer labour_add labour_edit downloads",
}


def routes() -> dict[str, bool]:
    """Names of all addresses the resolver knows, and whether each is one of a build."""
    found = get_resolver().reverse_dict
    names = [name for name in found if isinstance(name, str)]
    return {name: "build_id" in found[name][0][0][1] for name in names}


def records_of(build: Build) -> dict[str, int]:
    """Keys of records of the demo build by what screens call them; adds a photo."""
    numbers = {"purchase": "P06", "offer": "P59", "ordered": "P53", "declined": "P56"}
    found = {name: build.purchases.get(number=number) for name, number in numbers.items()}
    joist = build.components.get(name="Old 2x10 joist")
    photo = {"files": [sent(jpeg())], "caption": "Beams on the trailer"}
    owner = build.members.get().user
    found["photo"] = add_photos(actor=owner, build=build, record=found["purchase"], **photo)[0]
    found |= {
        "component": joist,
        "drum": build.components.get(name="Steel drum, 55 gal"),
        "price": joist.prices.first(),
        "left_over": LeftOver.objects.filter(component__build=build).first(),
        "element": build.elements.first(),
        "supplier": build.suppliers.first(),
        "conversion": build.conversions.first(),
        "task": build.tasks.first(),
        "labour": build.labour.first(),
        "change": build.changes.order_by("pk").last(),
    }
    return {name: record.pk for name, record in found.items()}


@dataclass
class Walk:
    """A signed-in page and the screens it can be sent to."""

    page: Any
    build: Build
    records: dict[str, int]

    def through(self, names: str) -> Iterator[str]:
        """Open the screens of some addresses one after another; yields what each is called."""
        of_build = routes()
        for name in names.split():
            own = (self.build.pk,) if of_build[name] else ()
            for screen in SCREENS[name]:
                named = [part.format(**self.records) for part in screen.named]
                url = reverse(name, args=[*own, *named]) + screen.query.format(**self.records)
                self.page.goto(url)
                if screen.act:
                    screen.act(self.page)
                yield " ".join([name, *screen.named, screen.label]).strip()
