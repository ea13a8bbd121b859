"""Taking quantities off shapes, and giving them to requirements and areas."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from ..models import Build, Component, Takeoff
from ..views.base import build_view, page, record_urls, show_list
from ..views.editing import edit, posted, press
from .calc.takeoff import SHAPES
from .calc.types import TakeoffError
from .forms import TakeoffForm, TakeoffUseForm
from .queries import (
    find_figure,
    get_takeoff,
    kept_figures,
    list_takeoffs,
    measures_of,
    panel_text,
    title_of,
    worked_of,
)
from .services import (
    UseMode,
    remove_use,
    save_takeoff,
    use_for_area,
    use_for_component,
)
from .tables import TakeoffTable

SECTION = "takeoffs"


@build_view()
def takeoffs(request: HttpRequest, build: Build) -> HttpResponse:
    """The takeoffs that were kept."""
    return show_list(
        request,
        build,
        table_class=TakeoffTable,
        rows=list_takeoffs(build),
        section=SECTION,
        title="Takeoffs",
        intro="Quantities worked out from the shapes you build, and where each is used.",
        add_url=reverse("takeoff_shapes", args=[build.pk]),
        add_label="Add takeoff",
    )


@build_view(edits=True)
def takeoff_shapes(request: HttpRequest, build: Build) -> HttpResponse:
    """Choose a shape."""
    groups: dict[str, list[Any]] = {}
    for shape in SHAPES.values():
        groups.setdefault(shape.group, []).append(shape)
    return page(
        request,
        build,
        "takeoffs/shapes.html",
        section=SECTION,
        title="Add takeoff",
        groups=list(groups.items()),
    )


@build_view()
def takeoff(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One takeoff: its measures, what they come to, and what that is part of."""
    record = get_takeoff(build, pk)
    message, worked = "", None
    try:
        worked = worked_of(record)
    except TakeoffError as error:
        message = str(error)
    labels = {row["key"]: row["label"] for row in kept_figures(record)}
    uses = [(use, labels.get(use.figure, use.figure)) for use in record.uses.all()]
    panels = worked.panels if worked else ()
    return page(
        request,
        build,
        "takeoffs/takeoff.html",
        panels=panels,
        panels_url=f"{reverse('cutting_plan_add', args=[build.pk])}?"
        + urlencode([("piece", panel_text(panel)) for panel in panels]),
        section=SECTION,
        takeoff=record,
        shape_title=title_of(record),
        measures=measures_of(record),
        worked=worked,
        message=message,
        uses=uses,
        **record_urls(build, "takeoff", pk),
    )


@build_view(edits=True)
def takeoff_add(request: HttpRequest, build: Build, shape: str) -> HttpResponse:
    """Measure a shape."""
    if shape not in SHAPES:
        raise Http404
    return _form(request, build, Takeoff(build=build, shape=shape))


@build_view(edits=True)
def takeoff_edit(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Measure a shape again."""
    record = get_takeoff(build, pk)
    if record.shape not in SHAPES:
        raise Http404
    return _form(request, build, record)


def _form(request: HttpRequest, build: Build, record: Takeoff) -> HttpResponse:
    form = TakeoffForm(posted(request), build=build, record=record)
    if form.is_bound:
        # What the measures come to is known then, whether or not all else holds.
        form.full_clean()

    def save(valid: Any) -> tuple[str, str]:
        result = save_takeoff(
            actor=request.user, build=build, takeoff=record, values=valid.values()
        )
        saved = f"“{record.name}” is saved. {' '.join(result)}".strip()
        return reverse("takeoff", args=[build.pk, record.pk]), saved

    return edit(
        request,
        build,
        form=form,
        look=dict,
        enough=form.worked is not None,
        answer="takeoffs/answer.html",
        save=save,
        template="takeoffs/form.html",
        section=SECTION,
        title=f"Change: {record.name}" if record.pk else form.shape.title,
        intro=form.shape.about,
        submit_label="Save takeoff",
        back=reverse("takeoff", args=[build.pk, record.pk])
        if record.pk
        else reverse("takeoff_shapes", args=[build.pk]),
        preview_template="takeoffs/_worked.html",
        preview_title="Quantities",
        **record_urls(build, "takeoff", record.pk),
        worked=form.worked,
        shape=form.shape,
    )


@build_view(edits=True)
def takeoff_use(request: HttpRequest, build: Build, pk: int, figure: str) -> HttpResponse:
    """Say what a figure is for."""
    record = get_takeoff(build, pk)
    found = find_figure(record, figure)
    if found is None:
        raise Http404
    form = TakeoffUseForm(
        posted(request),
        build=build,
        is_area=found.is_area,
        initial={"new_name": "", "new_unit": found.unit},
    )

    def save(valid: Any) -> str:
        data = valid.cleaned_data
        given = {"takeoff": record, "figure": figure, "how": UseMode(data["how"])}
        if valid.area:
            area = use_for_area(actor=request.user, build=build, label=valid.area, **given)
            return f"{area.label} of the build is taken from this."
        values = {"name": data["new_name"], "unit": data["new_unit"]}
        part = use_for_component(
            actor=request.user,
            build=build,
            component=valid.component or Component(build=build),
            values=values,
            **given,
        )
        return f"{part.name} requires {part.required_text or 'nothing stated'} now."

    return edit(
        request,
        build,
        form=form,
        save=save,
        title=f"{found.label}: {found.shown}",
        intro=f"From “{record.name}”. Choose what requires it.",
        section=SECTION,
        back=reverse("takeoff", args=[build.pk, pk]),
        done="Saved.",
        cautions=[ALLOWED] if found.has_waste else [],
        submit_label="Use it",
    )


ALLOWED = (
    "This figure includes a waste allowance. If the component has its own, use the "
    "figure without it, or waste counts twice."
)


@require_POST
@build_view(edits=True)
def takeoff_use_remove(request: HttpRequest, build: Build, pk: int, use: int) -> HttpResponse:
    """Take a figure out of what it is part of."""
    record = get_takeoff(build, pk)

    def remove() -> str:
        return remove_use(actor=request.user, build=build, takeoff=record, use_id=use)

    return press(request, remove, reverse("takeoff", args=[build.pk, pk]))
