"""One whole build as a file, out and in."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.text import slugify

from ..exchange.backups import read_build, write_build
from ..exchange.faults import WorkbookError
from ..forms.files import MAX_BUILD_FILE, BuildFileForm
from ..models import Build
from ..services.errors import LedgerError
from .base import build_view
from .editing import save_once
from .long_work import long_file

# Rows are packed about 10 to 1, pictures not at all.
MAX_UNPACKED = 8 * MAX_BUILD_FILE


@build_view()
def build_file(request: HttpRequest, build: Build) -> HttpResponse:
    """The build with its history and photos as one file."""
    return long_file(
        request,
        build,
        lambda stream, tell: write_build(build, stream, tell),
        kind="build file",
        name=f"{slugify(build.name)[:60] or 'build'}.zip",
        content_type="application/zip",
        title="Export build file",
        steps="Tables and photos written",
    )


def build_file_new(request: HttpRequest) -> HttpResponse:
    """Add the build of a file to the user's own."""
    form = BuildFileForm(request.POST, request.FILES) if request.method == "POST" else None
    if form is not None and form.is_valid():
        cleaned = form.cleaned_data

        def write() -> tuple[str, str]:
            build = read_build(
                cleaned["file"],
                actor=request.user,
                name=cleaned["name"],
                max_unpacked=MAX_UNPACKED,
            )
            said = f"{build.name} was added, with its history."
            return reverse("home", args=[build.pk]), said

        try:
            return save_once(request, write)
        except (WorkbookError, LedgerError) as error:
            form.add_error("file", str(error))
    context = {
        "form": form or BuildFileForm(),
        "title": "Import build file",
        "intro": (
            "The whole build, with its history and photos. You become its owner. Invite "
            "members again."
        ),
        "submit_label": "Import build file",
        "cancel_url": reverse("builds"),
    }
    return render(request, "upload.html", context, status=200 if form is None else 422)
