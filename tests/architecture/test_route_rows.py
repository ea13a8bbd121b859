"""A route is tested for who may, for growth, and with hostile input, or the suite fails."""

from django.urls import path

from tests.access.test_routes import ROUTES, all_names
from tests.fuzz import registry
from tests.fuzz.running import CASES
from tests.queries.growth import MEASURED, READ, WRITE

ROWS = {
    "who may: ROUTES in tests/access/test_routes.py": ROUTES,
    "growth of queries: READ in tests/queries/growth.py": READ,
    "hostile input: ROUTES in tests/fuzz/registry.py": registry.ROUTES,
}
# Routes that take a form, by what hostile input is sent to them.
TAKES_FORM = registry.routes_of("form")


def missing(names: set[str]) -> dict[str, list[str]]:
    """Rows that are not there, by route."""
    found = {name: [what for what, rows in ROWS.items() if name not in rows] for name in names}
    return {name: rows for name, rows in found.items() if rows}


def test_every_route_has_a_row_of_each_kind():
    assert missing(all_names()) == {}


def test_every_form_has_a_row_of_what_it_writes():
    assert set(TAKES_FORM) == set(WRITE)


def test_no_row_is_of_a_route_that_is_gone():
    for what, rows in ROWS.items():
        assert set(rows) - all_names() == set(), what


def test_rows_of_hostile_input_name_generators_that_there_are():
    named = {area for areas in registry.ROUTES.values() for area in areas}
    assert named | set(registry.ROUTELESS) == set(registry.WEIGHTS) == set(CASES)
    assert all(registry.ROUTES.values())


def test_a_route_that_is_not_measured_says_why():
    for name, result in [*READ.items(), *((n, w) for n, w in WRITE.items() if isinstance(w, str))]:
        assert result == MEASURED or (len(result) > 20 and result.endswith(".")), name


def test_a_route_without_rows_would_be_seen():
    def page(request):
        return None

    new = all_names([path("new/", page, name="new_page"), path("old/", page)])
    assert new == {"new_page", "old/"}
    assert missing(all_names() | new) == {name: list(ROWS) for name in new}
