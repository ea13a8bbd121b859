"""New names in a table: what each stands for."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from ..calc.names import loose_key, near_names
from ..calc.quantities import QuantityError, parse_contents
from ..calc.units import UnitError, find_unit
from ..exchange.outside_tables import steps
from ..exchange.outside_tables.cells import visible
from ..models import Build, ImportJob, ImportName, JobState, NameKind
from ..queries import imports as stored
from ..queries.exchange import name_key
from ..services.errors import LedgerError
from .base import build_view, page
from .imports import SECONDS, show_sentence, step_of

PER_PAGE = 50


def not_ready(build: Build, job: ImportJob) -> HttpResponse | None:
    """Where a job that has no rows to look at goes on."""
    if job.state in (JobState.CHECKED, JobState.DONE) and job.profile:
        return None
    return redirect(step_of(job), build.pk, job.pk)


@build_view(edits=True)
def import_names(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """New names: make them, or say which record of the build each one is."""
    job = stored.get_job(build, pk)
    if elsewhere := not_ready(build, job):
        return elsewhere
    rows_page = Paginator(stored.list_names(job), PER_PAGE).get_page(request.GET.get("page"))
    names = list(rows_page.object_list)
    known = stored.get_known(build)
    rows = _name_rows(build, job, names, known, request.POST)
    if request.method == "POST":
        decisions = _decide(job, rows, known)
        if not any(row["faults"] for row in rows):
            try:
                steps.save_names(build, pk, decisions)
                done = steps.continue_job(actor=request.user, build=build, pk=pk, seconds=SECONDS)
            except LedgerError as error:
                show_sentence(request, error)
            else:
                return redirect(step_of(done), build.pk, pk)
    kinds = {row["name"].kind for row in rows}
    return page(
        request,
        build,
        "imports/names.html",
        section="file",
        job=job,
        rows_page=rows_page,
        rows=rows,
        lists=[
            (kind, sorted(name for _, name in stored.choices_of(build, kind)))
            for kind in NameKind.values
            if kind in kinds
        ],
        status=422 if request.method == "POST" else 200,
    )


def name_rows(build: Build, names: list[ImportName]) -> list[tuple[str, str, str]]:
    """Kind, name, and what it stands for (empty: a new record)."""
    targets = {
        kind: stored.names_by_pk(
            build, kind, [n.record_id for n in names if n.kind == kind and n.record_id]
        )
        for kind in {name.kind for name in names}
    }
    by_key = {(name.kind, name.key): name.name for name in names}
    return [
        (
            name.get_kind_display(),
            name.name,
            targets[name.kind].get(name.record_id or 0, "")
            or (by_key.get((name.kind, name.like), name.like) if name.like else ""),
        )
        for name in names
    ]


def _name_rows(
    build: Build, job: ImportJob, names: list[ImportName], known: Any, posted: Any
) -> list[dict[str, Any]]:
    labels = name_rows(build, names)
    loose = {
        kind: {key: loose_key(key) for key in known.of(kind)} for kind in {n.kind for n in names}
    }
    shown = {
        kind: {name_key(text): text for _, text in stored.choices_of(build, kind)} for kind in loose
    }
    rows = []
    for name, (label, _, target) in zip(names, labels, strict=True):
        near = near_names(name.key, loose[name.kind]) if not target else []
        rows.append(
            {
                "name": name,
                "label": label,
                "is_component": name.kind == NameKind.COMPONENT,
                "target": visible(posted.get(f"target_{name.pk}", target)),
                "unit": visible(posted.get(f"unit_{name.pk}", name.unit)),
                "contents": visible(posted.get(f"contents_{name.pk}", name.contents)),
                "near": [shown[name.kind].get(key, key) for key in near],
                "taken": target,
                "faults": {},
            }
        )
    return rows


def _decide(
    job: ImportJob, rows: list[dict[str, Any]], known: Any
) -> dict[int, tuple[str, str, str]]:
    """Decisions by name; what cannot be read is noted at the row."""
    decisions = {}
    for row in rows:
        name: ImportName = row["name"]
        target, unit, contents = "new", row["unit"].strip(), row["contents"].strip()
        wanted = name_key(row["target"])
        if wanted and wanted != name.key:
            pk = known.of(name.kind).get(wanted)
            other = stored.names_of(job, name.kind, [wanted]).get(wanted)
            if pk is not None:
                target = f"pk:{pk}"
            elif other is not None:
                target = f"like:{wanted}"
            else:
                row["faults"]["target"] = (
                    "No such name. Choose one from the list, or leave this empty to make a new one."
                )
        if name.kind == NameKind.COMPONENT and target == "new":
            unit = _read_unit(row, unit)
            try:
                parse_contents(contents)
            except QuantityError as error:
                row["faults"]["contents"] = str(error)
        decisions[name.pk] = (target, unit[:12], contents[:500])
    return decisions


def _read_unit(row: dict[str, Any], text: str) -> str:
    try:
        return find_unit(text).symbol if text else ""
    except UnitError as error:
        row["faults"]["unit"] = str(error)
        return text
