"""Workbooks in and out."""

import io
from hashlib import sha256
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.text import slugify
from django.utils.timezone import localdate

from ..exchange.csv_files import CONTENT_TYPE as CSV
from ..exchange.csv_files import write_archive, write_csv
from ..exchange.faults import WorkbookError
from ..exchange.importer import Checked, check_book
from ..exchange.reader import read_workbook
from ..exchange.schema import TITLES
from ..exchange.writer import write_workbook
from ..forms.files import NewBuildUploadForm, UploadForm
from ..models import Build
from ..queries.kept import stamp_of
from ..services.errors import LedgerError
from ..services.imports import import_plan
from ..services.long_work import do_value, key_of, look
from .base import build_view, page
from .editing import save_once
from .long_work import going_page, long_file

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
ZIP = "application/zip"
SHOWN_FAULTS = 500
# Names, in an address and a form, a workbook whose reading takes long.
READ = "read"


def upload_new(request: HttpRequest) -> HttpResponse:
    """Start a build from a workbook."""
    form = _form(request, NewBuildUploadForm)
    context: dict[str, Any] = {}
    if form.is_bound and form.is_valid():
        checked, context, going = _check(request, form, name=form.cleaned_data["name"])
        answer = going or _import(request, form, checked, None)
        if answer is not None:
            return answer
    elif READ in request.GET:
        return _reading(request, None)
    context |= {
        "form": form,
        "title": "Start build from workbook",
        "cancel_url": reverse("builds"),
    }
    return render(request, "upload.html", context, status=422 if form.is_bound else 200)


@build_view(edits=True)
def upload(request: HttpRequest, build: Build) -> HttpResponse:
    """Add a workbook's rows to a build."""
    form = _form(request, UploadForm)
    context: dict[str, Any] = {}
    if form.is_bound and form.is_valid():
        checked, context, going = _check(request, form, build=build)
        answer = going or _import(request, form, checked, build)
        if answer is not None:
            return answer
    elif READ in request.GET:
        return _reading(request, build)
    return page(
        request,
        build,
        "upload.html",
        section="file",
        form=form,
        title="Import workbook",
        intro="Its rows are added to this build. Nothing is saved until every fault is fixed.",
        cancel_url=reverse("home", args=[build.pk]),
        status=422 if form.is_bound else 200,
        **context,
    )


@build_view()
def downloads(request: HttpRequest, build: Build) -> HttpResponse:
    """All ways to take a build along."""
    tables = [(title, slugify(title)) for title in TITLES]
    return page(request, build, "downloads.html", section="file", tables=tables)


@build_view()
def download(request: HttpRequest, build: Build) -> HttpResponse:
    """The build as a workbook."""
    return long_file(
        request,
        build,
        lambda stream, tell: write_workbook(build, stream, tell=tell),
        kind="workbook",
        name=f"{_name(build)}.xlsx",
        content_type=XLSX,
        title="Export workbook",
        steps="Sheets written",
    )


@build_view()
def download_tables(request: HttpRequest, build: Build) -> HttpResponse:
    """Every sheet as CSV, in one archive."""
    return long_file(
        request,
        build,
        lambda stream, tell: write_archive(build, stream, tell),
        kind="tables",
        name=f"{_name(build)}.zip",
        content_type=ZIP,
        title="Export CSV files",
        steps="Sheets written",
    )


@build_view()
def download_table(request: HttpRequest, build: Build, sheet: str) -> HttpResponse:
    """One sheet as CSV."""
    title = next((title for title in TITLES if slugify(title) == sheet), None)
    if title is None:
        raise Http404
    return long_file(
        request,
        build,
        lambda stream, tell: write_csv(title, build, stream),
        kind=f"table:{title}",
        name=f"{_name(build)}, {title}.csv",
        content_type=CSV,
        title=f"Export {title}",
    )


def _name(build: Build) -> str:
    """The build's name as part of a file name: letters, digits and plain signs of any script."""
    return plain_name(build.name) or "build"


def plain_name(text: str) -> str:
    """Letters, digits and plain signs of a text, for the name of a file."""
    kept = "".join(sign if sign.isalnum() or sign in " -_" else " " for sign in text)
    return " ".join(kept.split())[:60].strip()


def file_answer(data: bytes, name: str, content_type: str) -> FileResponse:
    """Bytes as a download; Django writes its name as RFC 6266 asks."""
    stream = io.BytesIO(data)
    return FileResponse(stream, as_attachment=True, filename=name, content_type=content_type)


def _form(request: HttpRequest, form_class: type[UploadForm]) -> UploadForm:
    if request.method == "POST":
        return form_class(request.POST, request.FILES)
    return form_class()


def _check(
    request: HttpRequest, form: UploadForm, *, name: str = "", build: Build | None = None
) -> tuple[Checked | None, dict[str, Any], HttpResponse | None]:
    """Check the uploaded workbook; a fault of the file as a whole goes to its field.

    Third: where it takes long, the way to the page that says how far it is. What was read by then
    is named by ``read`` and stands in for the file.
    """
    mark, file = form.cleaned_data["read"], form.cleaned_data["workbook"]
    data = file.read() if file else b""
    mark = sha256(data).hexdigest() if data else mark
    try:
        work, found = do_value(
            _key(request, mark, build, name), lambda: _checked(data, name, build)
        )
        checked, refusal = found or (None, "")
        if refusal:
            raise WorkbookError(refusal)
        if work.state == "waiting":
            raise WorkbookError("Other long work comes first. Choose the file again in a minute.")
    except WorkbookError as error:
        form.add_error("workbook", str(error))
        return None, {}, None
    if checked is None:
        going = f"{request.path}?{urlencode({READ: mark, 'name': name})}"
        return None, {}, HttpResponseRedirect(going)
    notes = list(checked.notes)
    more = len(checked.faults) - SHOWN_FAULTS
    if more > 0:
        notes.append(f"{more:,} more faults are not shown: fix these first.")
    return checked, {"faults": checked.faults[:SHOWN_FAULTS], "notes": notes}, None


def _checked(data: bytes, name: str, build: Build | None) -> tuple[Checked | None, str]:
    """What a workbook comes to, or a sentence why it cannot be read. Only reads."""
    if not data:
        return None, "It was read too long ago. Choose the file again."
    try:
        return check_book(read_workbook(data), name=name, build=build), ""
    except WorkbookError as error:
        return None, str(error)


def _key(request: HttpRequest, mark: str, build: Build | None, name: str) -> str:
    # What the build holds has a say in what is found, and so has the day.
    stamp = stamp_of(build) if build else ""
    return key_of(request.user, "own workbook", mark, name, build and build.pk, stamp, localdate())


def _reading(request: HttpRequest, build: Build | None) -> HttpResponse:
    """How far reading a long workbook is; once it is done, a button that brings it in."""
    mark, name = request.GET[READ], request.GET.get("name", "")
    work = look(_key(request, mark, build, name))
    if work.state not in ("going", "waiting", "done"):
        return HttpResponseRedirect(request.path)
    fields = [(READ, mark), ("name", name)]
    go_on = {"fields": fields, "button": "Import workbook"} if work.state == "done" else None
    return going_page(
        request, build, work, title="Reading the workbook", section="file", go_on=go_on
    )


def _import(
    request: HttpRequest, form: UploadForm, checked: Checked | None, build: Build | None
) -> HttpResponse | None:
    """Where what was read is to be seen; None when nothing was saved, for a fault or a question."""
    if checked is None or checked.plan is None:
        return None
    if checked.doubles and not form.cleaned_data.get("doubles_too"):
        # Nothing was saved; the tick that brings them in all the same appears now.
        form.ask_about_doubles()
        for sentence in checked.doubles:
            form.add_error("doubles_too", sentence)
        return None
    plan, notes = checked.plan, checked.notes

    def write() -> tuple[str, str]:
        made = import_plan(actor=request.user, plan=plan, build=build, owner=request.user)
        for note in notes:
            messages.info(request, note)
        return reverse("home", args=[made.pk]), f"Imported: {plan.summary()}."

    try:
        return save_once(request, write)
    except LedgerError as error:
        form.add_error("workbook", str(error))
        return None
