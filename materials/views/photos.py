"""Photos of purchases, conversions and new prices.

An uploaded file is never under an address of its own: each is read out by a view that has
asked who is asking. Numbers such as 5.4.1 are requirements of OWASP ASVS 5.0.0.
"""

from contextlib import nullcontext
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.cache import get_conditional_response

from .. import access
from ..forms.photos import HELD, CaptionForm, PhotoForm, PileForm
from ..models import Build, Photo
from ..queries.photos import (
    PhotoRecord,
    count_pile,
    describe_photo,
    describe_photos,
    get_photo,
    get_photo_record,
    list_named,
    list_of_pile,
    list_pile,
    name_record,
    owner_field,
    owner_of,
)
from ..queries.records import number_of
from ..services.acts import as_one
from ..services.errors import LedgerError
from ..services.held_photos import take_held
from ..services.photos import (
    add_photos,
    add_to_pile,
    remove_photo,
    save_caption,
    sort_photos,
)
from ..templatetags.figures import count
from .base import build_view, page
from .editing import edit, faults_of, hold_photos_of, photos_sent, posted, save_once
from .outbox import tell

# Kind of record -> (section of the index, its list, its own page or None, its form).
_PAGES = {
    "purchase": ("purchases", "purchases", "purchase", "purchase_edit"),
    "conversion": ("stock", "conversions", None, "conversion_edit"),
    "price": ("prices", "prices", None, "price_edit"),
}
# What a form calls the photos of the pile that go with it.
PILE = "pile"
# Nothing may run or be fetched. Browsers style the page they put around a picture inline.
_FILE_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; base-uri 'none'; "
    "form-action 'none'; sandbox"
)


@build_view()
def photo(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One photo, in full."""
    return _file(request, get_photo(build, pk).image, f"photo-{pk}.jpg")


@build_view()
def photo_small(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One photo as a thumbnail."""
    return _file(request, get_photo(build, pk).thumbnail, f"photo-{pk}-small.jpg")


def _file(request: HttpRequest, stored: Any, name: str) -> HttpResponse:
    """Read a file out, as the picture it is and as nothing else.

    Its random name stands for its content, which never changes: a browser that has it asks
    again whether it still may, and is not sent it again.
    """
    etag = f'"{stored.name.rpartition("/")[2]}"'
    answer = get_conditional_response(request, etag=etag)
    if answer is None:
        try:
            with stored.open("rb") as file:
                # 5.3.1: never anything but a picture, whatever it holds.
                answer = HttpResponse(file.read(), content_type="image/jpeg")
        except FileNotFoundError:
            raise Http404 from None
        # 5.4.1, 5.4.2: a name of our own, so there is nothing to encode.
        answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["ETag"] = etag
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Security-Policy"] = _FILE_POLICY
    answer["Cross-Origin-Resource-Policy"] = "same-origin"
    return answer


def photos_url(build: Build, kind: str, pk: int | None) -> str | None:
    """Address of the photos of a record; None for a new one."""
    return reverse("photos", args=[build.pk, kind, pk]) if pk is not None else None


def photo_block(
    request: HttpRequest, build: Build, record: PhotoRecord, form: PhotoForm | None = None
) -> dict[str, Any]:
    """What parts/photos.html needs to show the photos of a record."""
    block: dict[str, Any] = {"shown": describe_photos(record), "add_url": None, "form": form}
    if access.may_edit(request.user, build):
        block["form"] = form or PhotoForm(build=build)
        block["add_url"] = reverse("photo_add", args=[build.pk, owner_field(record), record.pk])
    return block


def save_photos(
    request: HttpRequest,
    build: Build,
    record: PhotoRecord,
    form: Any,
    *,
    needed: bool = False,
    caption: str = "",
) -> list[Photo]:
    """Keep the photos of a form with its record: those chosen now, and those held since before.

    With them go the ticked ones of the pile. Raises LedgerError, for the caller to undo the record
    with them.
    """
    if chosen := _ticked(request, build):
        sort_photos(actor=request.user, build=build, record=record, photos=chosen)
    files, keys = photos_sent(request, form), request.POST.getlist(HELD)
    if not (files or keys or needed):
        return []
    pictures = take_held(request.user, keys)
    return add_photos(
        actor=request.user,
        build=build,
        record=record,
        files=files,
        pictures=pictures,
        caption=caption,
    )


def of_pile(request: HttpRequest, build: Build) -> dict[str, Any]:
    """What parts/of_pile.html needs: photos that wait and go with what a form makes, if ticked."""
    waiting = list_of_pile(build, _keys(request.GET) + _keys(request.POST))
    ticked = set(_keys(request.POST)) if request.method == "POST" else None
    shown = [(each, describe_photo(each), ticked is None or each.pk in ticked) for each in waiting]
    notes = dict.fromkeys(each.caption for each in waiting if each.caption)
    return {"pile": shown, "pile_note": "; ".join(notes)}


def _keys(sent: QueryDict) -> list[int]:
    """Keys of photos of the pile that an address or a form names."""
    return [key for name in sent.getlist(PILE) if (key := number_of(name)) is not None]


def _ticked(request: HttpRequest, build: Build) -> list[Photo]:
    """Photos of the pile that a form is sent with, whether they still wait or not."""
    return list_named(build, _keys(request.POST))


def sorting(request: HttpRequest, build: Build) -> Any:
    """An act around the saving of a form, where photos of the pile go with it."""
    if not _keys(request.POST):
        return nullcontext()
    return as_one(actor=request.user, build=build)


def after_sorting(request: HttpRequest, build: Build, address: str) -> str:
    """Back to the pile while something waits there, where one came from there."""
    came_from_there = _keys(request.POST) and count_pile(build)
    return reverse("pile", args=[build.pk]) if came_from_there else address


@build_view()
def pile(request: HttpRequest, build: Build) -> HttpResponse:
    """Photos that wait to be sorted."""
    return _show_pile(request, build, PileForm(build=build))


@build_view(edits=True)
def pile_add(request: HttpRequest, build: Build) -> HttpResponse:
    """Add photos to the pile."""
    files = request.FILES if request.method == "POST" else None
    form = PileForm(posted(request), files, build=build)

    def save() -> tuple[str, str]:
        kept, refused = add_to_pile(
            actor=request.user,
            build=build,
            files=photos_sent(request, form),
            caption=form.cleaned_data["caption"],
        )
        said = "The photo waits" if len(kept) == 1 else f"{count(len(kept))} photos wait"
        return reverse("pile", args=[build.pk]), " ".join([f"{said} to be sorted.", *refused])

    if form.is_bound and form.is_valid():
        try:
            return save_once(request, save)
        except LedgerError as error:
            form.add_refusal(str(error), "chosen")
    return tell(request, _show_pile(request, build, form), faults_of(form))


def _show_pile(request: HttpRequest, build: Build, form: PileForm) -> HttpResponse:
    waiting = list(list_pile(build))
    return page(
        request,
        build,
        "photos/pile.html",
        section="purchases",
        title="Photos to sort",
        waiting=[(photo, describe_photo(photo)) for photo in waiting],
        form=form,
        # Whoever comes by the address of the form wants it open.
        is_adding=form.is_bound or request.resolver_match.url_name == "pile_add",
        status=422 if form.is_bound else 200,
    )


@build_view()
def photos(request: HttpRequest, build: Build, kind: str, pk: int) -> HttpResponse:
    """Photos of one record."""
    return _show(request, build, _record(build, kind, pk))


@build_view(edits=True)
def photo_add(request: HttpRequest, build: Build, kind: str, pk: int) -> HttpResponse:
    """Add photos to a record."""
    record = _record(build, kind, pk)
    files = request.FILES if request.method == "POST" else None
    form = PhotoForm(posted(request), files, build=build)

    @transaction.atomic
    def save() -> tuple[str, str]:
        caption = form.cleaned_data["caption"]
        made = save_photos(request, build, record, form, needed=True, caption=caption)
        said = "The photo is" if len(made) == 1 else f"{count(len(made))} photos are"
        return _home(build, record), f"{said} saved."

    if form.is_bound and form.is_valid():
        try:
            return save_once(request, save)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    hold_photos_of(request, form)
    return tell(request, _show(request, build, record, form), faults_of(form))


@build_view(edits=True)
def photo_edit(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Change photo's caption."""
    record = get_photo(build, pk)
    back = _home(build, owner_of(record))
    form = CaptionForm(posted(request), build=build, record=record)

    def save(valid: Any) -> None:
        save_caption(
            actor=request.user, build=build, photo=record, caption=valid.cleaned_data["caption"]
        )

    return edit(
        request,
        build,
        form=form,
        save=save,
        template="photos/edit.html",
        section=_section(owner_of(record)),
        title="Change photo",
        photo=record,
        words=describe_photo(record),
        back=back,
        done="Saved.",
        delete_url=reverse("photo_delete", args=[build.pk, pk]),
    )


@build_view(edits=True)
def photo_delete(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Ask, then delete a photo."""
    record = get_photo(build, pk)
    owner = owner_of(record)
    if request.method == "POST":
        remove_photo(actor=request.user, build=build, photo=record)
        messages.success(request, "Deleted. It can be brought back from the history.")
        return redirect(_home(build, owner))
    words = describe_photo(record)
    return page(
        request,
        build,
        "photos/delete.html",
        section=_section(owner),
        title="Delete this photo?",
        message=[f"“{words}” will be deleted. It stays in the history and can be brought back."],
        photo=record,
        words=words,
        cancel_url=_home(build, owner),
    )


def _record(build: Build, kind: str, pk: int) -> PhotoRecord:
    record = get_photo_record(build, kind, pk)
    if record is None:
        raise Http404
    return record


def _show(
    request: HttpRequest, build: Build, record: PhotoRecord, form: PhotoForm | None = None
) -> HttpResponse:
    section, in_list, own_page, own_form = _PAGES[owner_field(record)]
    # The form of a conversion or new price is its page, and a viewer may not see it.
    address = own_page or (own_form if access.may_edit(request.user, build) else None)
    back = (
        reverse(address, args=[build.pk, record.pk])
        if address
        else reverse(in_list, args=[build.pk])
    )
    return page(
        request,
        build,
        "photos/page.html",
        section=section,
        title=f"Photos of {name_record(record)}",
        photos=photo_block(request, build, record, form),
        form=form,
        back_url=back,
        back_words=f"Back to {name_record(record)}" if address else "Back to the list",
        status=422 if form is not None and form.is_bound else 200,
    )


def _section(record: PhotoRecord | None) -> str:
    return "pile" if record is None else _PAGES[owner_field(record)][0]


def _home(build: Build, record: PhotoRecord | None) -> str:
    """The page that shows a record's photos, or the pile."""
    if record is None:
        return reverse("pile", args=[build.pk])
    kind = owner_field(record)
    own_page = _PAGES[kind][2]
    if own_page:
        return reverse(own_page, args=[build.pk, record.pk])
    return reverse("photos", args=[build.pk, kind, record.pk])
