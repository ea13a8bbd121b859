"""The one way in which a page changes a record: show it, look it over, hold it, save it once."""

import hashlib
import json
from collections.abc import Callable, Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect

from ..forms.photos import HELD
from ..models import Build
from ..services.errors import LedgerError
from ..services.held_photos import hold_photos, list_held
from ..services.sent_forms import Recorded, record_once
from ..services.versions import Stale
from ..templatetags.form_tokens import KEPT, TOKEN_FORM
from ..templatetags.form_tokens import NAME as TOKEN
from . import versions
from .base import page
from .outbox import is_from_outbox, tell

# What saving may say: where to go and a sentence, a sentence alone, or nothing of its own.
Said = tuple[str, str] | str | None
# What the button of an offered reading is called, before the name of its field.
_USE = "use_"


def edit(
    request: HttpRequest,
    build: Build,
    *,
    form: Any,
    save: Callable[[Any], Said],
    title: str,
    section: str,
    back: str,
    done: str = "",
    template: str = "page_form.html",
    formsets: Sequence[dict[str, Any]] = (),
    look: Callable[[], dict[str, Any]] | None = None,
    enough: bool | None = None,
    answer: str = "",
    guarded: bool = True,
    **context: Any,
) -> HttpResponse:
    """Show a form, or what it comes to, or save it and go on. What was typed stays on a fault.

    ``save`` records it, and may return a sentence to say instead of ``done``, or that and where
    to go instead of ``back``. ``formsets`` are the rows under the form, each with its heading
    and help. ``look`` works out what was typed, as context of the page; a button asks for it,
    and htmx while one types where there is a template for the ``answer``. ``enough``: whether
    enough was typed for that, where less will do than for saving. A form over a stored record
    is only saved over what it showed, unless it is not ``guarded``.
    """
    record = getattr(form, "record", None) if guarded else None
    rows = [part["formset"] for part in formsets]
    is_valid = form.is_bound and all([each.is_valid() for each in (form, *rows)])
    if enough is None:
        enough = is_valid
    if answer and form.is_bound and request.headers.get("HX-Request"):
        context |= look() if look and enough else {}
        context["faults"] = [] if enough else worth_saying(form, rows)
        return page(request, build, answer, section=section, form=form, sent_rows=rows, **context)
    stale, is_late = None, False
    is_looked_at = form.is_bound and "look" in form.data
    if is_looked_at and enough and look:
        context |= look()
    elif is_looked_at and is_valid:
        messages.info(request, "Not saved yet. Check it, then save.")
    elif is_valid and not is_looked_at:

        def write() -> tuple[str, str]:
            with versions.guard(request, build, record):
                said = save(form)
            return said if isinstance(said, tuple) else (back, said or done)

        try:
            return save_once(request, write)
        except Stale as error:
            if done and versions.is_saved_already(form, error):
                messages.success(request, done)
                return redirect(back)
            stale, form = error, versions.merged_form(form, error)
            formsets = [
                part | {"formset": versions.merged_rows(part["formset"], error)}
                for part in formsets
            ]
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
            is_late = error.is_stale
    hold_photos_of(request, form)
    answer_page = page(
        request,
        build,
        template,
        section=section,
        title=title,
        form=form,
        formsets=formsets,
        cancel_url=back,
        is_looked_at=is_looked_at,
        version=versions.version(request, record, stale),
        meanwhile=versions.meanwhile(stale) if stale else None,
        status=409
        if stale or is_late
        else 422
        if form.is_bound and not (is_looked_at and enough)
        else 200,
        **context,
    )
    return tell(request, answer_page, faults_of(form, rows))


def faults_of(form: Any, rows: Sequence[Any] = ()) -> list[str]:
    """All faults of a form and the rows under it, each with the name of its box."""
    forms = [form, *(row for part in rows for row in part.forms)]
    return [
        f"{each[name].label}: {text}" if name in each.fields else str(text)
        for each in forms
        for name, texts in each.errors.items()
        for text in texts
    ]


def worth_saying(form: Any, rows: Sequence[Any] = ()) -> list[str]:
    """What is worth saying while one types, of a form and the rows under it."""
    return [fault for part in ([form], *rows) for each in part for fault in each.typed_faults()]


def save_once(request: HttpRequest, write: Callable[[], tuple[str, str]]) -> HttpResponse:
    """Record what a form says, say so, and lead to it.

    ``write`` records it and returns the address to go to and the sentence to say. A form that
    arrives a second time (a double tap, a page sent again) leads where the first one led and
    records nothing; one without a token, from an older page, is recorded each time.
    Raises LedgerError as ``write`` does.
    """
    said = ""

    def written() -> str:
        nonlocal said
        address, said = write()
        return address

    token = request.POST.get(TOKEN, "")
    if TOKEN_FORM.fullmatch(token):
        done = record_once(
            actor=request.user, token=token, content=_content(request), write=written
        )
    else:
        done = Recorded(written())
    answer = redirect(done.address)
    answer.recorded = {"address": done.address, "text": said, "repeat": done.is_repeat}  # type: ignore[attr-defined]
    if is_from_outbox(request):
        return answer
    if done.is_repeat:
        messages.info(request, "This was saved already and counts once.")
    elif said:
        messages.success(request, said)
    return answer


def press(request: HttpRequest, act: Callable[[], str], address: str) -> HttpResponse:
    """Do what a button on a page says, tell what ``act`` says or why not, and lead on."""
    try:
        messages.success(request, act())
    except LedgerError as error:
        messages.error(request, str(error))
    return redirect(address)


def _content(request: HttpRequest) -> str:
    """A digest of what was sent and whereto; the marks of the page itself do not count."""
    typed = sorted(
        (name, values)
        for name, values in request.POST.lists()
        if name not in (TOKEN, KEPT, "csrfmiddlewaretoken")
    )
    files = [
        (name, [(file.name, file.size) for file in request.FILES.getlist(name)])
        for name in sorted(request.FILES)
    ]
    content = json.dumps([request.get_full_path(), typed, files])
    return hashlib.sha256(content.encode()).hexdigest()


def photos_sent(request: HttpRequest, form: Any) -> list[Any]:
    """Files that came in the fields for photos of a form."""
    return [file for name in form.photo_fields for file in request.FILES.getlist(name)]


def hold_photos_of(request: HttpRequest, form: Any) -> None:
    """Hold the photos of a form that comes back, and those held before: it lists them as kept."""
    if request.method != "POST" or not getattr(form, "photo_fields", ()):
        return
    before = list_held(request.user, request.POST.getlist(HELD))
    held, refused = hold_photos(actor=request.user, files=photos_sent(request, form))
    form.show_held([*before, *held], refused)
    for text in refused if not form.is_bound else ():
        messages.error(request, text)


def asks_for_row(request: HttpRequest) -> bool:
    """Whether a form was sent only to be given back with one more row under it."""
    return request.method == "POST" and "add_row" in request.POST


def posted(request: HttpRequest) -> Any:
    """What was posted to be read, even when it is nothing; None when there is nothing to read."""
    if request.method != "POST" or asks_for_row(request):
        return None
    return with_reading(request.POST)


def with_reading(post: QueryDict) -> QueryDict:
    """What was typed, with the reading that was tapped, if one was, in its field's place.

    A tapped reading is only looked at: it is seen before it is saved.
    """
    pressed = next((name for name in post if name.startswith(_USE)), None)
    if pressed is None:
        return post
    data = post.copy()
    data[pressed.removeprefix(_USE)], data["look"] = post[pressed], "1"
    return data


def form_over(
    form_class: Any, request: HttpRequest, build: Build, record: Any, start: dict[str, Any]
) -> Any:
    """A form with rows under it: as stored, posted, or (asked for another row) typed, unread."""
    if asks_for_row(request):
        start = {name: request.POST.get(name, "") for name in form_class.base_fields}
    return form_class(posted(request), build=build, record=record, initial=start)


def with_rows(
    rows_class: Any, request: HttpRequest, build: Build, prefix: str, records: Any
) -> Any:
    """Rows under a form: stored, posted, or (asked for another line) as typed and one more."""
    if not asks_for_row(request):
        return rows_class(posted(request), build=build, records=records, prefix=prefix)
    typed = rows_class(build=build, prefix=prefix).typed(request.POST)
    rows = rows_class(build=build, prefix=prefix, initial=typed)
    rows.extra = 1 if request.POST["add_row"] == prefix else 0
    return rows
