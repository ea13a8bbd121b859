"""Moving material from one build to another."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..calc.quantities import QuantityError
from ..forms.filters import TransferFilter
from ..forms.on_hand import ON_HAND
from ..forms.transfers import TransferChangeForm, TransferForm
from ..models import Build, Move
from ..queries.transfers import (
    get_transfer,
    list_surplus,
    list_transfers,
    preview_transfer,
    value_now,
)
from ..services.transfers import save_transfer
from ..tables.transfers import TransferTable
from .base import build_view, number_of, page, record_urls, show_list
from .editing import edit, posted


@build_view()
def transfers(request: HttpRequest, build: Build) -> HttpResponse:
    """What went to other builds and came from them."""
    return show_list(
        request,
        build,
        table_class=TransferTable,
        rows=list_transfers(build, request.user),
        filter_class=TransferFilter,
        section="moves",
        title="Transfers between builds",
        intro=(
            "Surplus moved to or from another build at what it cost. Its value is fixed when "
            "it moves and is the same in both builds. No money changes hands."
        ),
        add_url=reverse("move_add", args=[build.pk]),
        add_label="Move something",
    )


@build_view()
def transfer(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One transfer: both sides as far as the reader may see them."""
    record = get_transfer(build, pk, request.user)
    sides = [side for side in (record.component, record.to_component) if side is not None]
    may_change = all(access.may_edit(request.user, side.build) for side in sides)
    seen = set(access.list_builds(request.user).values_list("pk", flat=True))
    far = record.to_component if record.is_out else record.component
    return page(
        request,
        build,
        "transfers/move.html",
        section="moves",
        transfer=record,
        far=far if far is not None and far.build_id in seen else None,
        far_text=record.to_text if record.is_out else record.quantity_text,
        now=value_now(record) if record.is_out else None,
        change_url=reverse("move_edit", args=[build.pk, pk])
        if may_change and record.is_out and far is not None
        else None,
        far_url=reverse("move", args=[far.build_id, pk])
        if may_change and far is not None and not record.is_out
        else None,
        **(record_urls(build, "move", pk) if may_change else {}),
    )


@build_view(edits=True)
def transfer_add(request: HttpRequest, build: Build) -> HttpResponse:
    """Choose the other build, then say what is moved there."""
    wanted = request.GET.get("to", "")
    if not wanted:
        others = list(access.list_editable(request.user).exclude(pk=build.pk))
        return page(
            request,
            build,
            "transfers/choose.html",
            section="moves",
            title="Move material to which build?",
            others=[other for other in others if other.currency == build.currency],
            in_other_currency=[other for other in others if other.currency != build.currency],
        )
    to_build = _other(request, build, wanted)
    return _form(request, build, Move(), to_build)


@build_view(edits=True)
def transfer_edit(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Change a transfer out of this build."""
    record = get_transfer(build, pk, request.user)
    if not record.is_out or record.to_component is None:
        raise Http404
    to_build = record.to_component.build
    if not access.may_edit(request.user, to_build):
        raise PermissionDenied(
            "A transfer belongs to two builds, and you cannot change both. Ask somebody who can."
        )
    return _form(request, build, record, to_build)


def _other(request: HttpRequest, build: Build, wanted: str) -> Build:
    """The other build by its key. 404 for one the user may not know of."""
    number = number_of(wanted)
    if number is None or number == build.pk:
        raise Http404
    other = access.get_build(request.user, number)
    access.require_editor(request.user, other)
    return other


def _form(request: HttpRequest, build: Build, record: Move, to_build: Build) -> HttpResponse:
    today = timezone.localdate()
    form = (TransferChangeForm if record.pk else TransferForm)(
        posted(request),
        build=build,
        record=record,
        to_build=to_build,
        surplus=list_surplus(build, today),
        initial={} if record.pk else {"moved_on": today},
    )
    is_other_money = build.currency != to_build.currency

    def save(valid: Any) -> tuple[str, str]:
        values = valid.values()
        saved = save_transfer(
            actor=request.user,
            build=build,
            transfer=record,
            value_again=values.pop("value_again", False),
            values=values,
            to_build=to_build,
        )
        text = f"Moved. It is in the ledger of {to_build} too."
        return reverse("move", args=[build.pk, saved.pk]), text

    return edit(
        request,
        build,
        form=form,
        look=lambda: _preview(form, record),
        save=save,
        # Two builds are locked by the service, in the order of their keys.
        guarded=False,
        section="moves",
        title=f"Move material to {to_build}" if not record.pk else "Change transfer",
        intro=(
            "It leaves at its average cost so far. That value is fixed now and is the same "
            "in both builds."
        ),
        back=reverse("move", args=[build.pk, record.pk])
        if record.pk
        else reverse("moves", args=[build.pk]),
        preview_template="transfers/_preview.html",
        to_build=to_build,
        message=(
            f"{to_build} is kept in {to_build.currency}, this build in {build.currency}: log "
            "it as sold here and bought there."
        )
        if is_other_money
        else "",
    )


def _preview(form: TransferForm, record: Move) -> dict[str, Any]:
    """What the typed transfer comes to; nothing is saved."""
    data = form.cleaned_data
    try:
        preview = preview_transfer(
            data["component"],
            data["quantity_text"],
            form.to_build,
            data["to_component"],
            data["taken_from"] == ON_HAND,
            data["moved_on"],
        )
    except QuantityError as error:
        return {"message": str(error)}
    # What the transfer that is being changed took is to be had again.
    is_changed = record.pk is not None and record.component_id == data["component"].pk
    return {"preview": preview, "part": data["component"], "is_changed": is_changed}
