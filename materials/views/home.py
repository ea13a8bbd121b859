"""The first page of a build: where it stands, what comes next, and what was done last."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from ..calc.pictures.bars import strip
from ..models import Build
from ..queries.deadlines import in_order
from ..queries.home import DUE_LISTED, count_waiting, get_figures
from ..queries.labour import get_timer
from ..queries.photos import count_pile
from .base import build_view, page


@build_view()
def home(request: HttpRequest, build: Build) -> HttpResponse:
    """The home of a build."""
    figures = get_figures(build, timezone.localdate())
    context: dict[str, Any] = {"figures": figures, "to_sort": count_pile(build)}
    if not figures.is_empty:
        context["due"] = in_order(figures.due, timezone.now())[:DUE_LISTED]
        pieces = (("paid", figures.spent), ("committed", figures.committed))
        context |= {
            "bar": strip(pieces, figures.budget),
            "waiting": count_waiting(build),
            "running": get_timer(build, request.user),
        }
    return page(request, build, "home.html", section="home", **context)
