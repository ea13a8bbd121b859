"""A second, smaller build for the demo, begun from the first and estimated by it."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.contrib.auth.models import User

from ...estimates.calc.estimate import estimate
from ...estimates.calc.price_rise import PriceRise
from ...estimates.queries import list_pasts, list_wanted
from ...estimates.services import save_estimate
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
            "retail_tax_percent": first.retail_tax_percent,
            "own_labour_rate": first.own_labour_rate,
        },
        carry_over=CarryOver(required=False, tasks=False),
        areas=[(BuildArea.FLOOR, FLOOR, "sq ft")],
    )
    rise = PriceRise(DAY, yearly=Fraction(3, 100))
    pasts, _ = list_pasts([first], DAY, BuildArea.FLOOR, "sq ft", rise.since)
    save_estimate(
        actor=user,
        build=build,
        made=estimate(pasts, list_wanted(build, DAY), Fraction(FLOOR)),
        values={
            "made_on": DAY,
            "area_label": BuildArea.FLOOR,
            "area_qty": FLOOR,
            "area_unit": "sq ft",
            "past_count": len(pasts),
            "escalation": rise.summary(),
            "note": "Before the first board is bought.",
        },
    )
