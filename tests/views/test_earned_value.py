"""Planned hours of work done against what it took, on the page of plan and pace."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from tests.views.screens import Page


@pytest.fixture
def report(clients, build):
    """Read the page."""

    def read() -> Page:
        answer = clients["owner"].get(reverse("hours_report", args=[build.pk]))
        assert answer.status_code == 200
        return Page(answer.content.decode())

    return read


def test_what_an_hour_brings(entries, report):
    """V05 and V04 in hours: 35 of 100 planned are done after 36, or after 63."""
    frame = entries.task("Frame", planned_hours=D(100), done_percent=D(35))
    entries.task("Roof", planned_hours=D(50))
    for hours in (20, 16):
        entries.labour(f"Ann {hours}", hours, task=frame)
    printed = report().ledger
    assert printed["Planned hours of the work that is done"] == "35 h"
    assert printed["Hours it took"] == "36 h"
    assert printed["Planned hours done by each hour worked"] == "0.972"
    assert printed["What each further hour must do to keep to the plan"] == "1.016"
    assert printed["All of it, if the rest goes as it went so far"] == "102.86 h"
    entries.labour("Ben", 20, task=frame)
    entries.labour("Cleo", 7, task=frame)
    assert report().ledger["All of it, if the rest goes as planned"] == "128 h"


def test_nothing_worked_has_no_index(entries, report):
    """V06. Nothing worked, or nothing done: not known, and the page stands."""
    task = entries.task("Frame", planned_hours=D(10), done_percent=D(0))
    printed = report().ledger
    assert printed["Planned hours done by each hour worked"] == "not known"
    assert printed["All of it, if the rest goes as it went so far"] == "not known"
    entries.labour("Ann", 12, task=task)
    printed = report().ledger
    assert printed["Planned hours done by each hour worked"] == "not known"
    assert printed["What each further hour must do to keep to the plan"] == "not known"


def test_without_a_share_done_nothing_is_said(entries, report):
    entries.task("Frame", planned_hours=D(10))
    assert "What an hour brings" not in report().text
