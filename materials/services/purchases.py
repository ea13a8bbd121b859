"""Writing purchases with their lines and charges."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import models, transaction

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..choices import State
from ..models import Build, Charge, Purchase, PurchaseLine
from ..queries.days import NOT_YET_RECEIVED
from ..queries.offer_terms import check_terms
from ..queries.price_book import get_price_book
from ..queries.quantities import base_quantity
from .components import with_new_components
from .errors import LedgerError, refuse_early
from .history import write_record
from .ledger import check_stock, lock_build, put_figures
from .numbers import with_free_number
from .totals import keep_totals

Rows = Sequence[dict[str, Any]]


@transaction.atomic
def save_purchase(
    *,
    actor: User,
    build: Build,
    purchase: Purchase,
    values: dict[str, Any],
    lines: Rows,
    charges: Rows = (),
    is_suggested: bool = False,
) -> Purchase:
    """Add or change a purchase as a whole.

    ``is_suggested``: its number is only what the form suggested, and the next one will do.

    Rows are field values in order; a row with ``pk`` changes that row, rows no longer named
    are dropped. Raises LedgerError when it cannot be costed or leaves less than was used.
    """
    lock_build(build)
    is_new = purchase.pk is None
    if not lines:
        raise LedgerError("A purchase needs at least one line: add what you bought or got.")
    purchase.build = build
    if is_suggested:
        values = with_free_number(purchase, build, values)
    for name, value in values.items():
        setattr(purchase, name, value)
    if purchase.state == State.RECEIVED:
        refuse_early(purchase.bought_on, NOT_YET_RECEIVED, "bought_on")
    lines = with_new_components(actor=actor, build=build, rows=lines)
    line_rows = [_row(PurchaseLine, row, i) for i, row in enumerate(lines)]
    charge_rows = [_row(Charge, row, i) for i, row in enumerate(charges)]
    _derive(build, purchase, line_rows, charge_rows)

    def write() -> None:
        purchase.save()
        replace_rows(purchase, "purchase", purchase.lines, line_rows, is_new)
        replace_rows(purchase, "purchase", purchase.charges, charge_rows, is_new)

    before = {} if is_new else _came_in(purchase.pk)
    with keep_totals(build, [purchase.pk]) as ids:
        write_record(actor=actor, build=build, record=purchase, write=write)
        if purchase.pk not in ids:
            ids.append(purchase.pk)
    after = _sum_usable(line_rows) if purchase.state == State.RECEIVED else {}
    if any(after.get(key, 0) < usable for key, usable in before.items()):
        # What comes in can leave no less than there was, and closes no circle.
        check_stock(build)
    return purchase


def _came_in(pk: int) -> dict[int, Decimal]:
    """What a stored purchase brought in of each component so far."""
    return _sum_usable(PurchaseLine.objects.filter(purchase=pk, purchase__state=State.RECEIVED))


def _sum_usable(lines: Iterable[PurchaseLine]) -> dict[int, Decimal]:
    sums: dict[int, Decimal] = defaultdict(Decimal)
    for line in lines:
        sums[line.component_id] += line.usable_qty
    return dict(sums)


def _row(model: type[models.Model], values: dict[str, Any], position: int) -> Any:
    return model(**values, position=position)


def _derive(
    build: Build, purchase: Purchase, lines: list[PurchaseLine], charges: list[Charge]
) -> None:
    for i, line in enumerate(lines):
        try:
            base_quantity(line.quantity_text, line.component)
            check_terms(line)
        except QuantityError as error:
            raise LedgerError(f"Line {i + 1}: {error}") from None
    try:
        has_distance = any(charge.distance_text for charge in charges)
        put_figures(purchase, lines, charges, get_price_book(build, has_distance))
    except (CostingError, QuantityError) as error:
        raise LedgerError(str(error)) from None


def replace_rows(
    parent: models.Model,
    parent_field: str,
    related: Any,
    rows: Sequence[models.Model],
    is_new: bool = False,
) -> None:
    """Make ``rows`` the only rows of a parent, which has none yet where it is new.

    A pk that is not the parent's is refused.
    """
    own = set() if is_new else set(related.values_list("pk", flat=True))
    given = [row.pk for row in rows if row.pk is not None]
    if not own.issuperset(given) or len(set(given)) < len(given):
        raise LedgerError("One of the rows was deleted meanwhile. Open the page again.")
    if own:
        related.exclude(pk__in=given).delete()
    for row in rows:
        setattr(row, parent_field, parent)
        row.save()
