"""The first page of a build: where it stands, what comes next, and what was done last."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from ..calc.pictures.bars import strip
from ..models import Build
from ..queries.home import get_figures, list_latest, list_open_offers
from ..queries.labour import get_timer
from .base import build_view, page


@build_view()
def home(request: HttpRequest, build: Build) -> HttpResponse:
    """The home of a build."""
    figures, waiting = get_figures(build, timezone.localdate())
    context = {"figures": figures, "waiting": waiting}
    if not figures.is_empty:
        pieces = (("paid", figures.spent), ("committed", figures.committed))
        context |= {
            "bar": strip(pieces, figures.budget),
            "latest": list(list_latest(build)),
            "offers": list(list_open_offers(build)),
            "running": get_timer(build, request.user),
        }
    return page(request, build, "home.html", section="home", **context)
