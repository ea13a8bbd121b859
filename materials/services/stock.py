"""Writing conversions and left over."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.quantities import QuantityError
from ..calc.yields import too_much
from ..choices import Fate
from ..models import Build, Component, Conversion, ConversionOutput, LeftOver
from ..queries.days import NOT_YET_CONVERTED, NOT_YET_COUNTED, NOT_YET_LEFT
from ..queries.on_hand import withdrawal_of
from ..queries.quantities import base_quantity, exact_base, side_of
from .acts import Act, as_one
from .components import with_new_components
from .errors import LedgerError, refuse_early
from .history import remove_record, save_values, write_record
from .ledger import check_stock, lock_build
from .numbers import with_free_number
from .on_hand import replace_withdrawal
from .purchases import Rows, replace_rows


@transaction.atomic
def save_conversion(
    *,
    actor: User,
    build: Build,
    conversion: Conversion,
    values: dict[str, Any],
    outputs: Rows,
    from_stock: bool = False,
    is_suggested: bool = False,
) -> Conversion:
    """Add or change a conversion with its outputs.

    ``is_suggested``: its number is only what the form suggested, and the next one will do.

    ``from_stock``: what it uses is taken from stock on hand as far as they go, and only the
    rest from what counts as built in.
    Raises LedgerError when it makes more than it used, uses more than there is, turns a
    component into itself or closes a circle.
    """
    lock_build(build)
    if not outputs:
        raise LedgerError("Add at least one thing you made.")
    conversion.build = build
    old = withdrawal_of(Conversion.objects.get(pk=conversion.pk)) if conversion.pk else None
    if is_suggested:
        values = with_free_number(conversion, build, values)
    for name, value in values.items():
        setattr(conversion, name, value)
    refuse_early(conversion.converted_on, NOT_YET_CONVERTED, "converted_on")
    outputs = with_new_components(actor=actor, build=build, rows=outputs)
    rows = [ConversionOutput(**row, position=i) for i, row in enumerate(outputs)]
    conversion.used_qty = _base(conversion.used_text, conversion.source, "used_text")
    for row in rows:
        if row.component == conversion.source:
            raise LedgerError(
                f"{row.component} cannot be made from itself: make the result its own component."
            )
        row.made_qty = _base(row.made_text, row.component, None)
    refused = too_much(
        side_of(conversion.used_text, conversion.source),
        [side_of(row.made_text, row.component) for row in rows],
    )
    if refused:
        raise LedgerError(refused)
    conversion.hand_text = ""
    conversion.hand_text = replace_withdrawal(
        actor=actor, old=old, wanted=withdrawal_of(conversion), from_stock=from_stock
    )

    def write() -> None:
        conversion.save()
        replace_rows(conversion, "conversion", conversion.outputs, rows)

    write_record(actor=actor, build=build, record=conversion, write=write)
    check_stock(build)
    return conversion


def _base(text: str, component: Component, field: str | None) -> Any:
    try:
        return base_quantity(text, component)
    except QuantityError as error:
        raise LedgerError(str(error), field) from None


def _exact(text: str, component: Component) -> Any:
    try:
        return exact_base(text, component)
    except QuantityError as error:
        raise LedgerError(str(error), f"count-{component.pk}") from None


@transaction.atomic
def save_left_over(
    *,
    actor: User,
    build: Build,
    left_over: LeftOver,
    values: dict[str, Any],
    from_stock: bool = False,
) -> LeftOver:
    """Add or change a left-over row. Raises LedgerError when there is not that much.

    ``from_stock``: what was sold, scrapped or given away is taken from stock on hand as far
    as they go, and only the rest from what counts as built in.
    """
    lock_build(build)
    refuse_early(values["noted_on"], NOT_YET_LEFT, "noted_on")
    qty = _base(values["quantity_text"], values["component"], "quantity_text")
    if values["fate"] != Fate.SOLD and values.get("proceeds_amount"):
        raise LedgerError(
            "Only sold material brings proceeds. Leave this empty.", "proceeds_amount"
        )
    old = withdrawal_of(LeftOver.objects.get(pk=left_over.pk)) if left_over.pk else None
    values = {**values, "base_qty": qty, "hand_text": ""}
    values["hand_text"] = replace_withdrawal(
        actor=actor, old=old, wanted=withdrawal_of(LeftOver(**values)), from_stock=from_stock
    )
    save_values(actor=actor, build=build, record=left_over, values=values)
    check_stock(build)
    return left_over


@transaction.atomic
def take_stock(
    *,
    actor: User,
    build: Build,
    counts: Sequence[tuple[Component, str]],
    counted_on: date,
) -> Act:
    """Make what was counted the only stock on hand of each component; the rest is built in.

    A count of 0 means nothing is there. One act: what the history has of it undoes all of it.
    Raises LedgerError naming the box when there cannot be that much.
    """
    lock_build(build)
    refuse_early(counted_on, NOT_YET_COUNTED, "counted_on")
    things = f"{len(counts)} component{'s' if len(counts) > 1 else ''}"
    with as_one(actor=actor, build=build, summary=f"Stock counted: {things}") as act:
        for component, text in counts:
            for row in component.left_overs.filter(fate=Fate.ON_HAND):
                remove_record(actor=actor, build=build, record=row)
            if not _exact(text, component):
                continue
            values = {
                "component": component,
                "noted_on": counted_on,
                "quantity_text": text,
                "base_qty": _base(text, component, f"count-{component.pk}"),
                "fate": Fate.ON_HAND,
            }
            save_values(actor=actor, build=build, record=LeftOver(), values=values)
        check_stock(build)
    return act
