"""The index of a build's pages: five groups, and where one is."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django import template
from django.template import Context
from django.urls import get_script_prefix, reverse

register = template.Library()


@dataclass(frozen=True)
class Entry:
    """One page of the index.

    It is current on its own page, and inside its section: of that only where the address has
    ``pages`` in its name and has not ``without``. ``query``: what its address adds.
    """

    page: str
    label: str
    section: str = ""
    pages: str = ""
    without: str = ""
    query: str = ""
    edits: bool = False

    def current(self, here: str, section: str, state: str) -> str:
        """What aria-current says of it: page, true or nothing."""
        offers = "offer" in self.query
        if here == self.page:
            return "page" if offers == (state == "offer") else ""
        inside = self.section and self.section == section and self.pages in here
        return "true" if inside and not (self.without and self.without in here) else ""


GROUPS: tuple[tuple[str, tuple[Entry, ...]], ...] = (
    (
        "Money",
        (
            Entry("cost_sheet", "Cost sheet", "sheet"),
            Entry("budget", "Budget"),
            Entry("elements", "Elements", "elements"),
            Entry("estimates", "Estimates", "estimates"),
            Entry("life_choices", "Compare lifetime cost", "lifecycle"),
            Entry("settling_up", "Settling up", "settling"),
        ),
    ),
    (
        "Buying",
        (
            Entry("needed", "Still needed"),
            Entry("log", "Judge offer", query="?state=offer", edits=True),
            Entry("purchases", "Open offers", query="?state=offer&sort=due_at"),
            Entry("purchases", "Purchases", "purchases"),
            Entry("sourcing", "Sourcing plan"),
            Entry("suppliers", "Suppliers", "suppliers"),
        ),
    ),
    (
        "Material",
        (
            Entry("components", "Components", "components"),
            Entry("prices", "New prices", "prices"),
            Entry("takeoffs", "Takeoffs", "takeoffs"),
            Entry("left_over", "Leftovers", "stock", pages="left_over"),
            Entry("moves", "Transfers", "moves"),
            Entry("cautions", "Cautions", "cautions"),
        ),
    ),
    (
        "Work",
        (
            Entry("labour", "Hours", "labour", without="task"),
            Entry("tasks", "Tasks", "labour", pages="task"),
            Entry("conversions", "Conversions", "stock", without="left_over"),
            Entry("cutting_plans", "Cutting plans", "cutting"),
            Entry("lessons", "Lessons", "lessons"),
            Entry("yard", "Without signal"),
        ),
    ),
    (
        "Sharing and files",
        (
            Entry("members", "Members", "members"),
            Entry("share_links", "Share links", "sharing", edits=True),
            Entry("downloads", "Export"),
            Entry("imports", "Import", "file", pages="import", edits=True),
            Entry("history", "History"),
            Entry("build_edit", "Build details", edits=True),
        ),
    ),
)
# Open where one is in no group: what one looks for on site.
FIRST_OPEN = "Buying"


@lru_cache(maxsize=4096)
def _address(page: str, build: int, prefix: str) -> str:
    """Address of a build's page. Every page of a build has thirty; ``prefix``: what leads them."""
    return reverse(page, args=[build])


@register.inclusion_tag("parts/index.html", takes_context=True)
def index(context: Context) -> dict[str, Any]:
    """The groups with their entries; the group that one is in is open."""
    request = context["request"]
    match = getattr(request, "resolver_match", None)
    here, state = (match and match.url_name) or "", request.GET.get("state", "")
    build, may_edit = context["build"], context.get("may_edit", False)
    prefix = get_script_prefix()
    groups = []
    for heading, entries in GROUPS:
        rows = [
            {
                "label": entry.label,
                "url": _address(entry.page, build.pk, prefix) + entry.query,
                "current": entry.current(here, context.get("section", ""), state),
            }
            for entry in entries
            if may_edit or not entry.edits
        ]
        groups.append({"heading": heading, "rows": rows, "open": any(r["current"] for r in rows)})
    if not any(group["open"] for group in groups):
        next(group for group in groups if group["heading"] == FIRST_OPEN)["open"] = True
    return {"groups": groups, "build": build, "may_edit": may_edit}
