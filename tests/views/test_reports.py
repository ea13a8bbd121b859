"""The budget and hours pages: words both ways, pictures with words, figures that open."""

import re
from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from materials.access import list_builds
from materials.choices import Fate, LabourKind
from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.management.commands.demo import FOLDER
from materials.queries.progress import list_area_costs, list_spend
from materials.queries.reports import get_cost_sheet
from materials.services.builds import create_build, save_build
from materials.services.imports import import_plan
from materials.views import base
from tests.answers import status
from tests.entries import DAY, Entries, line
from tests.queries.test_growth import count, grown, page_counts
from tests.views.screens import Page, Screens

PAGES = ("budget", "hours_report")


@pytest.fixture
def demo(owner, cast) -> Screens:
    """The demo build."""
    plan = check_book(read_workbook(FOLDER)).plan
    build = import_plan(actor=cast["owner"], plan=plan, owner=cast["owner"])
    return Screens(owner, build.pk)


@pytest.fixture
def own(owner, build) -> Screens:
    """The owner at an empty build."""
    return Screens(owner, build.pk)


def words(page: Page) -> str:
    """What a page says, without its pictures."""
    return " ".join(unescape(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", page.html, flags=re.S)).split())


def pictures(page: Page) -> list[tuple[str, str]]:
    """Title and description of each picture."""
    found = re.findall(
        r'<svg class="picture" role="img"[^>]*aria-labelledby="([^"]+)" aria-describedby="([^"]+)"'
        r'>\s*<title id="([^"]+)">([^<]+)</title>\s*<desc id="([^"]+)">([^<]+)</desc>',
        page.html,
    )
    assert len(found) == page.html.count('role="img"')
    assert len({name for name, *_ in found}) == len(found)
    for name, result, title_id, _, desc_id, _ in found:
        assert (name, result) == (title_id, desc_id)
    return [(title, result) for *_, title, _, result in found]


def test_the_demo_says_what_is_over_and_what_is_not(demo):
    page = demo.open("budget")
    text = words(page)
    assert "B2010 is $157.03 over its budget of $3,100.00 : Exterior walls." in text
    assert "Another $80.70 is ordered for it." in text
    assert "At the prices paid so far the forecast stays $516.85 within the budget" in text
    assert page.html.count('<span class="flag">over budget</span>') == 1
    assert "−$237.73 over budget" in text
    assert "$4,300.00 of the build’s budget has no element yet." in text


def test_the_demos_hours_in_words(demo):
    text = words(demo.open("hours_report"))
    assert "At the pace so far the work takes 35.71 h more than planned" in text
    assert "Straw walls: 6.25 h over plan of 44 h." in text
    assert "Lime plaster: heading 6.86 h over plan of 66 h, 70% done after 51 h." in text
    assert "Earth-bag back wall 84 h 82.25 h 100% 82.25 h 1.75 h less" in text
    assert "A1030 Slab on grade costs $101.41 more than new." in text
    assert "The whole build $14,703.84 236 h $62.30" in text
    assert "174.75 h of sourcing and preparing belong to no element" in text


def test_pictures_say_in_words_what_they_show(demo):
    titles = {
        "cost_sheet": [
            "Share by source",
        ],
        "budget": ["Spend over time"],
        "hours_report": [
            "Hours of each task against the plan, part 1 of 2",
            "Hours of each task against the plan, part 2 of 2",
        ],
    }
    values = {}
    for name, expected in titles.items():
        found = pictures(demo.open(name))
        assert [title for title, _ in found] == expected
        values[name] = " ".join(text for _, text in found)
    # The bars of the elements say nothing that the cells of their rows do not.
    assert "Landed cost: salvage 57%, seconds 22%, retail 21%." in values["cost_sheet"]
    assert "By the end of May 2026: $16,671.39." in values["budget"]
    assert "Budget: $22,500.00." in values["budget"]
    assert (
        "Salvage runs: worked 127.25 h, planned 110 h, 17.25 h over the plan."
        in (values["hours_report"])
    )


@pytest.mark.parametrize("name", PAGES)
def test_every_link_of_the_page_opens(demo, name):
    # Those of the page itself: the index is the same everywhere, and each of its pages is opened.
    own = Page(demo.open(name).html.partition("<main")[2])
    links = {url for url, _ in own.links if url.startswith(f"/builds/{demo.build_id}/")}
    assert len(links) > 5
    for url in sorted(links):
        assert status(demo.client.get(url.replace("&amp;", "&"))) == 200, url


def test_what_is_spent_by_day_comes_to_what_is_spent(entries, build):
    board = entries.component("Board")
    entries.purchase("P1", line(board, "10 pieces", unit_price=Decimal(5)))
    entries.purchase("P2", line(board, "4 pieces", unit_price=Decimal(9)), state="ordered")
    entries.purchase("P3", line(board, "4 pieces", unit_price=Decimal(9)), state="offer")
    entries.conversion("C1", board, "1 piece", (entries.component("Stud"), "1 piece"), hours=2)
    entries.left_over(board, "2 pieces", Fate.SOLD, proceeds_amount=Decimal("7.50"))
    entries.labour("Ann", 3, paid_amount=Decimal(60), worked_on=date(2026, 5, 9))
    entries.labour("Ann", 3)
    spend = list_spend(build)
    assert spend == [(DAY, Decimal("-7.5")), (DAY, 50), (date(2026, 5, 9), 60)]
    assert sum(amount for _, amount in spend) == get_cost_sheet(build, timezone.localdate()).spent


def board_build(entries, build, budget, element_budget, contingency=10) -> None:
    """Spent 30, ordered 20; 5 of 15 boards still needed: 15 at the average, 21.60 new."""
    save_build(
        actor=entries.actor,
        build=build,
        values={"budget_amount": budget, "contingency_percent": contingency},
        areas=[],
        rates=[],
    )
    walls = entries.element("W10", name="Walls", budget_amount=element_budget)
    board = entries.component("Board", element=walls, required_text="20 pieces")
    entries.price(board, 4)
    entries.purchase("P1", line(board, "10 pieces", unit_price=Decimal(3)))
    entries.purchase("P2", line(board, "5 pieces", unit_price=Decimal(4)), state="ordered")


@pytest.mark.parametrize(
    ("budget", "result"),
    [
        (None, "Spent so far: $30.00 . No budget is stated"),
        (
            45,
            "Spent and committed money has passed the budget of $45.00 by $5.00. With what is"
            " still needed, the forecast passes it by $20.00 at the prices paid so far, and by"
            " $26.60 if you buy all of it new. The contingency of $4.50 is separate. It would"
            " not cover that.",
        ),
        (
            64,
            "At the prices paid so far the forecast passes the budget by $1.00. If you buy"
            " everything still needed new, it passes the budget of $64.00 by $7.60. The"
            " contingency of $6.40 is separate. It would not cover that.",
        ),
        (
            70,
            "If you buy everything still needed new, the forecast passes the budget by $1.60."
            " At the prices paid so far it stays $5.00 within the budget of $70.00. The contingency"
            " of $7.00 is separate. It would cover that.",
        ),
        (
            100,
            "At the prices paid so far the forecast stays $35.00 within the budget of $100.00. If"
            " you buy everything still needed new, it stays $28.40 within it.",
        ),
    ],
)
def test_the_whole_in_words(entries, build, own, budget, result):
    board_build(entries, build, budget, None)
    assert result in words(own.open("budget"))


@pytest.mark.parametrize(
    ("budget", "result"),
    [
        (25, "W10 is $5.00 over its budget of $25.00 : Walls. Another $20.00 is ordered for it."),
        (45, "W10 passes its budget of $45.00 by $5.00 with what is ordered for it: Walls."),
        (
            60,
            "W10 is heading $5.00 over its budget of $60.00 , even at the lower known prices:"
            " Walls.",
        ),
        (70, "W10 may pass its budget of $70.00 by $1.60 with what is still to go in"),
        (100, None),
    ],
)
def test_an_element_in_words(entries, build, own, budget, result):
    board_build(entries, build, 1000, budget)
    text = words(own.open("budget"))
    if result is None:
        assert "Elements over budget or heading there" not in text
        assert "W10 Walls $100.00 $30.00 $20.00 $50.00 50%" in text
    else:
        assert result in text
        assert "Elements over budget or heading there" in text


def test_the_day_the_budget_was_passed(entries, build, own):
    board_build(entries, build, 20, None)
    text = words(own.open("budget"))
    assert "What is spent has been above the budget since 4 May 2026." in text
    assert "Above the budget since 4 May 2026." in dict(pictures(own.open("budget"))).popitem()[1]


def test_elements_without_a_budget_stand_apart(entries, build, own):
    board_build(entries, build, 1000, None)
    entries.component("Nail")
    text = words(own.open("budget"))
    assert "No element has a budget yet" in text
    without = text[text.index("Elements without a budget") :]
    assert "W10 Walls $30.00 $20.00 $15.00 to $21.60" in without


@pytest.mark.parametrize(
    ("planned", "done", "worked", "result"),
    [
        (10, 50, 7, "Frame: heading 4 h over plan of 10 h, 50% done after 7 h."),
        (10, 50, 12, "Frame: 2 h over plan of 10 h, 50% done. At this pace it takes 24 h."),
        (10, None, 13, "Frame: 3 h over plan of 10 h, share done not stated."),
        (10, 100, 13, "Frame: 3 h over plan of 10 h."),
        (10, 50, 4, "the work takes 2 h less than planned : 8 h against 10 h."),
        (10, 50, 5, "the work takes the 10 h it was planned to ."),
        (10, 0, 4, "so the pace is not known."),
        (None, 50, 4, "so the pace is not known."),
    ],
)
def test_a_task_in_words(entries, own, planned, done, worked, result):
    task = entries.task("Frame", planned_hours=planned, done_percent=done)
    entries.labour("Ann", worked, task=task)
    assert result in words(own.open("hours_report"))


def test_hours_for_one_only_where_there_is_one_unit(entries, own):
    walls, roof = entries.element("W10", name="Walls"), entries.element("W30", name="Roof")
    for name, unit, element in (
        ("Stud", "piece", walls),
        ("Sheet", "sheet", roof),
        ("Screw", "lb", roof),
    ):
        part = entries.component(name, unit, element=element)
        entries.purchase(name, line(part, f"4 {unit}", unit_price=Decimal(1)))
    for element in (walls, roof):
        task = entries.task(f"Put up {element.name}", element=element)
        entries.labour("Ann", 6, task=task)
        entries.labour("Ann", 2, LabourKind.SOURCING, task=task)
    text = words(own.open("hours_report"))
    assert "W10 Walls 6 h 4 pieces 1.5 h per piece" in text
    assert "W30 Roof: 6 h, counted in lb, sheet." in text
    assert "W30 Roof not known 2 h not known" in text


@pytest.mark.parametrize("name", PAGES)
def test_an_empty_build_has_its_pages(own, name):
    page = own.open(name)
    assert pictures(page) == []
    assert "No hours are logged yet" in page.text or "No element has a budget yet" in page.text


def test_a_build_of_another_currency_writes_it(owner, cast):
    made = create_build(
        actor=cast["owner"],
        values={"name": "Hut", "currency": "JPY", "budget_amount": Decimal(90000)},
    )
    assert "¥" not in (page := Screens(owner, made.pk).open("budget")).text
    assert "90,000 JPY" in page.text


@pytest.mark.parametrize("name", PAGES)
def test_a_viewer_is_offered_no_change(clients, entries, build, name):
    entries.fill(range(1))
    answer = clients["viewer"].get(reverse(name, args=[build.pk]))
    page = Page(answer.content.decode())
    assert answer.status_code == 200
    assert not [url for url, _ in page.links if url.endswith(("/add/", "/details/"))]


def test_no_more_queries_for_more_rows(clients, entries, build):
    urls = {name: reverse(name, args=[build.pk]) for name in (*PAGES, "cost_sheet")}
    entries.fill(range(2))
    page_counts(clients["owner"], urls)
    few = page_counts(clients["owner"], urls)
    entries.fill(range(2, 20))
    assert grown(few, page_counts(clients["owner"], urls)) == {}
    # Beyond the cost sheet: spend in four, task plans in one. The timer, and whether anything
    # has changed, are asked for on it only.
    sheet = few["cost_sheet"] - 2
    assert few["budget"] - sheet == 4
    assert few["hours_report"] - sheet == 1


@pytest.mark.parametrize("name", PAGES)
def test_everything_is_loaded_before_the_page_is_drawn(name, clients, entries, build, monkeypatch):
    calls = []

    def keep(request, template, context=None, status=None):
        from django.http import HttpResponse

        calls.append((template, context, request))
        return HttpResponse(status=status)

    monkeypatch.setattr(base, "render", keep)
    entries.fill(range(3))
    clients["owner"].get(reverse(name, args=[build.pk]))
    ((template, context, request),) = calls
    assert count(lambda: render_to_string(template, context, request)) == 0


def measured_builds(cast, numbers: range) -> None:
    for n in numbers:
        unit = "sq m" if n % 2 else "sq ft"
        made = create_build(
            actor=cast["owner"],
            values={"name": f"Build {n:02}", "currency": "USD"},
            areas=[("Floor area", Decimal(100), unit)],
        )
        Entries(cast["owner"], made).fill(range(2))


def test_cost_per_area_of_all_builds_in_a_fixed_number_of_queries(clients, cast, other_build):
    url = {"builds": reverse("builds")}
    measured_builds(cast, range(2))
    page_counts(clients["owner"], url)
    few = page_counts(clients["owner"], url)
    measured_builds(cast, range(2, 6))
    assert grown(few, page_counts(clients["owner"], url)) == {}
    page = Page(clients["owner"].get(url["builds"]).content.decode())
    assert "Cost per floor area" in page.text
    assert "Elsewhere" not in page.text
    ((title, result),) = pictures(page)
    assert title == "Cost per floor area"
    assert result.count(" per sq ft.") == 6


def test_cost_per_area_is_the_cost_sheets(demo, cast):
    for build in list_builds(cast["owner"]):
        (row,) = list_area_costs([build])
        sheet = get_cost_sheet(build, timezone.localdate())
        assert row.per_unit == sheet.areas[0].cost
        assert row.cost == sheet.total.cost + sheet.hours.paid_labour


def test_a_build_without_a_floor_area_has_no_cost_per_area(owner, cast):
    create_build(actor=cast["owner"], values={"name": "Hut", "currency": "USD"})
    assert "Cost per floor area" not in Page(owner.get(reverse("builds")).content.decode()).text
