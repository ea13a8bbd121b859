"""Writing comparisons of lifetime cost."""

from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ...choices import RateKind
from ...models import Build, LifeAlternative, LifeChoice
from ...services.errors import LedgerError
from ...services.history import write_record
from ...services.ledger import lock_build
from ...services.purchases import Rows, replace_rows
from ..calc.types import NAMELESS, is_nameless, out_of_order
from ..queries.comparisons import MOST_ALTERNATIVES

TOO_FEW = "Add another way: it takes two to compare."
NO_INFLATION = "Enter the inflation included in the rate, or 0."
# Low, likely and high of one figure, and what it is called.
RANGES = (
    ("first_low_amount", "first_amount", "first_high_amount", "first cost"),
    ("life_low_years", "life_years", "life_high_years", "life"),
)


@transaction.atomic
def save_life_choice(
    *,
    actor: User,
    build: Build,
    choice: LifeChoice,
    values: dict[str, Any],
    alternatives: Rows,
) -> LifeChoice:
    """Add or change a comparison as a whole.

    Rows are field values in order; a row with ``pk`` changes that row, rows no longer named are
    dropped. Raises LedgerError for fewer than two ways or more than five, and for figures that
    contradict each other.
    """
    lock_build(build)
    if len(alternatives) < 2:
        raise LedgerError(TOO_FEW)
    if len(alternatives) > MOST_ALTERNATIVES:
        raise LedgerError(
            f"More than {MOST_ALTERNATIVES} ways are hard to tell apart: compare the rest "
            "separately."
        )
    choice.build = build
    for name, value in values.items():
        setattr(choice, name, value)
    for name in ("component", "lesson"):
        linked = getattr(choice, name)
        if linked is not None and linked.build_id != build.pk:
            raise LedgerError(f"Choose a {name} of this build.", name)
    if choice.rate_kind == RateKind.NOMINAL and choice.inflation_percent is None:
        raise LedgerError(NO_INFLATION, "inflation_percent")
    rows = [LifeAlternative(**row, position=place) for place, row in enumerate(alternatives)]
    for place, row in enumerate(rows):
        if text := _refused(row):
            raise LedgerError(f"Line {place + 1}: {text}")

    def write() -> None:
        choice.save()
        replace_rows(choice, "choice", choice.alternatives, rows)

    write_record(actor=actor, build=build, record=choice, write=write)
    return choice


def _refused(row: LifeAlternative) -> str:
    """What is wrong with the figures of an alternative; empty for nothing."""
    for *names, what in RANGES:
        if refused := out_of_order(what, *(getattr(row, name) for name in names)):
            return refused[1]
    return NAMELESS if is_nameless(row.drags_along, row.drag_amount, row.drag_hours) else ""
