"""A build without signal: its page, what a device keeps of it, and what makes it installable.

The device keeps copies of some pages and what is typed into their forms; nothing is
calculated there. See ``static/js`` for that side, ``outbox`` for how entries come in.
"""

import hashlib
import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from buildledger.joined import script

from .. import access
from ..models import Build
from ..queries.yard import list_known, list_offers
from .base import build_view, page
from .offers import STEPS

# What a device keeps of a build, and whether it is for editors.
KEPT_PAGES = (
    ("yard", False),
    ("home", False),
    ("needed", False),
    ("log", True),
    ("labour_add", True),
    ("timer", True),
    ("price_add", True),
    ("pile", True),
)
_SCRIPTS = Path(__file__).resolve().parents[2] / "static" / "js"
_FILES = ("ledger.css", "ledger.js", "mark.svg", "django_htmx/htmx-2.min.js")


@build_view()
def yard(request: HttpRequest, build: Build) -> HttpResponse:
    """What is needed where there is no signal; scripts add what waits on the device."""
    may_edit = access.may_edit(request.user, build)
    steps = STEPS["offer"].items() if may_edit else ()
    pages = [reverse(name, args=[build.pk]) for name, edits in KEPT_PAGES if may_edit or not edits]
    return page(
        request,
        build,
        "yard/yard.html",
        section="yard",
        known=list_known(build, timezone.localdate()),
        offers=[(offer, steps) for offer in list_offers(build)],
        keeps=" ".join(pages),
        is_on=settings.OFFLINE,
    )


@require_safe
@login_not_required
def offline(request: HttpRequest) -> HttpResponse:
    """What a device shows in place of a page that it does not keep."""
    return render(request, "yard/offline.html")


@require_safe
@login_not_required
def worker(request: HttpRequest) -> HttpResponse:
    """The script that a device keeps pages by; switched off, one that removes itself."""
    names = ("store", "worker") if settings.OFFLINE else ("gone",)
    text = script(_SCRIPTS, *names)
    files = [static(name) for name in _FILES]
    release: dict[str, Any] = {
        "version": hashlib.sha256((text + str(files)).encode()).hexdigest()[:16],
        "files": [*files, reverse("offline")],
        "folder": settings.STATIC_URL,
        "offline": reverse("offline"),
        "digests": not settings.DEBUG,
    }
    whole = f'"use strict";\nconst release = {json.dumps(release)};\n{text}'
    answer = HttpResponse(whole, content_type="text/javascript; charset=utf-8")
    return answer


@require_safe
@login_not_required
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone is told to install it: https://www.w3.org/TR/appmanifest/."""
    answer = JsonResponse(
        {
            "name": "buildledger",
            "short_name": "buildledger",
            "description": "The true cost of a build made of salvaged and new material.",
            "id": "/",
            "start_url": reverse("builds"),
            "scope": "/",
            "display": "standalone",
            "background_color": "#ffffff",
            "theme_color": "#07584c",
            "icons": [
                {"src": static("mark.svg"), "sizes": "any", "type": "image/svg+xml"},
                *(
                    {
                        "src": static(f"icons/{name}.png"),
                        "sizes": f"{size}x{size}",
                        "type": "image/png",
                        "purpose": purpose,
                    }
                    for name, size, purpose in (
                        ("mark-192", 192, "any"),
                        ("mark-512", 512, "any"),
                        ("mark-maskable-512", 512, "maskable"),
                    )
                ),
            ],
        }
    )
    answer["Content-Type"] = "application/manifest+json"
    return answer
