"""Components, new prices, suppliers."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..forms.components import ComponentForm, PriceForm, SupplierForm
from ..forms.filters import ComponentFilter, PriceFilter
from ..models import Build, Component, RetailPrice, Supplier
from ..queries.components import list_components
from ..queries.moves import list_moves
from ..queries.prices import list_prices
from ..queries.purchases import get_purchase, list_lines
from ..queries.records import get_record
from ..queries.reports import get_cost_sheet
from ..queries.stock import list_conversions, list_left_over
from ..queries.suppliers import list_suppliers
from ..services.components import save_component
from ..services.prices import save_price
from ..services.suppliers import save_supplier
from ..tables.base import in_unit
from ..tables.components import ComponentTable, PriceTable, SupplierTable
from ..tables.moves import MoveTable
from ..tables.purchases import LineTable
from ..tables.stock import ConversionTable, LeftOverTable
from ..templatetags.figures import percent, plain
from ..tools import COMPONENT_PARTS
from .base import build_view, number_of, page, record_urls, show_list
from .editing import edit, posted
from .photos import photos_url

SHOWN = 25
# The page is the component's own.
OWN = ("component",)


@build_view()
def components(request: HttpRequest, build: Build) -> HttpResponse:
    """What the build needs."""
    return show_list(
        request,
        build,
        table_class=ComponentTable,
        rows=list_components(build),
        filter_class=ComponentFilter,
        section="components",
        title="Components",
        intro="The materials and items the build needs.",
        add_url=reverse("component_add", args=[build.pk]),
        add_label="Add a component",
    )


@build_view()
def component(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One component: its figures and all rows behind them."""
    part = list_components(build).get(pk=pk)
    sheet = get_cost_sheet(build, timezone.localdate())
    row = next(row for row in sheet.components if row.position.component.key == pk)
    where = f"?component={pk}"

    def rows(heading: str, table: Any, address: str = "", query: str = where) -> dict[str, Any]:
        table.orderable = False
        url = reverse(address, args=[build.pk]) + query if address else None
        return {"heading": heading, "table": table, "url": url}

    conversions = list_conversions(build)
    lines = list_lines(build).filter(component=part)
    into = conversions.filter(outputs__component=part).distinct()
    left = list_left_over(build).filter(component=part)
    prices = list_prices(build).filter(component=part)
    used = conversions.filter(source=part)
    tables = [
        rows("New prices", PriceTable(prices[:SHOWN], build=build, exclude=OWN), "prices"),
        rows(
            "Purchase lines",
            # A list: rows in the order of a column would be ordered once more.
            LineTable(list(lines[:SHOWN]), build=build, exclude=OWN),
            "purchase_lines",
        ),
        rows("Made by conversions", ConversionTable(into[:SHOWN], build=build)),
        rows(
            "Used by conversions",
            ConversionTable(used[:SHOWN], build=build),
            "conversions",
            f"?source={pk}",
        ),
        rows("Left over", LeftOverTable(left[:SHOWN], build=build, exclude=OWN), "left_over"),
    ]
    moved = list_moves(build, request.user).filter(part_id=pk)[:SHOWN]
    if moved:
        table = MoveTable(moved, build=build, exclude=("part_name",))
        tables.append(rows("Moves between builds", table, "moves", ""))
    return page(
        request,
        build,
        "components/detail.html",
        section="components",
        component=part,
        row=row,
        facts=_facts(part, row.position),
        tools=[
            {"template": tool.template, **tool.context(build, part)} for tool in COMPONENT_PARTS
        ],
        tables=tables,
        edit_url=reverse("component_edit", args=[build.pk, pk]),
        **record_urls(build, "component", pk),
    )


def _facts(part: Component, position: Any) -> list[tuple[str, str]]:
    facts = [
        ("Element", str(part.element or "No element")),
        ("Base unit", part.unit),
        ("Contents", part.contents or "—"),
        ("Required", part.required_text or "not stated"),
        ("Waste allowance", percent(part.waste_percent)),
        ("Usable received", in_unit(position.component.received, part.unit)),
        ("Converted in", in_unit(position.converted_in, part.unit)),
        ("Converted out", in_unit(position.converted_out, part.unit)),
        ("Left over", in_unit(position.left_over, part.unit)),
        ("Ordered", in_unit(position.component.ordered, part.unit)),
        ("New quantity per one", plain(part.new_qty_per_one, 6, trim=True)),
    ]
    if position.component.moved_in:
        facts.insert(6, ("Moved in", in_unit(position.component.moved_in, part.unit)))
    if part.life_years is not None:
        facts.append(("Expected life", f"{plain(part.life_years, 2, trim=True)} years"))
    return facts


@build_view(edits=True)
def component_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a component."""
    part = list_components(build).get(pk=pk) if pk is not None else Component(build=build)
    form = ComponentForm(posted(request), build=build, record=part)

    def save(valid: Any) -> None:
        save_component(actor=request.user, build=build, component=part, values=valid.values())

    back = (
        reverse("component", args=[build.pk, pk])
        if pk is not None
        else reverse("components", args=[build.pk])
    )
    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change a component" if pk is not None else "Add a component",
        section="components",
        back=back,
        done="Saved.",
        **record_urls(build, "component", pk),
    )


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
        intro="What new material costs before tax. The newest one up to today counts.",
        add_url=reverse("price_add", args=[build.pk]),
        add_label="Add a new price",
    )


@build_view(edits=True)
def price_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a new price."""
    price = list_prices(build).get(pk=pk) if pk is not None else RetailPrice()
    initial = {} if pk is not None else {"priced_on": timezone.localdate(), **_picked(request)}
    form = PriceForm(posted(request), build=build, record=price, initial=initial)

    def save(valid: Any) -> None:
        save_price(actor=request.user, build=build, price=price, values=valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change a new price" if pk is not None else "Add a new price",
        section="prices",
        back=_offer_url(request, build) or reverse("prices", args=[build.pk]),
        done="Saved.",
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


@build_view()
def suppliers(request: HttpRequest, build: Build) -> HttpResponse:
    """Suppliers."""
    return show_list(
        request,
        build,
        table_class=SupplierTable,
        rows=list_suppliers(build),
        section="suppliers",
        title="Suppliers",
        add_url=reverse("supplier_add", args=[build.pk]),
        add_label="Add a supplier",
    )


@build_view(edits=True)
def supplier_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a supplier."""
    supplier = get_record(build, "supplier", pk) if pk is not None else Supplier(build=build)
    if supplier is None:
        raise Http404
    form = SupplierForm(posted(request), build=build, record=supplier)

    def save(valid: Any) -> None:
        save_supplier(actor=request.user, build=build, supplier=supplier, values=valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change a supplier" if pk is not None else "Add a supplier",
        section="suppliers",
        back=reverse("suppliers", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "supplier", pk),
    )
