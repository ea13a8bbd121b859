"""Writing new retail prices."""

from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.quantities import QuantityError
from ..models import Build, RetailPrice
from ..queries.quantities import price_per, stored
from .errors import LedgerError
from .history import save_values
from .ledger import cost_purchases, lock_build, purchases_with


@transaction.atomic
def save_price(
    *, actor: User, build: Build, price: RetailPrice, values: dict[str, Any]
) -> RetailPrice:
    """Add or change a dated new price; lots split by retail value are costed again.

    Raises LedgerError when what the price is per cannot be converted to the base unit.
    """
    lock_build(build)
    touched = {price.component, values["component"]} if price.pk else {values["component"]}
    try:
        per = stored(price_per(values.get("per_text", ""), values["component"]))
    except QuantityError as error:
        raise LedgerError(str(error), "per_text") from None
    save_values(actor=actor, build=build, record=price, values={**values, "per_qty": per})
    cost_purchases(build, purchases_with(touched))
    return price
