"""Pages run the same number of queries however many rows there are."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.core.cache import cache
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from materials.choices import Role
from materials.models import Build, Component, Member, PurchaseLine
from materials.queries.purchases import list_lines
from materials.queries.reports import get_cost_sheet
from materials.services.builds import create_build
from materials.services.invitations import invite
from materials.services.members import add_member, link_person
from materials.views import base, builds
from tests.entries import line, way

LISTS = (
    "elements",
    "cost_basis",
    "replacement",
    "landfill",
    "estimates",
    "needed",
    "sourcing",
    "cautions",
    "takeoffs",
    "components",
    "prices",
    "suppliers",
    "purchases",
    "purchase_lines",
    "conversions",
    "ways",
    "lessons",
    "cutting_plans",
    "left_over",
    "moves",
    "tasks",
    "labour",
    "hand_overs",
    "settling_up",
    "shares_edit",
    "history",
    "share_links",
    "life_choices",
    "cost_indexes",
)
DETAIL = ("purchase", "purchase_edit")
FORMS = (
    "purchase_add",
    "conversion_add",
    "way_to_make_add",
    "lesson_add",
    "cutting_plan_add",
    "left_over_add",
    "labour_add",
    "price_add",
    "hand_over_add",
    "life_choice_add",
    "cost_index_add",
)


def count(read: Callable[[], object]) -> int:
    """Number of queries that something runs where nothing is kept of the build yet."""
    cache.clear()
    with CaptureQueriesContext(
        connection,
    ) as queries:
        read()
    return len(queries)


def grown(before: dict[str, int], after: dict[str, int]) -> dict[str, tuple[int, int]]:
    """What ran more queries after than before."""
    return {name: (before[name], after[name]) for name in before if after[name] > before[name]}


def page_counts(client, urls: dict[str, str]) -> dict[str, int]:
    """Queries of each page, those of signing in included; every page must answer."""

    def read(url: str) -> None:
        assert client.get(url).status_code == 200, url

    return {name: count(lambda url=url: read(url)) for name, url in urls.items()}


@pytest.fixture
def shared_token(entries) -> str:
    """Of a link that shows all there is."""
    return entries.share_link("All", shows_suppliers=True, shows_people=True)[1]


@pytest.fixture
def urls(build, shared_token) -> dict[str, str]:
    names = [*LISTS, *FORMS, "cost_sheet", "build_edit", "download", "downloads", "download_tables"]
    made = {name: reverse(name, args=[build.pk]) for name in names}
    made |= {name: reverse("figure", args=[build.pk, name]) for name in ("savings", "spent")}
    made["shared"] = reverse("shared", args=[shared_token])
    made["sorted"] = made["purchase_lines"] + "?sort=-landed_amount"
    made["filtered"] = made["purchase_lines"] + "?source=salvage&state=received"
    return made


def test_no_page_runs_more_queries_for_more_rows(clients, entries, urls):
    owner = clients["owner"]
    entries.fill(range(2))
    detail = {
        "purchase": entries.build.purchases.get(number="P000"),
        "purchase_edit": entries.build.purchases.get(number="P000"),
        "component": entries.build.components.get(name="Board 000"),
        "life_choice": entries.build.life_choices.get(name="Walls 000"),
        "lesson": entries.build.lessons.get(text="Oiled too late 000"),
        "element": entries.build.elements.get(code="Z000"),
        "takeoff": entries.build.takeoffs.get(name="Wall 000"),
    }
    urls |= {name: reverse(name, args=[entries.build.pk, row.pk]) for name, row in detail.items()}
    page_counts(owner, urls)
    few = page_counts(owner, urls)
    entries.fill(range(2, 9))
    assert grown(few, page_counts(owner, urls)) == {}


def test_a_purchase_with_many_lines_runs_the_same_queries(clients, entries):
    board = entries.component("Board")
    urls = {}
    for lines in (2, 20):
        made = entries.purchase(f"P{lines}", *[line(board, "1 piece") for _ in range(lines)])
        urls[lines] = {n: reverse(n, args=[made.build_id, made.pk]) for n in DETAIL}
    page_counts(clients["owner"], urls[2])
    few = page_counts(clients["owner"], urls[2])
    assert grown(few, page_counts(clients["owner"], urls[20])) == {}


def test_a_comparison_of_many_ways_runs_the_same_queries(clients, entries):
    urls = {}
    for number in (2, 5):
        ways = [way(f"Way {n}", 100 + n, 10) for n in range(number)]
        made = entries.life_choice(f"Of {number}", *ways)
        names = ("life_choice", "life_choice_edit")
        urls[number] = {n: reverse(n, args=[made.build_id, made.pk]) for n in names}
    page_counts(clients["owner"], urls[2])
    few = page_counts(clients["owner"], urls[2])
    assert grown(few, page_counts(clients["owner"], urls[5])) == {}


def test_growth_would_be_seen(entries):
    """Lines read without their component: one query more for each line."""

    def names(lines) -> Callable[[], object]:
        return lambda: [line.component.name for line in lines.all()]

    plain = PurchaseLine.objects.filter(purchase__build=entries.build)
    entries.fill(range(2))
    few = {"plain": count(names(plain)), "joined": count(names(list_lines(entries.build)))}
    entries.fill(range(2, 6))
    many = {"plain": count(names(plain)), "joined": count(names(list_lines(entries.build)))}
    assert grown(few, many) == {"plain": (few["plain"], few["plain"] + 4 * 3)}


def test_moves_and_comparing_run_the_same_queries_for_many(clients, entries, second):
    board = entries.component("Board")
    entries.purchase("P1", line(board, "100 pieces", unit_price=Decimal(2)))

    def transfer(numbers: range) -> None:
        for _ in numbers:
            entries.transfer(board, "1 piece", second)

    keys = [entries.build.pk, second.pk]
    urls = {name: reverse(name, args=[keys[0]]) for name in ("moves", "move_add", "cost_sheet")}
    urls["into"] = reverse("moves", args=[keys[1]])
    urls["form"] = urls["move_add"] + f"?to={keys[1]}"
    urls["sides"] = reverse("compare") + f"?build={keys[0]}&build={keys[1]}"
    transfer(range(2))
    # Something of everything from the beginning: new prices are read only to split with.
    entries.fill(range(1))
    page_counts(clients["owner"], urls)
    few = page_counts(clients["owner"], urls)
    transfer(range(12))
    entries.fill(range(1, 4))
    assert grown(few, page_counts(clients["owner"], urls)) == {}


def test_comparing_costs_a_cost_sheet_for_each_build_and_little_more(clients, cast):
    made = [create_build(actor=cast["owner"], values={"name": f"Build {n}"}) for n in range(4)]

    def url(number: int) -> str:
        return reverse("compare") + "?" + "&".join(f"build={b.pk}" for b in made[:number])

    counts = page_counts(clients["owner"], {str(n): url(n) for n in (2, 3, 4)})
    sheet = count(lambda: get_cost_sheet(made[0], timezone.localdate()))
    assert counts["4"] - counts["3"] == counts["3"] - counts["2"] == sheet


def test_the_list_of_builds_runs_the_same_queries_for_many(clients, cast):
    def begin(numbers: range) -> None:
        for n in numbers:
            create_build(actor=cast["owner"], values={"name": f"Build {n}"})

    url = {"builds": reverse("builds")}
    begin(range(2))
    page_counts(clients["owner"], url)
    few = page_counts(clients["owner"], url)
    begin(range(2, 8))
    assert Member.objects.filter(user=cast["owner"]).count() == Build.objects.count() == 8
    assert grown(few, page_counts(clients["owner"], url)) == {}


def test_members_and_invitations_run_the_same_queries_for_many(clients, cast, build):
    users, by = get_user_model().objects, {"actor": cast["owner"], "build": build}

    def more(numbers: range) -> None:
        for n in numbers:
            user = users.create_user(username=f"user {n}", password="pw-for-tests")
            member = add_member(**by, user=user, role=Role.CO_BUILDER)
            link_person(actor=user, build=build, member=member, person_name=f"Person {n}")
            invite(**by, role="viewer", note=f"note {n}", days=14, now=timezone.now())
            create_build(actor=cast["owner"], values={"name": f"Build {n}"})

    names = ("members", "member_owner", "member_person", "member_leave")
    urls = {name: reverse(name, args=[build.pk]) for name in names}
    urls["account"] = reverse("account")
    more(range(2))
    page_counts(clients["owner"], urls)
    few = page_counts(clients["owner"], urls)
    more(range(2, 8))
    assert grown(few, page_counts(clients["owner"], urls)) == {}


@pytest.fixture
def drawn(monkeypatch):
    """Calls of ``render`` by a page: kept instead of made, to be made and counted later."""
    calls = []

    def keep(request, template, context=None, status=None):
        from django.http import HttpResponse

        calls.append((template, context, request))
        return HttpResponse(status=status)

    for module in (base, builds):
        monkeypatch.setattr(module, "render", keep)
    return calls


@pytest.mark.parametrize("name", ["cost_sheet", "figure", "builds", "settling_up"])
def test_everything_is_loaded_before_a_page_is_drawn(name, clients, entries, drawn):
    entries.fill(range(3))
    own = {"cost_sheet": [entries.build.pk], "settling_up": [entries.build.pk]}
    args = own | {"figure": [entries.build.pk, "savings"]}
    loading = count(lambda: clients["owner"].get(reverse(name, args=args.get(name))))
    ((template, context, request),) = drawn
    assert loading > 5
    assert count(lambda: render_to_string(template, context, request)) == 0


def test_a_page_that_loads_while_it_is_drawn_would_be_seen(entries):
    entries.fill(range(2))
    rows = Component.objects.filter(build=entries.build, element__isnull=False)
    context = {"fields": [(row, "") for row in rows], "hidden_fields": []}
    from django.template import Context, Template

    page = Template("{% for row, _ in fields %}{{ row.element }}{% endfor %}")
    assert count(lambda: page.render(Context(context))) == len(rows) == 4


def test_a_component_of_many_takeoffs_and_a_takeoff_of_many_components_run_the_same(
    clients, entries
):
    board = entries.component("Board")
    frame = entries.takeoff("Frame", "framed-wall", length="20 ft", height="8 ft")

    def more(numbers: range) -> None:
        for n in numbers:
            wall = entries.takeoff(f"W {n}", "framed-wall", length="20 ft", height="8 ft")
            entries.use(wall, "studs", board)
            entries.use(frame, "studs", entries.component(f"Stud {n}"))

    urls = {
        "component": reverse("component", args=[entries.build.pk, board.pk]),
        "takeoff": reverse("takeoff", args=[entries.build.pk, frame.pk]),
        "use": reverse("takeoff_use", args=[entries.build.pk, frame.pk, "sheathing"]),
        "list": reverse("takeoffs", args=[entries.build.pk]),
    }
    more(range(2))
    page_counts(clients["owner"], urls)
    few = page_counts(clients["owner"], urls)
    more(range(2, 12))
    assert grown(few, page_counts(clients["owner"], urls)) == {}
