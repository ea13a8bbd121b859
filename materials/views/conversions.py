"""Listing, logging and changing conversions."""

from fractions import Fraction
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from ..calc.quantities import QuantityError
from ..forms.filters import ConversionFilter
from ..forms.on_hand import withdrawal_note
from ..forms.rows import rows_of
from ..forms.stock import ConversionForm, OutputForm
from ..models import Build, Conversion, ConversionOutput
from ..queries.components import get_component
from ..queries.conversions import preview_conversion
from ..queries.on_hand import withdrawal_of
from ..queries.quantities import base_quantity
from ..queries.stock import (
    get_conversion,
    list_conversions,
    next_conversion_number,
    sum_conversions,
)
from ..queries.ways import Given, get_known_ways, list_given
from ..services.stock import save_conversion
from ..tables.stock import ConversionTable
from ..templatetags.figures import hours, money_text
from ..tools import STOCK_PAGES
from . import pictures
from .base import build_view, number_of, record_urls, show_list
from .editing import edit, form_over, with_rows
from .photos import after_sorting, of_pile, photos_url, save_photos, sorting
from .saved import begin_like, saved_at

Outputs = rows_of(OutputForm)


@build_view(edits=True)
def conversion_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Log or change a conversion."""
    record = get_conversion(build, pk) if pk is not None else Conversion(build=build)
    given, ways = _given(request, build) if pk is None else (None, [])
    form = form_over(ConversionForm, request, build, record, _start(request, build, pk, given))
    outputs = with_rows(Outputs, request, build, "outputs", _outputs(request, build, record, given))

    @transaction.atomic
    def save(valid: Any) -> tuple[str, str]:
        with sorting(request, build):
            saved = save_conversion(
                actor=request.user,
                build=build,
                conversion=record,
                values=valid.values(),
                outputs=outputs.rows(),
                from_stock=valid.from_stock,
                is_suggested=valid.is_suggested,
            )
            save_photos(request, build, saved, valid)
        numbered = valid.number_note(saved.number)
        taken = withdrawal_note(saved.source, saved.hand_text)
        listed = after_sorting(request, build, reverse("conversions", args=[build.pk]))
        address = saved_at(listed, "conversion", saved)
        return address, f"{numbered}{taken}".strip()

    return edit(
        request,
        build,
        form=form,
        formsets=[
            {"heading": "Made", "help": "One or more things made from it.", "formset": outputs}
        ],
        look=lambda: _preview(build, record, form, outputs),
        answer="stock/answer.html",
        save=save,
        template="stock/conversion.html",
        given=given,
        **of_pile(request, build),
        ways=ways,
        section="stock",
        title="Change conversion" if pk is not None else "Log conversion",
        back=reverse("conversions", args=[build.pk]),
        **record_urls(build, "conversion", pk),
        photos_url=photos_url(build, "conversion", pk),
        preview_template="stock/_conversion_preview.html",
    )


def _preview(build: Build, record: Conversion, form: Any, outputs: Any) -> dict[str, Any]:
    """What the typed conversion comes to; nothing is saved."""
    values = form.values()
    typed = Conversion(build=build, **values)
    rows = [
        ConversionOutput(component=row["component"], made_text=row["made_text"])
        for row in outputs.rows()
    ]
    if not rows:
        return {"message": "Fill in what you made to see the cost."}
    names = [row.component.name for row in rows if row.component.pk is None]
    try:
        # The saved one's use is in the ledger already when the same input is worked up.
        is_same = record.pk is not None and record.source_id == values["source"].pk
        already = withdrawal_of(record) if is_same else None
        preview = preview_conversion(
            build, typed, rows, timezone.localdate(), already, form.from_stock
        )
    except QuantityError as error:
        return {"message": str(error)}
    strip = pictures.yield_strip(preview)
    new = f"New, added when you save: {'; '.join(names)}." if names else ""
    return {"preview": preview, "source": values["source"], "strip": strip, "message": new}


def _given(request: HttpRequest, build: Build) -> tuple[Given | None, list[tuple[Given, str]]]:
    """What is made of what the address names, by the one way that is known or chosen.

    Of several ways that are known none is taken: each, with the address that chooses it.
    """
    source, used = number_of(request.GET.get("source")), request.GET.get("used", "")
    component = get_component(build, source) if source is not None else None
    if component is None or not used:
        return None, []
    ways = get_known_ways(build)
    try:
        found = list_given(
            ways, component, Fraction(base_quantity(used, component)), build.currency
        )
    except QuantityError:
        return None, []
    chosen = [one for one in found if one.known.code == request.GET.get("way")]
    if len(chosen or found) == 1:
        return (chosen or found)[0], []
    asked = {"source": source, "used": used}
    address = reverse("conversion_add", args=[build.pk])
    return None, [(one, f"{address}?{urlencode(asked | {'way': one.known.code})}") for one in found]


def _start(
    request: HttpRequest, build: Build, pk: int | None, given: Given | None
) -> dict[str, Any]:
    if pk is not None:
        return {}
    start = begin_like(request, build, "conversion", ConversionForm, {"source"})
    source = number_of(request.GET.get("source"))
    if source is not None:
        # What was got with a purchase, to be made into something.
        start |= {"source": source, "used_text": request.GET.get("used", "")}
    if given is not None:
        start |= {"hours": given.hours, "extra_cost_amount": given.extra}
    return start | {
        "number": next_conversion_number(build),
        "converted_on": timezone.localdate(),
    }


def _outputs(request: HttpRequest, build: Build, record: Conversion, given: Given | None) -> Any:
    """What was made, as stored; for a new one what one to log another like, or a way, gives."""
    if record.pk is not None:
        return record.outputs.all()
    if given is not None:
        return [ConversionOutput(component=part, made_text=text) for part, text in given.rows]
    like = number_of(request.GET.get("like"))
    copied = list(get_conversion(build, like).outputs.all()) if like is not None else []
    for row in copied:
        row.pk = None
    return copied


@build_view()
def conversions(request: HttpRequest, build: Build) -> HttpResponse:
    """Conversions."""

    def totals(rows: Any, chosen: Any) -> list[tuple[str, str]]:
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
        intro="Material worked into other material, like boards ripped into battens. The cost goes"
        " with it. Waste carries none.",
        add_url=reverse("conversion_add", args=[build.pk]),
        add_label="Log conversion",
        links=[
            (label, reverse(name, args=[build.pk]))
            for name, label in {"ways": "Ways to make", **STOCK_PAGES}.items()
        ],
    )
