"""Telling names alike: plural, case, spaces and marks do not make another thing."""

import difflib
import re
from collections.abc import Iterable
from collections.abc import Mapping as Map
from dataclasses import dataclass

from ...calc.quantities import QuantityError, parse_quantity
from ...calc.units import UNITS
from ...models import NameKind
from ...queries.imports import KnownComponent
from .mapping import Mapping
from .read_cells import RowRead

_WORD = re.compile(r"\d[\d./x-]*|[^\W\d_]+")
_BY = re.compile(r"(?<=\d)\s*[x×*]\s*(?=\d)")
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


def loose_key(name: str) -> str:
    """“2 X 4 Studs” and “Stud, 2x4” have the same; an empty text where nothing would be left."""
    words = []
    for word in _WORD.findall(_BY.sub("x", name.casefold())):
        if len(word) > 3 and word.endswith("ies"):
            word = word[:-3] + "y"
        elif len(word) > 4 and word.endswith(("shes", "ches", "xes", "sses")):
            word = word[:-2]
        elif len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
            word = word[:-1]
        words.append(word)
    return " ".join(sorted(words))[:200]


def near_names(name: str, known: Map[str, str], most: int = 3) -> list[str]:
    """Keys of names that look alike, the nearest first. ``known``: key to loose key."""
    wanted = loose_key(name)
    by_loose: dict[str, str] = {}
    for key, loose in known.items():
        by_loose.setdefault(loose, key)
    close = difflib.get_close_matches(wanted, list(by_loose), n=most, cutoff=0.72)
    return [by_loose[loose] for loose in close]


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
