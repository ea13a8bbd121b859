"""What is still needed, as a list and as shopping lists to carry."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from ..models import Build
from ..queries.needed import Shopping, get_shopping
from ..templatetags.figures import quantity
from .base import build_view, page
from .way_words import asked_of, making_words


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
        # As much as is on hand can be worked up now; else it has to be got first.
        asked = asked_of(making.known, making.drawn.hand or making.used)
        rows.append({"making": making, "words": head, "of": of, "needed": needed, "asked": asked})
    return rows
