"""Components, new prices, suppliers."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..forms.components import ComponentForm
from ..forms.filters import ComponentFilter
from ..models import Build, Component
from ..queries.comparing import kind_known, list_alike, missing_for
from ..queries.components import list_components
from ..queries.lessons import lessons_touching
from ..queries.prices import list_prices
from ..queries.purchases import list_lines
from ..queries.reports import get_cost_sheet
from ..queries.stock import list_conversions, list_left_over
from ..queries.transfers import list_transfers
from ..queries.ways import get_known_ways
from ..services.components import save_component
from ..tables.base import in_unit
from ..tables.components import ComponentTable
from ..tables.prices import PriceTable
from ..tables.purchases import LineTable
from ..tables.stock import ConversionTable, LeftOverTable
from ..tables.transfers import TransferTable
from ..templatetags.figures import plain, stated_percent
from ..tools import COMPONENT_PARTS
from .base import build_view, count_link, page, record_urls, show_list
from .editing import edit, posted
from .lessons import beside
from .ways import list_way_rows

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
        add_label="Add component",
        links=[
            ("Compare prices", reverse("compared", args=[build.pk])),
            *count_link(request, build),
        ],
    )


@build_view()
def compared(request: HttpRequest, build: Build) -> HttpResponse:
    """Prices of components of one kind beside each other, by what each kind is bought for."""
    groups = [group for group in list_alike(build, timezone.localdate()) if group.is_comparison]
    parts = {row.part.pk for group in groups for row in group.rows}
    return page(
        request,
        build,
        "components/compared.html",
        section="components",
        groups=groups,
        part_count=len(parts),
    )


@build_view()
def component(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One component: its figures and all rows behind them."""
    part = list_components(build).get(pk=pk)
    today = timezone.localdate()
    sheet = get_cost_sheet(build, today)
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
        rows("Leftovers", LeftOverTable(left[:SHOWN], build=build, exclude=OWN), "left_over"),
    ]
    moved = list_transfers(build, request.user).filter(part_id=pk)[:SHOWN]
    if moved:
        table = TransferTable(moved, build=build, exclude=("part_name",))
        tables.append(rows("Transfers between builds", table, "moves", ""))
    ways = get_known_ways(build)
    alike = [(group, own) for group in list_alike(build, today) if (own := group.row_of(part))]
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
        kind=kind_known(part),
        missing=missing_for(part),
        alike=alike,
        ways_of=list_way_rows(build, ways.of(pk)),
        ways_into=list_way_rows(build, ways.into(pk)),
        lessons=beside(
            lessons_touching(request.user, build, component=[part.name]), "component", pk
        ),
        tables=tables,
        edit_url=reverse("component_edit", args=[build.pk, pk]),
        **record_urls(build, "component", pk),
    )


def _facts(part: Component, position: Any) -> list[tuple[str, str]]:
    facts = [
        ("Base unit", part.unit),
        ("Contents", part.contents or "—"),
        ("Required", part.required_text or "not stated"),
        ("Waste allowance", stated_percent(part.waste_percent)),
        ("Usable received", in_unit(position.component.received, part.unit)),
        ("Converted in", in_unit(position.converted_in, part.unit)),
        ("Converted out", in_unit(position.converted_out, part.unit)),
        ("Leftovers", in_unit(position.left_over, part.unit)),
        ("Ordered", in_unit(position.component.ordered, part.unit)),
        ("New quantity per one", plain(part.new_qty_per_one, 6, trim=True)),
    ]
    if position.component.moved_in:
        facts.insert(5, ("Moved in", in_unit(position.component.moved_in, part.unit)))
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
        title="Change component" if pk is not None else "Add component",
        section="components",
        back=back,
        done="Saved.",
        **record_urls(build, "component", pk),
    )
