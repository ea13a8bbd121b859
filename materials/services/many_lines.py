"""Giving many purchase lines the same values: one act, undone as one, or nothing of it."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import partial
from typing import Any

from django.contrib.auth.models import User
from django.db import models, transaction

from ..models import Build, Component, Purchase, RetailPrice
from ..queries.many_lines import ManyLines, get_many_lines, told
from .acts import Act, as_one
from .builds import get_or_add_person
from .components import save_component
from .errors import LedgerError
from .history import record_type
from .ledger import lock_build
from .prices import save_price
from .short_form import take_state, write_draft
from .suppliers import get_or_add_supplier
from .versions import Stale, stale_of, versions_of

# A record, what it is called, and what writes it.
Row = tuple[models.Model, str, Callable[[], None]]
# What is said of the purchase, and so for all its lines.
_OF_PURCHASE = ("supplier", "paid_by", "state", "bought_on")


class RowsRefused(LedgerError):
    """Some rows cannot be given it, so none was.

    ``refused``: purchases and components that cannot. ``stale``: those that were changed since
    they were shown, each with its name and what was changed.
    """

    def __init__(
        self,
        text: str,
        refused: set[models.Model],
        stale: Sequence[tuple[str, Stale]] = (),
    ):
        super().__init__(text, "line")
        self.refused, self.stale = refused, stale
        self.is_stale = bool(stale)


def versions_seen(chosen: ManyLines) -> dict[str, str]:
    """Digests of all that the lines are changed by: of purchases and components, by name."""
    return {
        name_of(record): digest
        for records in (chosen.purchases, chosen.components)
        for record, digest in versions_of(records).items()
    }


def name_of(record: models.Model) -> str:
    """A purchase or component as the page that carries its version calls it."""
    return f"{record_type(record)}-{record.pk}"


@transaction.atomic
def give_to_lines(
    *,
    actor: User,
    build: Build,
    keys: list[int],
    seen: Mapping[str, str],
    given: dict[str, Any],
    on: date,
) -> Act:
    """Give lines what was filled in; returns what the history has of it.

    ``element`` and ``new_price`` (for ``new_per_text``, as of ``on``) go to their components;
    ``supplier`` and ``paid_by`` (by name), ``state`` and ``bought_on`` to their purchases.
    ``seen``: what they were when they were shown. Raises RowsRefused naming every row that was
    changed since, or else every one that cannot be given it; nothing is written then.
    """
    lock_build(build)
    chosen = get_many_lines(build, keys)
    if len(chosen.lines) < len(set(keys)):
        raise LedgerError("A ticked line was deleted meanwhile. Check those that are left.", "line")
    _refuse_stale(build, chosen, seen)
    count = f"{len(chosen.lines)} purchase line{'s' if len(chosen.lines) > 1 else ''}"
    with as_one(actor=actor, build=build, summary=f"{_words(given)}: {count}") as act:
        by = {"actor": actor, "build": build}
        own = _with_names(by, {name: given[name] for name in _OF_PURCHASE if name in given})
        rows: list[Row] = [
            (part, str(part), partial(_give_component, by, part, given, on))
            for part in chosen.components
        ]
        if own:
            rows += [
                (purchase, told(chosen.lines, purchase), partial(_give, by, purchase, own, on))
                for purchase in chosen.purchases
            ]
        _write_each(rows)
    return act


def _refuse_stale(build: Build, chosen: ManyLines, seen: Mapping[str, str]) -> None:
    now = versions_seen(chosen)
    stale = [
        (
            told(chosen.lines, record) if isinstance(record, Purchase) else str(record),
            stale_of(build, record, seen.get(name_of(record), "")),
        )
        for record in (*chosen.purchases, *chosen.components)
        if now[name_of(record)] != seen.get(name_of(record))
    ]
    if stale:
        text = "; ".join(name for name, _ in stale)
        raise RowsRefused(
            f"Somebody changed this meanwhile: {text}. Check the list again, then save.",
            set(),
            stale,
        )


def _write_each(rows: Sequence[Row]) -> None:
    """Write every row; raises RowsRefused naming all that cannot be."""
    refused: dict[models.Model, str] = {}
    for record, name, write in rows:
        try:
            with transaction.atomic():
                write()
        except LedgerError as error:
            refused[record] = f"{name}: {error}"
    if refused:
        raise RowsRefused(
            f"Nothing was changed. {' '.join(refused.values())} These are no longer ticked: save"
            " again to change the others.",
            set(refused),
        )


def _with_names(by: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Values of a purchase with the supplier and payer that are typed by name."""
    if "supplier" in own:
        own["supplier"] = get_or_add_supplier(**by, name=own["supplier"])
    if "paid_by" in own:
        own["paid_by"] = get_or_add_person(**by, name=own["paid_by"])
    return own


def _give_component(by: dict[str, Any], part: Component, given: dict[str, Any], on: date) -> None:
    if "element" in given:
        save_component(**by, component=part, values={"element": given["element"]})
    if "new_price" in given:
        values = {
            "component": part,
            "price": given["new_price"],
            "per_text": given.get("new_per_text", ""),
            "priced_on": on,
        }
        save_price(**by, price=RetailPrice(), values=values)


def _give(by: dict[str, Any], purchase: Purchase, own: dict[str, Any], on: date) -> None:
    if "state" in own:
        take_state(purchase, own["state"], on)
    for name, value in own.items():
        setattr(purchase, name, value)
    lines, charges = list(purchase.lines.all()), list(purchase.charges.all())
    write_draft(**by, purchase=purchase, lines=lines, charges=charges)


def _words(given: dict[str, Any]) -> str:
    """What is given, in words of the history."""
    words = {
        "element": "element",
        "paid_by": "payer",
        "supplier": "supplier",
        "state": "state",
        "bought_on": "date",
        "new_price": "new price",
    }
    return ", ".join(word for name, word in words.items() if name in given).capitalize()
