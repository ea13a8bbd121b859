"""Case b: every list of a long ledger against page 1 of a short one."""

import itertools
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

from django.test import Client
from django.urls import reverse

from materials.forms import filters
from materials.models import Build
from materials.tables import history, labour, purchases, settling, stock, transfers

from .measure import Pairs, Row, in_turn, median_ratio, ratio_row
from .world import World

LIMIT = 1.5
PAGES = re.compile(r"Page [\d,]+ of ([\d,]+)")
# Address's name -> (table, filter); every list that grows with the ledger.
LISTS: dict[str, tuple[Any, Any]] = {
    "purchases": (purchases.PurchaseTable, filters.PurchaseFilter),
    "purchase_lines": (purchases.LineTable, filters.LineFilter),
    "conversions": (stock.ConversionTable, filters.ConversionFilter),
    "left_over": (stock.LeftOverTable, filters.LeftOverFilter),
    "labour": (labour.LabourTable, filters.LabourFilter),
    "moves": (transfers.TransferTable, filters.TransferFilter),
    "hand_overs": (settling.PaymentTable, filters.PaymentFilter),
    "history": (history.ChangeTable, filters.ChangeFilter),
}
DAYS = {"since": "2025-06-01", "until": "2026-01-15"}


def sorts_of(table: Any) -> list[str]:
    """Every column a table can be sorted by, both ways; "" is its own order."""
    names = [
        name for name, column in table.base_columns.items() if column.orderable in (None, True)
    ]
    return ["", *(f"{way}{name}" for name in names for way in ("", "-"))]


def filters_of(filter_class: Any, build: Build) -> list[dict[str, str]]:
    """No filter, each filter alone with a value that many rows have, and two at once."""
    alone = []
    for name, item in filter_class({}, build=build).filters.items():
        field = item.field
        if name in DAYS:
            alone.append({name: DAYS[name]})
        elif hasattr(field, "queryset"):
            middle = list(field.queryset)
            alone.append({name: str(middle[len(middle) // 2].pk)})
            if item.extra.get("null_label"):
                alone.append({name: item.null_value})
        elif hasattr(field, "choices"):
            values = [str(value) for value, _ in field.choices if value]
            alone += [{name: value} for value in values]
        else:
            alone.append({name: "1"})
    pairs = [one | other for one, other in itertools.pairwise(alone) if one.keys() != other.keys()]
    return [{}, *alone, *pairs]


def addresses(name: str, build: Build, client: Client, every: int = 1) -> Iterator[str]:
    """First, middle and last page of every sort and filter of a list, or of some of them."""
    table, filter_class = LISTS[name]
    base = reverse(name, args=[build.pk])
    for chosen in filters_of(filter_class, build)[::every]:
        text = PAGES.search(client.get(base, chosen).content.decode())
        last = int(text[1].replace(",", "")) if text else 1
        for sort in sorts_of(table)[::every]:
            for number in sorted({1, max(1, last // 2), last}):
                asked = chosen | ({"sort": sort} if sort else {}) | {"page": str(number)}
                yield f"{base}?{urlencode(asked)}"


def fetch(client: Client, url: str) -> None:
    """Ask for a page, which must answer."""
    answer = client.get(url)
    assert answer.status_code == 200, url


def run_lists(world: World) -> Iterator[Row]:
    """One row for each list: its slowest address.

    Each address is measured once in turn with page 1 of the short list; the twelve slowest are
    measured again, as often as asked, and the slowest of those is told.
    """
    client, runs = world.client, world.runs
    long, short = world.build(world.sizes[-1]), world.build(100, least=100)
    # A trial asks for some of the pages only.
    every, again_for = (6, 1) if world.is_quick else (1, 12)
    for name in LISTS:
        first = reverse(name, args=[short.pk])

        def reference(url: str = first) -> None:
            fetch(client, url)

        reference()
        found: list[tuple[float, str]] = []
        for url in addresses(name, long, client, every):
            pairs = in_turn(lambda url=url: fetch(client, url), reference, 1, warm=False)
            found.append((median_ratio(pairs), url))
        again: list[tuple[Pairs, str]] = [
            (in_turn(lambda url=url: fetch(client, url), reference, runs), url)
            for _, url in sorted(found, reverse=True)[:again_for]
        ]
        pairs, url = max(again, key=lambda one: median_ratio(one[0]))
        yield ratio_row(
            "lists",
            f"{name}, slowest of {len(found)} pages / page 1 of 100",
            pairs,
            world.limit(LIMIT),
            url.partition("?")[2],
        )
