"""The largest remnant, pieces too many, and sheets that are laid out anew."""

import random
from fractions import Fraction as F

import pytest

from materials.cutting.calc.flat import fillers
from materials.cutting.calc.flat.fillers import Flat
from materials.cutting.calc.flat.forms import forms_of
from materials.cutting.calc.flat.greedy import tidied
from materials.cutting.calc.flat.layouts import Rest, leaves, padded, pattern_of
from materials.cutting.calc.flat.plan import plan_sheets
from materials.cutting.calc.flat.remnant import largest_remnant, without_surplus
from materials.cutting.calc.flat.types import ACROSS, ALONG, FlatOrder, Part, Split
from materials.cutting.calc.patterns import Kind
from tests.cutting.calc.flat.test_brute import EveryFilling, by_looking_at_all, some_order
from tests.cutting.calc.flat.test_fillings import Case, flat_of


def flat(parts, size, most=9, keep=0):
    forms = forms_of(parts, int, F(0), F(max(size)))
    demand = [part.count for part in parts]
    return Flat(forms, demand, [Kind(size[0] * size[1], most)], [size], Rest(0, keep))


def rows(*pieces):
    return [Part("piece", F(length), F(width), count) for length, width, count in pieces]


@pytest.mark.parametrize(
    ("demand", "made", "left"),
    [
        ((3, 0), {(3, 0): 1}, {(3, 0): 1}),
        # One too many comes off the sheet that holds less.
        ((3, 0), {(3, 0): 1, (1, 0): 1}, {(3, 0): 1}),
        ((4, 0), {(3, 0): 1, (2, 0): 1}, {(3, 0): 1, (1, 0): 1}),
        # Two too many of the one, one of the other.
        ((1, 2), {(3, 0): 1, (0, 3): 1}, {(1, 0): 1, (0, 2): 1}),
        ((2, 1), {(2, 1): 1, (1, 1): 1}, {(2, 1): 1}),
        # Sheets that become alike are counted together.
        ((2, 0), {(1, 1): 1, (1, 0): 1}, {(1, 0): 2}),
    ],
)
def test_no_piece_too_many_is_cut(demand, made, left):
    """Pieces of 3 and of 2 in a sheet of 9 by 1."""
    what = flat(rows((3, 1, 3), (2, 1, 3)), (9, 1))
    what.demand = list(demand)
    boards = {(0, pattern): count for pattern, count in made.items()}
    found = without_surplus(what, boards)
    assert found == {(0, pattern): count for pattern, count in left.items()}
    for place, pattern in found:
        assert pattern_of(what.trees[place, pattern], what.forms, 2) == pattern


def test_whatever_is_too_many_is_left_out_and_the_rest_can_be_cut():
    chance, fewer = random.Random(21), 0
    for _ in range(60):
        case = Case(chance)
        what = flat_of(case)
        columns = [column for column in what.trees if any(column[1])]
        if not columns:
            continue
        boards = {}
        for column in chance.choices(columns, k=3):
            boards[column] = boards.get(column, 0) + 1
        made = [sum(n * p[at] for (_, p), n in boards.items()) for at in range(len(case.parts))]
        what.demand = [chance.randint(0, most) for most in made]
        found = without_surplus(what, boards)
        for at, wanted in enumerate(what.demand):
            assert sum(n * p[at] for (_, p), n in found.items()) == wanted
        assert sum(found.values()) <= 3
        fewer += what.demand != made
        for place, pattern in found:
            case.can_be_cut(what.trees[place, pattern], case.size, pattern, limited=False)
    assert fewer > 30


def test_of_a_strip_of_triangles_a_shorter_one_stays():
    """Of 4 by 3 above the middle: one is 4 long, two are 6, three 8 and four 10."""
    panel = Part("panel", F(4), F(3), 4, is_triangle=True)
    what = flat([panel], (10, 3))
    (place,) = (at for at, form in enumerate(what.forms) if form.count == 4)
    for demand, long in ((3, 8), (1, 4)):
        what.demand = [demand]
        what.trees = {(0, (4,)): place}
        assert without_surplus(what, {(0, (4,)): 1}) == {(0, (demand,)): 1}
        sizes = {
            wide: leaf for leaf, wide, _ in leaves(what.trees[0, (demand,)], 10, 3)
        }  # fmt: skip
        assert what.forms[sizes[long]].count == demand
        assert sizes[10 - long] is None


def test_two_rests_beside_each_other_are_one():
    both = Split(ACROSS, 3, Split(ALONG, 1, None, None), None)
    assert tidied(both) is None
    assert tidied(Split(ALONG, 2, both, 0)) == Split(ALONG, 2, None, 0)
    assert tidied(Split(ALONG, 2, 0, both)) == Split(ALONG, 2, 0, None)


@pytest.mark.parametrize(
    ("outer", "cuts"),
    [
        ((4, 3), 0),
        ((4, 5), Split(ALONG, 3, 0, None)),
        ((6, 3), Split(ACROSS, 4, 0, None)),
        # 2 of 8 by 6 in all: 2 × 6 beside is less than 3 × 6 above.
        ((6, 6), Split(ALONG, 3, Split(ACROSS, 4, 0, None), None)),
        ((7, 5), Split(ACROSS, 4, Split(ALONG, 3, 0, None), None)),
        # As large one way as the other: across comes first.
        ((8, 6), Split(ACROSS, 4, Split(ALONG, 3, 0, None), None)),
    ],
)
def test_the_larger_rest_stays_whole(outer, cuts):
    assert padded(0, (4, 3), outer) == cuts


def test_the_largest_remnant_of_sheets_that_cost_the_same():
    """Four of 3 by 4 and one of 3 by 4 stays on one sheet of 9 by 4 each, or 6 by 4 on the one."""
    what = flat(rows((3, 4, 4)), (9, 4))
    even = {(0, (2,)): 2}
    limits = [((1,), 2)]
    found, is_known = largest_remnant(what, even, limits, lambda: 9000)
    assert (found, is_known) == ({(0, (3,)): 1, (0, (1,)): 1}, True)
    # Without time nothing is changed, and nothing is claimed.
    assert largest_remnant(what, even, limits, lambda: 0) == (even, False)
    # A plan that has it already is not searched.
    assert largest_remnant(what, found, limits, lambda: 0) == (found, True)


def test_no_more_is_spent_on_a_remnant():
    """Of sheets of 6 and 9 by 4 for 1.00 and 2.00: three of 3 by 4 do not go onto two of 9."""
    parts = rows((3, 4, 3))
    forms = forms_of(parts, int, F(0), F(9))
    kinds = [Kind(24, 9), Kind(36, 9)]
    what = Flat(forms, [3], kinds, [(6, 4), (9, 4)], Rest(0, 0))
    plain = {(0, (2,)): 1, (0, (1,)): 1}
    for limits, wanted in (
        ([((1, 2), 2)], plain),
        # With 3.00 to spend and no limit of area, two stay of one of 9.
        ([((1, 2), 3)], {(0, (2,)): 1, (1, (1,)): 1}),
        ([((1, 2), 3), ((24, 36), 48)], plain),
    ):
        assert largest_remnant(what, plain, limits, lambda: 9000) == (wanted, True)
    # There is but one of 9.
    what.kinds = [Kind(24, 9), Kind(36, 0)]
    assert largest_remnant(what, plain, [((1, 2), 3)], lambda: 9000) == (plain, True)


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
def test_each_sheet_is_laid_out_for_its_largest_remnant(monkeypatch, is_ripped):
    """Where not all fillings are looked at, those of the pieces of each sheet still are."""
    monkeypatch.setattr(fillers, "_STEPS", 0)
    chance, compared = random.Random(23 + is_ripped), 0
    while compared < 12:
        order = some_order(chance, is_ripped)
        if by_looking_at_all(order) is None:
            continue
        plan = plan_sheets(order, lambda: 20_000, 20)
        for cut in plan.cuts:
            on_it = dict(cut.pieces)
            held = tuple(
                Part(p.name, p.length, p.width, on_it.get(at, 0), p.may_turn)
                for at, p in enumerate(order.parts)
            )
            sheet = order.sheets[cut.sheet]
            off = 2 * sheet.trim
            alone = FlatOrder((sheet,), held, order.kerf, order.keep, is_ripped)
            size = int(sheet.length - off), int(sheet.width - (0 if is_ripped else off))
            every = EveryFilling(alone).fill(*size, "rip" if is_ripped else "any")
            assert cut.largest == every[tuple(part.count for part in held)]
            compared += 1


def test_without_time_pieces_are_moved_together_where_that_leaves_more():
    """A lid of 4 by 3 in the middle of 9 by 6: in the corner it leaves 5 by 6.

    A plank of 8 by 3 and a block of 2 by 3 above it: beside the block 7 by 3 stay, and only 6 by 3
    where the end of the plank is cut off from both.
    """
    lid = flat(rows((4, 3, 1)), (9, 6))
    plank = flat(rows((8, 3, 1), (2, 3, 1)), (9, 6))
    in_the_middle = Split(ACROSS, 2, None, Split(ACROSS, 4, Split(ALONG, 3, 0, None), None))
    in_rows = Split(ALONG, 3, Split(ACROSS, 8, 0, None), Split(ACROSS, 2, 1, None))
    for what, tree, wanted in (
        (lid, in_the_middle, padded(0, (4, 3), (9, 6))),
        (plank, in_rows, in_rows),
    ):
        column = 0, (1,) * len(what.demand)
        what.fillings, what.trees[column] = None, tree
        assert largest_remnant(what, {column: 1}, [], lambda: 0) == ({column: 1}, False)
        assert what.trees[column] == wanted
