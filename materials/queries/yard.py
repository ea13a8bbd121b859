"""What is asked of a build where there is no signal: what it needs, what things cost, offers."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from django.db.models import F

from ..calc.prices import new_cost_of_one
from ..calc.shopping import ToGet
from ..choices import State
from ..models import Build, Component, Purchase
from .home import named
from .kept import get_kept_sheet
from .needed import get_shopping_of


@dataclass(frozen=True)
class KnownComponent:
    """A component with what is known of its price, each of one base unit, delivered.

    ``best``: least that it is known to cost, at ``place``; ``new``: its new price with tax; both
    None where not known. ``get``: how much is to be got, None where nothing is still needed.
    """

    pk: int
    name: str
    unit: str
    contents: str
    best: Fraction | None
    place: str
    new: Fraction | None
    get: ToGet | None


def list_known(build: Build, on: date) -> list[KnownComponent]:
    """All components: what is still needed first, each part in the order of names."""
    sheet = get_kept_sheet(build, on)
    shopping = get_shopping_of(build, on, sheet)
    wanted = {
        row.position.component.key: row
        for part in (*shopping.lists, shopping.trifles)
        for row in part.rows
    }
    contents = dict(Component.objects.filter(build=build).values_list("pk", "contents"))
    known = []
    for row in sheet.components:
        part = row.position.component
        key: Any = part.key
        new = new_cost_of_one(part, sheet.build.retail_tax_share)
        need = wanted.get(part.key)
        if need is not None:
            best, place = (need.best.one, need.best.name) if need.best else (None, "")
        else:
            best, place = row.position.average, "" if row.position.average is None else "so far"
        known.append(
            KnownComponent(
                pk=key,
                name=part.name,
                unit=part.unit,
                contents=contents.get(key, ""),
                best=best,
                place=place,
                new=new,
                get=need.get if need else None,
            )
        )
    return sorted(known, key=lambda each: (each.get is None, each.name.lower()))


def list_offers(build: Build) -> list[Purchase]:
    """Every offer that is neither taken nor declined, what ends first before all others."""
    rows = named(Purchase.objects.filter(build=build, state=State.OFFER))
    return list(rows.order_by(F("due_at").asc(nulls_last=True), "-pk"))
