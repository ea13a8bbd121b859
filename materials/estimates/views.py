"""What the next build will cost: from earlier builds, kept, used, and looked at afterwards."""

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..calc.money import minor_units
from ..lifecycle.calc.escalation import EscalationError
from ..models import Build
from ..queries.progress import list_task_plans
from ..queries.reports import get_cost_sheet
from ..services.errors import LedgerError
from ..views.base import build_view, page, posted, record_urls, save_once
from .calc.check import check_estimate, read_figures
from .calc.estimate import estimate
from .calc.price_rise import Rise
from .forms import INDEX, RATE, EstimateForm, UseForm
from .queries import list_estimates, list_measured, list_pasts, list_wanted
from .services import as_figures, save_estimate, use_estimate


@build_view()
def estimates(request: HttpRequest, build: Build) -> HttpResponse:
    """Kept estimates of this build."""
    listed = [
        {"record": record, "figures": read_figures(record.figures)}
        for record in list_estimates(build)[:200]
    ]
    return page(
        request,
        build,
        "estimates/list.html",
        section="estimates",
        listed=listed,
        cur=build.currency,
    )


@build_view(edits=True)
def estimate_add(request: HttpRequest, build: Build) -> HttpResponse:
    """Say what to learn from, look at what it comes to, keep it."""
    today = timezone.localdate()
    others = [
        other
        for other in access.list_builds(request.user)
        if other.pk != build.pk and other.currency == build.currency
    ]
    areas = list_measured(build)
    form = EstimateForm(posted(request), build=build, others=others, areas=areas)
    shown: dict[str, Any] = {}
    is_valid = form.is_bound and form.is_valid()
    looks = is_valid and "look" in request.POST
    if is_valid:
        try:
            made, values, without = _make(build, form, today)
            figures = as_figures(made, minor_units(build.currency))
            shown = {"figures": read_figures(figures), "without": without, "values": values}
            if not looks:
                return save_once(request, lambda: _keep(request, build, made, values))
        except EscalationError as error:
            form.add_error("index_values", str(error))
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    return page(
        request,
        build,
        "estimates/form.html",
        section="estimates",
        title="Estimate this build from earlier ones",
        form=form,
        submit_label="Keep this estimate",
        cancel_url=reverse("estimates", args=[build.pk]),
        preview_template="estimates/_figures.html",
        others=others,
        areas=areas,
        cur=build.currency,
        status=422 if form.is_bound and form.errors else 200,
        **shown,
    )


def _make(build: Build, form: EstimateForm, today: date) -> Any:
    """The estimate, the fields it is kept with, and builds that have no such area."""
    data = form.cleaned_data
    area = data["area"]
    rise = Rise(
        today,
        yearly=None if data["by"] != RATE else Fraction(data["yearly"]) / 100,
        series=data.get("series") if data["by"] == INDEX else None,
    )
    factor: Callable[[date | None], Fraction] = rise.since
    pasts, without = list_pasts(data["builds"], today, area.label, area.area_unit, factor)
    if not pasts:
        raise LedgerError(
            f"None of these builds has a measured {area.label.lower()}: measure one under its"
            " Build details, or compare by another area.",
            "builds",
        )
    made = estimate(pasts, list_wanted(build, today), Fraction(area.area_qty))
    values = {
        "made_on": today,
        "area_label": area.label,
        "area_qty": area.area_qty,
        "area_unit": area.area_unit,
        "past_count": len(pasts),
        "escalation": rise.told()[:400],
        "note": data["note"],
    }
    return made, values, without


def _keep(request: HttpRequest, build: Build, made: Any, values: Any) -> tuple[str, str]:
    saved = save_estimate(actor=request.user, build=build, made=made, values=values)
    return reverse("estimate", args=[build.pk, saved.pk]), "The estimate is kept."


@build_view()
def estimate_page(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """A kept estimate beside what came of it."""
    record = list_estimates(build).get(pk=pk)
    sheet = get_cost_sheet(build, timezone.localdate())
    figures = read_figures(record.figures)
    return page(
        request,
        build,
        "estimates/detail.html",
        section="estimates",
        record=record,
        figures=figures,
        check=check_estimate(figures, sheet, list_task_plans(build)),
        cur=build.currency,
        use_url=reverse("estimate_use", args=[build.pk, pk]),
        **record_urls(build, "estimate", pk),
    )


@build_view(edits=True)
def estimate_use(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Make an estimate the budget and the requirements."""
    record = list_estimates(build).get(pk=pk)
    form = UseForm(posted(request))
    back = reverse("estimate", args=[build.pk, pk])
    if form.is_bound and form.is_valid():

        def write() -> tuple[str, str]:
            elements, parts = use_estimate(
                actor=request.user,
                build=build,
                estimate=record,
                on=timezone.localdate(),
                **form.cleaned_data,
            )
            return back, f"Budgets of {elements:,} elements and {parts:,} requirements are written."

        try:
            return save_once(request, write)
        except LedgerError as error:
            form.add_error(None, str(error))
    return page(
        request,
        build,
        "page_form.html",
        section="estimates",
        title="Make this estimate the plan",
        intro="The budget is what earlier builds paid, in today’s prices. Until something is"
        " bought, the forecast can only take new prices, and may well pass it. Every change stands"
        " in the history and can be undone there.",
        form=form,
        submit_label="Make it the plan",
        cancel_url=back,
        status=422 if form.is_bound else 200,
    )
