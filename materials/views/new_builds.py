"""Beginning a build, from nothing or from an earlier one; putting one away, deleting it."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..forms.builds import BuildForm
from ..forms.new_builds import CarryOverForm, DeleteBuildForm, NewBuildForm
from ..models import Build
from ..queries.lessons import newest_lessons
from ..queries.members import list_members
from ..services.builds import archive_build, create_build
from ..services.ending_builds import delete_build
from ..services.errors import LedgerError
from ..services.new_builds import CarryOver, start_from
from .base import build_view, number_of, page
from .editing import posted, save_once
from .lessons import beside


def build_add(request: HttpRequest) -> HttpResponse:
    """Start a build, or (``?like=``) start it with what an earlier one knew."""
    earlier = _earlier(request)
    data = posted(request)
    carry_over = CarryOverForm(data)
    context: dict[str, Any] = {"earlier": earlier}
    if earlier is None:
        form = BuildForm(data, build=Build())
        context |= {"title": "Start build", "cancel_url": reverse("builds")}
        context["earlier_builds"] = list(access.list_builds(request.user))
    else:
        form = NewBuildForm(data, build=Build(), earlier=earlier)
        context |= {"title": f"Start build from {earlier}", "cancel_url": reverse("build_add")}
        context["carry"] = carry_over
        context["lessons"] = beside(newest_lessons(earlier))
    if form.is_bound and all([form.is_valid(), carry_over.is_valid()]):
        try:
            return save_once(request, lambda: _start(request, form, carry_over, earlier))
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    context["form"] = form
    return render(
        request, "builds/new_from_earlier.html", context, status=422 if form.is_bound else 200
    )


def _start(
    request: HttpRequest, form: BuildForm, carry_over: CarryOverForm, earlier: Build | None
) -> tuple[str, str]:
    """Where the new build is to be seen, and a sentence. An empty one shows the first steps."""
    stated = {"values": form.values(), "areas": form.areas(), "rates": form.rates()}
    if earlier is None:
        build = create_build(actor=request.user, **stated)
        return reverse("home", args=[build.pk]), "The build is started."
    how = CarryOver(**carry_over.cleaned_data)
    build = start_from(actor=request.user, earlier=earlier, carry_over=how, **stated)
    text = f"The build is started with what was known of {earlier}."
    return reverse("components", args=[build.pk]), text


def _earlier(request: HttpRequest) -> Build | None:
    """The earlier build that was chosen. 404 for one the user may not read."""
    wanted = request.GET.get("like")
    if not wanted:
        return None
    number = number_of(wanted)
    if number is None:
        raise Http404
    try:
        return access.get_build(request.user, number)
    except access.NotFound:
        raise Http404 from None


@build_view()
def build_archive(request: HttpRequest, build: Build) -> HttpResponse:
    """Put a build away, or bring it back: for its owner."""
    access.require_owner(request.user, build)
    is_away = build.put_away_on is not None
    if request.method == "POST":
        archive_build(actor=request.user, build=build, on=None if is_away else timezone.localdate())
        messages.success(
            request,
            f"{build} is back in the list."
            if is_away
            else f"{build} is archived. Nothing is lost, and you can bring it back.",
        )
        return redirect("builds")
    return page(
        request,
        build,
        "builds/archive.html",
        section="sheet",
        title="Bring this build back?" if is_away else "Archive this build?",
        is_away=is_away,
    )


@build_view(owns=True)
def build_delete(request: HttpRequest, build: Build) -> HttpResponse:
    """Delete a build for good, after its name was typed; not while others belong to it."""
    others = list_members(build).exclude(user=request.user)
    form = DeleteBuildForm(posted(request), build=build)
    if not others and form.is_bound and form.is_valid():
        try:
            delete_build(actor=request.user, build=build)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
        else:
            messages.success(request, f"{build} is deleted.")
            return redirect("builds")
    return page(
        request,
        build,
        "builds/delete.html",
        section="sheet",
        title="Delete this build?",
        others=others,
        form=form,
        status=422 if form.is_bound else 200,
    )
