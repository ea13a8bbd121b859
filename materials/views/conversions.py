"""Logging and changing a conversion."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..calc.quantities import QuantityError
from ..forms.hand import left_told
from ..forms.rows import rows_of
from ..forms.stock import ConversionForm, OutputForm
from ..models import Build, Conversion, ConversionOutput
from ..queries.conversions import preview_conversion
from ..queries.hand import taken_by
from ..queries.stock import get_conversion, next_conversion_number
from ..services.errors import LedgerError
from ..services.stock import save_conversion
from ..services.versions import Stale
from . import pictures, versions
from .base import build_view, page, record_urls, save_once, typed_head, with_rows
from .photos import photos_url

Outputs = rows_of(OutputForm)


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
    if data is not None and request.headers.get("HX-Request"):
        shown = _look(build, record, form, outputs) if is_valid else {}
        shown["faults"] = [] if is_valid else _worth_saying(request, form, outputs)
        context = {**shown, "form": form, "hand": _hand(form)}
        return page(request, build, "stock/answer.html", section="stock", **context)
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
        "stock/conversion.html",
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
    strip = pictures.yield_strip(preview)
    return {"preview": preview, "source": values["source"], "strip": strip}


def _worth_saying(request: HttpRequest, form: Any, outputs: Any) -> list[str]:
    """Faults of fields in which something was typed; an empty one is not a fault yet."""
    return [
        str(error)
        for each in (form, *outputs.forms)
        for name, errors in each.errors.items()
        if name in each.fields and request.POST.get(each.add_prefix(name))
        for error in errors
    ]


def _hand(form: Any) -> str:
    """How much is on hand of what was chosen, for the answer that takes from it; or nothing."""
    return form.hand_words if "taken_from" in form.fields else ""


def _start(build: Build, pk: int | None) -> dict[str, Any]:
    if pk is not None:
        return {}
    return {"number": next_conversion_number(build), "converted_on": timezone.localdate()}
