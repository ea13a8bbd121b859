"""Telling names alike: plural, case, spaces and marks do not make another thing."""

from collections.abc import Iterable
from dataclasses import dataclass

from ...calc.names import loose_key
from ...calc.quantities import QuantityError, parse_quantity
from ...calc.units import UNITS
from ...models import NameKind
from ...queries.imports import KnownComponent
from .mapping import Mapping
from .read_cells import RowRead

NEEDS = {
    "item": NameKind.COMPONENT,
    "supplier": NameKind.SUPPLIER,
    "paid_by": NameKind.PERSON,
    "person": NameKind.PERSON,
    "task": NameKind.TASK,
}
# Fields that only look like names: where a new price was seen is plain text.
_PLAIN = {("components", "supplier"), ("prices", "supplier")}


def names_in(mapping: Mapping, found: RowRead) -> list[tuple[str, str, str]]:
    """Kind, field and name of every name a row uses."""
    return [
        (kind, key, found.values[key])
        for key, kind in NEEDS.items()
        if key in found.values and (mapping.kind, key) not in _PLAIN
    ]


@dataclass
class Reference:
    """A record that a name stands for: one that is there, or one that would be made."""

    key: str
    pk: int | None
    part: KnownComponent | None = None

    @property
    def tag(self) -> str:
        """The same for all names of one record."""
        return f"#{self.pk}" if self.pk else self.key


def by_loose_key(names: Iterable[tuple[str, int]]) -> dict[str, int]:
    """Primary keys by loose key; what two records share tells neither apart."""
    found: dict[str, int] = {}
    twice: set[str] = set()
    for name, pk in names:
        key = loose_key(name)
        if key in found:
            twice.add(key)
        found[key] = pk
    return {key: pk for key, pk in found.items() if key and key not in twice}


def unit_of(hint: str) -> str:
    """The unit a new component would be counted in, by its first quantity; empty if unclear."""
    try:
        return parse_quantity(hint, UNITS["piece"]).unit.symbol if hint else ""
    except QuantityError:
        return ""
