"""The cost sheet's text is kept until the build changes, and apart for those who may edit."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.entries import line


@pytest.fixture
def address(build) -> str:
    return reverse("cost_sheet", args=[build.pk])


def test_it_is_the_same_text_when_it_is_opened_again(entries, owner, address):
    entries.purchase("N1", line(entries.component("Board"), "20 pieces", unit_price=Decimal(3)))
    first = owner.get(address)
    with CaptureQueriesContext(connection) as asked:
        again = owner.get(address)
    assert again.context["body"] == first.context["body"]
    # Session, user, build, newest changes, role, timer; savepoints of a test are none of it.
    assert len([row for row in asked if row["sql"].startswith("SELECT")]) <= 6


def test_a_change_is_seen_at_once(entries, owner, address):
    board = entries.component("Board")
    entries.purchase("N1", line(board, "20 pieces", unit_price=Decimal(3)))
    assert "$60.00" in owner.get(address).content.decode()
    entries.purchase("N2", line(board, "10 pieces", unit_price=Decimal(3)))
    assert "$90.00" in owner.get(address).content.decode()
    entries.change(board, name="Plank <b>")
    assert "Plank &lt;b&gt;" in owner.get(address).content.decode()


def test_who_may_only_look_is_not_given_what_an_editor_sees(clients, address):
    for _ in range(2):
        assert "Three steps" in clients["owner"].get(address).content.decode()
        assert "Three steps" not in clients["viewer"].get(address).content.decode()
