"""Bringing in anybody's table, second half: rows, and the bringing in itself."""

import re
from time import monotonic
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from ..exchange.faults import WorkbookError
from ..exchange.outside_tables import steps
from ..exchange.outside_tables.became import has_copy, marked_copy
from ..exchange.outside_tables.check import job_mapping, mark_notes
from ..exchange.outside_tables.own_total import total_notes
from ..exchange.outside_tables.questions import answer_question, list_questions
from ..exchange.outside_tables.read import RowReader
from ..exchange.outside_tables.shown_rows import entries_of, field_keys, show_rows, shown_headings
from ..models import Build, ImportJob, JobState, RowState
from ..queries import imports as stored
from ..services.errors import LedgerError
from ..services.import_jobs import drop_job, drop_some
from ..services.import_runs import start_run, stop_run
from .base import build_view, page
from .files import XLSX, file_answer, plain_name
from .import_names import PER_PAGE, name_rows, not_ready
from .imports import show_sentence, step_of

NAMES_SHOWN = 12
QUESTIONS_SHOWN = 12
# What one press of a button, or one question of the progress page, works on for.
STEP_SECONDS = 2
_ENTRY = re.compile(r"r(\d{1,9})-([a-z_]{1,20})")
_MEANT = re.compile(r"([0-9a-f]{16}):(\d)")
_CHOICE = re.compile(r"(\d{1,9}):(import|skip|)")


@build_view(edits=True)
def import_rows(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """What each row would become; faulty rows are fixed here."""
    job = stored.get_job(build, pk)
    if elsewhere := not_ready(build, job):
        return elsewhere
    show = request.GET.get("show", "")
    typed: dict[str, str] = {}
    if request.method == "POST":
        typed = {key: text for key, text in request.POST.items() if isinstance(text, str)}
        try:
            steps.fix_rows(build, pk, *_posted(job, request))
            if match := _MEANT.fullmatch(request.POST.get("meant", "")):
                return _answer(request, build, pk, match[1], int(match[2]))
        except LedgerError as error:
            show_sentence(request, error)
        else:
            return redirect(_address(request, build, pk))
    counts = stored.count_states(job)
    if "show" not in request.GET and counts["fault"]:
        show = RowState.FAULT
    rows = Paginator(stored.list_rows(job, show), PER_PAGE)
    rows_page = rows.get_page(request.GET.get("page"))
    names = list(stored.list_names(job)[: NAMES_SHOWN + 1])
    mending = show == RowState.FAULT and bool(rows_page.object_list)
    return page(
        request,
        build,
        "imports/rows.html",
        section="file",
        job=job,
        counts=counts,
        filters=_filters(counts, show),
        show=show,
        rows_page=rows_page,
        rows=show_rows(job, list(rows_page.object_list), typed),
        mending=mending,
        questions=list_questions(job)[:QUESTIONS_SHOWN] if mending else [],
        headings=shown_headings(job.kind),
        names=name_rows(build, names[:NAMES_SHOWN]),
        marked=mark_notes(job),
        totals=total_notes(job),
        has_copy=has_copy(job, request.user),
        more_names=len(names) > NAMES_SHOWN,
        status=422 if typed else 200,
    )


def _answer(request: HttpRequest, build: Build, pk: int, key: str, place: int) -> HttpResponse:
    """Take one reading for all rows alike."""
    job = stored.get_job(build, pk)
    if answer_question(build, pk, key, place):
        job = steps.continue_job(actor=request.user, build=build, pk=pk, seconds=STEP_SECONDS)
    return redirect(step_of(job), build.pk, pk)


def _filters(counts: dict[str, int], show: str) -> list[dict[str, Any]]:
    below = sum(counts[state] for state in RowState.values if state != RowState.ABOVE)
    listed = [
        ("fault", "To fix", counts["fault"]),
        ("ready", "Ready", counts["ready"]),
        ("double", "Likely doubles", counts["double"]),
        ("skip", "Left out", counts["skip"]),
        ("done", "Imported", counts["done"]),
        ("all", "All rows", below),
    ]
    return [
        {"show": key, "label": label, "number": number, "here": key == (show or "all")}
        for key, label, number in listed
        if number or key in ("ready", "all")
    ]


def _address(request: HttpRequest, build: Build, pk: int) -> str:
    kept = {key: request.GET[key] for key in ("show", "page") if key in request.GET}
    address = reverse("import_rows", args=[build.pk, pk])
    choice = _CHOICE.fullmatch(request.POST.get("choice", ""))
    anchor = f"#row-{choice[1]}" if choice else ""
    return f"{address}?{urlencode(kept)}{anchor}" if kept else f"{address}{anchor}"


def _posted(
    job: ImportJob, request: HttpRequest
) -> tuple[dict[int, dict[str, str]], dict[int, str]]:
    """What was typed into rows, and what was decided about one."""
    known = field_keys(job.kind)
    mended: dict[int, dict[str, str]] = {}
    for key, text in request.POST.items():
        match = _ENTRY.fullmatch(key)
        if match and match[2] in known and isinstance(text, str):
            mended.setdefault(int(match[1]), {})[match[2]] = text
    choice = _CHOICE.fullmatch(request.POST.get("choice", ""))
    return mended, {int(choice[1]): choice[2]} if choice else {}


@build_view(edits=True)
def import_row(request: HttpRequest, build: Build, pk: int, number: int) -> HttpResponse:
    """One row with every field, to be changed."""
    job = stored.get_job(build, pk)
    row = stored.get_row(job, number)
    if elsewhere := not_ready(build, job):
        return elsewhere
    typed: dict[str, str] = {}
    if request.method == "POST":
        typed = {key: text for key, text in request.POST.items() if isinstance(text, str)}
        mended, choices = _posted(job, request)
        try:
            steps.fix_rows(
                build,
                pk,
                {number: mended.get(number, {})},
                {k: v for k, v in choices.items() if k == number},
            )
        except LedgerError as error:
            show_sentence(request, error)
        else:
            row = stored.get_row(job, number)
            if row.state != RowState.FAULT:
                messages.success(request, f"Row {number:,} is changed.")
                return redirect("import_rows", build.pk, pk)
            typed = {}
    mapping = job_mapping(job)
    shown = show_rows(job, [row])[0]
    return page(
        request,
        build,
        "imports/row.html",
        section="file",
        job=job,
        row=shown,
        entries=entries_of(mapping, RowReader(mapping), row, typed, every=True),
        status=422 if request.method == "POST" else 200,
    )


@build_view(edits=True)
def import_run(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Read or bring in rows step by step, and what came of it."""
    job = stored.get_job(build, pk)
    action = request.POST.get("action", "")
    if request.method == "POST":
        try:
            if action == "start":
                start_run(build=build, pk=pk)
            if action == "stop":
                stop_run(build=build, pk=pk)
                job = stored.get_job(build, pk)
            else:
                job = steps.continue_job(
                    actor=request.user, build=build, pk=pk, seconds=STEP_SECONDS
                )
        except LedgerError as error:
            if request.headers.get("HX-Request"):
                return _elsewhere(reverse("import_rows", args=[build.pk, pk]))
            show_sentence(request, error)
            return redirect("import_rows", build.pk, pk)
        if request.headers.get("HX-Request"):
            if not steps.is_going(job):
                return _elsewhere(reverse(step_of(job), args=[build.pk, pk]))
            context = _progress(job) | {"build": build, "job": job, "is_fragment": True}
            return render(request, "imports/_progress.html", context)
        return redirect(step_of(job), build.pk, pk)
    return page(
        request,
        build,
        "imports/run.html",
        section="file",
        job=job,
        counts=stored.count_states(job),
        step=step_of(job),
        has_copy=bool(job.profile) and has_copy(job, request.user),
        is_going=steps.is_going(job),
        **_progress(job),
    )


@build_view(edits=True)
def import_marked(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """The workbook somebody uploaded, with what became of each row."""
    job = stored.get_job(build, pk)
    if elsewhere := not_ready(build, job):
        return elsewhere
    sentence = "Only .xlsx workbooks come back marked, and only to whoever uploaded them."
    if has_copy(job, request.user):
        try:
            name = f"{plain_name(job.file_name.rpartition('.')[0])} marked".strip()
            return file_answer(marked_copy(job), f"{name}.xlsx", XLSX)
        except (WorkbookError, LedgerError) as error:
            sentence = str(error)
    messages.error(request, sentence)
    return redirect("import_rows", build.pk, pk)


def _elsewhere(address: str) -> HttpResponse:
    answer = HttpResponse(status=200)
    answer["HX-Redirect"] = address
    return answer


def _progress(job: ImportJob) -> dict[str, Any]:
    """How far the job is: so many of so many rows."""
    if job.state == JobState.KEEPING:
        done, whole = job.carried["done"], job.carried["of"]
        return {"doing": "Copying the table", "so_far": done, "whole": max(whole, 1)}
    if job.state == JobState.CHECKING:
        whole = job.row_count
        so_far = max(0, whole - stored.count_unchecked(job))
        return {"doing": "Reading the rows", "so_far": so_far, "whole": max(whole, 1)}
    so_far = max(0, job.to_do - stored.count_states(job)["ready"])
    return {"doing": "Importing rows", "so_far": so_far, "whole": max(job.to_do, 1)}


def _emptied(build: Build, pk: int) -> int:
    """Drop rows of an import for a while; how many are left."""
    until = monotonic() + STEP_SECONDS
    while left := drop_some(build=build, pk=pk):
        if monotonic() >= until:
            break
    return left


@build_view(edits=True)
def import_drop(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Ask, then drop an import with its file."""
    job = stored.get_job(build, pk)
    if request.method == "POST":
        left = _emptied(build, pk)
        if left:
            messages.info(request, f"{left:,} of its rows are left. Press “Drop it” to go on.")
            return redirect("import_drop", build.pk, pk)
        drop_job(build=build, pk=pk)
        messages.success(request, f"The import of {job.file_name} is dropped.")
        return redirect("imports", build.pk)
    lines = [f"The file “{job.file_name}” and everything fixed in it will be dropped."]
    if job.done_count:
        lines.append(
            f"The {job.done_count:,} imported rows stay, and can still be undone from the history."
        )
    return page(
        request,
        build,
        "page_confirm.html",
        section="file",
        title="Drop this import?",
        message=lines,
        confirm_label="Drop it",
        cancel_url=reverse("imports", args=[build.pk]),
    )
