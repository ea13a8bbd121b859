"""Price indexes, typed or pasted as they are published."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from ...models import Build, CostIndex
from ...views.base import build_view, record_urls, show_list
from ...views.editing import edit, posted
from ..forms import CostIndexForm
from ..queries.indexes import get_cost_index, list_cost_indexes
from ..services.indexes import save_cost_index
from ..tables import CostIndexTable


@build_view()
def cost_indexes(request: HttpRequest, build: Build) -> HttpResponse:
    """Price indexes."""
    return show_list(
        request,
        build,
        table_class=CostIndexTable,
        rows=list_cost_indexes(build),
        section="lifecycle",
        title="Price indexes",
        intro=(
            "Published indexes bring an earlier price to a later month. If a month is "
            "missing, the last published value is used, and the page says so."
        ),
        links=[("Lifetime cost", reverse("life_choices", args=[build.pk]))],
        add_url=reverse("cost_index_add", args=[build.pk]),
        add_label="Add index",
    )


@build_view(edits=True)
def cost_index_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change an index with its values."""
    index = get_cost_index(build, pk) if pk is not None else CostIndex(build=build)
    form = CostIndexForm(posted(request), build=build, record=index)

    def save(valid: Any) -> None:
        values = valid.values()
        del values["months_text"]
        save_cost_index(
            actor=request.user, build=build, index=index, values=values, months=valid.months
        )

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change index" if pk is not None else "Add index",
        section="lifecycle",
        back=reverse("cost_indexes", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "cost-index", pk),
    )
