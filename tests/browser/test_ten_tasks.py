"""Ten tasks of an owner-builder on a phone, none taught: taps and pages of each may only fall.

A tap is all that is not typing: putting the cursor into a box belongs to typing, and choosing a
photo is one tap. The page one begins at, the first of the build, counts as the first page. The
eleventh task, thirty battens out of what the yard has, stands in test_boat_shed.py.
"""

from collections.abc import Callable, Iterable
from typing import NamedTuple

import pytest
from django.urls import reverse

from materials.models import Build
from materials.services.photos import add_photos
from tests.photo_files import jpeg, sent

from .conftest import PHONE
from .test_builders_day import MOST_TAPS, MOST_TAPS_NEXT
from .visitors import Follower

pytestmark = pytest.mark.django_db(transaction=True)

PICTURE = {"name": "receipt.jpg", "mimeType": "image/jpeg", "buffer": jpeg()}
Task = Callable[[Follower], None]


class Way(NamedTuple):
    """How long a task is: taps, pages, and boxes typed into."""

    taps: int
    pages: int
    typed: int


def log_with_photo(person: Follower) -> None:
    """A purchase with a photo of its receipt."""
    person.log_purchase()
    person.type("What", "Cedar post")
    person.type("How much", "8 pieces")
    person.type("Price", "6.50")
    person.pick("Source", "Salvage")
    person.type("Where", "Fence maker's heap")
    person.attach("Photo", PICTURE)
    person.press("Save")
    person.saved()
    person.reads("$52.00")


def log_next_there(person: Follower) -> None:
    """Something else from the same place, from the page that says the first is saved."""
    person.press("Log another here")
    person.type("What", "Cedar rail")
    person.type("How much", "14 pieces")
    person.type("Price", "3")
    person.press("Save")
    person.saved()
    person.reads("$42.00", "Fence maker's heap")


def judge_offer(person: Follower) -> None:
    """What an offer costs, seen before it is saved."""
    person.press("Judge offer")
    person.type("What", "Foam board, 2 in")
    person.type("How much", "10 sheets")
    person.type("Price", "31")
    person.pick("Source", "Salvage")
    person.sees("310.00")
    person.press("Save")
    person.saved()


def rip_boards(person: Follower) -> None:
    """Boards ripped into slats."""
    person.turn_to("Conversions")
    person.press("Log conversion")
    person.select("From", "Sawn board, 1 in")
    person.type("Quantity used", "4 bf")
    person.select("To", "Drying slat, 1x2")
    person.type("Quantity made", "20 ft")
    person.type("Hours", "0:45")
    person.press("Save")
    person.saved()


def count_stock(person: Follower) -> None:
    """What is on hand of two things."""
    person.turn_to("Leftovers")
    person.press("Count stock")
    person.type("Hydrated lime", "3")
    person.type("Water pipe, 1/2 in", "12")
    person.press("Save")
    person.saved()
    person.reads("Stock counted: 2 components")


def log_hours(person: Follower) -> None:
    """Two hours of a task."""
    person.press("Hours")
    person.type("Person", "Ida")
    person.select("Task", "Lime plaster")
    person.press("Log 2 h")
    person.saved()


def what_to_buy_where(person: Follower) -> None:
    """The shopping list by places."""
    person.press("Buy")
    person.reads("Masonry supplier", "Hydrated lime", "6 bags", "$121.05")


def cost_of_the_roof(person: Follower) -> None:
    """What the roof came to, and a receipt of it."""
    person.follow("Cost by element")
    person.follow("B30 Roofing")
    person.reads("Cost $1,760.31", "Receipts and photos P45")
    person.follow("Photo of purchase P45")
    assert person.page.locator("img").count() == 1


def savings(person: Follower) -> None:
    """What was saved, and what that leaves out."""
    person.follow("$14,703.84")
    person.unfold("What it leaves out")
    person.reads("No new price is known for: Brass porthole")


def give_the_sheet(person: Follower) -> None:
    """A link to the cost sheet, with its prices, for somebody who helps."""
    person.turn_to("Share links")
    person.press("Make share link")
    person.type("For whom", "Cole")
    person.tick("Show prices")
    person.press("Make link")
    person.page.locator("#link").wait_for()


def export(person: Follower) -> None:
    """The workbook."""
    person.turn_to("Export")
    with person.page.expect_download():
        person.taps += 1
        person.control("Export workbook").click()


# Those that only read come first, so that their figures are the demo's.
TASKS: dict[Task, Way] = {
    what_to_buy_where: Way(taps=1, pages=2, typed=0),
    cost_of_the_roof: Way(taps=3, pages=4, typed=0),
    savings: Way(taps=2, pages=2, typed=0),
    give_the_sheet: Way(taps=5, pages=4, typed=1),
    export: Way(taps=3, pages=2, typed=0),
    log_with_photo: Way(taps=4, pages=3, typed=5),
    log_next_there: Way(taps=2, pages=3, typed=3),
    judge_offer: Way(taps=3, pages=3, typed=3),
    log_hours: Way(taps=3, pages=3, typed=1),
    rip_boards: Way(taps=6, pages=4, typed=3),
    count_stock: Way(taps=4, pages=4, typed=2),
}
# Each goes on from the page that another ended at.
GOES_ON = {log_next_there}


@pytest.fixture
def begin(open_page, enter, settings, tmp_path):
    """Somebody with a phone, signed in as the owner of a build."""
    settings.MEDIA_ROOT = tmp_path

    def start(build: Build) -> Follower:
        page = open_page(PHONE)
        enter(page, build.members.get(role="owner").user)
        return Follower(page)

    return start


def way_of(person: Follower, task: Task, build: Build) -> Way:
    """Do a task from the first page of the build, and count."""
    if task not in GOES_ON:
        person.page.goto(reverse("home", args=[build.pk]))
    person.taps, person.pages, person.typed = 0, 1, 0
    task(person)
    return Way(person.taps, person.pages, person.typed)


def longer(person: Follower, tasks: Iterable[Task], build: Build) -> dict[str, Way]:
    """Those that take more than they may, and what they take."""
    ways = {task: way_of(person, task, build) for task in tasks}
    return {
        task.__name__: way
        for task, way in ways.items()
        if any(now > most for now, most in zip(way, TASKS[task], strict=True))
    }


def test_logging_with_a_photo_gets_no_longer(begin, build):
    assert longer(begin(build), (log_with_photo, log_next_there), build) == {}
    assert TASKS[log_with_photo].taps <= MOST_TAPS
    assert TASKS[log_next_there].taps <= MOST_TAPS_NEXT


@pytest.mark.slow
def test_no_task_gets_longer(begin, demo_build):
    roof = demo_build.purchases.get(number="P45")
    owner = demo_build.members.get(role="owner").user
    add_photos(actor=owner, build=demo_build, record=roof, files=[sent(jpeg())])
    assert longer(begin(demo_build), TASKS, demo_build) == {}
