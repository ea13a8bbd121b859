"""The home of a build: what it says, that it says what the cost sheet says, and what it asks."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from materials.queries.home import get_figures
from materials.queries.reports import get_cost_sheet
from materials.services.builds import save_build
from tests.entries import line
from tests.views.screens import Page


def open_home(client, build) -> Page:
    answer = client.get(reverse("home", args=[build.pk]))
    assert answer.status_code == 200
    return Page(answer.content.decode())


@pytest.fixture
def fence(build, entries):
    """12 posts required, 8 received for 40.00, an offer of 6 more; no new price."""
    post = entries.component("Post", required_text="12 pieces")
    entries.purchase("P1", line(post, "8 pieces", unit_price=Decimal(5)), supplier="Field edge")
    entries.purchase("P2", line(post, "6 pieces", unit_price=Decimal(4)), state="offer")
    return post


def test_an_empty_build_shows_three_steps_and_nothing_else(build, clients):
    page = open_home(clients["owner"], build)
    assert "Three steps" in page.text
    for heading in ("Savings", "Get next", "Logged last", "To check"):
        assert heading not in page.text.partition("Three steps")[2]


def test_a_viewer_of_an_empty_build_is_offered_nothing(build, clients):
    page = open_home(clients["viewer"], build)
    assert "Nothing is logged in this build yet." in page.text
    assert "Log purchase" not in page.text


def test_what_it_says(build, fence, clients):
    page = open_home(clients["owner"], build)
    assert "$40.00" in page.text
    assert "4 pieces" in page.text  # still needed
    assert "Open offers" in page.text
    assert "$24.00" in page.text
    assert "1 component without a price" in page.text


def test_it_says_what_the_cost_sheet_says(build, fence, entries):
    entries.price(fence, "9.00")
    today = timezone.localdate()
    figures = get_figures(build, today)
    sheet = get_cost_sheet(build, today)
    for name in ("budget", "spent", "committed", "remaining", "savings", "savings_percent"):
        assert getattr(figures, name) == getattr(sheet, name), name
    assert (figures.forecast_low, figures.forecast_high) == (
        sheet.forecast.low,
        sheet.forecast.high,
    )
    assert figures.left_out == 0


def test_what_is_logged_is_there_at_once(build, fence, entries, clients):
    first = open_home(clients["owner"], build)
    assert "4 pieces" in first.text
    entries.purchase("P3", line(fence, "3 pieces", unit_price=Decimal(2)))
    then = open_home(clients["owner"], build)
    assert "1 piece" in then.text
    assert "4 pieces" not in then.text
    assert "$46.00" in then.text


def test_a_budget_is_there_at_once(build, fence, cast, clients):
    assert "Left of the budget $4,960.00 of $5,000.00" in open_home(clients["owner"], build).text
    save_build(actor=cast["owner"], build=build, values={"budget_amount": Decimal(30)})
    page = open_home(clients["owner"], build)
    assert "Over the budget $10.00 of $30.00" in page.text


def test_a_new_day_is_worked_out_anew(build, fence, entries):
    on = date(2026, 6, 1)
    entries.price(fence, "9.00", on=on + timedelta(days=10))
    with time_machine.travel(on):
        assert get_figures(build, on).savings is None
        assert get_figures(build, on + timedelta(days=11)).savings is not None


def test_it_asks_little_once_its_figures_are_known(build, fence, clients):
    open_home(clients["owner"], build)
    with CaptureQueriesContext(connection) as queries:
        open_home(clients["owner"], build)
    assert len(queries) <= 8, [query["sql"][:80] for query in queries]
