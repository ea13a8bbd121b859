"""Changing many purchase lines at once."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..forms.filters import LineFilter
from ..forms.many_lines import ManyLinesForm
from ..models import Build
from ..queries.many_lines import MOST, ManyLines, get_many_lines
from ..queries.purchases import list_lines
from ..services.many_lines import RowsRefused, give_to_lines, versions_seen
from ..templatetags.figures import count
from .base import build_view, number_of
from .editing import edit, posted
from .saved import act_at
from .versions import meanwhile


@build_view(edits=True)
def lines_change(request: HttpRequest, build: Build) -> HttpResponse:
    """Give ticked lines, or all that a filter lists, the same values."""
    data = posted(request)
    chosen = get_many_lines(build, _asked(request, build))
    shown = " ".join(str(line.pk) for line in chosen.lines)
    start = {
        "line": [str(line.pk) for line in chosen.lines],
        "shown": shown,
        "seen": _written(versions_seen(chosen)),
    }
    form = ManyLinesForm(data, build=build, lines=chosen.lines, initial=start)
    back = reverse("purchase_lines", args=[build.pk])

    def save(valid: Any) -> tuple[str, str]:
        keys = [int(key) for key in valid.cleaned_data["line"]]
        try:
            act = give_to_lines(
                actor=request.user,
                build=build,
                keys=keys,
                seen=_read(valid.cleaned_data["seen"]),
                given=valid.given(),
                on=timezone.localdate(),
            )
        except RowsRefused as error:
            _show_again(form, chosen, error)
            raise
        return act_at(back, act), "" if act.change else "They were like that already."

    return edit(
        request,
        build,
        form=form,
        save=save,
        template="purchases/lines_change.html",
        section="purchases",
        title="Change lines",
        back=back,
        guarded=False,
        notes=_notes(chosen),
        chosen=chosen,
    )


def _asked(request: HttpRequest, build: Build) -> list[int]:
    """Keys of the lines that the page is about: ticked, filtered, or shown before."""
    if request.method == "POST":
        named = [*request.POST.get("shown", "").split(), *request.POST.getlist("line")]
    elif "all" in request.GET:
        found = LineFilter(request.GET, queryset=list_lines(build), build=build).qs
        return list(found.values_list("pk", flat=True)[:MOST])
    else:
        named = request.GET.getlist("line")
    keys = (number_of(name) for name in named[: 2 * MOST])
    return [key for key in keys if key is not None]


def _notes(chosen: ManyLines) -> list[str]:
    """What else will change with the ticked lines."""
    notes = ["The element and the new price are kept with the component, for all its lines."]
    if chosen.beside:
        others = f"{count(chosen.beside)} other line{'s' if chosen.beside > 1 else ''}"
        notes.insert(
            0, f"Payer, supplier, state and date are the purchase's. They hold for {others} too."
        )
    if len(chosen.lines) == MOST:
        notes.append(f"At most {count(MOST)} lines are changed at once.")
    return notes


def _show_again(form: Any, chosen: ManyLines, error: RowsRefused) -> None:
    """Have the form come back with today's versions and without ticks at what was refused."""
    data = form.data.copy()
    data["seen"] = _written(versions_seen(chosen))
    ticked = set(data.getlist("line"))
    refused = {
        str(line.pk)
        for line in chosen.lines
        if line.purchase in error.refused or line.component in error.refused
    }
    data.setlist("line", sorted(ticked - refused, key=int))
    form.data = data
    form.changed = [
        (name, old_and_new)
        for name, stale in error.stale
        for old_and_new in meanwhile(stale)["rows"]
    ]


def _written(versions: dict[str, str]) -> str:
    return " ".join(f"{name}:{digest}" for name, digest in sorted(versions.items()))


def _read(text: str) -> dict[str, str]:
    pairs = (part.partition(":") for part in text.split())
    return {name: digest for name, _, digest in pairs}
