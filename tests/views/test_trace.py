"""Each figure opens to the rows it sums, and those rows come to the same."""

import re
from dataclasses import dataclass

import pytest

from materials.calc.trace.explain import FIGURES
from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.models import Build
from materials.services.imports import import_plan
from tests.views.screens import Page, Screens
from tests.views.test_typed_build import workbook


@dataclass
class Part:
    """One line of an explained figure."""

    label: str
    url: str
    text: str


@pytest.fixture
def screens(owner, cast) -> Screens:
    plan = check_book(read_workbook(workbook())).plan
    build = import_plan(actor=cast["owner"], plan=plan, owner=cast["owner"])
    return Screens(owner, build.pk)


def parts_of(page: Page) -> list[Part]:
    rows = re.findall(
        r'<span class="trace-label">(?:<a href="([^"]*)">)?([^<]*)(?:</a>)?</span>'
        r'<span class="trace-text">([^<]*)<',
        page.html,
    )
    return [Part(label, url.replace("&amp;", "&"), text) for url, label, text in rows]


def amount_of(page: Page) -> str:
    return re.search(r'class="trace-amount">(?:<[^>]*>)?([^<]*)<', page.html)[1]


def test_figures_and_all_their_parts_open(screens):
    opened = set()
    for name in [*FIGURES, "area_0", "area_1"]:
        page = screens.open("figure", name)
        parts = parts_of(page)
        assert parts, name
        assert page.html.count("trace-label") == len(parts)
        opened |= {part.url.partition("#")[0] for part in parts}
    for url in sorted(opened - {""}):
        screens.read(url)
    assert len(opened) > 20


# Part of a figure -> what the list behind it calls its total.
TOTALS = {
    ("spent", "Landed cost received"): "Landed cost of these lines",
    ("spent", "Paid labour"): "Paid for them",
    ("spent", "Extra cost of conversions"): "Extra cost of these conversions",
    ("spent", "Proceeds of sales"): "Proceeds of these",
    ("committed", "Landed cost ordered"): "Landed cost of these lines",
    ("material_cost", "Landed cost received"): "Landed cost of these lines",
    ("material_cost", "Extra cost of conversions"): "Extra cost of these conversions",
    ("material_cost", "Proceeds of sales"): "Proceeds of these",
    ("paid_labour", "Paid hours"): "Paid for them",
    ("hours", "Sourcing"): "Hours of these entries",
    ("hours", "Installing"): "Hours of these entries",
    ("hours", "Reworking"): "Hours of these entries",
    ("hours", "Upkeep"): "Hours of these entries",
}


def test_the_rows_behind_a_part_come_to_it(screens):
    for (name, label), total in TOTALS.items():
        (part,) = [part for part in parts_of(screens.open("figure", name)) if part.label == label]
        assert part.text not in ("", "$0.00", "0 h")
        assert screens.read(part.url).ledger[total] == part.text, (name, label)


def number(text: str) -> float:
    return float(re.sub(r"[^0-9.]", "", text))


@pytest.mark.parametrize("name", ["preparing_hours", "own_hours", "extra_hours", "taskless_hours"])
def test_hours_of_conversions_are_told_on_their_own_page(name, screens):
    page = screens.open("figure", name)
    entries, conversions = parts_of(page)
    assert screens.read(entries.url).ledger["Hours of these entries"] == entries.text
    assert screens.read(conversions.url).ledger["Hours of them"] == conversions.text == "6.75 h"
    assert number(amount_of(page)) == number(entries.text) + number(conversions.text)


def test_what_a_figure_is_made_of_is_again_a_figure(screens):
    """A part that opens another figure shows the amount of that figure."""
    seen = 0
    for name in FIGURES:
        for part in parts_of(screens.open("figure", name)):
            if "/figures/" in part.url:
                assert amount_of(screens.read(part.url)) == part.text, (name, part)
                seen += 1
    assert seen > 10


def test_the_parts_of_a_retail_equivalent_are_on_the_components_pages(screens):
    parts = parts_of(screens.open("figure", "retail_equivalent"))
    assert len(parts) == 9
    for part in parts:
        assert screens.read(part.url).ledger["Retail equivalent"] == part.text


def test_each_figure_of_the_sheet_opens_to_the_same_amount(screens):
    sheet = screens.open("cost_sheet")
    opened = set()
    for href, text in sheet.links:
        if re.search("/figures/(?!area)", href) and text in sheet.ledger:
            amount, shown = amount_of(screens.read(href)), sheet.ledger[text]
            assert amount == shown, text
            opened.add(href.rstrip("/").rpartition("/")[2])
    # Own hours and those without a task stand in no account of the sheet.
    assert opened >= set(FIGURES) - {"own_hours", "taskless_hours"}


def test_the_list_of_builds_tells_what_the_sheet_tells(screens):
    spent = screens.open("cost_sheet").ledger["Spent"]
    assert spent == "$1,397.58"
    assert spent in Screens(screens.client).open("builds").text


def test_every_link_of_the_sheet_opens(screens):
    sheet = screens.open("cost_sheet")
    hrefs = {href.partition("#")[0] for href, _ in sheet.links}
    for href in sorted(hrefs - {""}):
        if "/download/" not in href and not href.endswith("/file/"):
            screens.read(href)
    assert len(hrefs) > 50
    ids = set(re.findall(r'id="([^"]+)"', sheet.html))
    anchors = {href[1:] for href, _ in sheet.links if href.startswith("#")}
    assert anchors <= ids


LANDED = {
    "source=salvage&state=received": "$855.03",
    "source=seconds&state=received": "$167.37",
    "source=retail&state=received": "$213.48",
    "state=received": "$1,235.88",
    "state=ordered": "$75.00",
}


def test_lines_of_a_source_come_to_what_the_sheet_says(screens):
    sheet = screens.open("cost_sheet").html.replace("&amp;", "&")
    for query, total in LANDED.items():
        url = screens.url("purchase_lines") + f"?{query}"
        assert screens.read(url).ledger["Landed cost of these lines"] == total
        if "source" in query:
            row = sheet[sheet.index(url) :].partition("</tr>")[0]
            assert total in row


def test_hours_on_the_sheet_are_those_of_the_list(screens):
    sheet = screens.open("cost_sheet")
    links = [href for href, _ in sheet.links if "?kind=" in href and "/hours/" in href]
    assert len(links) >= 3
    html = sheet.html.replace("&amp;", "&")
    for href in links:
        listed = screens.read(href).ledger["Hours of these entries"]
        row = re.split("</tr>|</div>", html[html.index(f'"{href}"') :])[0]
        assert listed in row, href


@pytest.mark.parametrize("name", ["task", "person"])
def test_hours_on_a_page_are_those_of_the_list(name, screens):
    """The page of a task or a person leads to the list that sums to its hours."""
    sheet = screens.open("cost_sheet")
    pages = [href for href, _ in sheet.links if re.search(rf"/(?:{name}s|people)/\d+/", href)]
    seen = 0
    for href in pages:
        page = screens.read(href)
        for url, text in page.links:
            if f"/hours/?{name}=" in url and text.endswith(" h"):
                assert screens.read(url).ledger["Hours of these entries"] == text
                seen += 1
    assert seen >= 3


def test_components_tell_the_same_as_the_sheet(screens):
    sheet = screens.open("cost_sheet")
    html = sheet.html
    for href, text in sheet.links:
        if re.search(r"/components/\d+/$", href):
            page = screens.read(href)
            row = html[html.rindex(f'"{href}">{text}') :].partition("</tr>")[0]
            cost = page.ledger["Material cost in the building"]
            assert cost in row, (text, cost)


def test_all_lists_show_all_rows(screens):
    """What the lists hold is what the workbook holds."""
    build = Build.objects.get(pk=screens.build_id)
    counts = {
        "purchases": build.purchases.count(),
        "components": build.components.count(),
        "labour": build.labour.count(),
        "tasks": build.tasks.count(),
    }
    assert counts == {"purchases": 11, "components": 13, "labour": 10, "tasks": 5}
    for name, count in counts.items():
        assert screens.open(name).html.count('<th scope="row"') == count


def test_each_month_opens_to_the_rows_of_its_days(screens):
    budget = screens.open("budget")
    months = [(href, text) for href, text in budget.links if "/figures/spent_" in href]
    # Each month, and all up to its end.
    assert len(months) > 2
    assert sum("spent_to_" in href for href, _ in months) == len(months) / 2
    totals = {
        "Landed cost received": "Landed cost of these lines",
        "Paid labour": "Paid for them",
        "Extra cost of conversions": "Extra cost of these conversions",
        "Proceeds of sales": "Proceeds of these",
    }
    seen = set()
    for href, text in months:
        page = screens.read(href)
        assert amount_of(page) == text
        for part in parts_of(page):
            assert screens.read(part.url).ledger[totals[part.label]] == part.text, part
            seen |= {part.label} if part.text != "$0.00" else set()
    assert seen == set(totals)


@pytest.mark.parametrize(
    "name",
    [
        "spent_2026-13",
        "spent_9999-01",
        "spent_x",
        "spent_2026-5",
        "spent_to_",
        "spent_to_to_2026-05",
    ],
)
def test_what_is_no_month_is_no_figure(name, screens):
    assert screens.client.get(screens.url("figure", name)).status_code == 404
