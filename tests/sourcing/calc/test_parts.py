"""What a sourcing plan is searched with: prices by steps, the most that serves, blocks, proofs."""

from fractions import Fraction as F

import pytest

from materials.calc.supply.blocks import can_be_split, join_plans, split
from materials.calc.supply.costs import is_paid_for, is_taken
from materials.calc.supply.program import Program, Sum, _write_part, total
from materials.calc.supply.reach import most_useful
from materials.calc.supply.types import (
    Made,
    Need,
    New,
    Offer,
    Part,
    Plan,
    Problem,
    Question,
    Recipe,
)
from tests.calc.builders import charge


def need(component: str, quantity: object, does: int | None = None, spare: int = 0) -> Need:
    new = None if does is None else New(F(does), F(1), "piece")
    return Need(component, component, "piece", F(str(quantity)), new, F(spare))


def saw(source: str, uses: int, *makes: Made) -> Recipe:
    return Recipe(f"{source} saw", source, F(uses), makes)


def part(key: str, *brings: str) -> Part:
    return Part(key, tuple((each, F(1)) for each in brings), ((1, F(5)), (10, F(4))))


@pytest.mark.parametrize(("steps", "price"), [(0, 5), (1, 5), (9, 5), (10, 4), (50, 4)])
def test_the_price_of_so_many(steps: int, price: int) -> None:
    assert part("a").price_of(steps) == price


@pytest.mark.parametrize(
    ("bound", "is_proved", "gap"), [(5, True, 0), (6, True, 0), (4, False, 1), (None, False, None)]
)
def test_a_plan_is_proved_when_none_is_better(
    bound: int | None, is_proved: bool, gap: int | None
) -> None:
    plan = Plan(F(5), F(0), F(5), None if bound is None else F(bound))
    assert (plan.is_proved, plan.gap) == (is_proved, gap)


def test_an_offer_is_taken_when_anything_of_it_is() -> None:
    both = Offer("o", (part("a", "board"), part("b", "peg")))
    assert is_taken(both, {"b": 1})
    assert not is_taken(both, {"a": 0, "c": 1})


def test_less_than_a_unit_of_money_may_be_left_of_a_price() -> None:
    one = Offer("o", (part("a", "board"),), (charge("discount", "4.50"),))
    assert is_paid_for(one, {"a": 1}, 2)


class TestTheMostThatServes:
    """Boards: 10 less one to spare. Pegs, counted, are sawn out of them four at a time."""

    PEGS = Made("peg", F(4), is_counted=True)

    @pytest.mark.parametrize(("uses", "boards"), [(1, 6), (2, 8)])
    def test_of_what_is_made_and_of_new(self, uses: int, boards: int) -> None:
        """9 pegs take 3 steps: 9 boards and 3 or 6 more, new ones by the pair."""
        problem = Problem(
            2, (need("board", 10, 2, 1), need("peg", 9, 1)), (), (saw("board", uses, self.PEGS),)
        )
        assert most_useful(problem) == ({"board saw": 3}, {"board": boards, "peg": 9})

    @pytest.mark.parametrize(("is_counted", "steps"), [(True, 20), (False, 19)])
    def test_only_whole_ones_serve_where_they_are_counted(
        self, is_counted: bool, steps: int
    ) -> None:
        half = Made("peg", F(1, 2), is_counted)
        runs, _ = most_useful(Problem(2, (need("peg", "9.2"),), (), (saw("board", 1, half),)))
        assert runs == {"board saw": steps}

    def test_of_the_output_that_asks_for_most(self) -> None:
        outputs = (self.PEGS, Made("lath", F(1)), Made("chip", F(1)))
        problem = Problem(2, (need("peg", 9), need("lath", 7)), (), (saw("board", 1, *outputs),))
        assert most_useful(problem) == ({"board saw": 7}, {})

    def test_along_a_chain(self) -> None:
        chain = (saw("beam", 1, Made("board", F(2))), saw("board", 1, self.PEGS))
        problem = Problem(2, (need("beam", 0, 1), need("board", 1, 1), need("peg", 9)), (), chain)
        # 3 steps for pegs, and so 4 boards out of 2 beams.
        assert most_useful(problem) == ({"beam saw": 2, "board saw": 3}, {"beam": 2, "board": 4})

    def test_nothing_needed_takes_nothing(self) -> None:
        problem = Problem(2, (need("peg", 0, 1),), (), (saw("board", 1, self.PEGS),))
        assert most_useful(problem) == ({"board saw": 0}, {"peg": 0})

    def test_a_circle_has_no_most(self) -> None:
        circle = (saw("board", 1, self.PEGS), saw("peg", 1, Made("board", F(1))))
        problem = Problem(2, (need("board", 1, 1), need("slate", 3, 1)), (), circle)
        runs, packs = most_useful(problem)
        assert runs == {"board saw": None, "peg saw": None}
        assert packs == {"board": None, "slate": 3}


class TestBlocks:
    BOARDS, PEGS = Offer("a", (part("a1", "board"),)), Offer("b", (part("b1", "peg"),))
    NEEDS = (need("board", 1), need("peg", 1))

    def parts_of(self, *offers: Offer, recipes: tuple[Recipe, ...] = ()) -> list[list[str]]:
        return [
            [str(one.component) for one in block.needs]
            for block in split(Problem(2, self.NEEDS, offers, recipes))
        ]

    def test_what_has_nothing_in_common_is_apart(self) -> None:
        assert self.parts_of(self.BOARDS, self.PEGS) == [["board"], ["peg"]]

    @pytest.mark.parametrize(
        "recipe",
        [
            saw("board", 1, Made("peg", F(4))),
            saw("slate", 1, Made("board", F(1)), Made("peg", F(4))),
        ],
    )
    def test_a_conversion_binds(self, recipe: Recipe) -> None:
        assert self.parts_of(self.BOARDS, self.PEGS, recipes=(recipe,)) == [["board", "peg"]]

    def test_conversions_stand_with_what_they_use(self) -> None:
        """Boards are sawn into laths and into slats: none of it has to do with the pegs."""
        laths, slats = (saw("board", 1, Made(one, F(4))) for one in ("lath", "slat"))
        offers = (self.BOARDS, self.PEGS)
        boards, pegs = split(Problem(2, self.NEEDS, offers, (laths, slats)))
        assert (boards.offers, boards.recipes) == ((self.BOARDS,), (laths, slats))
        assert (pegs.offers, pegs.recipes) == ((self.PEGS,), ())

    def test_a_trip_binds_and_so_does_an_offer_of_both(self) -> None:
        trip = [Offer(one.key, one.parts, supplier="yard") for one in (self.BOARDS, self.PEGS)]
        assert self.parts_of(*trip) == [["board", "peg"]]
        both = Offer("o", (part("a1", "board"), part("b1", "peg")))
        assert self.parts_of(both) == [["board", "peg"]]

    @pytest.mark.parametrize(
        ("question", "apart"),
        [
            (Question(), True),
            (Question(most_money=5), False),
            (Question(most_hours=5), False),
            (Question(most_money=5, most_hours=5), False),
        ],
    )
    def test_a_limit_binds_all(self, question: Question, apart: bool) -> None:
        assert can_be_split(question) is apart

    def test_all_are_proved_or_none_is(self) -> None:
        one = Plan(F(5), F(1), F(5), F(4), {"a": 1}, {"x": 1}, {"r": 1}, {"x": F(1)})
        other = Plan(F(7), F(2), F(7), F(7), {"b": 2}, {"y": 2}, {"s": 2}, {"y": F(2)})
        assert join_plans([one, other]) == Plan(
            F(12), F(3), F(12), F(11), {"a": 1, "b": 2}, {"x": 1, "y": 2}, {"r": 1, "s": 2},
            {"x": F(1), "y": F(2)},
        )  # fmt: skip
        open_ = Plan(F(7), F(2), F(7), None)
        assert join_plans([one, open_]).bound is None
        assert join_plans([open_, one]).bound is None


@pytest.mark.parametrize(
    ("most", "upper"),
    [
        (1, [1]),
        (5, [1, 5]),
        (9, [1, 9]),
        (10, [1, 9, 1, 10]),
        (12, [1, 9, 1, 12]),
    ],
)
def test_a_step_of_prices_ends_before_the_next_and_with_what_there_is(most, upper):
    """5.00 each from 1 on, 4.00 from 10 on: whether of that price, and how many."""
    made = Program(2)
    visit = made.variable(1)
    offered = Part("a", (("Slat", F(1)),), ((1, F(5)), (10, F(4))), F(1), most)
    _write_part(made, offered, 0, visit)
    assert made.upper[1:] == upper


def test_sums_are_added_with_what_belongs_to_no_variable():
    both = total([Sum({0: F(1), 1: F(4)}, F(2)), Sum({0: F(3)}, F(5))])
    assert (both.parts, both.constant) == ({0: 4, 1: 4}, 7)
    assert both.of((10, 100)) == 7 + 40 + 400
    none = total([])
    assert (none.parts, none.constant) == ({}, 0)
