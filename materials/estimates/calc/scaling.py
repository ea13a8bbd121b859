"""What the next build grows by: a measure of its shapes where earlier builds have it, else area."""

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from ...calc.exact import add_up
from ...calc.geometry import Extent
from ...calc.types import Key
from .types import PastBuild, Scale

ZERO = Fraction(0)
# A measure, alike in every build: shape, figure, unit.
Place = tuple[str, str, str]


def place_of(extent: Extent) -> Place:
    """What names a measure in every build."""
    return extent.shape, extent.key, extent.unit


class Scaling:
    """Which measure each component and element of earlier builds goes by.

    A component goes by the measure it was required by; what was required by none goes by the
    measure that most of its element's money went by. Only measures count that the new build has.
    """

    def __init__(self, pasts: Sequence[PastBuild], new: Sequence[Extent]):
        self.pasts = tuple(pasts)
        self.new = {place_of(extent): extent for extent in new if extent.quantity > 0}
        self.had: dict[Place, dict[int, Fraction]] = defaultdict(dict)
        self._of_part: dict[tuple[int, Key], Place] = {}
        for at, past in enumerate(self.pasts):
            for extent in past.extents:
                place = place_of(extent)
                if place in self.new and extent.quantity > 0:
                    self.had[place][at] = extent.quantity
                    self._of_part |= {(at, key): place for key in extent.components}
        self._of_element = self._chief_of_elements()

    def _chief_of_elements(self) -> dict[str, Place]:
        money: dict[str, dict[Place, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
        for at, past in enumerate(self.pasts):
            codes = past.codes
            for row in past.sheet.components:
                part = row.position.component
                place = self._of_part.get((at, part.key))
                if place is not None:
                    code = codes.get(part.element, "")
                    money[code][place] += max(ZERO, row.position.cost or ZERO)
        # Of equal ones the first by name, so that the order of entry decides nothing.
        return {
            code: min(by, key=lambda place: (-by[place], place))
            for code, by in money.items()
            if code
        }

    def of_element(self, code: str) -> Place | None:
        """What an element's hours go by, and its components without a measure of their own."""
        return self._of_element.get(code)

    def of_part(self, keys: Sequence[tuple[int, Key]], code: str) -> Place | None:
        """What a component goes by; ``keys``: place of each earlier build with its key there."""
        own = next((self._of_part[key] for key in keys if key in self._of_part), None)
        return own or self.of_element(code)

    def scale(self, place: Place, builds: Sequence[int]) -> Scale | None:
        """The new build's measure beside that of some earlier ones; None where none has it."""
        past = add_up(self.had[place][at] for at in builds if at in self.had[place])
        if not past:
            return None
        new = self.new[place]
        return Scale(new.label, new.quantity, past, new.unit)

    def has(self, place: Place, at: int) -> bool:
        """Whether an earlier build has a measure."""
        return at in self.had[place]
