"""Reads for imports of other people's tables."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db.models import Count, Max, Model, Q, QuerySet
from django.db.models.functions import Lower
from django.utils import timezone

from ..choices import State
from ..models import (
    Build,
    Component,
    Element,
    ImportJob,
    ImportMapping,
    ImportName,
    ImportRow,
    JobState,
    LabourEntry,
    LeftOver,
    NameKind,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    RowState,
    Supplier,
    TableKind,
    Task,
)
from .exchange import keyed, name_key
from .numbers import count_on
from .purchases import next_number

NAMED: dict[str, type[Model]] = {
    NameKind.COMPONENT: Component,
    NameKind.SUPPLIER: Supplier,
    NameKind.PERSON: Person,
    NameKind.TASK: Task,
}
WORKBOOK = "workbook"


@dataclass(frozen=True)
class KnownComponent:
    """A component as quantities need it; ``pk`` None: it would be made by the import."""

    pk: int | None
    name: str
    unit: str
    contents: str
    kind: str = ""


@dataclass
class Known:
    """What a build has, by ``name_key``; read once for a whole check."""

    components: dict[str, KnownComponent] = field(default_factory=dict)
    suppliers: dict[str, int] = field(default_factory=dict)
    persons: dict[str, int] = field(default_factory=dict)
    tasks: dict[str, int] = field(default_factory=dict)
    elements: dict[str, int] = field(default_factory=dict)
    element_names: dict[str, list[int]] = field(default_factory=dict)
    rates: list[tuple[date, Decimal]] = field(default_factory=list)

    def of(self, kind: str) -> dict[str, int]:
        """Primary keys of one kind of name."""
        if kind == NameKind.COMPONENT:
            return {key: part.pk for key, part in self.components.items() if part.pk}
        return {
            NameKind.SUPPLIER: self.suppliers,
            NameKind.PERSON: self.persons,
            NameKind.TASK: self.tasks,
        }[NameKind(kind)]


def get_known(build: Build) -> Known:
    """Everything rows are checked against, in a fixed number of queries."""
    known = Known(
        suppliers=keyed(Supplier, build),
        persons=keyed(Person, build),
        tasks=keyed(Task, build),
        rates=[
            (on or date.min, rate)
            for on, rate in build.distance_rates.values_list("from_on", "rate")
        ],
    )
    parts = Component.objects.filter(build=build).order_by()
    fields = ("pk", "name", "unit", "contents", "kind")
    for pk, name, *measured in parts.values_list(*fields):
        known.components[name_key(name)] = KnownComponent(pk, name, *measured)
    for pk, code, name in Element.objects.filter(build=build).values_list("pk", "code", "name"):
        known.elements[name_key(code)] = pk
        known.element_names.setdefault(name_key(name), []).append(pk)
    return known


def list_jobs(build: Build) -> QuerySet[ImportJob]:
    """Imports of a build in steps, newest first; workbooks of our own were read in whole."""
    return (
        ImportJob.objects.filter(build=build)
        .exclude(content=WORKBOOK)
        .select_related("user")
        .defer("sheets", "profile", "mapping")
    )


def get_job(build: Build, pk: int) -> ImportJob:
    """One import in steps. Raises ImportJob.DoesNotExist."""
    return (
        ImportJob.objects.exclude(content=WORKBOOK)
        .select_related("user", "change")
        .get(build=build, pk=pk)
    )


def count_open_jobs(build: Build) -> int:
    """Imports neither finished nor dropped."""
    return list_jobs(build).exclude(state=JobState.DONE).count()


def count_uploads(user: User, since: datetime) -> int:
    """Uploads of a user since a moment; none from days ahead, where the clock was set back."""
    until = timezone.now() + timedelta(hours=1)
    return ImportJob.objects.filter(user=user, started_at__range=(since, until)).count()


def hour_ago() -> datetime:
    """The moment an hour ago."""
    return timezone.now() - timedelta(hours=1)


def count_states(job: ImportJob) -> dict[str, int]:
    """Rows by state, and those that are doubles."""
    rows = job.rows.order_by()
    counts = dict(rows.values_list("state").annotate(n=Count("pk")))
    counts["double"] = rows.filter(is_double=True).count()
    return {str(state): counts.get(state, 0) for state in [*RowState.values, "double"]}


def list_rows(job: ImportJob, show: str = "") -> QuerySet[ImportRow]:
    """Rows below the headings in their order; ``show`` is a state, or double."""
    rows = ImportRow.objects.filter(job=job).exclude(state=RowState.ABOVE)
    if show == "double":
        return rows.filter(is_double=True)
    return rows.filter(state=show) if show in RowState.values else rows


def asked_rows(job: ImportJob) -> QuerySet[ImportRow]:
    """Rows whose quantity could mean several things."""
    return ImportRow.objects.filter(job=job, state=RowState.FAULT, values__has_key="offers")


def get_row(job: ImportJob, number: int) -> ImportRow:
    """One row. Raises ImportRow.DoesNotExist."""
    return ImportRow.objects.exclude(state=RowState.ABOVE).get(job=job, number=number)


def count_unchecked(job: ImportJob) -> int:
    """Rows that a check has not come to yet."""
    return ImportRow.objects.filter(job=job, number__gt=job.checked_to).count()


def rows_after(job: ImportJob, number: int, most: int) -> list[ImportRow]:
    """The next rows of a check."""
    rows = ImportRow.objects.filter(job=job, number__gt=number).exclude(state=RowState.DONE)
    return list(rows.order_by("number")[:most])


def rows_before(job: ImportJob, number: int, most: int) -> list[ImportRow]:
    """Rows above a row, the nearest first."""
    rows = ImportRow.objects.filter(job=job, number__lt=number, number__gt=job.heading_row)
    return list(rows.order_by("-number")[:most])


def count_earlier(job: ImportJob, prints: Iterable[str], before: int) -> dict[str, tuple[int, int]]:
    """How often each fingerprint stands above a row, and the last row that has it."""
    rows = ImportRow.objects.filter(job=job, fingerprint__in=set(prints), number__lt=before)
    found = rows.order_by().values_list("fingerprint").annotate(n=Count("pk"), last=Max("number"))
    return {key: (n, last) for key, n, last in found}


def open_groups(job: ImportJob, keys: Iterable[str]) -> dict[str, tuple[int, int]]:
    """The newest group of each key that can still take rows, and how many it has."""
    rows = ImportRow.objects.filter(job=job, group_key__in=set(keys)).exclude(group_no=0)
    counted = (
        rows.order_by()
        .values_list("group_key", "group_no")
        .annotate(n=Count("pk"), done=Count("pk", filter=Q(state=RowState.DONE)))
    )
    found: dict[str, tuple[int, int]] = {}
    for key, number, n, done in counted:
        if not done and number >= found.get(key, (0, 0))[0]:
            found[key] = (number, n)
    return found


def names_of(job: ImportJob, kind: str, keys: Iterable[str]) -> dict[str, ImportName]:
    """New names of a job by key."""
    found = ImportName.objects.filter(job=job, kind=kind, key__in=set(keys))
    return {name.key: name for name in found}


def similar_names(job: ImportJob, kind: str, loose: Iterable[str]) -> dict[str, ImportName]:
    """New names of a job that stand for themselves, by loose key."""
    found = ImportName.objects.filter(job=job, kind=kind, loose__in=set(loose), like="")
    return {name.loose: name for name in found.order_by("-first_row", "-pk")}


def list_names(job: ImportJob) -> QuerySet[ImportName]:
    """Names the build did not have, by kind and first row."""
    return ImportName.objects.filter(job=job).order_by("kind", "first_row", "pk")


def choices_of(build: Build, kind: str) -> list[tuple[int, str]]:
    """Records a name may stand for."""
    model = NAMED[kind]
    return list(model._default_manager.filter(build=build).values_list("pk", "name"))


def names_by_pk(build: Build, kind: str, pks: Iterable[int]) -> dict[int, str]:
    """Names of records."""
    model = NAMED[kind]
    rows = model._default_manager.filter(build=build, pk__in=set(pks))
    return dict(rows.values_list("pk", "name"))


LineKey = tuple[date, int | None, int, Decimal, Decimal | None]
HoursKey = tuple[date, int, int | None, Decimal]


def bought_on(build: Build, days: Iterable[date]) -> dict[LineKey, list[str]]:
    """Numbers of purchases that hold a line, by what makes two lines the same."""
    lines = PurchaseLine.objects.filter(purchase__build=build, purchase__bought_on__in=set(days))
    found: dict[LineKey, list[str]] = defaultdict(list)
    rows = lines.exclude(purchase__state=State.DECLINED).order_by("purchase_id", "position")
    for day, supplier, component, quantity, price, number in rows.values_list(
        "purchase__bought_on", "purchase__supplier_id", "component_id", "base_qty",
        "price_amount", "purchase__number",
    ):  # fmt: skip
        found[day, supplier, component, quantity, price].append(number)
    return found


def worked_on(build: Build, days: Iterable[date]) -> dict[HoursKey, int]:
    """How often hours stand in the ledger, by what makes two entries the same."""
    found: dict[HoursKey, int] = defaultdict(int)
    rows = LabourEntry.objects.filter(build=build, worked_on__in=set(days)).order_by()
    for day, person, task, hours in rows.values_list("worked_on", "person_id", "task_id", "hours"):
        found[day, person, task, hours] += 1
    return found


def left_on(build: Build, days: Iterable[date]) -> dict[tuple[date, int, Decimal, str], int]:
    """How often left over stands in the ledger, by what makes two entries the same."""
    found: dict[tuple[date, int, Decimal, str], int] = defaultdict(int)
    rows = LeftOver.objects.filter(component__build=build, noted_on__in=set(days)).order_by()
    for key in rows.values_list("noted_on", "component_id", "base_qty", "fate"):
        found[key] += 1
    return found


def priced_on(build: Build, days: Iterable[date]) -> set[tuple[int, date, Decimal]]:
    """Component, day and price of new prices of some days."""
    rows = RetailPrice.objects.filter(component__build=build, priced_on__in=set(days)).order_by()
    return set(rows.values_list("component_id", "priced_on", "price"))


def get_remembered(build: Build, headings_key: str) -> ImportMapping | None:
    """What a set of headings was last said to be."""
    return ImportMapping.objects.filter(build=build, headings_key=headings_key).first()


def free_numbers(build: Build, job: ImportJob, count: int) -> list[str]:
    """Numbers for so many purchases, after the last one the job gave, or after the highest."""
    last = job.carried.get("number")
    number = count_on(last) if last else next_number(build)
    found: list[str] = []
    while len(found) < count:
        wanted = []
        for _ in range(count - len(found)):
            wanted.append(number)
            number = count_on(number)
        low = Purchase.objects.filter(build=build).annotate(low=Lower("number"))
        taken = set(low.filter(low__in=[w.lower() for w in wanted]).values_list("low", flat=True))
        found += [each for each in wanted if each.lower() not in taken]
    return found


def record_names(job: ImportJob) -> dict[int, str]:
    """Names of the records a job's rows became, by pk; those that are still there."""
    pks = job.rows.filter(state=RowState.DONE).values("record_id")
    model, name = {
        TableKind.PURCHASES: (Purchase, "number"),
        TableKind.COMPONENTS: (Component, "name"),
        TableKind.HOURS: (LabourEntry, "person__name"),
        TableKind.PRICES: (RetailPrice, "component__name"),
    }[TableKind(job.kind)]
    found: QuerySet[Model] = model._default_manager.filter(pk__in=pks)
    return dict(found.values_list("pk", name))
