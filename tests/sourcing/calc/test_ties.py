"""Which of plans that are as good is chosen, and which needs are given up: by hand and by looking.

Each runs with the limits of one search as they are and lowered, so that what one search decides
here is decided by many there.
"""

from dataclasses import replace
from fractions import Fraction as F
from itertools import product
from random import Random

import pytest

from materials.calc.solver import Answer, Search
from materials.calc.supply import plan as plans
from materials.calc.supply.plan import (
    LARGE,
    SMALL,
    Found,
    NoPlan,
    OutOfTime,
    Ties,
    _fewest,
    best_plan,
    drop_unmet,
    exactly,
    find_least,
    is_proved,
    not_above,
    one_after_another,
    smallest_step,
)
from materials.calc.supply.program import Program, Sum, write_program
from materials.calc.supply.types import (
    Aim,
    Made,
    Need,
    New,
    Offer,
    Part,
    Problem,
    Question,
    Recipe,
)


def left() -> F:
    return F(20)


@pytest.fixture(params=[{}, {"LARGE": 0}, {"SMALL": 0}, {"AT_ONCE": 1}, {"AT_ONCE": 2}], ids=str)
def searches(request, monkeypatch) -> None:
    """How much one search takes on."""
    for name, value in request.param.items():
        monkeypatch.setattr(plans, name, value)


def need(component: str, quantity: int, price: int | None = None) -> Need:
    new = None if price is None else New(F(1), F(price), "piece")
    return Need(component, component, "piece", F(quantity), new)


def offer(key: str, brings: dict[str, int], price: str, most=1, hours=0, supplier=None) -> Offer:
    each = tuple((component, F(count)) for component, count in brings.items())
    part = Part(key, each, ((1, F(price)),), most=most)
    return Offer(key, (part,), (), F(hours), supplier)


ONE = {"board": 1}
BOARDS, SLATES = {"board": 2}, {"slate": 2}


@pytest.mark.usefixtures("searches")
@pytest.mark.parametrize(
    ("offers", "takes"),
    [
        # The same money: fewer hours.
        ([offer("a", BOARDS, "10", hours=3), offer("b", BOARDS, "10", hours=2)], {"b": 1}),
        # Less money goes before fewer hours, by the last cent.
        ([offer("a", BOARDS, "10", hours=0), offer("b", BOARDS, "9.99", hours=9)], {"b": 1}),
        # The same money and hours: one trip instead of two, though it is not what stands first.
        (
            [
                offer("a", BOARDS, "10", supplier="barn"),
                offer("b", BOARDS, "10", supplier="yard"),
                offer("c", SLATES, "10", supplier="yard"),
            ],
            {"b": 1, "c": 1},
        ),
        # A trip saved goes before things saved.
        (
            [
                offer("a", {"board": 2, "nail": 1}, "10"),
                offer("b", SLATES, "10", supplier="yard"),
                offer("c", ONE, "5", most=2, supplier="yard"),
            ],
            {"b": 1, "c": 2},
        ),
        # One thing instead of two.
        ([offer("a", ONE, "5", most=2), offer("b", BOARDS, "10")], {"b": 1}),
        # What is made counts as a thing, and so does what is new: 10.00 each way.
        ([offer("a", ONE, "5"), offer("b", BOARDS, "10")], {"b": 1}),
        # All alike: the first.
        ([offer("a", BOARDS, "10"), offer("b", BOARDS, "10")], {"a": 1}),
        ([offer(key, ONE, "5", supplier="yard") for key in "abcde"], {"a": 1, "b": 1}),
        (
            [offer("a", ONE, "6"), *(offer(key, ONE, "5", supplier="yard") for key in "bcde")],
            {"b": 1, "c": 1},
        ),
    ],
)
def test_among_plans_of_least_money(offers: list[Offer], takes: dict[str, int]) -> None:
    wanted = {component for one in offers for component, _ in one.parts[0].brings}
    needs = [need(name, 2, 20) for name in ("board", "slate") if name in wanted]
    needs += [need("nail", 0, 20)]
    plan = best_plan(Problem(2, tuple(needs), tuple(offers)), Question(), left)
    assert (plan.takes, plan.new, plan.is_proved) == (takes, {}, True)


@pytest.mark.usefixtures("searches")
def test_the_first_offer_goes_before_the_two_that_follow_it() -> None:
    """The first and the last bring all four for 20.00, and so do the second and the third."""
    pairs = {"a": "pq", "b": "pr", "c": "qs", "d": "p", "e": "rs"}
    offers = tuple(
        offer(key, dict.fromkeys(names, 1), "10", supplier="yard") for key, names in pairs.items()
    )
    needs = tuple(need(name, 1) for name in "pqrs")
    plan = best_plan(Problem(2, needs, offers), Question(), left)
    assert (plan.money, plan.takes) == (20, {"a": 1, "e": 1})


@pytest.mark.usefixtures("searches")
@pytest.mark.parametrize(
    ("covers", "price", "makes", "extra", "new", "made"),
    [
        # One pack of both new, or one made of each of two boards.
        (2, 10, 1, 5, {"peg": 1}, {}),
        # Two new, or both made of one board.
        (1, 5, 2, 10, {}, {"saw": 1}),
    ],
)
def test_what_is_new_or_made_is_a_thing_too(covers, price, makes, extra, new, made) -> None:
    peg = Need("peg", "Peg", "piece", F(2), New(F(covers), F(price), "pack"))
    board = Need("board", "Board", "piece", F(0), None, F(2))
    saw = Recipe("saw", "board", F(1), (Made("peg", F(makes)),), F(extra))
    plan = best_plan(Problem(2, (peg, board), (), (saw,)), Question(), left)
    assert (plan.money, plan.new, plan.made) == (10, new, made)


@pytest.mark.usefixtures("searches")
def test_among_plans_of_fewest_hours_the_least_money() -> None:
    offers = (offer("a", BOARDS, "10", hours=1), offer("b", BOARDS, "9", hours=1))
    asked = Question(Aim.HOURS)
    plan = best_plan(Problem(2, (need("board", 2),), offers), asked, left)
    assert (plan.takes, plan.money, plan.objective) == ({"b": 1}, 9, 1)


@pytest.mark.usefixtures("searches")
@pytest.mark.parametrize(("rate", "takes"), [(4, "b"), (5, "a"), (6, "a")])
def test_where_both_weigh_the_same_the_fewer_hours(rate: int, takes: str) -> None:
    """10.00 and an hour, or 5.00 and two."""
    offers = (offer("a", BOARDS, "10", hours=1), offer("b", BOARDS, "5", hours=2))
    asked = Question(Aim.BOTH, rate=rate)
    plan = best_plan(Problem(2, (need("board", 2),), offers), asked, left)
    assert plan.takes == {takes: 1}


@pytest.mark.usefixtures("searches")
@pytest.mark.parametrize("ties", list(Ties))
@pytest.mark.parametrize("hours", [(3, 2), (2, 3)])
def test_however_far_ties_are_broken_it_is_as_good(ties: Ties, hours: tuple[int, int]) -> None:
    offers = [offer(key, BOARDS, "10", hours=n) for key, n in zip("ab", hours, strict=True)]
    program = write_program(problem := Problem(2, (need("board", 2),), tuple(offers)))
    plan = best_plan(problem, Question(), left, program, ties=ties)
    assert (plan.money, plan.bound) == (10, 10)
    assert ties is Ties.NONE or plan.hours == 2
    forced = [exactly(program.taken["a"], 1), exactly(program.taken["b"], 0)]
    plan = best_plan(problem, Question(), left, program, forced, ties)
    assert (plan.takes, plan.hours) == ({"a": 1}, hours[0])


@pytest.mark.usefixtures("searches")
def test_needs_are_given_up_as_few_as_can_be_and_the_last_ones() -> None:
    """Things sawn from so many boards each, of few boards: every choice of them is looked at."""
    chance, names = Random(5), "abcde"
    some = [([chance.randint(1, 3) for _ in names], chance.randint(1, 8)) for _ in range(12)]
    # The second and third are given up, or the first and last: the first is kept.
    for uses, boards in [([4, 3, 3, 1, 2], 7), *some]:
        board = Need("board", "Board", "piece", F(0), None, F(boards))
        saws = [
            Recipe(name, "board", F(count), (Made(name, F(1)),))
            for name, count in zip(names, uses, strict=True)
        ]
        needs = (board, *(need(name, 1) for name in names))
        best = min(
            (sum(missed), missed)
            for missed in product((0, 1), repeat=5)
            if sum(count for count, miss in zip(uses, missed, strict=True) if not miss) <= boards
        )[1]
        rest, unmet = drop_unmet(Problem(2, needs, (), tuple(saws)), left)
        assert [one.component for one in unmet] == [
            name for name, miss in zip(names, best, strict=True) if miss
        ]
        assert [one.quantity for one in rest.needs] == [0, *(1 - miss for miss in best)]


def test_a_constant_counts_in_what_is_found_and_forced() -> None:
    """7 and three things at least, of five there are."""
    program = program_of(5)
    things = Sum({0: F(1)}, F(7))
    program.at_least(things, Sum(constant=F(10)))
    found = find_least(program, things, (), left)
    assert (found.least, found.bound, found.values) == (10, 10, (3,))
    found = find_least(program, things, [exactly(things, 11)], left)
    assert (found.least, found.bound, found.values) == (11, 11, (4,))
    found = find_least(program, things.times(F(-1)), [not_above(things, F("11.5"))], left)
    assert (found.least, found.bound, found.values) == (-11, -11, (4,))


@pytest.mark.parametrize(
    ("found", "raised"), [(Search(None), OutOfTime), (Search(None, is_impossible=True), NoPlan)]
)
def test_what_was_not_found_in_time_is_not_called_impossible(monkeypatch, found, raised) -> None:
    monkeypatch.setattr(plans, "search", lambda *_: found)
    with pytest.raises(raised):
        find_least(program_of(1), Sum(), (), left)


def test_what_is_found_without_a_bound_has_none(monkeypatch) -> None:
    found = Search(Answer((1,), F(5), None, False))
    monkeypatch.setattr(plans, "search", lambda *_: found)
    assert find_least(program_of(1), Sum(), (), left) == Found(F(5), None, (1,))


def test_what_no_search_proved_is_not_called_proved(monkeypatch) -> None:
    """Searched for both aims at once or for one: 10.00 and two hours."""
    offers = (offer("a", BOARDS, "10", hours=3), offer("b", BOARDS, "10", hours=2))
    problem = Problem(2, (need("board", 2),), offers)
    real, seen = find_least, []

    def unproved(*args) -> Found:
        seen.append(args)
        return replace(real(*args), bound=None)

    monkeypatch.setattr(plans, "find_least", unproved)
    plan = best_plan(problem, Question(), left)
    assert (plan.objective, plan.bound, plan.is_proved) == (10, None, False)
    assert len(seen) == 2


@pytest.mark.parametrize("seconds", [0, -1])
def test_nothing_is_searched_for_when_no_time_is_left(seconds: int) -> None:
    with pytest.raises(OutOfTime):
        find_least(program_of(1), Sum(), (), lambda: F(seconds))


def test_hours_have_a_rate_only_where_both_weigh() -> None:
    offers = (offer("a", BOARDS, "10"), offer("b", BOARDS, "9", hours=9))
    problem = Problem(2, (need("board", 2),), offers)
    plan = best_plan(problem, Question(Aim.MONEY, rate=50), left)
    assert (plan.takes, plan.objective) == ({"b": 1}, 9)


@pytest.mark.parametrize(
    ("quantity", "spare", "is_unmet"), [(3, 0, True), (3, 2, True), (3, 3, False), (0, 0, False)]
)
def test_what_is_on_hand_is_not_unmet(quantity: int, spare: int, is_unmet: bool) -> None:
    lime = Need("lime", "Lime", "bag", F(quantity), None, F(spare))
    rest, unmet = drop_unmet(Problem(2, (lime, need("board", 2, 5))), left)
    assert unmet == ((lime,) if is_unmet else ())
    assert [one.quantity for one in rest.needs] == [0 if is_unmet else quantity, 2]


@pytest.mark.parametrize(("quantity", "is_unmet"), [(3, False), (4, True)])
def test_what_is_on_hand_and_offered_together_may_do(quantity: int, is_unmet: bool) -> None:
    lime = Need("lime", "Lime", "bag", F(quantity), None, F(2))
    _, unmet = drop_unmet(Problem(2, (lime,), (offer("a", {"lime": 1}, "5"),)), left)
    assert unmet == ((lime,) if is_unmet else ())


@pytest.mark.parametrize(("bound", "expected"), [(4, False), (5, True), (6, True), (None, False)])
def test_proved_is_what_nothing_lies_below(bound: int | None, expected: bool) -> None:
    assert is_proved(Found(F(5), None if bound is None else F(bound), ())) is expected


@pytest.mark.parametrize(
    ("factors", "step"),
    [(["1/2", "3/4"], "1/4"), (["6", "9"], "3"), (["2/3", "-4/3"], "2/3"), ([], "1")],
)
def test_the_least_that_two_values_of_a_sum_are_apart(factors: list[str], step: str) -> None:
    target = Sum({place: F(factor) for place, factor in enumerate(factors)}, F(1, 7))
    assert smallest_step(target) == F(step)


def program_of(*tops: int | None) -> Program:
    made = Program(2)
    for top in tops:
        made.variable(top)
    return made


@pytest.mark.parametrize("first", [{0: 2, 1: 3}, {0: F(1, 2), 1: F(1, 2)}, {0: 5}, {}])
@pytest.mark.parametrize("second", [{0: -1, 1: F(3, 4)}, {1: 7, 2: -7}, {2: F(1, 3)}])
def test_one_sum_orders_as_one_after_another(first: dict, second: dict) -> None:
    program = program_of(3, 2, 4)
    aims = (Sum(first, F(1)), Sum(second, F(5)))
    both = one_after_another(program, aims)
    assert both is not None
    values = list(product(range(4), range(3), range(5)))
    told = sorted(values, key=lambda v: (both.of(v), v))
    assert told == sorted(values, key=lambda v: (*(aim.of(v) for aim in aims), v))


def test_what_is_too_large_for_one_sum_is_two() -> None:
    one = Sum({0: F(1)})
    assert one_after_another(program_of(1, None), (one, Sum({1: F(1)}))) is None
    # 0 to 9 of the second lie between two of the first, which so count ten.
    assert one_after_another(program_of(1, 9), (Sum({0: F(LARGE // 10)}), one)) is not None
    large = Sum({0: F(LARGE // 10), 1: F(LARGE // 10 + 1)})
    assert one_after_another(program_of(1, 9), (large, Sum({1: F(1)}))) is None
    assert one_after_another(program_of(1, 9), (large.times(F(-1)), Sum({1: F(1)}))) is None


@pytest.mark.parametrize(
    ("tops", "targets"), [((2, SMALL), 2), ((2, SMALL - 2), 1), ((2, None), 2), ((2, 3), 1)]
)
def test_trips_are_counted_before_things(tops: tuple, targets: int) -> None:
    program = program_of(1, *tops)
    program.trips = Sum({0: F(1)})
    program.steps, program.new = {"a": Sum({1: F(1)})}, {"b": Sum({2: F(1)})}
    found = _fewest(program)
    assert len(found) == targets
    # One trip with nothing, or none with as much as there can be.
    some = (0, 2, tops[1] or 99)
    assert tuple(one.of(some) for one in found) < tuple(one.of((1, 0, 0)) for one in found)
    assert found[-1].of((0, 2, 1)) == 3
