"""Estimating a build from earlier ones through the screens: look, keep, use, check, undo."""

import re
from decimal import Decimal as D
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.access import list_builds
from materials.choices import Role
from materials.models import Build, BuildArea, Change, Estimate, Member
from materials.models.stated import stated_values
from materials.services.builds import create_build
from materials.services.labour import save_task
from materials.services.records import undo_change
from materials.takeoffs.services import UseMode
from materials.templatetags.form_tokens import NAME
from tests.entries import DAY, Entries, line


def page_text(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


@pytest.fixture
def past(cast):
    """A shed of 200 sq ft: 40 studs for 100.00 (30 at 2.00, 10 at 4.00), 20 hours on its frame."""
    owner = cast["owner"]
    shed = create_build(
        actor=owner, values={"name": "First shed", "currency": "USD"},
        areas=[(BuildArea.FLOOR, D(200), "sq ft")],
    )  # fmt: skip
    entries = Entries(owner, shed)
    frame = shed.elements.get(code="B10")
    stud = entries.component("Stud", element=frame, contents="1 piece = 8 ft")
    hinge = entries.component("Hinge")
    entries.purchase("P1", line(stud, "30 pieces", line_price_amount=D(60)), bought_on=DAY)
    entries.purchase("P2", line(stud, "10 pieces", line_price_amount=D(40)), bought_on=DAY)
    entries.purchase("P3", line(hinge, "4 pieces", line_price_amount=D(12)), bought_on=DAY)
    task = entries.task("Raise it", element=frame)
    entries.labour("Ann", "20", task=task)
    entries.labour("Ben", "2", paid_amount=D("60"))
    return shed


@pytest.fixture
def new(cast):
    """A build of 300 sq ft with nothing in it."""
    return create_build(
        actor=cast["owner"], values={"name": "Second shed", "currency": "USD"},
        areas=[(BuildArea.FLOOR, D(300), "sq ft")],
    )  # fmt: skip


def typed(past, new, **values):
    area = new.areas.get()
    return {"builds": past.pk, "area": area.pk, "by": "none", "note": ""} | values


@pytest.fixture
def add(owner, new):
    def send(**data):
        return owner.post(reverse("estimate_add", args=[new.pk]), data)

    send.owner = owner
    return send


def test_look_shows_and_saves_nothing(add, past, new):
    """60 studs at 2.50 (150.00, from 120.00 to 240.00), 6 hinges 18.00, labour 90.00."""
    answer = add(**typed(past, new), look="1")
    text = page_text(answer)
    assert answer.status_code == 200
    assert (
        "This build will likely cost $258.00 , between $228.00 and $348.00, and take about 33 h ."
        in text
    )
    assert "class 5 estimate" in text
    assert "Prices as they were paid." in text
    assert not Estimate.objects.exists()


def test_an_element_that_no_earlier_build_has_keeps_its_name(add, past, new, cast):
    entries = Entries(cast["owner"], new)
    slipway = entries.element("X20", name="Slipway")
    entries.price(entries.component("Sleeper", element=slipway, required_text="4 pieces"), 9)
    add(**typed(past, new))
    rows = Estimate.objects.get().figures["elements"]
    assert [row["name"] for row in rows if row["code"] == "X20"] == ["Slipway"]


def test_keep_use_and_see_how_good_it_was(add, owner, past, new, cast):
    answer = add(**typed(past, new, by="rate", yearly="0"))
    kept = Estimate.objects.get()
    assert answer.url == reverse("estimate", args=[new.pk, kept.pk])
    assert "nothing to compare" in page_text(owner.get(answer.url))

    use = reverse("estimate_use", args=[new.pk, kept.pk])
    assert owner.post(use, {"budgets": "on", "requirements": "on"}).url == answer.url
    new = Build.objects.get(pk=new.pk)
    assert new.budget_amount == D("258.00")
    assert new.elements.get(code="B10").budget_amount == D("150.00")
    stud = new.components.get(name="Stud")
    assert (stud.required_text, stud.contents, stud.element.code) == (
        "60 pieces", "1 piece = 8 ft", "B10",
    )  # fmt: skip

    entries = Entries(cast["owner"], new)
    entries.purchase("P1", line(stud, "60 pieces", line_price_amount=D("300")))
    text = page_text(owner.get(answer.url))
    assert "So far $300.00 of the $258.00 estimated." in text
    assert "1 component still needed has no price" in text
    assert "not known: 1 needed without a price" in text
    hinge = new.components.get(name="Hinge")
    entries.purchase("P2", line(hinge, "6 pieces", line_price_amount=D("18")))
    text = page_text(owner.get(answer.url))
    assert "The build came to $318.00, within the estimated range: +23%" in text
    assert "+100%, outside the range" in text


def test_all_that_an_estimate_is_kept_with_is_kept(add, past, new):
    add(**typed(past, new, note="Before the first board."))
    kept = stated_values(Estimate.objects.get(), without=frozenset({"figures"}))
    assert kept == {
        "made_on": timezone.localdate(),
        "area_label": BuildArea.FLOOR,
        "area_qty": D(300),
        "area_unit": "sq ft",
        "past_count": 1,
        "escalation": "Prices as they were paid.",
        "used_on": None,
        "note": "Before the first board.",
    }


def test_what_is_stated_already_stays(add, owner, past, new, cast):
    entries = Entries(cast["owner"], new)
    entries.component("Stud", required_text="50 pieces", waste_percent=D(10))
    text = page_text(add(**typed(past, new), look="1"))
    assert "55 pieces" in text
    add(**typed(past, new))
    kept = Estimate.objects.get()
    owner.post(reverse("estimate_use", args=[new.pk, kept.pk]), {"requirements": "on"})
    assert new.components.get(name="Stud").required_text == "50 pieces"
    assert new.components.get(name="Hinge").required_text == "6 pieces"
    assert Build.objects.get(pk=new.pk).budget_amount is None


def test_a_plan_leaves_out_the_waste_that_the_component_allows_for(add, owner, past, new, cast):
    """60 studs were built in, waste and all: with 20 % allowed, 50 are required and 60 needed."""
    Entries(cast["owner"], new).component("Stud", waste_percent=D(20))
    add(**typed(past, new))
    use = reverse("estimate_use", args=[new.pk, Estimate.objects.get().pk])
    owner.post(use, {"requirements": "on"})
    stud = new.components.get(name="Stud")
    assert (stud.required_text, stud.required_from) == ("50 pieces", "estimate")


def test_quantities_taken_over_make_no_estimate_better(add, owner, past, new, cast):
    """Once an estimate has become the plan, a second one says the same and knows no more."""
    first = page_text(add(**typed(past, new), look="1"))
    add(**typed(past, new))
    use = reverse("estimate_use", args=[new.pk, Estimate.objects.get().pk])
    owner.post(use, {"requirements": "on"})
    second = page_text(add(**typed(past, new), look="1"))
    assert "class 5 estimate" in first
    assert "class 5 estimate" in second
    assert "2 quantities of this build were copied" in second
    Entries(cast["owner"], new).change(new.components.get(name="Stud"), required_text="55 pieces")
    third = page_text(add(**typed(past, new), look="1"))
    assert "1 quantity of this build was copied" in third
    assert "class 3 estimate" in third


def test_what_earlier_builds_do_not_know_is_named(add, past, new, cast):
    entries = Entries(cast["owner"], past)
    entries.purchase("P9", line(entries.component("Strap"), "4 pieces"))
    text = page_text(add(**typed(past, new), look="1"))
    assert "earlier builds do not know the full cost: Strap." in text


def test_nothing_bought_yet_is_said_where_a_plan_is_passed(add, owner, past, new, cast):
    add(**typed(past, new))
    use = reverse("estimate_use", args=[new.pk, Estimate.objects.get().pk])
    owner.post(use, {"budgets": "on", "requirements": "on"})
    stud = new.components.get(name="Stud")
    Entries(cast["owner"], new).price(stud, "9.00")
    sheet = page_text(owner.get(reverse("cost_sheet", args=[new.pk])))
    assert "Nothing is bought yet. At new prices, the forecast" in sheet
    assert "prices paid so far" not in page_text(owner.get(reverse("budget", args=[new.pk])))


def test_prices_rise_by_an_index(add, past, new):
    data = typed(past, new, by="index", index_name="Own index, own notes")
    answer = add(**data, index_values="2026-05 100\n2026-06 110 p", look="1")
    text = page_text(answer)
    assert "Prices brought to today by Own index, own notes: May 2026 to June 2026." in text
    assert "Nothing is published for" in text
    assert "$283.80" in text


def test_prices_rise_by_an_index_that_is_kept(add, past, new, cast):
    index = Entries(cast["owner"], past).cost_index("Framing", "2026-05 100\n2026-06 110")
    text = page_text(add(**typed(past, new, by="index", kept=index.pk), look="1"))
    assert "Prices brought to today by Framing: May 2026 to June 2026." in text
    assert "$283.80" in text
    other = page_text(add(**typed(past, new, by="index", kept=index.pk + 1)))
    assert "Choose an index from the list" in other


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"builds": []}, "Tick at least one build"),
        ({"builds": "9" * 40}, "does not exist, or nobody shared"),
        ({"area": "0"}, "Select a valid choice"),
        ({"by": "rate"}, "Enter by how many per cent prices rose a year."),
        ({"by": "rate", "yearly": "lots"}, "is not a number"),
        ({"by": "rate", "yearly": "-100"}, "cannot be below"),
        ({"by": "index"}, "Choose an index, or name one"),
        ({"by": "index", "index_name": "X"}, "Enter the index’s values"),
        (
            {"by": "index", "index_name": "X", "index_values": "May 3"},
            "does not begin with a month",
        ),
        (
            {"by": "index", "index_name": "X", "index_values": "2026-13 3"},
            "does not begin with a month",
        ),
        (
            {"by": "index", "index_name": "X", "index_values": "2026-01 much"},
            "enter the month, then it",
        ),
        ({"by": "index", "index_name": "X", "index_values": "2026-01 0"}, "is above zero"),
        (
            {"by": "index", "index_name": "X", "index_values": "2026-01 1\n2026-01 2"},
            "is there twice",
        ),
        ({"by": "index", "index_name": "X", "index_values": "2036-01 1"}, "no value up to"),
    ],
)
def test_bad_input_is_answered_in_words_and_stays(add, past, new, values, sentence):
    answer = add(**typed(past, new, **values))
    assert answer.status_code == 422
    assert sentence in page_text(answer)
    assert not Estimate.objects.exists()


def test_builds_of_others_are_neither_offered_nor_taken(add, owner, past, new, other_build, cast):
    page = owner.get(reverse("estimate_add", args=[new.pk]))
    assert "First shed" in page_text(page)
    assert other_build.name not in page_text(page)
    assert "does not exist" in page_text(add(**typed(past, new, builds=other_build.pk)))
    # Who sees the new build alone is not told of the earlier one.
    viewer = cast["viewer"]
    Member.objects.create(build=new, user=viewer, role=Role.VIEWER)
    add(**typed(past, new))
    kept = Estimate.objects.get()
    owner.force_login(viewer)
    assert past not in list_builds(viewer)
    assert "First shed" not in page_text(owner.get(reverse("estimate", args=[new.pk, kept.pk])))
    assert "First shed" not in str(Change.objects.filter(build=new).values_list("after", flat=True))


def test_without_area_or_earlier_build_it_says_what_to_do(owner, cast, past, new):
    new.areas.all().delete()
    assert "State its floor area" in page_text(owner.get(reverse("estimate_add", args=[new.pk])))
    BuildArea.objects.create(build=new, label="Floor area", area_qty=D(9), area_unit="sq ft")
    past.areas.all().delete()
    answer = owner.post(reverse("estimate_add", args=[new.pk]), typed(past, new))
    assert "None of these builds has a measured floor area" in page_text(answer)
    Build.objects.filter(pk=past.pk).update(currency="EUR")
    assert "No earlier build in USD" in page_text(owner.get(reverse("estimate_add", args=[new.pk])))


def test_deleted_and_brought_back(add, owner, past, new, cast):
    add(**typed(past, new))
    kept = Estimate.objects.get()
    owner.post(reverse("record_delete", args=[new.pk, "estimate", kept.pk]))
    assert not Estimate.objects.exists()
    undo_change(actor=cast["owner"], build=new, change=new.changes.first())
    assert Estimate.objects.get().figures == kept.figures


def test_sent_twice_it_is_kept_once(owner, past, new):
    url = reverse("estimate_add", args=[new.pk])
    token = re.search(rf'name="{NAME}" value="([^"]+)"', owner.get(url).content.decode())[1]
    data = typed(past, new) | {NAME: token}
    owner.post(url, data)
    owner.post(url, data)
    assert Estimate.objects.count() == 1


def test_an_unfinished_build_is_said_and_gives_its_finished_elements(add, past, new, cast):
    """The frame is done (20 of 50 planned hours), the roof of 30 h not: 40 %, and no roof."""
    entries = Entries(cast["owner"], past)
    frame, roof = past.elements.get(code="B10"), past.elements.get(code="B30")
    task = past.tasks.get()
    save_task(actor=cast["owner"], build=past, task=task, values={
        "name": task.name, "element": frame, "planned_hours": D(20), "done_percent": D(100),
    })  # fmt: skip
    entries.task("Cover it", element=roof, planned_hours=D(30), done_percent=D(0))
    tin = entries.component("Tin", "sheet", element=roof)
    entries.purchase("P4", line(tin, "5 sheets", line_price_amount=D(50)), bought_on=DAY)
    text = page_text(add(**typed(past, new), look="1"))
    assert "First shed is not finished: about 40% done by planned hours." in text
    assert "Only its 1 finished element counts." in text
    assert "Left out, because earlier builds have still to finish it: B30" in text
    # 60 studs for 150.00 alone: tin, hinges and what was paid on no element are of the open part.
    assert "This build will likely cost $150.00" in text
    assert "for the elements that earlier builds have finished" in text
    add(**typed(past, new))
    kept = new.estimates.get()
    owner_page = page_text(add.owner.get(reverse("estimate", args=[new.pk, kept.pk])))
    assert "One earlier build is not finished: about 40% done by planned hours." in owner_page
    assert "First shed" not in owner_page

    answer = add(**typed(past, new, unfinished="leave out"))
    assert answer.status_code == 422
    assert "None of these builds is finished" in page_text(answer)
    assert new.estimates.count() == 1


def test_what_nothing_tells_of_counts_as_it_stands_and_says_so(add, past, new):
    text = page_text(add(**typed(past, new), look="1"))
    assert "First shed does not say whether all of it is finished" in text


def test_shapes_of_both_builds_go_before_the_area(add, past, new, cast):
    """Domes of 65 and 165 struts: 40 studs become 40 / 65 x 165 = 101.5, so 102."""
    old, now = Entries(cast["owner"], past), Entries(cast["owner"], new)
    stud = past.components.get(name="Stud")
    dome = old.takeoff("Small dome", "dome", radius="6 ft", frequency="2", rows="")
    now.takeoff("Big dome", "dome", radius="9 ft", frequency="3", rows="5/9")
    old.change(stud, required_text="10 pieces")
    old.use(dome, "strut-a", stud, UseMode.KEEP)
    text = page_text(add(**typed(past, new), look="1"))
    assert "102 pieces" in text
    assert "by struts: 165 pieces here, 65 pieces before" in text
    # 20 h / 65 x 165 = 50.77, and 2 h on no element by area: 3.
    assert "take about 53.77 h" in text
    add(**typed(past, new))
    kept = new.estimates.get()
    shown = page_text(add.owner.get(reverse("estimate", args=[new.pk, kept.pk])))
    assert "by struts: 165 pieces here, 65 pieces before" in shown


def test_an_estimate_kept_before_this_was_known_is_still_shown(add, owner, past, new):
    add(**typed(past, new))
    kept = new.estimates.get()
    for name in ("untaught", "is_labour_partial", "pasts"):
        kept.figures.pop(name)
    for row in [*kept.figures["elements"], *kept.figures["parts"]]:
        row.pop("scale")
    kept.save()
    shown = owner.get(reverse("estimate", args=[new.pk, kept.pk]))
    assert "This build will likely cost $258.00" in page_text(shown)
