"""The short form: every generator at every route whose row names it, and that faults are seen."""

import pytest
from django.http import HttpResponse, HttpResponseRedirect
from django.test import RequestFactory

from materials.models import Component, Supplier
from tests import searches
from tests.access.test_routes import ROUTES as ROLES

from . import registry, running
from .judging import Watch
from .noise import MARK
from .running import Case, Tally, make_case, random_of

SEED = 2026
# Cases for each route; what takes long is tried once, what sends nothing often.
TIMES = {
    "parser": 300,
    "cell": 200,
    "table": 6,
    "workbook": 6,
    "bundle": 5,
    "picture": 6,
    "secret": 4,
}
pytestmark = pytest.mark.django_db


def cases_of(area: str) -> list[Case]:
    """A few cases of a generator at each of its routes."""
    routes = [""] if area in registry.ROUTELESS else registry.routes_of(area)
    return [Case(SEED, n, area, route) for route in routes for n in range(TIMES.get(area, 1))]


@pytest.mark.parametrize("area", registry.WEIGHTS)
def test_hostile_input_does_no_harm(area, runner):
    cases = cases_of(area)
    tally = runner.run(cases)
    assert [(f.case, f.problem) for f in tally.findings] == []
    assert tally.counts[area] == len(cases) > 0


@pytest.mark.slow
def test_cases_by_chance_do_no_harm(runner):
    """Two thousand with ``EXAMPLES=10``."""
    tally = runner.run(make_case(SEED, number) for number in range(200 * searches.TIMES))
    assert [(f.case, f.problem) for f in tally.findings] == []


def test_everything_stands_as_it_stood(runner):
    tally = Tally()
    runner.check_all(Case(SEED, 0, "form", "log"), tally)
    assert tally.findings == []


def test_every_form_is_found_on_a_page(runner):
    """What is sent has the names that the page's own form has."""
    assert set(registry.routes_of("form")) - set(runner.forms) == set()
    assert all(form.fields for forms in runner.forms.values() for form in forms)


def test_a_case_follows_from_its_seed_and_number():
    first = [make_case(7, n) for n in range(300)]
    assert first == [make_case(7, n) for n in range(300)]
    assert first != [make_case(8, n) for n in range(300)]
    assert {case.area for case in first} == set(registry.WEIGHTS)
    assert {case.route for case in first} - {""} <= set(ROLES)
    numbers = [[random_of(case).random() for case in first] for _ in range(2)]
    assert numbers[0] == numbers[1]


def problems(runner, monkeypatch, act) -> list[str]:
    """What is found in a case that does as told."""
    monkeypatch.setitem(running.CASES, "form", lambda watch, random, route: act(watch))
    tally = Tally()
    runner.run([Case(SEED, 1, "form", "log")], tally)
    return [finding.problem for finding in tally.findings]


def answer(content: str = "", status: int = 200, **headers: str) -> HttpResponse:
    """An answer as the app gives it."""
    result = {"X-Content-Type-Options": "nosniff"} | headers
    return HttpResponse(content, status=status, headers=result)


def test_faults_would_be_seen(runner, monkeypatch):
    """One of each kind is found, and a sound answer is not."""

    def look(given: HttpResponse) -> str:
        return " ".join(problems(runner, monkeypatch, lambda watch: watch.check_answer(given)))

    assert look(answer("all is well")) == ""
    assert "answered 500" in look(answer(status=500))
    assert "unescaped" in look(answer(f"<p>{MARK}</p>"))
    assert "traceback" in look(answer("Traceback (most recent call last):"))
    assert "leads elsewhere" in look(HttpResponseRedirect("https://evil.example/"))
    assert "leads elsewhere" in look(answer(Location="//evil.example/"))

    def break_off(watch: Watch) -> None:
        raise KeyError("nobody caught this")

    assert "nobody caught this" in problems(runner, monkeypatch, break_off)[0]


def test_changed_rows_would_be_seen(runner, monkeypatch):
    def change(watch: Watch) -> None:
        Supplier.objects.filter(build=watch.world.build).update(name="Changed")
        watch.check_unchanged("a viewer")

    def change_others(watch: Watch) -> None:
        Supplier.objects.filter(build=watch.world.other).update(name="Changed")
        watch.check_other()

    def half_save(watch: Watch) -> None:
        Component.objects.filter(build=watch.world.build).update(required_qty=7)
        watch.check_ledger()

    assert problems(runner, monkeypatch, change) == ["a viewer changed rows"]
    assert problems(runner, monkeypatch, change_others) == ["changed somebody else's build"]
    assert "half saved" in problems(runner, monkeypatch, half_save)[0]
    # And each was rolled back.
    test_everything_stands_as_it_stood(runner)


def test_what_takes_long_would_be_seen(runner, monkeypatch):
    monkeypatch.setattr(running, "MOST_SECONDS", 0.0)
    monkeypatch.setattr(running, "HOPELESS", 1)

    def work(watch: Watch) -> None:
        while True:
            RequestFactory().get("/")

    found = " ".join(problems(runner, monkeypatch, work))
    assert "broken off after 1 s" in found
    assert "of the processor" in found
