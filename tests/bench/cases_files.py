"""Case d: a workbook out against bare openpyxl, and in against a bare bulk insert."""

import json
from collections.abc import Iterator
from typing import Any

from django.db import models, transaction

from materials.exchange.importer import check_book
from materials.exchange.reader import RawBook, read_workbook
from materials.models import Build
from materials.queries.rows import list_build_models, which_of_build
from materials.services.imports import import_plan

from .measure import Pairs, Row, figure_row, in_turn, ratio_row
from .world import World, in_child

BATCH = 1000
# Seconds of one run are long: so many are enough, and each is in turn with its reference.
MOST_RUNS = 3


def _child(*arguments: Any) -> dict[str, float]:
    return json.loads(in_child(*map(str, arguments)).stdout)


def run_export(world: World) -> Iterator[Row]:
    """Writing the workbook of a long ledger, each time in a process of its own."""
    build = world.build(world.sizes[-1])
    book, kept, copy = (world.folder / name for name in ("book.xlsx", "cells", "bare.xlsx"))
    _child("export", build.pk, book)
    _child("cells", book, kept)
    pairs: Pairs = []
    peaks = []
    for _ in range(min(world.runs, MOST_RUNS)):
        made = _child("export", build.pk, book)
        pairs.append((made["seconds"], _child("bare", kept, copy)["seconds"]))
        peaks.append(made["peak_mb"])
    what = f"workbook of {world.sizes[-1]:,} lines / openpyxl writing the same cells"
    yield ratio_row("export", what, pairs, world.limit(1.3))
    yield figure_row("export", "peak memory of that process", peaks, "MB", world.limit(150))


class _NotKept(Exception):
    """Takes everything back that was written."""


def undone(write: Any) -> None:
    """Write in a transaction and take it back, so that every run begins from the same."""
    try:
        with transaction.atomic():
            write()
            raise _NotKept
    except _NotKept:
        pass


def run_import(world: World) -> Iterator[Row]:
    """Checking and writing a workbook that was read, against inserting the rows it came to."""
    build = world.build(world.sizes[-1])
    path = world.folder / "book.xlsx"
    if not path.exists():
        _child("export", build.pk, path)
    book = read_workbook(path)
    pairs = in_turn(
        lambda: undone(lambda: brought_in(book)),
        BareInsert(book),
        min(world.runs, MOST_RUNS),
        warm=False,
    )
    what = f"import of {world.sizes[-1]:,} lines after reading / bare bulk insert of its rows"
    yield ratio_row("import", what, pairs, world.limit(3))


def brought_in(book: RawBook) -> Build:
    """The build that a workbook begins."""
    checked = check_book(book, name="Bench, imported")
    assert checked.plan is not None, checked.faults[:3]
    return import_plan(actor=None, plan=checked.plan)


class BareInsert:
    """Inserts the rows that an import writes, table by table, and takes them back."""

    def __init__(self, book: RawBook):
        self.tables: list[tuple[type[models.Model], list[dict[str, Any]]]] = []
        undone(lambda: self._keep(brought_in(book)))

    def _keep(self, build: Build) -> None:
        for model in list_build_models():
            rows = model._default_manager.filter(which_of_build(model, build)).order_by("pk")
            listed = list(rows.values())
            if listed:
                self.tables.append((model, listed))

    def __call__(self) -> None:
        undone(self._write)

    def _write(self) -> None:
        """Keys are those the rows had: they are free again, and links need no looking up."""
        for model, rows in self.tables:
            made = (model(**row) for row in rows)
            model._default_manager.bulk_create(made, batch_size=BATCH)
