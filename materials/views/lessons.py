"""Lessons: the list, one, its form, and what stands beside what a lesson is about."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..forms.lessons import LessonForm, subject_key
from ..models import Build, Lesson
from ..models.lessons import ABOUT
from ..queries.lessons import (
    SHOWN,
    LessonSums,
    Touching,
    lessons_of_others,
    list_lessons,
    sum_lessons,
)
from ..queries.records import get_record, number_of
from ..services.lessons import save_lesson
from ..tables.lessons import LessonTable
from ..templatetags.figures import hours, money_text
from ..tools import LESSON_PARTS
from .base import build_view, page, record_urls, show_list
from .editing import edit, posted
from .saved import begin_like, saved_at

# So many lessons of other builds stand under those of a build.
OTHERS = 4 * SHOWN
# What the figures of a kind are: what it did, and how several are called.
_DID = {"regret": ("cost", "regret"), "win": ("saved", "win")}


@build_view()
def lessons(request: HttpRequest, build: Build) -> HttpResponse:
    """What was learned here, and elsewhere about the same things."""
    return show_list(
        request,
        build,
        template="lessons/list.html",
        table_class=LessonTable,
        rows=list_lessons(build),
        section="lessons",
        title="Lessons",
        verdict=sums_text(sum_lessons(build), build.currency),
        others=lessons_of_others(request.user, build, OTHERS),
        add_url=reverse("lesson_add", args=[build.pk]),
        add_label="Add lesson",
    )


@build_view()
def lesson(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One lesson: what it cost or saved, and what it was about."""
    record = list_lessons(build).get(pk=pk)
    return page(
        request,
        build,
        "lessons/detail.html",
        section="lessons",
        title=record.get_kind_display(),
        lesson=record,
        subject=_subject(build, record),
        tools=[{"template": tool.template, **tool.context(build, record)} for tool in LESSON_PARTS],
        edit_url=reverse("lesson_edit", args=[build.pk, pk]),
        **record_urls(build, "lesson", pk),
    )


@build_view(edits=True)
def lesson_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a lesson."""
    record = list_lessons(build).get(pk=pk) if pk is not None else Lesson(build=build)
    initial = {} if pk is not None else _start(request, build)
    form = LessonForm(posted(request), build=build, record=record, initial=initial)

    def save(valid: Any) -> tuple[str, str]:
        saved = save_lesson(actor=request.user, build=build, lesson=record, values=valid.values())
        return saved_at(reverse("lesson", args=[build.pk, saved.pk]), "lesson", saved), ""

    back = (
        reverse("lesson", args=[build.pk, pk])
        if pk is not None
        else reverse("lessons", args=[build.pk])
    )
    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change lesson" if pk is not None else "Add lesson",
        section="lessons",
        back=back,
        done="Saved.",
        **record_urls(build, "lesson", pk),
    )


def _start(request: HttpRequest, build: Build) -> dict[str, Any]:
    """Today and who is signed in; what it is about, where the address names it."""
    start: dict[str, Any] = {
        "noted_on": timezone.localdate(),
        "author": request.user.get_username(),
    }
    like = begin_like(request, build, "lesson", LessonForm, {"kind"})
    start |= like
    for about in ABOUT:
        key = number_of(request.GET.get(about))
        if key is not None and get_record(build, about, key) is not None:
            start["about"] = f"{about}-{key}"
    copied = number_of(request.GET.get("like") or request.GET.get("here"))
    if like and copied is not None:
        start["about"] = subject_key(list_lessons(build).get(pk=copied))
    return start


def _subject(build: Build, record: Lesson) -> tuple[str, str]:
    """What a lesson is about and the address of its page; the build's own where it is that."""
    for about in ABOUT:
        named = getattr(record, about)
        if named is not None:
            return str(named), reverse(about, args=[build.pk, named.pk])
    return f"{build} as a whole", reverse("home", args=[build.pk])


def beside(touching: Touching, about: str = "", pk: int | None = None) -> dict[str, Any]:
    """What templates/lessons/_touching.html shows of lessons that touch what a page is of.

    ``about`` and ``pk`` name it, where a lesson about it may be added from there.
    """
    return {"touching": touching, "about": about, "pk": pk}


def sums_text(sums: dict[str, LessonSums], currency: str) -> str:
    """“2 regrets cost $120.00 and 14 h. 1 win saved at least $40.00.” of what there is."""
    told = [_told(kind, one, currency) for kind, one in sums.items() if one.count]
    return " ".join(told) or "No lesson is noted yet."


def _told(kind: str, sums: LessonSums, currency: str) -> str:
    did, word = _DID[kind]
    named = f"{sums.count:,} {word}" if sums.count == 1 else f"{sums.count:,} {word}s"
    figures = [] if sums.amount is None else [money_text(sums.amount, currency)]
    figures += [] if sums.hours is None else [hours(sums.hours)]
    if not figures:
        return f"{named}: what {'it' if sums.count == 1 else 'they'} {did} is not known."
    # Nothing a lesson states is below zero, so what is not known can only add to it.
    least = "" if sums.is_whole else "at least "
    return f"{named} {did} {least}{' and '.join(figures)}."
