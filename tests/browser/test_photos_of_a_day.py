"""A builder's day with a photo on every step: each form comes back at least once, none is lost.

Hours, counts of stock and moves have no photo of their own: what they tell of is photographed
with the purchase, the conversion or the new price it came from.
"""

from collections import Counter

import pytest
from django.urls import reverse

from materials.models import HeldPhoto, Move, Photo
from tests.photo_files import jpeg

from .visitors import ScriptlessVisitor, Visitor

pytestmark = pytest.mark.django_db(transaction=True)


class Photographer:
    """Chooses photos on a visitor's pages, each of a size of its own, and knows them again."""

    def __init__(self, visitor: Visitor):
        self.visitor, self.page = visitor, visitor.page
        # Width of a photo -> the step it was chosen at.
        self.chosen: dict[int, str] = {}

    def choose(self, step: str, field: str = "photo") -> None:
        """Choose a photo on the page that is open."""
        width = 300 + len(self.chosen)
        self.chosen[width] = step
        file = {"name": f"{width}.jpg", "mimeType": "image/jpeg", "buffer": jpeg((width, 200))}
        self.page.set_input_files(f"[name={field}]", file)

    def comes_back(self, button: str) -> None:
        """Press what leads back to the form: all chosen since it was opened are kept with it."""
        width = max(self.chosen)
        self.visitor.press(button)
        assert self.page.get_by_label(f"{width}.jpg").is_checked(), self.chosen[width]

    def kept(self, build) -> dict[str, int]:
        """Steps whose photo is kept, and how often."""
        photos = Photo.objects.filter(build=build)
        return dict(Counter(self.chosen[photo.width] for photo in photos))


@pytest.fixture
def day(open_page, enter, entries, cast, build, second, settings, tmp_path):
    """The owner's way through a day."""
    settings.MEDIA_ROOT = tmp_path
    entries.price(entries.component("Roof sheet", contents="1 piece = 4x8 ft"), "11.25")
    entries.component("Flashing", contents="1 piece = 1x8 ft")
    entries.component("Door")

    def start(way) -> Photographer:
        visitor = way(open_page(way.size, **way.options))
        enter(visitor.page, cast["owner"])
        visitor.page.goto(reverse("cost_sheet", args=[build.pk]))
        return Photographer(visitor)

    return start


def go(photographer: Photographer, name: str, build, query: str = "") -> None:
    photographer.page.goto(reverse(name, args=[build.pk]) + query)


def log_purchase(day: Photographer, build) -> None:
    """The short form: refused, an offered reading pressed, looked at, saved."""
    visitor = day.visitor
    go(day, "log", build)
    day.choose("a purchase")
    visitor.type("What", "Roof sheet")
    visitor.type("How much", "some")
    visitor.type("Price", "3.50")
    visitor.pick("Source", "Salvage")
    visitor.type("Where", "Barn on the ridge")
    day.comes_back("Save")
    day.choose("a purchase, again")
    visitor.type("How much", "20")
    day.comes_back("Save")
    day.comes_back("Use 20 pieces")
    day.comes_back("Preview")
    visitor.press("Save")


def log_several(day: Photographer, build) -> None:
    """From the short form to several lines at once."""
    visitor, page = day.visitor, day.page
    go(day, "log", build)
    day.choose("several lines")
    visitor.type("What", "Door")
    visitor.type("How much", "2 pieces")
    visitor.type("Price", "15")
    visitor.pick("Source", "Salvage")
    day.comes_back("Several lines at once")
    page.locator("[name=add_row][value=lines]").click()
    assert page.get_by_label(f"{max(day.chosen)}.jpg").is_checked()
    page.locator("[name=lines-1-new_name]").fill("Sash window")
    page.locator("[name=lines-1-quantity_text]").fill("3 pieces")
    page.locator("[name=lines-1-source]").select_option("salvage")
    visitor.press("Save")


def judge_and_take(day: Photographer, build) -> None:
    """An offer, another line of it with a photo of its own, and taking it."""
    visitor = day.visitor
    go(day, "log", build, "?state=offer")
    day.choose("an offer")
    visitor.type("What", "Flashing")
    visitor.type("How much", "30 pieces")
    visitor.type("Price", "40")
    visitor.pick("The price is for", "Mixed lot")
    visitor.pick("Source", "Salvage")
    day.comes_back("Preview")
    visitor.press("Save")
    visitor.press("Add line")
    day.choose("another line")
    visitor.type("What", "Door")
    visitor.type("How much", "a few")
    visitor.pick("The price is for", "It is in the lot's price")
    visitor.pick("Source", "Salvage")
    day.comes_back("Save")
    visitor.type("How much", "2 pieces")
    visitor.press("Save")
    visitor.press("Take it: received")


def long_purchase(day: Photographer, build) -> None:
    """A lot by the long form: it asks how to split, and for one more row."""
    page, visitor = day.page, day.visitor
    go(day, "purchase_add", build)
    day.choose("a lot")
    page.locator("[name=lot_price_amount]").fill("90")
    page.locator("[name=lines-0-component]").select_option(label="Door")
    page.locator("[name=lines-0-quantity_text]").fill("3 pieces")
    page.locator("[name=lines-0-source]").select_option("seconds")
    page.locator("[name=add_row][value=lines]").click()
    assert page.get_by_label(f"{max(day.chosen)}.jpg").is_checked()
    page.locator("[name=lines-1-new_name]").fill("Shutter")
    page.locator("[name=lines-1-quantity_text]").fill("6 pieces")
    page.locator("[name=lines-1-source]").select_option("seconds")
    day.comes_back("Save")
    page.locator("[name=lot_split]").select_option("equal")
    visitor.press("Save")
    # One more is added where the purchase is shown.
    page.locator("summary", has_text="Add photos").click()
    day.choose("on its page", "chosen")
    visitor.press("Save photos")


def convert(day: Photographer, build) -> None:
    """Flashing from sheets: refused, looked at, asked for a row, saved."""
    page, visitor = day.page, day.visitor
    go(day, "conversion_add", build)
    day.choose("a conversion")
    visitor.select("From", "Roof sheet")
    visitor.type("Quantity used", "plenty")
    page.locator("[name=outputs-0-component]").select_option(label="Flashing")
    page.locator("[name=outputs-0-made_text]").fill("15 pieces")
    day.comes_back("Save")
    visitor.type("Quantity used", "4 pieces")
    day.comes_back("Preview")
    page.locator("[name=add_row][value=outputs]").click()
    assert page.get_by_label(f"{max(day.chosen)}.jpg").is_checked()
    visitor.press("Save")


def count_and_work(day: Photographer, build) -> None:
    """A count of stock and hours, between photos."""
    page, visitor = day.page, day.visitor
    go(day, "stock_take", build)
    visitor.type("Flashing", "12 pieces")
    visitor.press("Save")
    go(day, "labour_add", build)
    visitor.type("Person", "Ann")
    page.locator("[name=new_task]").fill("Roof")
    visitor.press("Log 4 h")


def new_price(day: Photographer, build) -> None:
    page, visitor = day.page, day.visitor
    go(day, "price_add", build)
    day.choose("a new price")
    page.locator("[name=component]").select_option(label="Flashing")
    page.locator("[name=price]").fill("dear")
    day.comes_back("Save")
    page.locator("[name=price]").fill("7.50")
    visitor.press("Save")


def move(day: Photographer, build, second) -> None:
    page, visitor = day.page, day.visitor
    go(day, "move_add", build, f"?to={second.pk}")
    flashing = page.locator("[name=component] option", has_text="Flashing").get_attribute("value")
    page.locator("[name=component]").select_option(flashing)
    page.locator("[name=quantity_text]").fill("2 pieces")
    visitor.press("Save")


@pytest.mark.parametrize("way", [Visitor, pytest.param(ScriptlessVisitor, marks=pytest.mark.slow)])
def test_no_photo_of_a_day_is_lost_or_doubled(way, day, build, second):
    walk = day(way)
    log_purchase(walk, build)
    log_several(walk, build)
    judge_and_take(walk, build)
    long_purchase(walk, build)
    convert(walk, build)
    count_and_work(walk, build)
    new_price(walk, build)
    move(walk, build, second)
    assert walk.kept(build) == dict.fromkeys(walk.chosen.values(), 1)
    assert not HeldPhoto.objects.exists()
    assert Move.objects.filter(to_component__build=second).count() == 1
