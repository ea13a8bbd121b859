"""Conversions and left over."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..forms.filters import LeftOverFilter
from ..forms.on_hand import withdrawal_note
from ..forms.stock import LeftOverForm
from ..forms.stocktake import StockTakeForm
from ..models import Build, LeftOver
from ..queries.stock import (
    list_left_over,
    list_positions,
    sum_left_over,
)
from ..services.stock import save_left_over, take_stock
from ..tables.stock import LeftOverTable
from ..templatetags.figures import money_text
from ..tools import STOCK_PAGES
from .base import build_view, count_link, record_urls, show_list
from .editing import edit, posted
from .saved import act_at, begin_like, saved_at


@build_view()
def left_over(request: HttpRequest, build: Build) -> HttpResponse:
    """Left over."""

    def totals(rows: Any, chosen: Any) -> list[tuple[str, str]]:
        return [("Proceeds of these", money_text(sum_left_over(rows) or 0, build.currency))]

    return show_list(
        request,
        build,
        table_class=LeftOverTable,
        rows=list_left_over(build),
        filter_class=LeftOverFilter,
        totals=totals,
        section="stock",
        title="Leftovers",
        intro="What did not go into the building. The rows add up.",
        add_url=reverse("left_over_add", args=[build.pk]),
        add_label="Add leftovers",
        links=[
            *count_link(request, build),
            *((label, reverse(name, args=[build.pk])) for name, label in STOCK_PAGES.items()),
            ("Move to another build", reverse("move_add", args=[build.pk]))
            if access.may_edit(request.user, build)
            else ("Transfers between builds", reverse("moves", args=[build.pk])),
        ],
    )


@build_view(edits=True)
def left_over_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Note or change left over."""
    record = list_left_over(build).get(pk=pk) if pk is not None else LeftOver()
    start = {}
    if pk is None:
        start = begin_like(request, build, "left-over", LeftOverForm, {"fate"})
        start["noted_on"] = timezone.localdate()
    form = LeftOverForm(posted(request), build=build, record=record, initial=start)

    def save(valid: Any) -> tuple[str, str]:
        saved = save_left_over(
            actor=request.user,
            build=build,
            left_over=record,
            values=valid.values(),
            from_stock=valid.from_stock,
        )
        address = saved_at(reverse("left_over", args=[build.pk]), "left-over", saved)
        return address, withdrawal_note(saved.component, saved.hand_text).strip()

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change leftovers" if pk is not None else "Add leftovers",
        section="stock",
        back=reverse("left_over", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "left-over", pk),
    )


@build_view(edits=True)
def stock_take(request: HttpRequest, build: Build) -> HttpResponse:
    """Count stock; what is in the building is worked out."""
    positions = list_positions(build)
    form = StockTakeForm(
        posted(request),
        positions=positions,
        initial={"counted_on": timezone.localdate()},
    )

    back = reverse("left_over", args=[build.pk])

    def save(valid: Any) -> tuple[str, str]:
        counts = valid.counts()
        act = take_stock(
            actor=request.user,
            build=build,
            counts=counts,
            counted_on=valid.cleaned_data["counted_on"],
        )
        changed = f"Counts changed: {len(counts)}."
        return act_at(back, act), f"{changed} The rest of what was received counts as built in."

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Count stock",
        section="stock",
        back=back,
        done="",
        intro=(
            "Enter what is on hand now, in the unit beside each box. Enter 0 if nothing is "
            "left. Leave a box as it is if you did not count. The rest of what was received "
            "counts as built in."
        ),
    )
