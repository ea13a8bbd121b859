"""An element, a supplier, a task and a person: their pages tell what the cost sheet tells."""

import re
from fractions import Fraction as F
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.calc.progress.hours import task_progress
from materials.choices import State
from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.models import Build, Purchase
from materials.queries.progress import list_task_plans
from materials.queries.reports import get_cost_sheet
from materials.queries.suppliers import list_suppliers, sum_received
from materials.services.imports import import_plan
from materials.services.photos import add_photos
from materials.templatetags.figures import balance, hours, money
from tests.entries import line
from tests.photo_files import jpeg, sent
from tests.views.screens import Page, Screens
from tests.views.test_typed_build import workbook


@pytest.fixture
def typed(cast) -> Build:
    """The build of the typed workbook."""
    plan = check_book(read_workbook(workbook())).plan
    return import_plan(actor=cast["owner"], plan=plan, owner=cast["owner"])


@pytest.fixture
def screens(owner, typed) -> Screens:
    return Screens(owner, typed.pk)


def sheet_of(build: Build) -> Any:
    return get_cost_sheet(build, timezone.localdate())


CHIEF = re.compile(r'<h2 id="chief-\d+">([^<]*)</h2>\s*<p class="home-figure">(.*?)</p>')


def chief(page: Page) -> dict[str, str]:
    """The figures a page begins with, by their label."""
    return {label: re.sub("<[^>]*>", "", text) for label, text in CHIEF.findall(page.html)}


def test_elements_tell_what_the_sheet_tells(screens, typed):
    rows = [row for row in sheet_of(typed).elements if row.element]
    assert len(rows) > 2
    for row in rows:
        page = screens.open("element", row.element.key)
        assert chief(page)["Cost"] == money(row.figures.cost, "USD")
        assert f">{money(row.figures.savings, 'USD')}<" in page.html


def test_components_of_an_element_come_to_its_cost(typed):
    sheet = sheet_of(typed)
    for row in sheet.elements:
        key = row.element.key if row.element else None
        parts = [part for part in sheet.components if part.position.component.element == key]
        assert sum(part.position.known_money for part in parts) == row.figures.cost


def test_suppliers_come_to_what_is_received(typed):
    sheet = sheet_of(typed)
    got = [sum_received(typed, record, sheet) for record in list_suppliers(typed)]
    nobody = Purchase.objects.filter(build=typed, supplier=None, state=State.RECEIVED)
    rest = sum(F(purchase.landed_amount) for purchase in nobody)
    assert len(got) > 2
    assert sum(each.landed for each in got) + rest == sum(row.cost for row in sheet.sources)


def test_suppliers_pages_tell_their_figures(screens, typed):
    for record in list_suppliers(typed):
        page = screens.open("supplier", record.pk)
        assert chief(page)["Landed cost received"] == money(record.landed or 0, "USD")


def test_a_supplier_is_set_against_new(owner, build, entries):
    board, frame = entries.component("Board"), entries.component("Frame")
    entries.price(board, 10)
    rows = [
        line(board, "4 pieces", line_price_amount=27),
        line(frame, "1 piece", line_price_amount=5),
        line(board, "1 piece"),
    ]
    entries.purchase("P1", *rows, supplier="Yard")
    page = Screens(owner, build.pk).open("supplier", build.suppliers.get(name="Yard").pk)
    # 27 for what costs 4 x 10 and 8 % tax new: 37.5 % less; the frame has no new price.
    assert chief(page)["Against new"] == "−38%"
    assert "Without a new price: $5.00." in page.text
    assert "A price that is not known is left out." in page.text


def test_a_supplier_that_is_gone_says_so(owner, build, entries):
    gone = entries.supplier("Barn sale")
    gone.is_gone, gone.place, gone.note = True, "Creek Road", "ask for Lou"
    gone.save()
    page = Screens(owner, build.pk).open("supplier", gone.pk)
    assert "No longer there." in page.text
    assert "Creek Road" in page.text
    assert "ask for Lou" in page.text
    assert chief(page)["Last purchase"] == "not known"


def words(text) -> str:
    """What a page says as its reader reads it."""
    return " ".join(re.sub("<[^>]*>", "", text).split())


def test_tasks_tell_what_the_sheet_tells(screens, typed):
    rows = [row for row in task_progress(sheet_of(typed), list_task_plans(typed)) if row.task]
    assert rows
    for row in rows:
        page = screens.open("task", row.task.key)
        assert chief(page)["Worked"] == words(hours(row.worked))
        assert chief(page)["Forecast"] == words(hours(row.forecast))


def test_people_tell_what_the_sheet_tells(screens, typed):
    rows = sheet_of(typed).persons
    assert len(rows) > 1
    for row in rows:
        page = screens.open("person", row.share.person.key)
        assert chief(page) == {
            "Balance": balance(row.share.balance, "USD"),
            "Paid": money(row.share.person.paid_out, "USD"),
            "Hours": words(hours(row.hours)),
        }
        assert page.ledger.get("Share", "$0.00") == money(row.share.share, "USD")


@pytest.mark.parametrize("name", ["element", "supplier", "task", "person"])
def test_a_viewer_reads_and_an_editor_may_change(name, clients, build, records):
    url = reverse(name, args=[build.pk, records[name].pk])
    seen, owned = (clients[part].get(url).content.decode() for part in ("viewer", "owner"))
    assert "Change " not in seen.partition("<h1>")[2]
    if name != "person":
        assert reverse(f"{name}_edit", args=[build.pk, records[name].pk]) in owned


@pytest.mark.parametrize("name", ["element", "supplier", "task", "person"])
def test_every_link_of_a_page_opens(name, screens, typed):
    many = {"element": typed.elements, "supplier": typed.suppliers, "task": typed.tasks,
            "person": typed.persons}[name]  # fmt: skip
    page = screens.open(name, many.first().pk)
    hrefs = {href.partition("#")[0] for href, _ in page.links} - {""}
    assert len(hrefs) > 20
    for href in sorted(hrefs):
        screens.read(href)


def test_receipts_stand_where_the_lines_are(owner, entries, build, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    roof, nothing = entries.element("X31"), entries.element("X33")
    sheet = entries.component("Sheet", element=roof)
    stud = entries.component("Stud", element=entries.element("X32"))
    bought = entries.purchase("P7", line(sheet, "4 pieces", unit_price=2), supplier="Tin yard")
    other = entries.purchase("P8", line(stud, "4 pieces", unit_price=2), supplier="Mill")
    for purchase in (bought, other):
        add_photos(**entries.by, record=purchase, files=[sent(jpeg())])
    screens = Screens(owner, build.pk)
    for page in (
        screens.open("element", roof.pk),
        screens.open("supplier", bought.supplier.pk),
    ):
        assert "Receipts and photos" in page.html
        assert 'alt="Photo of purchase P7"' in page.html
        assert "P8" not in page.html
    assert "Receipts" not in screens.open("element", nothing.pk).html
