"""The signal goes, in each way it can: what is logged is kept, listed, and recorded once."""

import pytest

from materials.models import Purchase

from .yard import PHOTO, added, counts

pytestmark = pytest.mark.django_db(transaction=True)

slow = pytest.mark.slow
# Ways in which the pages that were kept open.
WAYS = ["offline", "cut before", *(
    pytest.param(way, marks=slow)
    for way in ("stopped", "no such host", "a portal that says so", "a gateway")
)]  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_each_kind_is_kept_listed_and_recorded_once(way, phone):
    phone = phone()
    phone.keep()
    before = counts(phone.build)
    phone.cut(way)
    phone.open("log")
    phone.page.get_by_text("As of").wait_for()
    phone.purchase()
    phone.wait_for(1)
    phone.open("log", query="?state=offer")
    phone.purchase("Pantile", "2 pieces")
    phone.wait_for(2)
    phone.open("labour_add")
    phone.hours()
    phone.wait_for(3)
    phone.open("labour_add")
    phone.half_hour()
    phone.wait_for(4)
    phone.open("price_add")
    phone.price()
    phone.wait_for(5)
    phone.open("timer")
    phone.timer("Start")
    phone.wait_for(6)
    phone.open("timer")
    phone.timer("Stop and log")
    phone.wait_for(7)
    phone.decline()
    phone.wait_for(8)
    kinds = [text.split(":")[0] for text in phone.listed()]
    assert kinds[:7] == [
        "Purchase", "Offer", "Hours", "Hours", "New price", "Timer started", "Timer stopped",
    ]  # fmt: skip
    assert added(phone.build, before) == {}
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {
        "received": 1, "declined": 1, "hours": 2, "prices": 1, "photos": 3,
    }  # fmt: skip
    assert Purchase.objects.latest("pk").lines.get().component.name == "Pantile"


# Forms that stand open when the signal goes: name of the address, what it adds, what is done.
OPEN = {
    "received": ("log", "", lambda tab: tab.purchase()),
    "offers": ("log", "?state=offer", lambda tab: tab.purchase("Pantile", "2 pieces")),
    "hours": ("labour_add", "", lambda tab: tab.hours()),
    "prices": ("price_add", "", lambda tab: tab.price()),
    "timers": ("timer", "", lambda tab: tab.timer("Start")),
    "photos": ("purchase", "", lambda tab: tab.photo()),
    "declined": ("yard", "", lambda tab: tab.decline()),
}
OPEN_WAYS = [
    ("cut after", ("received",)),
    pytest.param("cut after", tuple(OPEN), marks=slow),
    ("a portal", ("received", "photos")),
    ("hangs", ("hours",)),
    pytest.param("a portal", tuple(OPEN), marks=slow),
    pytest.param("a portal elsewhere", tuple(OPEN), marks=slow),
    pytest.param("hangs", tuple(OPEN), marks=slow),
    pytest.param("offline", tuple(OPEN), marks=slow),
]


@pytest.mark.parametrize(("way", "kinds"), OPEN_WAYS)
def test_forms_that_stand_open_lose_nothing_and_double_nothing(way, kinds, phone):
    phone = phone()
    phone.keep()
    before = counts(phone.build)
    first = Purchase.objects.filter(build=phone.build, state="received").first()
    tabs = {}
    for kind in kinds:
        name, query, _ = OPEN[kind]
        tabs[kind] = phone.new_tab()
        tabs[kind].open(name, *([first.pk] if name == "purchase" else []), query=query)
    phone.cut(way)
    for kind, tab in tabs.items():
        was = tab.page.url
        OPEN[kind][2](tab)
        if way != "cut after":
            count = list(tabs).index(kind) + 1
            phone.wait_until(lambda kept, count=count: len(kept) == count)
        elif kind == "declined":
            tab.page.locator("[data-sent]:not([hidden])").wait_for()
        else:
            tab.page.wait_for_url(lambda url, was=was: url != was)
    for tab in tabs.values():
        tab.page.close()
    if way != "cut after":
        assert added(phone.build, before) == {}
    phone.mend()
    phone.send()
    wanted = dict.fromkeys(kinds, 1)
    photos = sum(kind in kinds for kind in ("received", "offers", "prices", "photos"))
    if photos:
        wanted["photos"] = photos
    if "declined" in kinds:
        # One more offer, and one that is none any more.
        wanted.pop("offers")
    assert added(phone.build, before) == wanted
    if way == "cut after":
        # What was recorded before its answer was lost is not sent again, photos least of all.
        assert (
            len([sent for sent in phone.wire.forms() if sent.size > len(PHOTO["buffer"])]) == photos
        )
