"""What is still needed, as a list and as shopping lists to carry."""

from fractions import Fraction

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from ..models import Build
from ..queries.needed import group_by_place, list_needed
from .base import build_view, page


@build_view()
def needed(request: HttpRequest, build: Build) -> HttpResponse:
    """Components still needed, grouped by where they are had best."""
    today = timezone.localdate()
    rows = list_needed(build, today)
    known = [row.cost for row in rows if row.cost is not None]
    return page(
        request,
        build,
        "needed.html",
        section="needed",
        lists=group_by_place(rows),
        on=today,
        total=sum(known, Fraction(0)) if known else None,
        without_price=len(rows) - len(known),
    )
