"""Writing suppliers."""

from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..models import Build, Supplier
from ..queries.records import find_named
from .errors import LedgerError
from .history import save_values
from .ledger import lock_build


@transaction.atomic
def save_supplier(
    *, actor: User, build: Build, supplier: Supplier, values: dict[str, Any]
) -> Supplier:
    """Add or change a supplier."""
    supplier.build = build
    save_values(actor=actor, build=build, record=supplier, values=values)
    return supplier


@transaction.atomic
def get_or_add_supplier(*, actor: User | None, build: Build, name: str) -> Supplier | None:
    """The supplier of this name on the build, added when new; None for an empty name."""
    name = " ".join(name.split())
    if not name:
        return None
    if len(name) > 120:
        raise LedgerError("A supplier's name has at most 120 characters: shorten it.")
    supplier = find_named(Supplier, build, name)
    if supplier is None:
        # Somebody else may be adding it: under the lock it is looked for once more.
        lock_build(build)
        supplier = find_named(Supplier, build, name)
    if supplier is None:
        supplier = Supplier(build=build)
        save_values(actor=actor, build=build, record=supplier, values={"name": name})
    return supplier
