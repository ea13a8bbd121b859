"""Where one came from: a page of the build and the figures on the way, as the address names them.

``?from=home.savings`` is the home, and on it the savings: what is opened from there leads back to
the savings, and these to the home. Only names of own pages are read, so nothing leads elsewhere.
"""

import re
from collections.abc import Sequence

from django.http import HttpRequest
from django.urls import reverse

from ..models import Build

# Pages that show figures, by the name of their address, and what they are called.
PAGES = {
    "home": "home",
    "cost_sheet": "the cost sheet",
    "budget": "the budget",
    "hours_report": "hours against plan",
    "settling_up": "settling up",
}
MOST_STEPS = 6
_FIGURE = re.compile(r"[a-zA-Z0-9_-]{1,40}")


def read_trail(request: HttpRequest) -> list[str]:
    """The page and the figures that were passed; empty for what is none."""
    page, *figures = request.GET.get("from", "").split(".")
    if page not in PAGES or not all(_FIGURE.fullmatch(name) for name in figures):
        return []
    return [page, *figures][:MOST_STEPS]


def way_back(build: Build, trail: Sequence[str]) -> tuple[str, str] | None:
    """Address of where one came from, and what the link says."""
    if not trail:
        return None
    *before, last = trail
    if not before:
        return reverse(last, args=[build.pk]), f"Back to {PAGES[last]}"
    address = reverse("figure", args=[build.pk, last])
    return came_from(address, before), "Back to the figure before"


def came_from(address: str, trail: Sequence[str]) -> str:
    """An address that knows the way back."""
    if not trail:
        return address
    path, mark, place = address.partition("#")
    return f"{path}{'&' if '?' in path else '?'}from={'.'.join(trail)}{mark}{place}"
