"""Filters of the list pages."""

from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Any

import django_filters
from django import forms
from django.db.models.lookups import GreaterThanOrEqual, LessThanOrEqual
from django.utils import timezone

from ..calc.labour import EXTRA_KINDS
from ..choices import Fate, LabourKind, Source, State
from ..models import (
    Build,
    Change,
    Component,
    Conversion,
    HandOver,
    LabourEntry,
    LeftOver,
    Move,
    Purchase,
    PurchaseLine,
    RetailPrice,
)
from ..models.history import kind_words
from ..queries.builds import list_elements, list_persons
from ..queries.components import list_components
from ..queries.labour import list_task_names
from ..queries.paging import filter_unindexed
from ..queries.purchases import sum_lines
from ..queries.records import list_change_values
from ..queries.suppliers import list_supplier_names
from ..queries.totals import count_chosen_lines, sum_chosen_lines

_LISTS = {
    "element": list_elements,
    "component__element": list_elements,
    "component": list_components,
    "source": list_components,
    "supplier": list_supplier_names,
    "purchase__supplier": list_supplier_names,
    "person": list_persons,
    "paid_by": list_persons,
    "purchase__paid_by": list_persons,
    "giver": list_persons,
    "receiver": list_persons,
    "task": list_task_names,
    "task__element": list_elements,
}

NOBODY = "Nobody stated"
# Days whose beginning every time zone and database can tell.
EARLIEST, LATEST = date(1900, 1, 1), date(9000, 1, 1)


def _one(label: str, **kwargs: Any) -> django_filters.ModelChoiceFilter:
    return django_filters.ModelChoiceFilter(queryset=None, label=label, **kwargs)


def _between(
    field: str, first: str | None = None, last: str | None = None
) -> tuple[django_filters.DateFilter, django_filters.DateFilter]:
    day = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    return (
        django_filters.DateFilter(field, "gte", label="From", widget=day, method=first),
        django_filters.DateFilter(field, "lte", label="To", widget=day, method=last),
    )


def _begins(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


class BuildFilter(django_filters.FilterSet):
    """A filter whose choices are narrowed to one build."""

    def __init__(self, *args: Any, build: Build, **kwargs: Any):
        super().__init__(*args, **kwargs)
        for item in self.filters.values():
            if isinstance(item, django_filters.ModelChoiceFilter):
                item.queryset = _LISTS[item.field_name](build)
                item.extra["queryset"] = item.queryset

    def known_count(self) -> int | None:
        """How many rows there are, where that is known without counting them."""
        return None

    def known_counts(self) -> dict[int, int] | None:
        """The same by component."""
        return None


class ComponentFilter(BuildFilter):
    """Components by element and name."""

    name = django_filters.CharFilter(lookup_expr="icontains", label="Name holds")
    element = _one("Element", null_label="Without an element")

    class Meta:
        model = Component
        fields: list[str] = []


class PriceFilter(BuildFilter):
    """New prices by component."""

    component = _one("Component")

    class Meta:
        model = RetailPrice
        fields: list[str] = []


class PurchaseFilter(BuildFilter):
    """Purchases by state, supplier, payer and date."""

    state = django_filters.ChoiceFilter(choices=State.choices)
    supplier = _one("Supplier")
    paid_by = _one("Paid by", null_label=NOBODY)
    since, until = _between("bought_on")

    class Meta:
        model = Purchase
        fields: list[str] = []


# What a filter of lines asks -> the column that answers it.
_COLUMNS = {
    "component": "component_id",
    "line_source": "source",
    "purchase__state": "of_state",
    "purchase__supplier": "of_supplier_id",
    "purchase__paid_by": "of_payer_id",
}


class LineFilter(BuildFilter):
    """Purchase lines by component, element, source, state, supplier, payer and date."""

    component = _one("Component", method="filter_asked")
    element = _one("Element", field_name="component__element", method="filter_element")
    source = django_filters.ChoiceFilter(
        "line_source", choices=Source.choices, label="Source", method="filter_asked"
    )
    state = django_filters.ChoiceFilter(
        "purchase__state", choices=State.choices, label="State", method="filter_asked"
    )
    supplier = _one("Supplier", field_name="purchase__supplier", method="filter_asked")
    paid_by = _one(
        "Paid by", field_name="purchase__paid_by", null_label=NOBODY, method="filter_asked"
    )
    since, until = _between("of_day", "filter_since", "filter_until")

    class Meta:
        model = PurchaseLine
        fields: list[str] = []

    def __init__(self, *args: Any, build: Build, **kwargs: Any):
        super().__init__(*args, build=build, **kwargs)
        self.build = build

    def filter_asked(self, queryset: Any, name: str, value: Any) -> Any:
        """By a column of the lines' own, while they are walked in their order."""
        return filter_unindexed(queryset, _COLUMNS[name], value)

    def filter_since(self, queryset: Any, name: str, value: date) -> Any:
        """Not before a day."""
        return filter_unindexed(queryset, name, value, GreaterThanOrEqual)

    def filter_until(self, queryset: Any, name: str, value: date) -> Any:
        """Not after a day."""
        return filter_unindexed(queryset, name, value, LessThanOrEqual)

    def filter_element(self, queryset: Any, name: str, value: Any) -> Any:
        """By the components of an element."""
        parts = list_components(self.build).filter(element=value).order_by()
        return filter_unindexed(queryset, "component_id", list(parts.values_list("pk", flat=True)))

    @cached_property
    def sums(self) -> dict[str, Any]:
        """Landed total, number of lines, and lines of no known price, of those chosen."""
        chosen = self.chosen
        known = None if chosen is None else sum_chosen_lines(self.build, chosen)
        return known or sum_lines(self.qs)

    @property
    def chosen(self) -> dict[str, Any] | None:
        """What was chosen, by its name; None where it cannot be read."""
        if not self.is_bound or not self.form.is_valid():
            return None
        return {name: value for name, value in self.form.cleaned_data.items() if value}

    def known_count(self) -> int:
        """From running totals, where they tell."""
        return self.sums["lines"]

    def known_counts(self) -> dict[int, int] | None:
        """From running totals as well."""
        chosen = self.chosen
        return None if chosen is None else count_chosen_lines(self.build, chosen)


class ConversionFilter(BuildFilter):
    """Conversions by input."""

    source = _one("From")
    since, until = _between("converted_on")

    class Meta:
        model = Conversion
        fields: list[str] = []


class LeftOverFilter(BuildFilter):
    """Left over by component, fate and date."""

    component = _one("Component")
    fate = django_filters.ChoiceFilter(choices=Fate.choices)
    since, until = _between("noted_on")

    class Meta:
        model = LeftOver
        fields: list[str] = []


class TransferFilter(BuildFilter):
    """Transfers by their way."""

    way = django_filters.ChoiceFilter(
        choices=[("out", "Out"), ("in", "In")], method="filter_way", label="Way"
    )

    class Meta:
        model = Move
        fields: list[str] = []

    def filter_way(self, queryset: Any, name: str, value: str) -> Any:
        """Out of this build, or into it."""
        return queryset.filter(is_out=value == "out")


class LabourFilter(BuildFilter):
    """Hours by task, element, person, kind, and whether they were paid."""

    task = _one("Task", null_label="Without a task")
    element = _one("Element", field_name="task__element")
    person = _one("Person")
    kind = django_filters.ChoiceFilter(
        choices=[*LabourKind.choices, ("extra", "Sourcing and preparing")], method="filter_kind"
    )
    paid = django_filters.ChoiceFilter(
        choices=[("yes", "Paid"), ("no", "Own")], method="filter_paid", label="Paid or unpaid"
    )
    since, until = _between("worked_on")

    class Meta:
        model = LabourEntry
        fields: list[str] = []

    def filter_kind(self, queryset: Any, name: str, value: str) -> Any:
        """One kind, or the two that salvage costs."""
        extra = [kind.value for kind in EXTRA_KINDS]
        return queryset.filter(kind__in=extra if value == "extra" else [value])

    def filter_paid(self, queryset: Any, name: str, value: str) -> Any:
        """Own hours are those nothing was paid for."""
        return (
            queryset.filter(paid_amount__gt=0)
            if value == "yes"
            else queryset.exclude(paid_amount__gt=0)
        )


class ChangeFilter(BuildFilter):
    """History by what was changed, by whom and when."""

    summary = django_filters.CharFilter(lookup_expr="icontains", label="Record holds")
    record_type = django_filters.ChoiceFilter(choices=(), label="Of")
    actor_name = django_filters.ChoiceFilter(choices=(), label="Who")
    since, until = _between("at", "filter_first_day", "filter_last_day")

    class Meta:
        model = Change
        fields: list[str] = []

    def filter_first_day(self, queryset: Any, name: str, value: date) -> Any:
        """From the beginning of a day, as a moment: the day of each row would be worked out."""
        day = min(max(value, EARLIEST), LATEST)
        return queryset.filter(at__gte=_begins(day))

    def filter_last_day(self, queryset: Any, name: str, value: date) -> Any:
        """Up to the end of a day."""
        day = min(max(value, EARLIEST), LATEST)
        return queryset.filter(at__lt=_begins(day + timedelta(days=1)))

    def __init__(self, *args: Any, build: Build, **kwargs: Any):
        super().__init__(*args, build=build, **kwargs)
        for name in ("record_type", "actor_name"):
            found = list_change_values(build, name)
            self.filters[name].extra["choices"] = [(value, kind_words(value)) for value in found]


class PaymentFilter(BuildFilter):
    """Payments by giver, receiver and date."""

    giver = _one("From person")
    receiver = _one("To person")
    since, until = _between("handed_on")

    class Meta:
        model = HandOver
        fields: list[str] = []
