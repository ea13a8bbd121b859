"""A tree of cuts as rectangles on a sheet and as cuts in order, in real measures."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from .layouts import Rest
from .types import ACROSS, Box, Form, Node, Saw, Sheet, Split


@dataclass
class Drawer:
    """Turns one tree into boxes and cuts. ``steps``: how many to a unit of length."""

    forms: Sequence[Form]
    steps: Fraction
    rest: Rest
    boxes: list[Box] = field(default_factory=list)
    saws: list[Saw] = field(default_factory=list)

    def draw(self, node: Node, wide: int, tall: int, left: int, low: int) -> int | None:
        """The place in ``boxes`` where a rectangle ends up as a whole; None where it is cut, or
        nothing is left of it. ``wide`` and ``tall`` hold one kerf each."""
        kerf = self.rest.kerf
        if wide <= kerf or tall <= kerf:
            return None
        if not isinstance(node, Split):
            self.boxes.append(self._box(node, wide - kerf, tall - kerf, left, low))
            return len(self.boxes) - 1
        at = len(self.saws)
        real = self._real
        size = real(left), real(low), real(wide - kerf), real(tall - kerf)
        place = self._real(node.at - kerf)
        self.saws.append(Saw(node.axis, *size, place, None, None))
        if node.axis == ACROSS:
            first = self.draw(node.first, node.at, tall, left, low)
            second = self.draw(node.second, wide - node.at, tall, left + node.at, low)
        else:
            first = self.draw(node.first, wide, node.at, left, low)
            second = self.draw(node.second, wide, tall - node.at, left, low + node.at)
        self.saws[at] = Saw(node.axis, *size, place, first, second)
        return None

    def _real(self, steps: int) -> Fraction:
        return Fraction(steps) / self.steps

    def _box(self, leaf: int | None, wide: int, tall: int, left: int, low: int) -> Box:
        size = self._real(left), self._real(low), self._real(wide), self._real(tall)
        if leaf is None:
            is_kept = min(wide, tall) >= self.rest.keep
            return Box("remnant" if is_kept else "waste", *size)
        form = self.forms[leaf]
        return Box("piece", *size, form.need, form.count, form.turned)


def cut_apart(
    node: Node,
    forms: Sequence[Form],
    steps: Fraction,
    rest: Rest,
    sheet: Sheet,
    size: tuple[int, int],
    is_ripped: bool,
) -> tuple[tuple[Box, ...], tuple[Saw, ...]]:
    """Boxes and cuts of a sheet, measured from its lower left corner; trimmed edges lie around."""
    drawer = Drawer(forms, steps, rest)
    left = int(sheet.trim * steps)
    drawer.draw(node, *size, left, 0 if is_ripped else left)
    return tuple(drawer.boxes), tuple(drawer.saws)
