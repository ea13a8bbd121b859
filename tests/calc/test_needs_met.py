"""What is got of what is needed, by value; worked by hand, with our own numbers."""

from fractions import Fraction

from materials.calc.progress.needs import NeedsMet, needs_met
from tests.calc.builders import F, part, positions

TAX = Fraction(1, 10)


def met_of(*parts):
    return needs_met(positions(*parts).values(), TAX)


def test_a_door_weighs_more_than_many_screws():
    # 100 screws at 0.10 new are all there, one of two doors at 200: (11 + 220) of (11 + 440).
    screws = part("Screw", required=100, received=100, received_cost=1, retail_price="0.1")
    doors = part("Door", required=2, received=1, received_cost=50, retail_price=200)
    assert met_of(screws, doors) == NeedsMet(F(231), F(451), ())


def test_without_a_new_price_the_average_weighs():
    # 4 of 10 at 30 for the 4: 7.50 each, landed with its tax.
    assert met_of(part(required=10, received=4, received_cost=30)) == NeedsMet(F(30), F(75), ())


def test_waste_is_needed_too_and_what_is_ordered_counts():
    # 10 and a tenth for waste: 11 at 2.20; 5 received and 3 ordered.
    beam = part(
        required=10, waste_share="0.1", retail_price=2, received=5, received_cost=5, ordered=3
    )
    assert met_of(beam) == NeedsMet(F("17.6"), F("24.2"), ())


def test_more_than_needed_is_no_more_than_all():
    plank = part(required=3, retail_price=1, received=9, received_cost=9)
    assert met_of(plank) == NeedsMet(F("3.3"), F("3.3"), ())


def test_what_has_no_price_is_named_and_what_needs_nothing_is_not():
    assert met_of(
        part("Hinge", required=2),
        part("Nothing", required=0),
        part("Unstated", received=3, received_cost=3, retail_price=4),
    ) == NeedsMet(F(0), F(0), ("Hinge",))


def test_nothing_at_all():
    assert met_of() == NeedsMet(F(0), F(0), ())
