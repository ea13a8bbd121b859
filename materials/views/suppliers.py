"""Suppliers."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from ..forms.suppliers import SupplierForm
from ..models import Build, Supplier
from ..queries.records import get_record
from ..queries.suppliers import list_suppliers
from ..services.suppliers import save_supplier
from ..tables.suppliers import SupplierTable
from .base import build_view, record_urls, show_list
from .editing import edit, posted


@build_view()
def suppliers(request: HttpRequest, build: Build) -> HttpResponse:
    """Suppliers."""
    return show_list(
        request,
        build,
        table_class=SupplierTable,
        rows=list_suppliers(build),
        section="suppliers",
        title="Suppliers",
        add_url=reverse("supplier_add", args=[build.pk]),
        add_label="Add supplier",
    )


@build_view(edits=True)
def supplier_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a supplier."""
    supplier = get_record(build, "supplier", pk) if pk is not None else Supplier(build=build)
    if supplier is None:
        raise Http404
    form = SupplierForm(posted(request), build=build, record=supplier)

    def save(valid: Any) -> None:
        save_supplier(actor=request.user, build=build, supplier=supplier, values=valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change supplier" if pk is not None else "Add supplier",
        section="suppliers",
        back=reverse("supplier", args=[build.pk, pk])
        if pk
        else reverse("suppliers", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "supplier", pk),
    )
