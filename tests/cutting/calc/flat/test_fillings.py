"""One rectangle at a time: what it holds at most, every filling, and what lies beside a block.

Each is compared with a slower way that leaves nothing out, on small random cases.
"""

import random
from fractions import Fraction as F
from functools import lru_cache
from itertools import product

import pytest

from materials.cutting.calc.flat import fillers
from materials.cutting.calc.flat.fillers import Flat
from materials.cutting.calc.flat.forms import forms_of
from materials.cutting.calc.flat.greedy import fill_all, fill_sheet, least_area
from materials.cutting.calc.flat.layouts import (
    ANY,
    RIP,
    AllFillings,
    Rest,
    compact,
    largest_rest,
    leaves,
    pattern_of,
    raster,
    sums,
)
from materials.cutting.calc.flat.search import Search, whole
from materials.cutting.calc.flat.solver import beyond, fill_table
from materials.cutting.calc.flat.types import FlatOrder, Part, Sheet
from materials.cutting.calc.patterns import Kind
from tests.cutting.calc.flat.test_brute import EveryFilling


class Case:
    """A sheet of whole sizes, its pieces as forms, and what a piece of each need is worth."""

    def __init__(self, chance, is_ripped=False):
        self.is_ripped, self.kerf = is_ripped, chance.choice((0, 0, 1))
        self.real = chance.randint(4, 8), chance.randint(3, 7)
        self.size = self.real[0] + self.kerf, self.real[1] + self.kerf
        self.parts = tuple(
            Part(
                "piece", F(chance.randint(1, 5)), F(chance.randint(1, 4)), chance.randint(1, 3),
                not is_ripped and chance.random() < 0.5,
            )
            for _ in range(chance.randint(1, 3))
        )  # fmt: skip
        self.forms = forms_of(self.parts, int, F(self.kerf), F(max(self.real)))
        self.demand = tuple(part.count for part in self.parts)
        self.values = [chance.randint(1, 9) for _ in self.parts]
        self.worth = [self.values[form.need] * form.count for form in self.forms]
        self.keep = chance.randint(0, 2)
        self.rest = Rest(self.kerf, self.keep)

    def every(self):
        """By counts, the largest remnant beside them: every filling there is."""
        sheet = Sheet("sheet", F(self.real[0]), F(self.real[1]))
        order = FlatOrder((sheet,), self.parts, F(self.kerf), F(self.keep), self.is_ripped)
        return EveryFilling(order).fill(*self.real, RIP if self.is_ripped else ANY)

    def worth_of(self, pattern):
        return sum(n * value for n, value in zip(pattern, self.values, strict=True))

    def table(self):
        fitting = [f for f in self.forms if f.wide <= self.size[0] and f.tall <= self.size[1]]
        xs, ys = (
            sums([(size, room) for size in sizes], room)
            for sizes, room in (
                ([f.wide for f in fitting], self.size[0]),
                ([f.tall for f in fitting], self.size[1]),
            )
        )
        return fill_table(self.forms, self.worth, xs, ys)

    def can_be_cut(self, tree, size, pattern, limited=True):
        """The tree's parts fill the rectangle, each piece in its own size, and yield so much."""
        for leaf, wide, tall in leaves(tree, *size):
            assert min(wide, tall) > 0
            if leaf is not None:
                assert (self.forms[leaf].wide, self.forms[leaf].tall) == (wide, tall)
        assert pattern_of(tree, self.forms, len(self.parts)) == tuple(pattern)
        assert not limited or all(n <= d for n, d in zip(pattern, self.demand, strict=True))


def cases(seed, number, **values):
    chance = random.Random(seed)
    return [Case(chance, **values) for _ in range(number)]


def most_of(case):
    """What any rectangle holds at most where pieces are not limited, and what a block leaves."""

    @lru_cache(None)
    def most(wide, tall):
        found = [0] + [
            worth
            for form, worth in zip(case.forms, case.worth, strict=True)
            if form.wide <= wide and form.tall <= tall
        ]
        found += [most(at, tall) + most(wide - at, tall) for at in range(1, wide // 2 + 1)]
        found += [most(wide, at) + most(wide, tall - at) for at in range(1, tall // 2 + 1)]
        return max(found)

    return most


def test_sums_and_what_is_left_of_them():
    for sizes, room in (([(3, 2), (5, 1)], 13), ([(4, 9), (7, 1)], 15), ([(9, 2)], 8)):
        by_hand = {
            total
            for counts in product(*(range(most + 1) for _, most in sizes))
            if (total := sum(n * s for n, (s, _) in zip(counts, sizes, strict=True))) <= room
        }
        assert sums(sizes, room) == sorted(by_hand)
    # Sums of 3 and 5 up to 13: 0 3 5 6 8 9 10 11 12 13. What of them goes into 13 less each.
    assert raster([3, 5, 20], [13]) == [0, 3, 5, 6, 8, 10, 13]
    # Into 9 less each: 9, 6, 3, 3 and 0.
    assert raster([3, 5], [13, 9]) == [0, 3, 5, 6, 8, 9, 10, 13]


def test_what_a_rectangle_holds_at_most_and_how_it_is_cut():
    for case in cases(3, 30):
        most, table = most_of(case), case.table()
        for wide, tall in product(range(1, case.size[0] + 1), range(1, case.size[1] + 1)):
            assert table.of(wide, tall) == most(wide, tall)
            tree = table.tree(wide, tall)
            pattern = pattern_of(tree, case.forms, len(case.parts))
            assert case.worth_of(pattern) == most(wide, tall)
            case.can_be_cut(tree, (wide, tall), pattern, limited=False)


def test_fewer_places_hold_as_much():
    for case in cases(4, 30):
        wide, tall = case.size
        xs = raster([form.wide for form in case.forms], [wide, wide - 2])
        ys = raster([form.tall for form in case.forms], [tall, tall - 1])
        table, most = fill_table(case.forms, case.worth, xs, ys), most_of(case)
        for room in (case.size, (wide - 2, tall), (wide, tall - 1)):
            assert table.of(*room) == most(*room)


def test_sums_of_worths_are_exact_or_refused():
    """Seven by seven of 1: one more each way is counted, so 64 of 2**55 are as much as can be."""
    parts = Part("tile", F(1), F(1), 49), Part("lid", F(5), F(5), 1), Part("long", F(9), F(1), 1)
    forms, places = forms_of(parts, int, F(0), F(9)), list(range(8))
    assert fill_table(forms, [2**55, 1, 1], places, places).of(7, 7) == 49 * 2**55
    for worth in ([2**55 + 1, 1, 1], [1, 2**55 + 1, 1]):
        with pytest.raises(OverflowError):
            fill_table(forms, worth, places, places)
    # Where no piece fits nothing is summed.
    assert fill_table(forms[2:], [2**60], places, places).of(7, 7) == 0


@pytest.mark.parametrize("less", [(0, 0), (2, 1)])
def test_what_a_block_leaves_of_a_sheet(less):
    for case in cases(5, 25):
        most, table = most_of(case), case.table()
        wide, tall = case.size[0] - less[0], case.size[1] - less[1]

        @lru_cache(None)
        def left(x, y, wide=wide, tall=tall, most=most):
            right = [most(k, y) + left(x + k, y) for k in range(1, wide - x + 1)]
            above = [most(x, k) + left(x, y + k) for k in range(1, tall - y + 1)]
            return max([0, *right, *above])

        found = beyond(table, wide, tall)
        for (i, x), (j, y) in product(enumerate(table.xs), enumerate(table.ys)):
            if 0 < x <= wide and 0 < y <= tall:
                assert found[i][j] == left(x, y)


def test_the_best_filling_and_all_that_are_worth_so_much():
    for case in cases(6, 30):
        table, every = case.table(), case.every()
        worths = {pattern: case.worth_of(pattern) for pattern in every}
        best = max(worths.values())
        most, block = Search(table, case.demand, case.values, case.size, 10**6).best()
        assert most == best
        assert (block is None) == (best == 0)
        if block is not None:
            tree = whole(block, case.size)
            case.can_be_cut(tree, case.size, pattern_of(tree, case.forms, len(case.parts)))
            assert block.worth == best
        for least in (1, max(1, best // 2), best + 1):
            search = Search(table, case.demand, case.values, case.size, 10**6, lambda: 1)
            found = search.worth_at_least(least)
            assert set(found) == {pattern for pattern, worth in worths.items() if worth >= least}
            for pattern, tree in found.items():
                case.can_be_cut(tree, case.size, pattern)


def test_a_search_that_is_given_up_claims_no_more_than_it_knows():
    ended = 0
    for case in cases(7, 20):
        table, best = case.table(), max(map(case.worth_of, case.every()))
        for limit in (0, 1, 2, 4):
            most, block = Search(table, case.demand, case.values, case.size, limit).best()
            assert (block.worth if block else 0) <= best <= most
            search = Search(table, case.demand, case.values, case.size, limit)
            ended += search.worth_at_least(1) is None
        late = Search(table, case.demand, case.values, case.size, 10**6, lambda: 0)
        assert not late.worth_at_least(1)
    assert ended > 20


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
def test_every_filling_with_the_largest_remnant_beside_it(is_ripped):
    for case in cases(8, 25, is_ripped=is_ripped):
        stage = RIP if is_ripped else ANY
        found = AllFillings(case.forms, case.demand, case.rest, 10**9).of(*case.size, stage)
        assert {pattern: area for pattern, (area, _) in found.items()} == case.every()
        for pattern, (area, tree) in found.items():
            case.can_be_cut(tree, case.size, pattern)
            assert largest_rest(tree, *case.size, case.rest) == area


def test_fillings_are_counted_before_they_are_given_up():
    """Two pieces of 1 in a sheet of 2 by 1 are one pair of fillings: of one and of one."""
    part = Part("piece", F(1), F(1), 2)
    forms = forms_of([part], int, F(0), F(2))
    # Each half holds nothing or one piece: two fillings by two.
    assert set(AllFillings(forms, (2,), Rest(0, 0), 4).of(2, 1)) == {(0,), (1,), (2,)}
    assert AllFillings(forms, (2,), Rest(0, 0), 3).of(2, 1) is None


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
def test_filled_piece_by_piece_it_can_be_cut_and_no_piece_more_fits(is_ripped):
    for case in cases(9, 30, is_ripped=is_ripped):
        tree = fill_sheet(case.forms, case.demand, case.size, is_ripped)
        pattern = pattern_of(tree, case.forms, len(case.parts))
        case.can_be_cut(tree, case.size, pattern)
        rests = [size for leaf, *size in leaves(tree, *case.size) if leaf is None]
        for form in case.forms:
            if pattern[form.need] < case.demand[form.need] and not is_ripped:
                assert not any(form.wide <= x and form.tall <= y for x, y in rests)
        if is_ripped:
            assert pattern in case.every()
        # A tree without room between its pieces holds the same and is no larger.
        close, wide, tall = compact(tree, case.forms)
        assert (wide, tall) <= case.size
        assert tall <= case.size[1]
        if close is not None:
            case.can_be_cut(close, (wide, tall), pattern)


def test_what_counts_for_nothing_is_not_taken_and_what_counts_most_is_first():
    parts = (Part("door", F(4), F(3), 1), Part("lid", F(2), F(2), 1), Part("tray", F(3), F(3), 1))
    forms = forms_of(parts, int, F(0), F(6))
    for weights, pattern in (([1, 0, 0], (1, 0, 0)), ([1, 9, 0], (1, 1, 0)), (None, (1, 1, 0))):
        tree = fill_sheet(forms, (1, 1, 1), (6, 3), False, weights)
        assert pattern_of(tree, forms, 3) == pattern


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
def test_sheets_are_filled_until_all_pieces_are_cut(is_ripped):
    done = 0
    for case in cases(10, 40, is_ripped=is_ripped):
        for most in (1, 9):
            found = fill_all(
                case.forms, case.demand, [Kind(0, most)], [case.size], is_ripped,
                lambda place, area: (-area,),
            )  # fmt: skip
            if found is None:
                # One sheet does not hold all that is wanted, or a piece fits on none.
                alone = [max(p[at] for p in case.every()) for at in range(len(case.parts))]
                assert most == 1 or 0 in alone
                continue
            done += 1
            made = [0] * len(case.parts)
            for (place, pattern), (count, tree) in found.items():
                assert place == 0
                assert count > 0
                case.can_be_cut(tree, case.size, pattern)
                made = [m + count * n for m, n in zip(made, pattern, strict=True)]
            assert tuple(made) == case.demand
            assert sum(count for count, _ in found.values()) <= most
    assert done > 20


def flat_of(case, number=9):
    kind = Kind(case.size[0] * case.size[1], number)
    return Flat(case.forms, case.demand, [kind], [case.size], case.rest, case.is_ripped)


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
@pytest.mark.parametrize("few", [{}, {"MOST_CELLS": 12}, {"_SEARCH_CELLS": 0}], ids=str)
def test_no_filling_is_worth_more_than_is_said(monkeypatch, few, is_ripped):
    # The best alone is looked for, not all fillings.
    for name, value in {"_STEPS": 0, **few}.items():
        monkeypatch.setattr(fillers, name, value)
    known = exact = 0
    for case in cases(11, 40, is_ripped=is_ripped):
        flat, best = flat_of(case), max(map(case.worth_of, case.every()))
        found = flat.best(case.values)
        if found is None:
            continue
        ((bound, pattern),) = found
        known += 1
        assert case.worth_of(pattern) <= best <= bound
        case.can_be_cut(flat.trees[0, pattern], case.size, pattern)
        exact += case.worth_of(pattern) == bound
        if not few and not is_ripped:
            assert bound == best == case.worth_of(pattern)
    # A piece smaller than the steps of the table leaves it open.
    assert known >= (15 if "MOST_CELLS" in few and not is_ripped else 40)
    assert exact > 15


@pytest.mark.parametrize("cells", [160_000, 12])
def test_of_sheets_of_two_sizes_each_has_its_own(monkeypatch, cells):
    monkeypatch.setattr(fillers, "_STEPS", 0)
    monkeypatch.setattr(fillers, "MOST_CELLS", cells)
    known = 0
    for case in cases(16, 25):
        best = max(map(case.worth_of, case.every()))
        other = case.size[0] + 3, case.size[1] + 2
        most = most_of(case)(*other)
        for sizes in ((case.size, other), (other, case.size)):
            kinds = [Kind(wide * tall, 9) for wide, tall in sizes]
            found = Flat(case.forms, case.demand, kinds, sizes, case.rest).best(case.values)
            if found is None:
                continue
            bounds = dict(zip(sizes, (bound for bound, _ in found), strict=True))
            assert best <= bounds[case.size]
            known += 1
            if cells > 12:
                assert bounds[case.size] == best
                worth = max(case.worth_of(pattern) for _, pattern in found)
                assert worth <= bounds[other] <= most
            # As many as are wanted, where all of them go onto the larger one.
            filled = pattern_of(
                fill_sheet(case.forms, case.demand, other, False), case.forms, len(case.parts)
            )
            assert case.worth_of(filled) <= bounds[other]
    assert known >= (40 if cells > 12 else 10)


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
def test_full_fillings_are_those_that_no_other_holds(is_ripped):
    for case in cases(12, 25, is_ripped=is_ripped):
        every = {pattern for pattern in case.every() if any(pattern)}
        full = {
            one
            for one in every
            if not any(
                one != other and all(a <= b for a, b in zip(one, other, strict=True))
                for other in every
            )
        }
        found = flat_of(case).every()
        assert len(found) == len(full)
        assert set(found) == {(0, pattern) for pattern in full}


def test_useful_fillings_are_all_worth_so_much_or_not_known(monkeypatch):
    monkeypatch.setattr(fillers, "_STEPS", 0)
    for case in cases(13, 25):
        worths = {pattern: case.worth_of(pattern) for pattern in case.every()}
        least = max(1, max(worths.values()) - 2)
        wanted = {(0, pattern) for pattern, worth in worths.items() if worth >= least}
        flat = flat_of(case)
        assert flat.every() is None
        assert set(flat.useful(case.values, [least], 99, lambda: 1)) == wanted
        for column in wanted:
            case.can_be_cut(flat.trees[column], case.size, column[1])
        assert flat.useful(case.values, [least], len(wanted) - 1, lambda: 1) is None
        assert len(flat.useful(case.values, [least], len(wanted), lambda: 1)) == len(wanted)
        assert flat.useful(case.values, [least], 99, lambda: 0) is None
        assert flat.useful(case.values, [0], 99, lambda: 1) is None
    # Nor where the table is too large, sums are, or boards are ripped.
    large = [2**62] * len(case.values)
    assert flat.useful(large, [1], 99, lambda: 1) is None
    with pytest.raises(OverflowError):
        flat.best(large)
    ripped = Flat(case.forms, case.demand, flat.kinds, [case.size], case.rest, True)
    assert ripped.useful(case.values, [1], 99, lambda: 1) is None
    monkeypatch.setattr(fillers, "_SEARCH_CELLS", 0)
    assert flat.useful(case.values, [1], 99, lambda: 1) is None


def test_useful_fillings_of_several_sheets_are_counted_together():
    """Pieces of 2 by 1: sheets of 2 and of 4 by 1 hold one, and one or two."""
    forms = forms_of([Part("piece", F(2), F(1), 2)], int, F(0), F(4))
    flat = Flat(forms, [2], [Kind(2, 9), Kind(4, 9)], [(2, 1), (4, 1)], Rest(0, 0))
    wanted = [(0, (1,)), (1, (1,)), (1, (2,))]
    assert sorted(flat.useful([1], [1, 1], 3, lambda: 1)) == wanted
    assert flat.useful([1], [1, 1], 2, lambda: 1) is None
    assert flat.useful([1], [1, 2], 2, lambda: 1) == [(0, (1,)), (1, (2,))]


def test_sheets_filled_one_after_the_other_hold_all_that_is_wanted():
    """Each as well as can be with what is still needed, as often as it can be had."""
    several = 0
    for case in cases(15, 40):
        flat, every = flat_of(case), case.every()
        columns = flat._in_turn(case.values)
        left = list(case.demand)
        for place, pattern in columns:
            assert place == 0
            possible = [p for p in every if all(n <= w for n, w in zip(p, left, strict=True))]
            assert case.worth_of(pattern) == max(map(case.worth_of, possible))
            times = min(n // c for n, c in zip(left, pattern, strict=True) if c)
            assert times > 0
            left = [n - times * c for n, c in zip(left, pattern, strict=True)]
        fits = [any(pattern[at] for pattern in every) for at in range(len(left))]
        assert left == [0 if fit else n for n, fit in zip(case.demand, fits, strict=True)]
        several += len(columns) > 1
    assert several > 10


def test_the_sheet_that_is_filled_most_goes_first_while_there_is_one():
    """Five of 3 by 1: one sheet of 6 by 1 is filled whole, one of 8 by 1 to three quarters."""
    forms = forms_of([Part("piece", F(3), F(1), 5)], int, F(0), F(8))
    flat = Flat(forms, [5], [Kind(8, 9), Kind(6, 1)], [(8, 1), (6, 1)], Rest(0, 0))
    assert flat._in_turn([3]) == [(1, (2,)), (0, (2,)), (0, (1,))]


def test_columns_to_begin_with_can_be_cut():
    for is_ripped in (False, True):
        for case in cases(14, 30, is_ripped=is_ripped):
            flat, every = flat_of(case), case.every()
            begun = flat.lead({})
            for place, pattern in begun:
                assert place == 0
                assert pattern in every
                case.can_be_cut(flat.trees[place, pattern], case.size, pattern)
            # Each piece that fits at all is among them.
            for need in range(len(case.parts)):
                fits = any(pattern[need] for pattern in every)
                assert fits == any(pattern[need] for _, pattern in begun)


def test_the_least_that_a_piece_takes():
    """A rectangle of 12, and two triangles in a strip of 7 by 3: 10 each, rounded down."""
    triangle = Part("panel", F(5), F(3), 2, is_triangle=True, offset=F(2))
    forms = forms_of([Part("lid", F(4), F(3), 1), triangle], int, F(0), F(9))
    assert [least_area(forms, need) for need in (0, 1)] == [12, 10]
