"""Pages that say how far long work is, for those that show its result."""

import re
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import urlencode

from ..models import Build
from ..queries.kept import stamp_of
from ..services.long_work import Make, Work, do, forget, key_of, look
from .base import page

# What an address may ask: to begin anew; how far a file is that was begun; and for that file.
AGAIN, LOOK, FILE = "again", "look", "file"
_MARK = re.compile(r"[0-9a-f]{32}")


def going_page(
    request: HttpRequest,
    build: Build | None,
    work: Work,
    *,
    title: str,
    section: str,
    steps: str = "",
    limit: int = 0,
    ready: str = "",
    go_on: dict[str, Any] | None = None,
) -> HttpResponse:
    """Say how far it is: ``steps`` names what is counted, ``limit`` is in seconds.

    ``ready``: address of the file once it is there. ``go_on``: what a button sends to this page
    once it is done, and what it says (``fields``, ``button``, ``drop``, ``refusal``). htmx asks for
    the same page in a while.
    """
    here = address(request)
    context: dict[str, Any] = {
        "title": title,
        "work": work,
        "steps": steps,
        "limit": limit,
        "so_far": min(work.seconds, limit),
        "ready": ready,
        "go_on": go_on,
        "address": here,
        "again": f"{here}{'&' if '?' in here else '?'}{AGAIN}=1",
    }
    if request.headers.get("HX-Request"):
        return render(request, "parts/going.html", context)
    if build is None:
        return render(request, "going.html", context)
    return page(request, build, "going.html", section=section, **context)


def led_on(request: HttpRequest) -> HttpResponse | None:
    """Lead htmx from asking how far it is to the page that is there now; else None."""
    if not request.headers.get("HX-Request"):
        return None
    answer = HttpResponse()
    answer["HX-Redirect"] = address(request)
    return answer


def begun_anew(request: HttpRequest, key: str) -> HttpResponse | None:
    """Where a page leads that was asked to begin anew: to itself, which then begins."""
    if AGAIN not in request.GET:
        return None
    forget(key)
    return HttpResponseRedirect(address(request))


def address(request: HttpRequest) -> str:
    """The page's own address, without the wish to begin anew."""
    asked = request.GET.copy()
    asked.pop(AGAIN, None)
    query = asked.urlencode()
    return f"{request.path}?{query}" if query else request.path


def long_file(
    request: HttpRequest,
    build: Build | None,
    make: Make,
    *,
    kind: str,
    name: str,
    content_type: str,
    title: str,
    steps: str = "",
    stamp: str = "",
) -> HttpResponse:
    """A file to keep: at once where it is soon made, else a page that says how far it is.

    What was begun is of the build as it stood then; its address names that state by a mark. A
    file of no build says by ``stamp`` in which state it is.
    """
    mark = request.GET.get(LOOK, "")
    is_begun = bool(_MARK.fullmatch(mark))
    if not is_begun:
        mark = key_of(request.user, stamp_of(build) if build else stamp).rpartition("-")[2]
    key = key_of(request.user, f"{kind}:{build.pk if build else 0}", mark, timezone.localdate())
    if AGAIN in request.GET:
        forget(key)
        return HttpResponseRedirect(request.path)
    work = look(key)
    if work.state == "new" and is_begun:
        # Too long ago: it begins from the build as it is now.
        return HttpResponseRedirect(request.path)
    if work.state == "new" or (work.state == "done" and FILE in request.GET):
        work = do(key, make)
    begun = f"{request.path}?{urlencode({LOOK: mark})}"
    if work.result is not None:
        return FileResponse(
            work.result, as_attachment=True, filename=name, content_type=content_type
        )
    if not is_begun and work.state != "waiting":
        return HttpResponseRedirect(begun)
    ready = f"{begun}&{FILE}=1" if work.state == "done" else ""
    return going_page(request, build, work, title=title, section="file", steps=steps, ready=ready)
