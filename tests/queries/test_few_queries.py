"""How many queries is asked for what is done most, in a yard with a weak signal."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.entries import line

TYPED = {
    "what": "Board",
    "quantity_text": "12 pieces",
    "price": "2.25",
    "price_for": "each",
    "source": "salvage",
    "state": "received",
    "bought_on": "2026-05-04",
    "supplier": "Yard",
}


@pytest.fixture
def board(entries):
    """A board that is needed, with a new price, bought before."""
    part = entries.component("Board", contents="1 piece = 2x8x12", required_text="40 pieces")
    entries.price(part, "9.00")
    entries.purchase("P1", line(part, "12 pieces", unit_price=Decimal(2)), supplier="Yard")
    return part


@pytest.fixture(autouse=True)
def signed_in(clients) -> None:
    """Signing in asks queries of its own."""
    assert clients["owner"]


def queries(ask) -> list[str]:
    """What a request asks the database, but for marks within a transaction."""
    with CaptureQueriesContext(connection) as asked:
        ask()
    return [query["sql"] for query in asked if "SAVEPOINT" not in query["sql"]]


def test_a_preview_while_typing_asks_8_once_the_sheet_is_known(build, board, clients):
    url, htmx = reverse("log", args=[build.pk]), {"HX-Request": "true"}

    def preview() -> None:
        answer = clients["owner"].post(url, TYPED, headers=htmx)
        assert b"$27.00" in answer.content

    first, then = queries(preview), queries(preview)
    assert len(then) <= 8, then
    assert len(first) > 16, "the first works the sheet out"


def test_a_quick_log_asks_20(build, board, clients, monkeypatch):
    # One log in twenty asks one more: for old forms to forget.
    monkeypatch.setattr("materials.services.sent_forms.PRUNED_EACH", 10**9)
    url = reverse("log", args=[build.pk])

    def log() -> None:
        answer = clients["owner"].post(url, TYPED | {"form_token": "a" * 24})
        assert answer.status_code == 302, answer.content

    asked = queries(log)
    assert len(asked) <= 20, "\n".join(query[:100] for query in asked)


def test_a_preview_tells_of_what_was_logged_a_moment_ago(build, board, entries, clients):
    url, htmx = reverse("log", args=[build.pk]), {"HX-Request": "true"}
    typed = TYPED | {"quantity_text": "28 pieces"}
    assert b"Not needed" not in clients["owner"].post(url, typed, headers=htmx).content
    entries.purchase("P2", line(board, "12 pieces", unit_price=Decimal(2)))
    assert b"Not needed" in clients["owner"].post(url, typed, headers=htmx).content
