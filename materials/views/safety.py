"""Cautions of a build."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from ..calc.safety.cautions import Rule, all_rules
from ..forms.safety import CautionForm
from ..models import Build
from ..queries.safety import get_caution, list_cautions
from ..services.safety import note_cautions
from .base import build_view, page
from .editing import edit, posted


@build_view()
def cautions(request: HttpRequest, build: Build) -> HttpResponse:
    """The usual cautions for what was logged, and what was done about them."""
    listed = list_cautions(build)
    return page(
        request,
        build,
        "safety/build.html",
        section="cautions",
        cautions=listed,
        rules=all_rules(),
    )


@build_view(edits=True)
def caution_deal(request: HttpRequest, build: Build, code: str) -> HttpResponse:
    """Note what was done about a caution, for as many as it is open for."""
    rule, row = _rule(code), get_caution(build, code)
    if row is None or not row.open:
        messages.success(request, "Nothing is open for that caution.")
        return redirect("cautions", build.pk)
    # What is said of a whole build is mostly settled for all of it; one test is of one thing.
    ticked = row.open if rule.caution.is_general or len(row.open) == 1 else ()
    start = {"components": [component.pk for component in ticked]}
    form = CautionForm(posted(request), build=build, about=row.open, initial=start)

    def save(valid: Any) -> None:
        note_cautions(actor=request.user, build=build, code=code, **valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title=rule.caution.title,
        section="cautions",
        back=reverse("cautions", args=[build.pk]),
        done="Saved. The caution itself stays in the list.",
        intro=rule.caution.text,
    )


def _rule(code: str) -> Rule:
    """The rule of a code. Raises Http404."""
    rule = next((rule for rule in all_rules() if rule.caution.code == code), None)
    if rule is None:
        raise Http404
    return rule
