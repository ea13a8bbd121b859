"""Material that is logged and worked up in one act: a purchase and the conversion of its line."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User

from ..models import Build, Conversion, Purchase
from ..queries.drafts import used_text_of
from ..queries.stock import next_conversion_number
from .acts import as_one
from .errors import LedgerError
from .purchases import Rows
from .short_form import log_entry
from .stock import save_conversion

# What the conversion calls its fields, and the short form's boxes for them.
_BOXES = {"used_text": "made_used", "converted_on": "made_on"}


def log_and_make(
    *,
    actor: User,
    build: Build,
    entry: dict[str, Any],
    outputs: Rows,
    on: date,
    into: Purchase | None = None,
) -> tuple[Purchase, Conversion]:
    """Log a short entry and what was made of its line, or neither; both are undone as one.

    ``outputs``: component and ``made_text`` of each thing made. The line is used up as far as
    ``made_used`` of the entry says, else all of it that is usable, on ``made_on``, else ``on``.
    Raises LedgerError.
    """
    with as_one(actor=actor, build=build) as act:
        purchase = log_entry(actor=actor, build=build, entry=entry, into=into)
        line = purchase.lines.select_related("component").latest("position", "pk")
        values = {
            "number": next_conversion_number(build),
            "converted_on": entry.get("made_on") or on,
            "source": line.component,
            "used_text": entry.get("made_used") or used_text_of(line),
            "extra_cost_amount": entry.get("made_extra") or Decimal(0),
            "hours": entry.get("made_hours") or Decimal(0),
        }
        try:
            conversion = save_conversion(
                actor=actor,
                build=build,
                conversion=Conversion(),
                values=values,
                outputs=outputs,
                is_suggested=True,
            )
        except LedgerError as error:
            field = _BOXES.get(error.field or "")
            said = str(error) if field else f"Made of it: {error}"
            raise LedgerError(said, field, error.about) from None
        made = conversion.outputs_text
        act.summary = f"{purchase}: {line}, made into {made} ({conversion})"
    return purchase, conversion
