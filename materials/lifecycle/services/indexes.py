"""Writing indexes of prices."""

from collections.abc import Sequence
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ...calc.money import round_half_up
from ...models import Build, CostIndex, CostIndexValue
from ...services.errors import LedgerError
from ...services.history import write_record
from ...services.ledger import lock_build
from ...services.purchases import replace_rows
from ..calc.escalation import EscalationError, IndexSeries, IndexValue

PLACES = 6


@transaction.atomic
def save_cost_index(
    *,
    actor: User,
    build: Build,
    index: CostIndex,
    values: dict[str, Any],
    months: Sequence[IndexValue],
) -> CostIndex:
    """Add or change an index with all its values; months no longer given are dropped.

    Raises LedgerError when there is no value, or a month has two.
    """
    lock_build(build)
    if not months:
        raise LedgerError("Add at least one month with its value.", "months_text")
    try:
        IndexSeries("This index", months)
    except EscalationError as error:
        raise LedgerError(str(error), "months_text") from None
    index.build = build
    for name, value in values.items():
        setattr(index, name, value)

    def write() -> None:
        index.save()
        kept = dict(index.months.values_list("month", "pk"))
        rows = [
            CostIndexValue(
                pk=kept.get(value.month),
                month=value.month,
                value=round_half_up(value.value, PLACES),
                is_preliminary=value.is_preliminary,
            )
            for value in months
        ]
        replace_rows(index, "index", index.months, rows)

    write_record(actor=actor, build=build, record=index, write=write)
    return index
