"""Lessons through the screens: noted, summed, and shown where the same thing is touched again."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from materials.access import list_builds
from materials.models import Build, Change, Lesson
from materials.queries.lessons import SHOWN, lessons_touching, sum_lessons
from materials.services.errors import LedgerError
from materials.services.lessons import save_lesson
from materials.services.records import undo_change
from materials.views.lessons import sums_text
from tests.entries import DAY, Entries, line
from tests.views.screens import Page, Screens

pytestmark = pytest.mark.django_db
WET = "Stacked the cladding in the rain"
WARPED = {"kind": "regret", "text": WET, "amount": "35", "hours": "9"}


@pytest.fixture
def screens(clients, build) -> Screens:
    """The owner at a build without records."""
    return Screens(clients["owner"], build.pk)


@pytest.fixture
def there(cast, second) -> Entries:
    """Writes into the owner's other build."""
    return Entries(cast["owner"], second)


def section(page: Page, heading: str = "Lessons") -> str:
    """What a section of a page says; "" where there is none."""
    parts = page.html.split("<section")
    found = (part for part in parts if f">{heading}</h2>" in part)
    return Page(next(found, "").split("</section>")[0]).text


def test_a_lesson_is_noted_from_the_page_of_what_it_is_about(screens, entries):
    plank = entries.component("Cladding")
    links = {text: url for url, text in screens.open("component", plank.pk).links}
    form = screens.read(links["Add lesson about it"]).form
    assert form.fields["author"] == "owner"
    answer = screens.send(links["Add lesson about it"], screens.filled(form, WARPED))
    made = Lesson.objects.get()
    assert answer.url.startswith(screens.url("lesson", made.pk))
    assert (made.about, made.amount, made.hours, made.author) == (plank, D(35), D(9), "owner")
    page = screens.read(answer.url)
    assert (page.ledger["About"], page.ledger["Money it cost"]) == ("Cladding", "$35.00")
    assert (page.ledger["Hours it cost"], page.ledger["Noted by"]) == ("9 h", "owner")
    assert "Undo" in page.text


@pytest.mark.parametrize("kind", ["component", "element", "task", "supplier"])
def test_each_page_shows_what_was_learned_of_it_here_and_elsewhere(
    kind, screens, entries, there, clients
):
    """The same by name, whatever the case; another name, or a build not seen, says nothing."""

    def named(writes: Entries, name: str):
        values = {"name": name} if kind == "element" else {}
        return getattr(writes, kind)("Q7" if kind == "element" else name, **values)

    own = named(entries, "Green oak")
    entries.lesson("Bored before it shrank", **{kind: own}, hours=D(2))
    there.lesson("Bought a month early", kind="win", **{kind: named(there, "GREEN  OAK")})
    told = section(screens.open(kind, own.pk))
    assert told.index("Bored before it shrank") < told.index("Bought a month early")
    assert "Cost 2 h" in told
    assert "Tool house" in told
    alone = Screens(clients["viewer"], entries.build.pk).open(kind, own.pk)
    assert "Bored before it shrank" in section(alone)
    assert "Bought a month early" not in section(alone)
    assert "Add lesson" not in alone.text


def test_another_name_is_another_thing(screens, entries, there):
    here = entries.component("Green oak")
    there.lesson("Bought a month early", component=there.component("Green oak beam"))
    assert section(screens.open("component", here.pk)) == ""


def test_what_one_may_not_see_is_never_shown(entries, other_build, cast):
    """A stranger's build has the same component: its lessons stay its own."""
    oak = entries.component("Green oak")
    foreign = Entries(cast["stranger"], other_build)
    foreign.lesson("A secret", component=foreign.component("Green oak"))
    found = lessons_touching(cast["owner"], entries.build, component=[oak.name])
    assert found.rows == ()
    seen = lessons_touching(cast["stranger"], other_build, component=[oak.name])
    assert [row.text for row in seen.rows] == ["A secret"]


def test_an_offer_is_shown_with_what_was_learned_of_it(screens, entries, there):
    oak, yard = entries.component("Green oak"), there.supplier("Vale yard")
    there.lesson("Their bundles are short", supplier=yard, amount=D(20))
    there.lesson("It moves for years", component=there.component("Green oak"))
    offered = line(oak, "4 pieces", unit_price=D(9))
    offer = entries.purchase("O1", offered, state="offer", supplier="vale yard")
    told = section(screens.open("purchase", offer.pk))
    assert "Their bundles are short" in told
    assert "Cost $20.00" in told
    assert "It moves for years" in told
    got = entries.purchase("P1", offered, supplier="vale yard")
    assert section(screens.open("purchase", got.pk)) == ""


def test_an_offer_that_is_typed_is_shown_with_it_before_it_is_saved(screens, entries, there):
    entries.component("Green oak")
    there.lesson("Their bundles are short", supplier=there.supplier("Vale yard"))
    there.lesson("It moves for years", component=there.component("Green oak"))
    url = screens.url("log") + "?state=offer"
    typed = {
        "what": "green oak",
        "quantity_text": "4 pieces",
        "price": "36",
        "supplier": "Vale yard",
    }
    data = screens.filled(screens.read(url).form, typed | {"source": "salvage"}) | {"look": "1"}
    told = section(Page(screens.send(url, data).content.decode()))
    assert "Their bundles are short" in told
    assert "It moves for years" in told


def test_a_comparison_belongs_to_a_lesson_and_shows_others_of_its_component(
    screens, entries, there
):
    oak = entries.component("Green oak")
    own = entries.lesson("Painted it, and paint it again", component=oak)
    entries.lesson("Left the ends open", component=oak)
    links = {text: url for url, text in screens.open("lesson", own.pk).links}
    form = screens.read(links["Compare lifetime cost"]).form
    assert form.fields["lesson"] == str(own.pk)
    assert form.fields["component"] == str(oak.pk)
    choice = entries.life_choice("Paint or steel", component=oak, lesson=own)
    page = screens.open("life_choice", choice.pk)
    assert (screens.url("lesson", own.pk), "Painted it, and paint it again") in page.links
    assert "Left the ends open" in section(page)
    assert "Painted it" not in section(page)
    assert (screens.url("life_choice", choice.pk), "Paint or steel") in screens.open(
        "lesson", own.pk
    ).links
    answer = screens.send(screens.url("record_delete", "lesson", own.pk), {})
    assert answer.status_code == 422
    assert "Paint or steel" in answer.content.decode()


def test_an_estimate_shows_what_was_learned_of_what_it_counts(screens, entries, there, second):
    frame = second.elements.get(code="B10")
    there.purchase("P1", line(there.component("Stud", element=frame), "4 pieces", unit_price=D(5)))
    there.lesson("Raised it alone", element=frame, hours=D(6))
    there.lesson("Began in November")
    there.lesson("Never bought a nail too few", component=there.component("Nail"))
    area = entries.build.areas.get()
    typed = {"builds": second.pk, "area": area.pk, "by": "none", "note": "", "look": "1"}
    told = section(Page(screens.send(screens.url("estimate_add"), typed).content.decode()))
    assert "Raised it alone" in told
    assert "Cost 6 h" in told
    assert "Began in November" in told
    assert "a nail too few" not in told
    kept = entries.estimate(second)
    assert "Raised it alone" in section(screens.open("estimate", kept.pk))


def test_the_next_build_begins_with_what_was_learned(clients, entries):
    for n in range(SHOWN + 2):
        entries.lesson(f"Lesson {n}")
    site = Screens(clients["owner"])
    page = site.read(f"{reverse('build_add')}?like={entries.build.pk}")
    assert "Lesson 6" in section(page)
    assert "Lesson 1" not in section(page)
    assert "2 more" in section(page)


def test_the_list_begins_with_what_they_come_to(screens, entries, there):
    assert "No lesson is noted yet." in screens.open("lessons").text
    entries.lesson("One", amount=D(35), hours=D(9))
    entries.lesson("Two", amount=D("4.5"), hours=D(0))
    entries.lesson("Three", kind="win", hours=D(3))
    there.lesson("Of this build too", element=there.build.elements.first())
    there.lesson("Of that alone", component=there.component("Only there"))
    there.lesson("The whole of it", kind="win")
    page = screens.open("lessons")
    # Three: what it saved in money is not known, so that its hours are the least.
    assert "2 regrets cost $39.50 and 9 h. 1 win saved at least 3 h." in page.text
    others = section(page, "From your other builds")
    assert "Of this build too" in others
    assert "The whole of it" in others
    assert "Of that alone" not in others


def test_what_is_not_known_is_not_zero(entries):
    entries.lesson("One")
    sums = sum_lessons(entries.build)
    assert (sums["regret"].amount, sums["regret"].hours) == (None, None)
    assert sums_text(sums, "USD") == "1 regret: what it cost is not known."
    entries.lesson("Two", amount=D(0), hours=D(0))
    assert sums_text(sum_lessons(entries.build), "USD") == (
        "2 regrets cost at least $0.00 and 0\xa0h."
    )


def test_a_lesson_is_found_by_its_words(screens, entries):
    made = entries.lesson(WET)
    page = screens.read(screens.url("search") + "?q=rain")
    assert (screens.url("lesson", made.pk), WET) in page.links


def test_it_is_changed_undone_deleted_and_brought_back(screens, entries, cast):
    made = entries.lesson(WET, component=entries.component("Cladding"), hours=D(9))
    screens.save("lesson_edit", {"about": "The whole build", "hours": ""}, made.pk)
    made.refresh_from_db()
    assert (made.about, made.hours) == (None, None)
    by = {"actor": cast["owner"], "build": entries.build}
    undo_change(**by, change=Change.objects.filter(record_type="lesson").first())
    made.refresh_from_db()
    assert (str(made.about), made.hours) == ("Cladding", D(9))
    screens.send(screens.url("record_delete", "lesson", made.pk), {})
    assert not Lesson.objects.exists()
    undo_change(**by, change=Change.objects.filter(record_type="lesson").first())
    assert str(Lesson.objects.get().about) == "Cladding"


def test_another_about_the_same_begins_with_it(screens, entries):
    made = entries.lesson(WET, kind="win", component=entries.component("Cladding"), hours=D(9))
    form = screens.read(f"{screens.url('lesson_add')}?here={made.pk}").form.fields
    assert form["about"] == f"component-{made.component_id}"
    assert (form["kind"], form["text"], form["hours"]) == ("win", "", "")


def test_services_refuse_what_a_lesson_cannot_be(entries, there):
    plank, yard = entries.component("Cladding"), entries.supplier("Yard")
    for values, words in (
        ({"component": plank, "supplier": yard}, "about one thing"),
        ({"component": there.component("Far")}, "of this build"),
        ({"text": ""}, "Say what the lesson is"),
    ):
        given = {"kind": "win", "text": "So it was", "noted_on": DAY} | values
        with pytest.raises(LedgerError, match=words):
            save_lesson(**entries.by, lesson=Lesson(), values=given)
    assert not Lesson.objects.exists()


def test_lessons_of_all_ones_builds_take_one_query(
    entries, there, cast, django_assert_max_num_queries
):
    for n in range(12):
        there.lesson(f"Lesson {n}", component=there.component(f"Part {n}"))
    names = [f"Part {n}" for n in range(12)]
    with django_assert_max_num_queries(1):
        found = lessons_touching(cast["owner"], entries.build, component=names)
        assert [str(row.about) for row in found.rows]
    assert (len(found.rows), found.more) == (SHOWN, 12 - SHOWN)
    assert Build.objects.count() == list_builds(cast["owner"]).count()
