"""New prices."""

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..forms.filters import PriceFilter
from ..forms.prices import PriceForm
from ..models import Build, RetailPrice
from ..queries.prices import list_prices
from ..queries.purchases import get_purchase
from ..services.prices import save_price
from ..tables.prices import PriceTable
from .base import build_view, number_of, record_urls, show_list
from .editing import edit, posted
from .photos import after_sorting, of_pile, photos_url, save_photos, sorting
from .saved import begin_like, saved_at


@build_view()
def prices(request: HttpRequest, build: Build) -> HttpResponse:
    """New retail prices."""
    return show_list(
        request,
        build,
        table_class=PriceTable,
        rows=list_prices(build),
        filter_class=PriceFilter,
        section="prices",
        title="New prices",
        intro="What new material costs, before tax. The newest up to today counts.",
        add_url=reverse("price_add", args=[build.pk]),
        add_label="Add new price",
    )


@build_view(edits=True)
def price_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a new price."""
    price = list_prices(build).get(pk=pk) if pk is not None else RetailPrice()
    initial = {}
    if pk is None:
        initial = begin_like(request, build, "price", PriceForm, {"priced_at"})
        initial |= {"priced_on": timezone.localdate(), **_picked(request)}
    form = PriceForm(posted(request), build=build, record=price, initial=initial)

    back = _offer_url(request, build) or reverse("prices", args=[build.pk])

    @transaction.atomic
    def save(valid: Any) -> tuple[str, str]:
        with sorting(request, build):
            saved = save_price(actor=request.user, build=build, price=price, values=valid.values())
            save_photos(request, build, saved, valid)
        return saved_at(after_sorting(request, build, back), "price", saved), ""

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change new price" if pk is not None else "Add new price",
        section="prices",
        back=back,
        done="Saved.",
        outbox="" if pk is not None else "New price",
        **of_pile(request, build),
        **record_urls(build, "price", pk),
        photos_url=photos_url(build, "price", pk),
    )


def _offer_url(request: HttpRequest, build: Build) -> str:
    """The page of the purchase for which a price is asked, as the address names it."""
    number = number_of(request.GET.get("offer"))
    if number is None:
        return ""
    return reverse("purchase", args=[build.pk, get_purchase(build, number).pk])


def _picked(request: HttpRequest) -> dict[str, int]:
    component = number_of(request.GET.get("component"))
    return {"component": component} if component is not None else {}
