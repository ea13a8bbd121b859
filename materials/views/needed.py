"""What is still needed, as a list and as shopping lists to carry."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.http import urlencode

from ..calc.quantities import format_quantity
from ..models import Build
from ..queries.making import Making
from ..queries.needed import Shopping, get_shopping
from ..queries.quantities import base_unit
from ..templatetags.figures import quantity
from .base import build_view, page
from .way_words import making_words


@build_view()
def needed(request: HttpRequest, build: Build) -> HttpResponse:
    """Components still needed, grouped by where they are had best."""
    today = timezone.localdate()
    shopping = get_shopping(build, today)
    return page(
        request,
        build,
        "needed.html",
        section="needed",
        shopping=shopping,
        makings=_makings(shopping),
        on=today,
    )


def _makings(shopping: Shopping) -> list[dict[str, Any]]:
    """What is made for what is still needed, in words."""
    rows = []
    for making in shopping.making.makings:
        head, of = making_words(making)
        needed = [
            (made.part.name, quantity(shopping.needed[made.part.pk], made.part.unit))
            for made in making.made
            if shopping.needed.get(made.part.pk)
        ]
        row = {"making": making, "words": head, "of": of, "needed": needed}
        rows.append(row | {"asked": _asked(making)})
    return rows


def _asked(making: Making) -> str:
    """What the form of a conversion begins with: as much as is on hand, else all of it."""
    source, way = making.known.source, making.known.code
    used = format_quantity(making.drawn.hand or making.used, base_unit(source))
    return urlencode({"source": source.pk, "used": used, "way": way})
