"""Bringing in anybody's table, first half: the file, the table in it, and its columns."""

from collections.abc import Callable
from hashlib import sha256
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from ..calc.letters import letters
from ..exchange.faults import WorkbookError
from ..exchange.outside_tables import steps
from ..exchange.outside_tables.cells import head_text
from ..exchange.outside_tables.check import mark_ticks
from ..exchange.outside_tables.fields import FIELDS, field_of
from ..exchange.outside_tables.mapping import (
    day_question,
    mapping_faults,
    mark_question,
    money_question,
    shown_options,
    strange_units,
)
from ..exchange.outside_tables.sniff import CALLED, DELIMITERS, ENCODINGS
from ..forms.imports import ColumnsForm, TableForm, TableUploadForm, TextForm
from ..models import Build, ImportJob, JobState, TableKind
from ..queries.imports import get_job, list_jobs
from ..services.errors import LedgerError
from ..services.import_jobs import check_may_upload, read_file
from ..services.long_work import Work, do_value, forget, key_of
from .base import build_view, number_of, page
from .long_work import begun_anew, going_page

SHOWN_ROWS = 15
SHOWN_COLUMNS = 12
SHOWN_JOBS = 30
# Asks how far the reading of a long sheet is.
READING = "reading"
# Work done before a page answers; more than that is shown as progress.
SECONDS = 3


@build_view(edits=True)
def imports(request: HttpRequest, build: Build) -> HttpResponse:
    """Upload or paste a table; below it what was begun before."""
    form = TableUploadForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    if form.is_bound and form.is_valid():
        job = _open(request, build, form)
        if job is not None:
            return redirect("import_table", build.pk, job.pk)
    return page(
        request,
        build,
        "imports/start.html",
        section="file",
        form=form,
        jobs=[(job, step_of(job)) for job in list_jobs(build)[:SHOWN_JOBS]],
        status=422 if form.is_bound else 200,
    )


def _open(request: HttpRequest, build: Build, form: TableUploadForm) -> ImportJob | None:
    """The job of a file; where looking at it takes long, that goes on beside this request."""
    file = form.cleaned_data["table"]
    field = "table" if file else "pasted"
    data = file.read() if file else form.cleaned_data["pasted"].encode()
    name = file.name if file else "pasted table"
    try:
        check_may_upload(actor=request.user, build=build)
        _, values = _aside(
            _looking(request, data), lambda: steps.look_at(data, name, "" if file else "utf-8")
        )
        return steps.keep_upload(
            actor=request.user, build=build, data=data, file_name=name, values=values
        )
    except (WorkbookError, LedgerError) as error:
        form.add_error(field, str(error))
        return None


def _looking(request: HttpRequest, data: bytes) -> str:
    return key_of(request.user, "table", sha256(data).hexdigest())


def _aside(key: str, make: Callable[[], Any]) -> tuple[Work, Any]:
    """Long reading of a file, and its result once it is there. Raises WorkbookError."""

    def told() -> tuple[Any, str]:
        try:
            return make(), ""
        except WorkbookError as error:
            return None, str(error)

    work, found = do_value(key, told)
    value, refusal = found or (None, "")
    if refusal:
        # Whoever tries again may find a less busy machine.
        forget(key)
        raise WorkbookError(refusal)
    return work, value


def step_of(job: ImportJob) -> str:
    """Name of the address where a job goes on."""
    return {
        JobState.TABLE: "import_table",
        JobState.COLUMNS: "import_columns",
        JobState.CHECKED: "import_rows",
    }.get(JobState(job.state), "import_run")


@build_view(edits=True)
def import_table(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Choose the sheet, the row of headings, and what the rows are."""
    job = get_job(build, pk)
    if steps.is_unopened(job):
        return _opening(request, build, job)
    if not job.sheets:
        return redirect("import_run", build.pk, pk)
    if request.method == "POST" and "read_again" in request.POST:
        return _read_again(request, build, job)
    # Another sheet is looked at by a link, without a change.
    place = _place(request, job)
    form = _table_form(request.POST if request.method == "POST" else None, job, place)
    if form.is_bound and form.is_valid():
        try:
            return _choose(request, build, job, form.cleaned_data)
        except (WorkbookError, LedgerError) as error:
            form.add_error(None, str(error))
    elif READING in request.GET:
        return _reading(request, build, job)
    return _table_page(request, build, job, place, form)


def _opening(request: HttpRequest, build: Build, job: ImportJob) -> HttpResponse:
    """How far looking at a long file is; once it is done, a button that goes on."""
    refusal, work, values = "", Work("done"), None
    try:
        data = read_file(job)
        key = _looking(request, data)
        if (anew := begun_anew(request, key)) is not None:
            return anew
        work, values = _aside(key, lambda: steps.look_at(data, job.file_name))
    except (WorkbookError, LedgerError) as error:
        refusal = str(error)
    if request.method == "POST" and values is not None:
        steps.keep_opened(build, job.pk, values)
        return redirect("import_table", build.pk, job.pk)
    ready = {"fields": [("opened", "1")], "button": "Choose the table"}
    return _going(request, build, job, work, refusal, ready)


def _going(
    request: HttpRequest,
    build: Build,
    job: ImportJob,
    work: Work,
    refusal: str,
    ready: dict[str, Any],
) -> HttpResponse:
    drop = reverse("import_drop", args=[build.pk, job.pk])
    return going_page(
        request,
        build,
        work,
        title=f"Reading {job.file_name}",
        section="file",
        go_on=ready | {"drop": drop, "refusal": refusal} if work.state == "done" else None,
    )


def _choose(
    request: HttpRequest, build: Build, job: ImportJob, chosen: dict[str, Any]
) -> HttpResponse:
    """On to the columns, or to the page that says how far reading is. Raises as steps do."""
    read = None
    if steps.must_read(job, chosen["place"], chosen["heading_row"]):
        _, read = _read(request, job, chosen["place"], chosen["heading_row"])
        if read is None:
            names = ("place", "heading_row", "kind")
            query = urlencode({READING: "1"} | {name: chosen[name] for name in names})
            here = reverse("import_table", args=[build.pk, job.pk])
            return redirect(f"{here}?{query}")
    steps.choose_table(build, job.pk, **chosen, read=read)
    job = steps.continue_job(actor=request.user, build=build, pk=job.pk, seconds=SECONDS)
    return redirect(step_of(job), build.pk, job.pk)


def _read(
    request: HttpRequest, job: ImportJob, place: int, heading_row: int
) -> tuple[Work, steps.Read | None]:
    data = read_file(job)
    key = key_of(
        request.user, "sheet", sha256(data).hexdigest(), place, heading_row, job.encoding,
        job.delimiter,
    )  # fmt: skip
    return _aside(key, lambda: steps.read_sheet(job, data, place, heading_row))


def _reading(request: HttpRequest, build: Build, job: ImportJob) -> HttpResponse:
    """How far reading a long sheet is; once it is done, a button that keeps its rows."""
    form = _table_form(request.GET, job, _place(request, job))
    if not form.is_valid():
        return redirect("import_table", build.pk, job.pk)
    chosen = form.cleaned_data
    refusal, work = "", Work("done")
    try:
        work, _ = _read(request, job, chosen["place"], chosen["heading_row"])
    except (WorkbookError, LedgerError) as error:
        refusal = str(error)
    ready = {"fields": list(chosen.items()), "button": "Match the columns"}
    return _going(request, build, job, work, refusal, ready)


def _place(request: HttpRequest, job: ImportJob) -> int:
    place = number_of(request.POST.get("place") or request.GET.get("place"))
    if place is not None and place < len(job.sheets):
        return place
    return next((i for i, s in enumerate(job.sheets) if s["name"] == job.sheet), 0)


def _table_form(posted: Any, job: ImportJob, place: int) -> TableForm:
    sheets = [
        (i, f"{sheet['name']} ({sheet['rows']:,} rows)")
        for i, sheet in enumerate(job.sheets)
        if sheet["rows"]
    ]
    guess = steps.guess_table([job.sheets[place]])
    if job.sheets[place]["name"] == job.sheet:
        guess = {"heading_row": job.heading_row, "kind": job.kind}
    initial = {"place": place, "heading_row": guess["heading_row"], "kind": guess["kind"]}
    return TableForm(
        posted,
        sheets=sheets,
        kinds=TableKind.choices,
        initial=initial,
    )


def _table_page(
    request: HttpRequest,
    build: Build,
    job: ImportJob,
    place: int,
    form: TableForm,
    text_form: TextForm | None = None,
) -> HttpResponse:
    sheet = job.sheets[place]
    width = min(sheet["columns"], SHOWN_COLUMNS)
    rows = [
        (number, [head_text(cell, 24) for cell in cells[:width]] + [""] * (width - len(cells)))
        for number, cells in sheet["head"][:SHOWN_ROWS]
    ]
    if text_form is None and job.content == "text":
        text_form = _text_form(None, job)
    others = [
        (i, other["name"], other["rows"])
        for i, other in enumerate(job.sheets)
        if i != place and other["rows"]
    ]
    bad = form.errors or (text_form is not None and text_form.errors)
    return page(
        request,
        build,
        "imports/table.html",
        section="file",
        job=job,
        form=form,
        text_form=text_form,
        sheet=sheet,
        rows=rows,
        more_columns=sheet["columns"] - width,
        letters=[letters(i + 1) for i in range(width)],
        others=others,
        content=CALLED[job.content],
        notes=[*job.notes, *sheet["notes"], *([sheet["fault"]] if sheet["fault"] else [])],
        status=422 if bad else 200,
    )


def _text_form(data: Any, job: ImportJob) -> TextForm:
    return TextForm(
        data,
        encodings=list(ENCODINGS.items()),
        delimiters=list(DELIMITERS.items()),
        initial={"encoding": job.encoding, "delimiter": job.delimiter},
    )


def _read_again(request: HttpRequest, build: Build, job: ImportJob) -> HttpResponse:
    text_form = _text_form(request.POST, job)
    if text_form.is_valid():
        try:
            steps.read_again(build, job.pk, **text_form.cleaned_data)
        except (WorkbookError, LedgerError) as error:
            text_form.add_error("encoding", str(error))
        else:
            return redirect("import_table", build.pk, job.pk)
    place = _place(request, job)
    return _table_page(request, build, job, place, _table_form(None, job, place), text_form)


@build_view(edits=True)
def import_columns(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Say what each column is, and answer what could be read in two ways."""
    job = get_job(build, pk)
    if job.state == JobState.KEEPING:
        return redirect("import_run", build.pk, pk)
    if not job.profile:
        return redirect("import_table" if job.sheets else "import_run", build.pk, pk)
    posted = request.POST if request.method == "POST" else None
    form = _columns_form(posted, job)
    if form.is_bound and form.is_valid():
        mapping = form.mapping(job.mapping)
        faults = mapping_faults(job.kind, job.profile, mapping, build.currency)
        for name, sentence in faults:
            form.add_error(name if name in form.fields else None, sentence)
        if not faults:
            try:
                steps.save_columns(build, pk, mapping)
                done = steps.continue_job(actor=request.user, build=build, pk=pk, seconds=SECONDS)
            except LedgerError as error:
                form.add_error(None, str(error))
            else:
                return redirect(step_of(done), build.pk, pk)
    return page(
        request,
        build,
        "imports/columns.html",
        section="file",
        job=job,
        form=form,
        status=422 if form.is_bound else 200,
    )


def _columns_form(posted: Any, job: ImportJob) -> ColumnsForm:
    columns: list[dict[str, Any]] = []
    chosen: list[str] = []
    for place, column in enumerate(job.profile):
        key = job.mapping["columns"][place].get("field", "")
        if posted is not None:
            key = posted.get(f"field_{place}", "")
        found = field_of(job.kind, key)
        columns.append(
            {
                **column,
                "asks_day": day_question(column, found),
                "asks_mark": mark_question(column, found),
                "asks_money": money_question(column, found, job.build.currency),
                "unit_words": strange_units(column, found),
            }
        )
        chosen.append(key)
    return ColumnsForm(
        posted,
        columns=columns,
        fields=[(field.key, field.label) for field in FIELDS[job.kind]],
        shown=shown_options(job.kind, job.profile, chosen),
        ticks=mark_ticks(job),
        currency=job.build.currency,
        initial=ColumnsForm.start(job.mapping, columns),
    )


def show_sentence(request: HttpRequest, error: LedgerError) -> None:
    """Show a refusal on the next page."""
    messages.error(request, str(error))
