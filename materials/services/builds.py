"""Writing builds, their areas and rates, elements and people."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc import uniformat
from ..choices import Role
from ..models import Build, BuildArea, DistanceRate, Element, Member, Person
from ..queries.records import find_named
from .errors import LedgerError
from .history import save_values, write_record
from .ledger import cost_purchases, lock_build
from .transfers import check_currency

Areas = Sequence[tuple[str, Decimal, str]]
Rates = Sequence[tuple[date | None, Decimal]]


@transaction.atomic
def create_build(
    *, actor: User, values: dict[str, Any], areas: Areas = (), rates: Rates = ()
) -> Build:
    """Start a build owned by the actor, with the UNIFORMAT II groups as its elements.

    ``areas``: (label, quantity, unit symbol); ``rates``: (from, money per distance unit).
    """
    build = Build()
    _write_build(actor, build, values, areas, rates)
    Member.objects.create(build=build, user=actor, role=Role.OWNER)
    Element.objects.bulk_create(
        Element(build=build, code=code, name=name) for code, name in uniformat.groups()
    )
    return build


@transaction.atomic
def save_build(
    *,
    actor: User,
    build: Build,
    values: dict[str, Any],
    areas: Areas = (),
    rates: Rates = (),
) -> Build:
    """Change a build; what depends on its currency or rates is costed again.

    Raises LedgerError when the rate is taken away at which own hours count in settling up.
    """
    stored = lock_build(build)
    if stored.own_hours_count and values.get("own_labour_rate", stored.own_labour_rate) is None:
        raise LedgerError(
            "Own hours count at this rate in settling up. Untick that there first.",
            "own_labour_rate",
        )
    _write_build(actor, build, values, areas, rates)
    check_currency(build)
    cost_purchases(build)
    return build


def _write_build(
    actor: User, build: Build, values: dict[str, Any], areas: Areas, rates: Rates
) -> None:
    record = build

    def write() -> None:
        for name, value in values.items():
            setattr(build, name, value)
        build.save()
        kept = []
        for label, qty, unit in areas:
            area, _ = BuildArea.objects.update_or_create(
                build=build,
                label__iexact=label,
                defaults={"label": label, "area_qty": qty, "area_unit": unit},
                create_defaults={"label": label, "area_qty": qty, "area_unit": unit},
            )
            kept.append(area.pk)
        build.areas.exclude(pk__in=kept).delete()
        kept = []
        for from_on, rate in rates:
            row, _ = DistanceRate.objects.update_or_create(
                build=build, from_on=from_on, defaults={"rate": rate}
            )
            kept.append(row.pk)
        build.distance_rates.exclude(pk__in=kept).delete()

    if build.pk:
        write_record(actor=actor, build=build, record=record, write=write)
    else:
        write()


@transaction.atomic
def archive_build(*, actor: User, build: Build, on: date | None) -> Build:
    """Put a build away on a day, or (None) bring it back; nothing recorded changes."""
    lock_build(build)
    save_values(actor=actor, build=build, record=build, values={"put_away_on": on})
    return build


@transaction.atomic
def save_element(*, actor: User, build: Build, element: Element, values: dict[str, Any]) -> Element:
    """Add or change an element."""
    element.build = build
    save_values(actor=actor, build=build, record=element, values=values)
    return element


@transaction.atomic
def get_or_add_person(*, actor: User | None, build: Build, name: str) -> Person | None:
    """The person of this name on the build, added when new; None for an empty name."""
    name = " ".join(name.split())
    if not name:
        return None
    if len(name) > 80:
        raise LedgerError("A person's name has at most 80 characters: shorten it.")
    person = find_named(Person, build, name)
    if person is None:
        # Somebody else may be adding it: under the lock it is looked for once more.
        lock_build(build)
        person = find_named(Person, build, name)
    if person is None:
        person = Person(build=build)
        save_values(actor=actor, build=build, record=person, values={"name": name})
    return person
