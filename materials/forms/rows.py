"""Rows typed under a record: lines, charges, outputs."""

import re
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from typing import Any

from django import forms
from django.forms.formsets import INITIAL_FORM_COUNT, TOTAL_FORM_COUNT, ManagementForm
from django.utils.functional import cached_property

from ..models import Build, Component
from ..queries.components import find_component, list_components
from ..queries.quantities import parsed
from ..queries.records import number_of
from .base import TypedForm, let_overflow, tidy_texts
from .quantities import offer_units

MAX_ROWS = 200
# With fewer finished rows than that, all of them are open.
FOLDED_FROM = 2
Choices = Callable[[], list[tuple[Any, str]]]


class RowForm(TypedForm):
    """One row. A row in which nothing was typed is skipped; ``needed`` holds for the others.

    A row that says ``in_short`` what it is can be folded; ``sum_of`` names what it comes to on
    its stored record. ``less_used`` fields are folded while they say nothing but the ``usual``.
    """

    pk = forms.IntegerField(required=False, widget=forms.HiddenInput)

    needed: dict[str, str] = {}
    less_used: tuple[str, ...] = ()
    usual: dict[str, Any] = {}
    sum_of = ""
    rows: Any = None

    def __init__(self, *args: Any, build: Build, parts: Choices | None = None, **kwargs: Any):
        self.build, self.parts = build, parts
        super().__init__(*args, **kwargs)
        if self.initial.get("pk"):
            # A stored row is read in full, whatever the page says of how many were stored.
            self.empty_permitted = False
        for name in self.needed:
            # Needed once anything is typed in the row, so the page must not call it optional.
            self.fields[name].is_needed = True
        self.set_choices()
        let_overflow(self)

    @property
    def less_used_open(self) -> bool:
        """Whether the folded fields hold something worth seeing."""
        plain = (None, "", 100, False)
        return any(
            name in self.errors or self[name].value() not in (*plain, self.usual.get(name))
            for name in self.less_used
        )

    @property
    def in_short(self) -> str:
        """What the row says, in a few words; empty while it says nothing."""
        return ""

    @property
    def sum_shown(self) -> Decimal | None:
        """What the stored row comes to; None where something else is typed in it now."""
        stored = self.initial.get(self.sum_of)
        is_as_stored = isinstance(stored, Decimal) and not (self.is_bound and self.has_changed())
        return stored if is_as_stored else None

    @property
    def is_folded(self) -> bool:
        """Whether its line will do: it is one of several, finished, and not the last."""
        is_open = self.errors or self["DELETE"].value() or self is self.rows.forms[-1]
        return not is_open and bool(self.in_short) and self.rows.finished >= FOLDED_FROM

    def typed(self, *names: str) -> str:
        """What stands in some of the boxes, in words of one line."""
        values = (self[name].value() for name in names)
        return ", ".join(str(value) for value in values if value not in (None, ""))

    def set_choices(self) -> None:
        """Narrow choices to the build's own records."""

    def set_components(self) -> None:
        """Offer the build's components, read once for all rows where they are shown."""
        field = self.fields["component"]
        field.queryset = list_components(self.build)
        if self.parts is not None:
            field.choices = self.parts

    def is_blank(self) -> bool:
        """Whether nothing was typed, so that the row is none."""
        return not self.has_changed() and not self.initial.get("pk")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.is_blank() or cleaned.get("DELETE"):
            return cleaned
        tidy_texts(self, cleaned)
        self.name_new(cleaned)
        for name, text in self.needed.items():
            if not cleaned.get(name) and name not in self.errors:
                self.add_error(name, text)
        self.clean_row(cleaned)
        return cleaned

    def name_new(self, cleaned: dict[str, Any]) -> None:
        """Put what was named anew in the place of what may be chosen."""

    def clean_row(self, cleaned: dict[str, Any]) -> None:
        """Checks over several fields."""


class ComponentRowForm(RowForm):
    """A row about a component of the list, or one that is named here and made on saving.

    ``measured``: the field with its quantity, whose unit a new one is counted in.
    """

    measured = "quantity_text"

    @property
    def in_short(self) -> str:
        key = str(self["component"].value() or "")
        parts = self.parts() if key and self.parts is not None else ()
        listed = (name for pk, name in parts if str(pk) == key)
        name = next(listed, "") or self.typed("new_name")
        return f"{name}, {self.typed(self.measured)}".strip(", ") if name else ""

    def name_new(self, cleaned: dict[str, Any]) -> None:
        name = cleaned.pop("new_name", "")
        if not name or "new_name" in self.errors:
            return
        if cleaned.get("component"):
            self.add_error("new_name", "Choose one from the list or name something new, not both.")
            return
        found = find_component(self.build, name)
        if found is None:
            text = cleaned.get(self.measured)
            unit = parsed(text).unit.symbol if text else "piece"
            found = Component(build=self.build, name=name, unit=unit)
            if not text and self.data.get(self.add_prefix(self.measured)):
                is_metric = self.build.distance_unit == "km"
                offer_units(self, name, self.measured, is_metric=is_metric)
        cleaned["component"] = found
        self.errors.pop("component", None)


def new_name() -> forms.CharField:
    """The box for something that is not in the list yet."""
    return forms.CharField(
        max_length=120,
        required=False,
        label="or something new",
        help_text="Its name. Saving makes it a component.",
    )


class BaseRows(forms.BaseFormSet):
    """Rows of a record, with a way to ask for one more without JavaScript."""

    is_miscounted = False
    # Whether a page may come without them, from before they were asked or where they are not.
    may_be_absent = False
    default_error_messages = {
        "too_many_forms": "There are more than %(num)d rows: put the rest in a record of its own.",
    }

    def __init__(self, *args: Any, build: Build, records: Any = (), **kwargs: Any):
        self.build = build
        names = [*self.form.base_fields, self.form.sum_of]
        initial = kwargs.pop("initial", None) or [
            {name: _shown(record, name) for name in names if name and hasattr(record, name)}
            for record in records
        ]
        data = args[0] if args else kwargs.get("data")
        if data is not None:
            initial = as_posted(data, kwargs["prefix"], initial)
        shared = {"build": build, "parts": None}
        if "component" in names:
            shared["parts"] = cache(lambda: _listed(build))
        super().__init__(*args, initial=initial or None, form_kwargs=shared, **kwargs)

    def _construct_form(self, i: int, **kwargs: Any) -> forms.Form:
        form = super()._construct_form(i, **kwargs)
        form.rows = self
        return form

    @cached_property
    def finished(self) -> int:
        """How many rows say something."""
        return sum(bool(form.in_short) for form in self.forms)

    @cached_property
    def management_form(self) -> ManagementForm:
        """The counts of rows that came with the page, or counted anew where they cannot be.

        Each row of the page is read then, so that nothing typed in it is lost.
        """
        form = super().management_form
        if not self.is_bound:
            return form
        found = self._count(self.data)
        total = form.cleaned_data.get(TOTAL_FORM_COUNT) if form.is_valid() else None
        first = form.cleaned_data.get(INITIAL_FORM_COUNT) if form.is_valid() else None
        self.is_miscounted = total is None or first is None or total < found or first < 0
        if not self.is_miscounted:
            return form
        self.is_miscounted = not self.may_be_absent or bool(found)
        stored = len(self.initial or ())
        counts = {TOTAL_FORM_COUNT: max(found, stored, 1), INITIAL_FORM_COUNT: stored}
        named = {f"{self.prefix}-{name}": str(value) for name, value in counts.items()}
        form = ManagementForm(
            named, auto_id=self.auto_id, prefix=self.prefix, renderer=self.renderer
        )
        form.full_clean()
        return form

    def _count(self, data: Any) -> int:
        """How many rows were sent."""
        of_row = re.compile(rf"{re.escape(self.prefix)}-([0-9]{{1,4}})-")
        numbers = [int(found[1]) for name in data if (found := of_row.match(name))]
        return min(max(numbers, default=-1) + 1, MAX_ROWS)

    def clean(self) -> None:
        if self.is_miscounted:
            raise forms.ValidationError(
                "The page came back incomplete, without the number of its lines: check "
                "them here, and save again."
            )

    def rows(self) -> list[dict[str, Any]]:
        """Values of the rows kept, in order; call after ``is_valid``."""
        kept = []
        for form in self.forms:
            if form.is_blank() or form.cleaned_data.get("DELETE"):
                continue
            kept.append({k: v for k, v in form.cleaned_data.items() if k != "DELETE"})
        return kept

    def typed(self, data: Any) -> list[dict[str, Any]]:
        """What was posted, row by row and unread, to be shown again."""
        names = [*self.form.base_fields, "DELETE"]
        total = posted_count(data, self.prefix)
        return [
            {name: data.get(f"{self.prefix}-{i}-{name}", "") for name in names}
            for i in range(min(max(total, self._count(data)), MAX_ROWS - 1))
        ]


def _listed(build: Build) -> list[tuple[Any, str]]:
    return [("", "---------"), *list_components(build).values_list("pk", "name")]


def posted_count(data: Any, prefix: str) -> int:
    """How many rows were sent, as far as the page says so."""
    return number_of(data.get(f"{prefix}-{TOTAL_FORM_COUNT}")) or 0


def as_posted(data: Any, prefix: str, stored: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Stored rows in the places in which they were sent, nothing in place of new ones.

    Somebody else may have added or taken out rows since the page was opened.
    """
    by_key = {str(row.get("pk")): row for row in stored}
    count = min(posted_count(data, prefix), MAX_ROWS)
    return [by_key.get(data.get(f"{prefix}-{i}-pk", ""), {}) for i in range(count)]


def _shown(record: Any, name: str) -> Any:
    value = getattr(record, name)
    return getattr(value, "pk", value)


def rows_of(form: type[RowForm], extra: int = 1) -> Any:
    """A formset class over a row form."""
    return forms.formset_factory(
        form,
        formset=BaseRows,
        extra=extra,
        can_delete=True,
        max_num=MAX_ROWS,
        absolute_max=MAX_ROWS,
        validate_max=True,
    )
