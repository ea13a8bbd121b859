"""What is still needed, as a list and as shopping lists to carry."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from ..models import Build
from ..queries.needed import get_shopping
from .base import build_view, page


@build_view()
def needed(request: HttpRequest, build: Build) -> HttpResponse:
    """Components still needed, grouped by where they are had best."""
    today = timezone.localdate()
    return page(
        request,
        build,
        "needed.html",
        section="needed",
        shopping=get_shopping(build, today),
        on=today,
    )
