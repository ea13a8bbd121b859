"""Builds side by side."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.html import format_html

from .. import access
from ..calc.compare_builds import AreaChoice, Cell, Row, compare_builds, list_areas, size_in
from ..calc.reports import CostSheet
from ..forms.compare_builds import CompareForm
from ..queries.builds import list_area_labels
from ..queries.reports import get_cost_sheet
from ..templatetags.figures import UNKNOWN, money_text, percent, plain, quantity

FLOOR = "floor"


def compare(request: HttpRequest) -> HttpResponse:
    """Figures of two builds or more of the user's, each beside the others."""
    builds = list(access.list_builds(request.user))
    choices = [(_key(label), label) for label in list_area_labels(builds)]
    asked = "build" in request.GET or "per" in request.GET
    form = CompareForm(request.GET if asked else None, builds=builds, areas=choices)
    context: dict[str, Any] = {"form": form, "number": len(builds)}
    if asked and form.is_valid():
        today = timezone.localdate()
        chosen = form.cleaned_data["build"]
        sheets = [get_cost_sheet(build, today) for build in chosen]
        keys = [build.pk for build in chosen]
        context |= _shown(sheets, keys, form.cleaned_data.get("per") or FLOOR) | {"on": today}
    return render(request, "builds/compare.html", context)


def _key(label: str) -> str:
    return label.lower().removesuffix(" area")


def _shown(sheets: Sequence[CostSheet], keys: Sequence[int], per: str) -> dict[str, Any]:
    areas = list_areas(sheets)
    by = next((area for area in areas if area.key == per), areas[0] if areas else None)
    return {
        "heads": [
            {
                "pk": pk,
                "name": sheet.build.name,
                "currency": sheet.build.currency,
                "notes": left_out(sheet),
                "sizes": [(area.label, _size(sheet, area)) for area in areas],
            }
            for pk, sheet in zip(keys, sheets, strict=True)
        ],
        "areas": areas,
        "by": by,
        "is_mixed": len({sheet.build.currency for sheet in sheets}) > 1,
        "groups": [
            {"title": group.title, "rows": [_row(row, sheets) for row in group.rows]}
            for group in compare_builds(sheets, by)
        ],
    }


def _size(sheet: CostSheet, area: AreaChoice) -> str:
    """An area as measured, and in the common unit where that is another."""
    own = next((row.area for row in sheet.areas if row.area.key == area.key), None)
    if own is None or own.area is None or own.unit is None:
        return UNKNOWN
    said = quantity(own.area, own.unit)
    if own.unit == area.unit:
        return said
    return format_html("{} = {}", said, quantity(size_in(sheet, area), area.unit))


def _row(row: Row, sheets: Sequence[CostSheet]) -> dict[str, Any]:
    return {
        "label": row.label,
        "cells": [
            {
                "build": sheet.build.name,
                "text": "" if cell.is_absent else _figure(cell.value, row.kind, sheet),
                "beside": _beside(cell, row.kind, sheet, sheets[cell.than].build.name),
            }
            for cell, sheet in zip(row.cells, sheets, strict=True)
        ],
    }


def _figure(value: Any, kind: str, sheet: CostSheet) -> str:
    if value is None:
        return UNKNOWN
    if kind == "money":
        return money_text(value, sheet.build.currency)
    return percent(value) if kind == "percent" else f"{plain(value, 3, trim=True)} h"


def _beside(cell: Cell, kind: str, sheet: CostSheet, than: str) -> str:
    """How a figure differs from another build's, in words; nothing where it cannot be said."""
    if cell.more is None:
        return ""
    size = abs(cell.more)
    points = f"{plain(size, 2, trim=True)} points"
    said = points if kind == "percent" else _figure(size, kind, sheet)
    if not any(mark in said for mark in "123456789"):
        return f"as {than}"
    return f"{said} {'more' if cell.more > 0 else 'less'} than {than}"


def left_out(sheet: CostSheet) -> list[str]:
    """What a build's figures do not hold."""
    counts = (
        ("components without a new price", len(sheet.unpriced)),
        ("received lines without a known price", sheet.unknown_lines),
        ("moved in at a cost not known", sheet.unknown_transfers),
    )
    return [f"{what}: {count}" for what, count in counts if count]
