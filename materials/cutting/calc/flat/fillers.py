"""How sheets and ripped boards are filled, as ``cheapest_boards.cover`` asks for it."""

from collections.abc import Sequence
from fractions import Fraction
from functools import cached_property

from ....calc.solver import best_fill
from ..patterns import Kind, Pattern
from ..program import Clock, Column
from .greedy import fill_sheet, least_area
from .layouts import ANY, RIP, AllFillings, Fillings, Rest, pattern_of, raster, sums
from .search import Search, whole
from .solver import MOST_CELLS, Table, fill_table
from .types import Form, Node

# Pairs of fillings that may be joined before not all of them are looked at.
_STEPS = 300_000
_MOST_COLUMNS = 3000
# Blocks that may be joined for one price, and to see what a better plan could use.
_BLOCKS, _MANY_BLOCKS = 500, 2500
_SEARCH_CELLS = 20_000
_MOST_IN_TURN = 12
_MOST_SEARCHED = 8


class Flat:
    """Sheets or boards of some sizes, and every tree that was found for a column."""

    def __init__(
        self,
        forms: Sequence[Form],
        demand: Sequence[int],
        kinds: Sequence[Kind],
        sizes: Sequence[tuple[int, int]],
        rest: Rest,
        is_ripped: bool = False,
    ) -> None:
        self.forms, self.demand, self.kinds, self.sizes = forms, demand, kinds, sizes
        self.rest, self.is_ripped = rest, is_ripped
        # With more sizes than that, a search in each would take too long.
        self.is_searched = len(sizes) <= _MOST_SEARCHED
        self.trees: dict[Column, Node] = {}
        self.fillings = self._all_fillings()

    def _all_fillings(self) -> list[Fillings] | None:
        """By kind, all patterns; None where they are too many to look at."""
        every = AllFillings(self.forms, self.demand, self.rest, _STEPS)
        found: list[Fillings] = []
        count = 0
        for place, size in enumerate(self.sizes):
            one = every.of(*size, RIP if self.is_ripped else ANY)
            count += len(one or ())
            if one is None or count > _MOST_COLUMNS:
                return None
            found.append(one)
            self.trees |= {(place, pattern): node for pattern, (_, node) in one.items()}
        return found

    def every(self) -> list[Column] | None:
        """The full patterns: a plan that wants less leaves pieces out."""
        if self.fillings is None:
            return None
        return [
            (place, pattern)
            for place, found in enumerate(self.fillings)
            for pattern in _full(found)
        ]

    def lead(self, start: dict[Column, int]) -> list[Column]:
        """Each need alone, and what is largest first."""
        columns = list(start)
        for place, size in enumerate(self.sizes):
            for need in range(len(self.demand)):
                alone = [n if at == need else 0 for at, n in enumerate(self.demand)]
                columns += self._kept(place, fill_sheet(self.forms, alone, size, self.is_ripped))
            tree = fill_sheet(self.forms, self.demand, size, self.is_ripped)
            columns += self._kept(place, tree)
        if not self.is_ripped and self.is_searched:
            areas = [least_area(self.forms, need) for need in range(len(self.demand))]
            sides = [
                min(form.wide + form.tall for form in self.forms if form.need == need)
                for need in range(len(self.demand))
            ]
            for values in (
                areas,
                [area * side for area, side in zip(areas, sides, strict=True)],
                [area * area for area in areas],
            ):
                columns += self._in_turn(values)
        return columns

    def _in_turn(self, values: Sequence[int]) -> list[Column]:
        """Sheets filled one after the other, each as well as can be with what is still needed."""
        # What is largest counts; the last digits of an area in small steps do not.
        fine = max(0, max(values).bit_length() - 32)
        values = [max(1, value >> fine) for value in values]
        left, stock = list(self.demand), [kind.most for kind in self.kinds]
        columns: list[Column] = []
        for _ in range(_MOST_IN_TURN):
            options = []
            for place, size in enumerate(self.sizes):
                table = self._table(values, size) if stock[place] else None
                if table is None:
                    continue
                _, block = Search(table, left, values, size, _BLOCKS // len(self.sizes)).best()
                if block is not None:
                    share = Fraction(block.worth, size[0] * size[1])
                    options.append((-share, place, block, size))
            if not options:
                break
            _, place, block, size = min(options, key=lambda one: one[:2])
            tree = whole(block, size)
            (column,) = self._kept(place, tree)
            columns.append(column)
            times = min(n // c for n, c in zip(left, column[1], strict=True) if c)
            times = min(times, stock[place])
            stock[place] -= times
            left = [n - times * c for n, c in zip(left, column[1], strict=True)]
        return columns

    def _kept(self, place: int, tree: Node) -> list[Column]:
        column = place, pattern_of(tree, self.forms, len(self.demand))
        if not any(column[1]):
            return []
        self.trees.setdefault(column, tree)
        return [column]

    def best(self, values: Sequence[int]) -> list[tuple[int, Pattern]] | None:
        """See ``program.Filler``."""
        return self._best_ripped(values) if self.is_ripped else self._best_sheets(values)

    def useful(
        self, values: Sequence[int], at_least: Sequence[int], limit: int, left: Clock
    ) -> list[Column] | None:
        """See ``program.Filler``; of boards that are ripped, it is not known."""
        if self.is_ripped or min(at_least) <= 0:
            return None
        columns: list[Column] = []
        for place, size in enumerate(self.sizes):
            found = self._useful(values, size, at_least[place], left)
            if found is None or len(columns) + len(found) > limit:
                return None
            for pattern, node in found.items():
                self.trees.setdefault((place, pattern), node)
                columns.append((place, pattern))
        return columns

    def _useful(
        self, values: Sequence[int], size: tuple[int, int], at_least: int, left: Clock
    ) -> dict[Pattern, Node] | None:
        try:
            table = self._table(values, size)
        except OverflowError:
            return None
        if left() <= 0 or table is None:
            return None
        search = Search(table, self.demand, values, size, _MANY_BLOCKS, left)
        return search.worth_at_least(at_least)

    def _worth(self, values: Sequence[int]) -> list[int]:
        return [values[form.need] * form.count for form in self.forms]

    def _table(self, values: Sequence[int], size: tuple[int, int]) -> Table | None:
        """The table of a sheet whose places are closed under sums; None where it is too large."""
        wide, tall = size
        forms = [f for f in self.forms if f.wide <= wide and f.tall <= tall]
        xs = sums([(form.wide, wide) for form in forms], wide)
        ys = sums([(form.tall, tall) for form in forms], tall)
        if len(xs) * len(ys) > _SEARCH_CELLS:
            return None
        return fill_table(self.forms, self._worth(values), xs, ys)

    def _best_sheets(self, values: Sequence[int]) -> list[tuple[int, Pattern]] | None:
        grid = self._grid
        if grid is None:
            return None
        step, forms, xs, ys = grid
        table = fill_table(forms, self._worth(values), xs, ys)
        found = []
        for place, (wide, tall) in enumerate(self.sizes):
            bound = table.of(wide // step, tall // step)
            tree = table.tree(wide, tall) if step == 1 else None
            pattern = pattern_of(tree, self.forms, len(self.demand))
            if step == 1 and _within(pattern, self.demand):
                self.trees.setdefault((place, pattern), tree)
                found.append((bound, pattern))
            else:
                found.append(self._limited(place, values, bound))
        return found

    def _limited(self, place: int, values: Sequence[int], bound: int) -> tuple[int, Pattern]:
        """The best filling with no more pieces than are needed, as far as it is looked for."""
        size = self.sizes[place]
        tree = fill_sheet(self.forms, self.demand, size, False, values)
        table = self._table(values, size) if self.is_searched else None
        if table is not None:
            search = Search(table, self.demand, values, size, _BLOCKS // len(self.sizes))
            most, block = search.best()
            bound = min(bound, most)
            if block is not None:
                tree = whole(block, size)
        pattern = pattern_of(tree, self.forms, len(self.demand))
        self.trees.setdefault((place, pattern), tree)
        return bound, pattern

    @cached_property
    def _grid(self) -> tuple[int, list[Form], list[int], list[int]] | None:
        """A step, the pieces in it, and the places of one table for all sheets.

        Where the step is not 1, sizes are rounded down to it, so that what the table says is at
        least what can be held. None where a piece is smaller than the step.
        """
        least = min(min(form.wide, form.tall) for form in self.forms)
        step = 1
        while step <= least:
            wide = max(size[0] for size in self.sizes) // step
            tall = max(size[1] for size in self.sizes) // step
            forms = [Form(f.need, f.wide // step, f.tall // step, f.count) for f in self.forms]
            xs = min(
                self._sums(forms, wide, True),
                raster([f.wide for f in forms], [size[0] // step for size in self.sizes]),
                key=len,
            )
            ys = min(
                self._sums(forms, tall, False),
                raster([f.tall for f in forms], [size[1] // step for size in self.sizes]),
                key=len,
            )
            if len(xs) * len(ys) <= MOST_CELLS:
                return step, forms, xs, ys
            step += max(1, step // 4)
        return None

    def _sums(self, forms: Sequence[Form], room: int, is_wide: bool) -> list[int]:
        sizes = [
            (form.wide if is_wide else form.tall, -(-self.demand[form.need] // form.count))
            for form in forms
        ]
        return sums(sizes, room)

    def _best_ripped(self, values: Sequence[int]) -> list[tuple[int, Pattern]]:
        """Strips are filled by length, boards with strips by width."""
        talls = sorted({form.tall for form in self.forms})
        found = []
        for place, (wide, tall) in enumerate(self.sizes):
            worth, trees = [], []
            for high in talls:
                of_width = [n if self._tall(at) == high else 0 for at, n in enumerate(self.demand)]
                wides = [max(1, self._wide(at)) for at in range(len(self.demand))]
                ((value, counts),) = best_fill(wides, values, of_width, [wide])
                worth.append(value)
                trees.append(counts)
            most = [tall // high for high in talls]
            ((bound, strips),) = best_fill(talls, worth, most, [tall])
            wanted = [0] * len(self.demand)
            for number, counts in zip(strips, trees, strict=True):
                wanted = [w + number * c for w, c in zip(wanted, counts, strict=True)]
            wanted = [min(w, n) for w, n in zip(wanted, self.demand, strict=True)]
            tree = fill_sheet(self.forms, wanted, (wide, tall), True)
            pattern = pattern_of(tree, self.forms, len(self.demand))
            self.trees.setdefault((place, pattern), tree)
            found.append((bound, pattern))
        return found

    def _tall(self, need: int) -> int:
        return next(form.tall for form in self.forms if form.need == need)

    def _wide(self, need: int) -> int:
        return next(form.wide for form in self.forms if form.need == need)


def _within(pattern: Pattern, demand: Sequence[int]) -> bool:
    return all(n <= d for n, d in zip(pattern, demand, strict=True))


def _full(found: Fillings) -> list[Pattern]:
    """Patterns that no other one holds altogether, those with most pieces of the first first."""
    patterns = sorted((p for p in found if any(p)), key=lambda p: (-sum(p), [-n for n in p]))
    full: list[Pattern] = []
    for pattern in patterns:
        if not any(_within(pattern, other) for other in full):
            full.append(pattern)
    return full
