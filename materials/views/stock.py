"""Conversions and left over."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..calc.quantities import QuantityError
from ..forms.filters import ConversionFilter, LeftOverFilter
from ..forms.hand import left_told
from ..forms.rows import rows_of
from ..forms.stock import ConversionForm, LeftOverForm, OutputForm
from ..forms.stocktake import StockTakeForm
from ..models import Build, Conversion, ConversionOutput, LeftOver
from ..queries.conversions import preview_conversion
from ..queries.hand import taken_by
from ..queries.stock import (
    get_conversion,
    list_conversions,
    list_left_over,
    list_positions,
    next_conversion_number,
    sum_conversions,
    sum_left_over,
)
from ..services.errors import LedgerError
from ..services.stock import save_conversion, save_left_over, take_stock
from ..services.versions import Stale
from ..tables.stock import ConversionTable, LeftOverTable
from ..templatetags.figures import hours, money_text
from . import versions
from .base import (
    build_view,
    edit,
    page,
    posted,
    record_urls,
    save_once,
    show_list,
    typed_head,
    with_rows,
)
from .photos import photos_url

Outputs = rows_of(OutputForm)


@build_view()
def conversions(request: HttpRequest, build: Build) -> HttpResponse:
    """Conversions."""

    def totals(rows: Any) -> list[tuple[str, str]]:
        sums = sum_conversions(rows)
        return [
            ("Extra cost of these conversions", money_text(sums["extra"] or 0, build.currency)),
            ("Hours of them", hours(sums["hours"] or 0)),
        ]

    return show_list(
        request,
        build,
        table_class=ConversionTable,
        rows=list_conversions(build),
        filter_class=ConversionFilter,
        totals=totals,
        section="stock",
        title="Conversions",
        intro="Material worked into other material. The cost goes with it; waste carries none.",
        add_url=reverse("conversion_add", args=[build.pk]),
        add_label="Log a conversion",
    )


@build_view(edits=True)
def conversion_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Log or change a conversion."""
    record = get_conversion(build, pk) if pk is not None else Conversion(build=build)
    asked = request.method == "POST" and "add_row" in request.POST
    data = request.POST if request.method == "POST" and not asked else None
    start = typed_head(ConversionForm, request) if asked else _start(build, pk)
    form = ConversionForm(data, build=build, record=record, initial=start)
    outputs = with_rows(
        Outputs, request, build, "outputs", record.outputs.all() if pk is not None else ()
    )
    is_valid = data is not None and all([form.is_valid(), outputs.is_valid()])
    shown: dict[str, Any] = {}
    stale = None
    looks = is_valid and "look" in request.POST
    if looks:
        shown = _look(build, record, form, outputs)
    elif is_valid:

        def write() -> tuple[str, str]:
            with versions.guard(request, build, record):
                return _save(request, build, record, form, outputs.rows())

        try:
            return save_once(request, write)
        except Stale as error:
            stale, form = error, versions.shown_anew(form, error)
            outputs = versions.rows_anew(outputs, error)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    return page(
        request,
        build,
        "page_form.html",
        section="stock",
        title="Change a conversion" if pk is not None else "Log a conversion",
        form=form,
        formsets=[
            {"heading": "Made", "help": "One or more things made from it.", "formset": outputs}
        ],
        cancel_url=reverse("conversions", args=[build.pk]),
        **record_urls(build, "conversion", pk),
        photos_url=photos_url(build, "conversion", pk),
        preview_template="stock/_conversion_preview.html",
        version=versions.version(request, record, stale),
        meanwhile=versions.meanwhile(stale) if stale else None,
        status=409 if stale else 422 if data is not None and not looks else 200,
        **shown,
    )


def _save(
    request: HttpRequest, build: Build, record: Conversion, form: Any, rows: Any
) -> tuple[str, str]:
    saved = save_conversion(
        actor=request.user,
        build=build,
        conversion=record,
        values=form.values(),
        outputs=rows,
        from_hand=form.from_hand,
    )
    told = left_told(saved.source, saved.hand_text)
    return reverse("conversions", args=[build.pk]), f"The conversion is saved.{told}"


def _look(build: Build, record: Conversion, form: Any, outputs: Any) -> dict[str, Any]:
    """What the typed conversion comes to; nothing is saved."""
    values = form.values()
    typed = Conversion(build=build, **values)
    rows = [
        ConversionOutput(component=row["component"], made_text=row["made_text"])
        for row in outputs.rows()
    ]
    if not rows:
        return {"told": "Say what was made, then it is worked out here."}
    try:
        # The saved one's use is in the ledger already when the same input is worked up.
        is_same = record.pk is not None and record.source_id == values["source"].pk
        already = taken_by(record) if is_same else None
        preview = preview_conversion(
            build, typed, rows, timezone.localdate(), already, form.from_hand
        )
    except QuantityError as error:
        return {"told": str(error)}
    return {"preview": preview, "source": values["source"]}


def _start(build: Build, pk: int | None) -> dict[str, Any]:
    if pk is not None:
        return {}
    return {"number": next_conversion_number(build), "converted_on": timezone.localdate()}


@build_view()
def left_over(request: HttpRequest, build: Build) -> HttpResponse:
    """Left over."""

    def totals(rows: Any) -> list[tuple[str, str]]:
        return [("Proceeds of these", money_text(sum_left_over(rows) or 0, build.currency))]

    return show_list(
        request,
        build,
        table_class=LeftOverTable,
        rows=list_left_over(build),
        filter_class=LeftOverFilter,
        totals=totals,
        section="stock",
        title="Left over",
        intro="What did not go into the building. Each row is a heap of its own; they add up.",
        add_url=reverse("left_over_add", args=[build.pk]),
        add_label="Note left over",
        links=[
            ("Count what is there", reverse("stock_take", args=[build.pk])),
            ("Move it to another build", reverse("move_add", args=[build.pk]))
            if access.may_edit(request.user, build)
            else ("Moves between builds", reverse("moves", args=[build.pk])),
        ],
    )


@build_view(edits=True)
def left_over_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Note or change left over."""
    record = list_left_over(build).get(pk=pk) if pk is not None else LeftOver()
    start = {} if pk is not None else {"noted_on": timezone.localdate()}
    form = LeftOverForm(posted(request), build=build, record=record, initial=start)

    def save(valid: Any) -> str:
        saved = save_left_over(
            actor=request.user,
            build=build,
            left_over=record,
            values=valid.values(),
            from_hand=valid.from_hand,
        )
        return f"Saved.{left_told(saved.component, saved.hand_text)}"

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change left over" if pk is not None else "Note left over",
        section="stock",
        back=reverse("left_over", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "left-over", pk),
    )


@build_view(edits=True)
def stock_take(request: HttpRequest, build: Build) -> HttpResponse:
    """Count what is there; what is in the building is worked out."""
    positions = list_positions(build)
    form = StockTakeForm(
        request.POST if request.method == "POST" else None,
        positions=positions,
        initial={"counted_on": timezone.localdate()},
    )

    def save(valid: Any) -> str:
        changed = take_stock(
            actor=request.user,
            build=build,
            counts=valid.counts(),
            counted_on=valid.cleaned_data["counted_on"],
        )
        return f"Counts changed: {changed}. What is not there and not gone is in the building."

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Count what is there",
        section="stock",
        back=reverse("left_over", args=[build.pk]),
        done="",
        intro="Type what lies there now: a number alone is in the unit beside its box. Leave a"
        " box as it is or empty where nothing was counted, 0 where nothing is left. The rest of"
        " what came in is taken as built in.",
    )
