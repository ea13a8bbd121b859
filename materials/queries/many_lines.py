"""Reading purchase lines that are to be changed together."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..models import Build, Component, Purchase, PurchaseLine
from .purchases import list_lines

# What is changed in one act; each of their purchases is costed anew.
MOST = 100
# So many are seen at a glance.
SHORT = 12


@dataclass(frozen=True)
class ManyLines:
    """Chosen lines with their purchases and components.

    ``beside``: lines of the same purchases that are not among them.
    """

    lines: tuple[PurchaseLine, ...]
    purchases: tuple[Purchase, ...]
    beside: int

    @property
    def is_short(self) -> bool:
        """Whether they fit on a page with the form."""
        return len(self.lines) <= SHORT

    @property
    def components(self) -> tuple[Component, ...]:
        """Each component once."""
        return tuple({line.component_id: line.component for line in self.lines}.values())


def get_many_lines(build: Build, keys: Iterable[int]) -> ManyLines:
    """Lines of the build by their keys, in the order of the list; at most ``MOST``."""
    lines = tuple(list_lines(build).filter(pk__in=list(keys))[:MOST])
    found = (
        Purchase.objects.filter(build=build, pk__in={line.purchase_id for line in lines})
        .select_related("supplier", "paid_by", "build")
        .prefetch_related("lines__component", "charges")
    )
    purchases = tuple(found)
    beside = sum(len(purchase.lines.all()) for purchase in purchases) - len(lines)
    return ManyLines(lines, purchases, beside)


def told(lines: Sequence[PurchaseLine], purchase: Purchase) -> str:
    """A purchase by its number and the first of its chosen lines."""
    first = next((line for line in lines if line.purchase_id == purchase.pk), None)
    return f"{purchase.number}, {first}" if first is not None else purchase.number
