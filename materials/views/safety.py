"""Cautions of a build."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from ..calc.safety import all_rules
from ..forms.safety import CautionForm
from ..models import Build
from ..queries.components import list_components
from ..queries.safety import list_cautions
from ..services.safety import note_caution
from .base import build_view, edit, page


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
def caution_deal(request: HttpRequest, build: Build, code: str, pk: int) -> HttpResponse:
    """Note what was done about a caution."""
    rule = next((rule for rule in all_rules() if rule.caution.code == code), None)
    if rule is None:
        raise Http404
    component = list_components(build).get(pk=pk)
    start = {"code": code, "component": component.pk}
    form = CautionForm(request.POST or None, build=build, initial=start)

    def save(valid: Any) -> None:
        note_caution(actor=request.user, build=build, **valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title=f"{rule.caution.title}: {component}",
        section="cautions",
        back=reverse("cautions", args=[build.pk]),
        done="Noted. The caution itself stays in the list.",
        intro=rule.caution.text,
    )
