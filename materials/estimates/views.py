"""What the next build will cost: from earlier builds, kept, used, and looked at afterwards."""

from collections.abc import Iterable
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
from ..queries.lessons import lessons_touching
from ..queries.progress import list_task_plans
from ..queries.reports import get_cost_sheet
from ..services.errors import LedgerError
from ..views.base import build_view, page, record_urls
from ..views.editing import edit, posted
from ..views.lessons import beside
from .calc.check import KeptEstimate, check_estimate, read_figures
from .calc.price_rise import PriceRise
from .forms import INDEX, LEAVE_OUT, RATE, EstimateForm, UseForm
from .queries import list_estimates, list_measured
from .services import as_figures, estimate_from, save_estimate, use_estimate


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
    shown = _made(request, build, form, today)
    return edit(
        request,
        build,
        form=form,
        look=dict,
        save=lambda valid: _keep(request, build, shown),
        template="estimates/form.html",
        section="estimates",
        title="Estimate from earlier builds",
        submit_label="Save estimate",
        back=reverse("estimates", args=[build.pk]),
        preview_template="estimates/_figures.html",
        others=others,
        areas=areas,
        cur=build.currency,
        **shown,
    )


def _made(request: HttpRequest, build: Build, form: EstimateForm, today: date) -> dict[str, Any]:
    """What was asked for, to be shown and kept; nothing, with the reason on the form, else."""
    if not form.is_bound or not form.is_valid():
        return {}
    try:
        made, values, pasts = _make(build, form, today)
    except EscalationError as error:
        form.add_error("index_values", str(error))
    except LedgerError as error:
        form.add_refusal(str(error), error.field)
    else:
        figures = read_figures(as_figures(made, minor_units(build.currency), pasts))
        return {
            "made": made,
            "values": values,
            "pasts": pasts,
            "without": pasts.without,
            "figures": figures,
            "told": list(zip(figures.pasts, [told.name for told in pasts.told], strict=True)),
            "lessons": _lessons(request, build, figures, form.cleaned_data["builds"]),
        }
    return {}


def _lessons(
    request: HttpRequest, build: Build, figures: KeptEstimate, wholes: Iterable[Build]
) -> dict[str, Any]:
    """What was learned of the elements and components that are estimated, and of whole builds."""
    return beside(
        lessons_touching(
            request.user,
            build,
            wholes=wholes,
            element=[row.name for row in figures.elements],
            component=[row.name for row in figures.parts],
        )
    )


def _make(build: Build, form: EstimateForm, today: date) -> Any:
    """The estimate, the fields it is kept with, and what it is made of."""
    data = form.cleaned_data
    rise = PriceRise(
        today,
        yearly=None if data["by"] != RATE else Fraction(data["yearly"]) / 100,
        series=data.get("series") if data["by"] == INDEX else None,
    )
    made, values, pasts = estimate_from(
        data["builds"],
        build=build,
        area=data["area"],
        rise=rise,
        with_unfinished=data["unfinished"] != LEAVE_OUT,
    )
    return made, values | {"note": data["note"]}, pasts


def _keep(request: HttpRequest, build: Build, shown: dict[str, Any]) -> tuple[str, str]:
    kept = {name: shown[name] for name in ("made", "values", "pasts")}
    saved = save_estimate(actor=request.user, build=build, **kept)
    return reverse("estimate", args=[build.pk, saved.pk]), "The estimate is saved."


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
        told=[(past, "") for past in figures.pasts],
        lessons=_lessons(
            request,
            build,
            figures,
            access.list_builds(request.user).exclude(pk=build.pk),
        ),
        check=check_estimate(figures, sheet, list_task_plans(build)),
        cur=build.currency,
        use_url=reverse("estimate_use", args=[build.pk, pk]),
        **record_urls(build, "estimate", pk),
    )


@build_view(edits=True)
def estimate_use(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Make an estimate the budget and the requirements."""
    record = list_estimates(build).get(pk=pk)
    form = UseForm(posted(request), build=build)

    def save(valid: Any) -> str:
        elements, parts = use_estimate(
            actor=request.user,
            build=build,
            estimate=record,
            on=timezone.localdate(),
            **valid.cleaned_data,
        )
        return f"{elements:,} budgets and {parts:,} requirements are saved."

    return edit(
        request,
        build,
        form=form,
        save=save,
        section="estimates",
        title="Use this estimate as the plan",
        intro=(
            "The budget is what earlier builds paid, in today’s prices. Until you buy "
            "something, the forecast uses new prices and may well pass it. You can undo "
            "every change in the history."
        ),
        submit_label="Use as plan",
        back=reverse("estimate", args=[build.pk, pk]),
    )
