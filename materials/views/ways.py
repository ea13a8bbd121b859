"""What can be made of what: learned ways and stated ones."""

from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..calc.prices import average_and_new, new_cost_of_one
from ..calc.ways import Yielded
from ..forms.ways import WayForm
from ..models import Build, Component, WayToMake
from ..queries.components import list_components
from ..queries.kept import get_kept_sheet
from ..queries.ways import KnownWay, get_known_ways, list_stated_ways
from ..services.ways import save_way
from ..templatetags.figures import hours, number, quantity, rate_text
from .base import build_view, number_of, page, record_urls
from .editing import edit, posted
from .saved import begin_like, saved_at
from .way_words import extra_each, hours_each, spread_words


@build_view()
def ways(request: HttpRequest, build: Build) -> HttpResponse:
    """All that can be made of something, with what one then costs."""
    known = get_known_ways(build)
    return page(
        request,
        build,
        "ways/list.html",
        section="stock",
        rows=list_way_rows(build, known.ways),
        left_out=known.left_out,
    )


@build_view(edits=True)
def way_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """State, or state anew, what one component gives of another."""
    way = list_stated_ways(build).get(pk=pk) if pk is not None else WayToMake(build=build)
    initial = {} if pk is not None else _start(request, build)
    form = WayForm(posted(request), build=build, record=way, initial=initial)
    back = reverse("ways", args=[build.pk])

    def save(valid: Any) -> tuple[str, str]:
        saved = save_way(actor=request.user, build=build, way=way, values=valid.values())
        return saved_at(back, "way-to-make", saved), ""

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change way to make" if pk is not None else "State way to make",
        section="stock",
        back=back,
        done="Saved.",
        **record_urls(build, "way-to-make", pk),
    )


def _start(request: HttpRequest, build: Build) -> dict[str, Any]:
    """What the address names: another one, or a source and what is made of it."""
    start = begin_like(request, build, "way-to-make", WayForm, {"source", "used_text"})
    for name, text in (("source", "used_text"), ("component", "")):
        key = number_of(request.GET.get(name))
        part = list_components(build).filter(pk=key).first() if key is not None else None
        if part is not None:
            start[name] = part.pk
            start |= {text: f"1 {part.unit}"} if text else {}
    return start


def list_way_rows(build: Build, ways: tuple[KnownWay, ...]) -> list[dict[str, Any]]:
    """Each thing a way makes, with its yield, losses, hours, and cost beside one new."""
    if not ways:
        return []
    sheet = get_kept_sheet(build, timezone.localdate())
    positions = {row.position.component.key: row.position for row in sheet.components}
    tax = sheet.build.retail_tax_share
    new = {key: new_cost_of_one(pos.component, tax) for key, pos in positions.items()}
    rows = []
    for known in ways:
        source = positions.get(known.way.source)
        one, _ = average_and_new(source.component, source.average, tax) if source else (None, None)
        each = known.way.cost_of_each(one, new)
        for out, part in zip(known.way.makes, known.makes, strict=True):
            rows.append(_row(build, known, out, part, one, each[out.component], new))
    return rows


def _row(
    build: Build,
    known: KnownWay,
    out: Yielded,
    part: Component,
    one: Fraction | None,
    each: Fraction | None,
    new: Any,
) -> dict[str, Any]:
    return {
        "known": known,
        "source": known.source,
        "part": part,
        "made": quantity(out.quantity, part.unit),
        "hours": known.way.each(known.way.hours),
        "is_single": len(known.makes) == 1,
        "lost": None if known.way.lost is None else known.way.lost * 100,
        "count": (known.learned or known.way).count,
        "each": each,
        "new": new.get(out.component),
        "source_one": one,
        "told": told_of(known, out, build.currency),
    }


def told_of(known: KnownWay, out: Yielded, currency: str) -> list[str]:
    """What else is known of a way: spreads and its extra cost."""
    learned = known.learned or known.way
    spread = next((o.spread for o in learned.makes if o.component == out.component), None)
    told = [
        spread_words("Made", spread, lambda value: str(number(value))),
        spread_words("Hours for one", learned.hours_spread, hours),
        spread_words(
            "Extra cost of one", learned.extra_spread, lambda value: rate_text(value, currency)
        ),
    ]
    if learned.hours_spread is not None and learned.hours_spread.count < learned.count:
        told.append(f"Hours were logged for {learned.hours_spread.count} of {learned.count}")
    said = extra_each(known, currency)
    if len(known.makes) > 1 and known.way.hours is not None:
        said = f"{hours_each(known)}; {said}"
    told.append(f"{said[:1].upper()}{said[1:]}")
    return [text for text in told if text]
