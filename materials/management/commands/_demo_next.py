"""A second, smaller build for the demo, begun from the first and estimated by it."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.contrib.auth.models import User

from ...estimates.calc.price_rise import PriceRise
from ...estimates.services import estimate_from, save_estimate
from ...models import Build, BuildArea
from ...services.new_builds import CarryOver, start_from

DAY = date(2026, 9, 18)
NAME = "Quarry Field pump house"
FLOOR = Decimal(210)


def add_next(user: User, first: Build) -> None:
    """Begin it and keep one estimate, at prices risen by 3 % a year."""
    build = start_from(
        actor=user,
        earlier=first,
        values={
            "name": NAME,
            "currency": first.currency,
            "time_zone": first.time_zone,
            "retail_tax_percent": first.retail_tax_percent,
            "own_labour_rate": first.own_labour_rate,
        },
        carry_over=CarryOver(required=False, tasks=False),
        areas=[(BuildArea.FLOOR, FLOOR, "sq ft")],
    )
    rise = PriceRise(DAY, yearly=Fraction(3, 100))
    floor = build.areas.get(label=BuildArea.FLOOR)
    made, values, pasts = estimate_from([first], build=build, area=floor, rise=rise)
    values["note"] = "Before the first board is bought."
    save_estimate(actor=user, build=build, made=made, values=values, pasts=pasts)
