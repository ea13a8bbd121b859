"""Sheets made for somebody else: cost basis, replacement cost, weight kept from landfill."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from ..calc.sheets.cost_basis import make_cost_basis
from ..calc.sheets.landfill import make_landfill
from ..calc.sheets.replacement import make_replacement
from ..forms.sheets import PricesOnForm
from ..models import Build
from ..queries.reports import get_build_input, get_cost_sheet
from ..queries.sheets import get_own_distance, list_never_waste, map_new_prices, map_weights
from .base import build_view, page


@build_view()
def cost_basis(request: HttpRequest, build: Build) -> HttpResponse:
    """What was paid, without own labour."""
    today = timezone.localdate()
    sheet = get_cost_sheet(build, today)
    return page(
        request,
        build,
        "sheets/basis.html",
        section="sheet",
        on=today,
        basis=make_cost_basis(sheet, get_own_distance(build)),
        cur=build.currency,
    )


@build_view()
def replacement(request: HttpRequest, build: Build) -> HttpResponse:
    """What the material in the building costs new, at the prices known on a day."""
    today = timezone.localdate()
    form = PricesOnForm(request.GET if "on" in request.GET else None, initial={"on": today})
    is_fine = not form.is_bound or form.is_valid()
    on = form.cleaned_data["on"] if form.is_bound and is_fine else today
    sheet = get_cost_sheet(build, on)
    return page(
        request,
        build,
        "sheets/replacement.html",
        section="sheet",
        status=200 if is_fine else 422,
        form=form,
        on=on,
        sheet=sheet,
        made=make_replacement(sheet, map_new_prices(build, on), on),
        cur=build.currency,
    )


@build_view()
def landfill(request: HttpRequest, build: Build) -> HttpResponse:
    """The weight of salvaged material that was not thrown away."""
    today = timezone.localdate()
    return page(
        request,
        build,
        "sheets/landfill.html",
        section="sheet",
        on=today,
        made=make_landfill(
            get_build_input(build, today), map_weights(build), list_never_waste(build)
        ),
    )
