"""A lifetime cost comparison, and an index of prices, for the demo build; all of it invented."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User

from ...lifecycle.calc.index_text import parse_index
from ...lifecycle.queries.comparisons import start_values
from ...lifecycle.services.comparisons import save_life_choice
from ...lifecycle.services.indexes import save_cost_index
from ...models import Build, CostIndex, LifeChoice
from ...queries.components import find_component

DAY = date(2026, 9, 18)
QUESTION = "North wall: paint the barn siding again, or put something up that lasts?"
INDEX_LINES = """\
2026-03 214.2
2026-04 217.9
2026-05 221.4
2026-06 219.8
2026-08 223.6 preliminary
"""


def add_life_choice(user: User, build: Build) -> None:
    """Add both to a demo build that has just been made."""
    siding = find_component(build, "Barn siding")
    if siding is None:
        return
    begun = start_values(build, siding, DAY)
    so_far, new = begun.alternatives[0], begun.alternatives[-1]
    save_life_choice(
        actor=user,
        build=build,
        choice=LifeChoice(),
        values={
            "name": QUESTION,
            "component": siding,
            "quantity_text": begun.quantity_text,
            "noted_on": DAY,
            "study_years": 40,
            "rate_percent": Decimal("2.5"),
            "note": "Lives and upkeep are our own guesses, from walls we have seen; the lows and"
            " highs are where we would still not be surprised.",
        },
        alternatives=[
            _alternative(
                "Barn siding, painted",
                so_far["first_amount"],
                "96 18 14 26",
                again_amount=Decimal(1450),
                upkeep_every=6,
                upkeep_amount=Decimal(185),
                upkeep_hours=Decimal(26),
                basis="Average landed cost so far. Lasted 20 years on the Tully barn, painted"
                " three times. There will hardly be such boards again, so replaced with new.",
            ),
            _alternative(
                "New boards, oiled",
                new["first_amount"],
                "70 25 18 30",
                upkeep_every=4,
                upkeep_amount=Decimal(110),
                upkeep_hours=Decimal(14),
                basis="New price with tax. Oiling as the sawmill said; the life is our guess.",
            ),
            _alternative(
                "Ribbed steel over battens",
                Decimal(3150),
                "44 40 30 50",
                first_low_amount=Decimal(2800),
                first_high_amount=Decimal(3700),
                basis="Told on the telephone by the roofing supplier; its life is our guess.",
            ),
        ],
    )
    save_cost_index(
        actor=user,
        build=build,
        index=CostIndex(),
        values={"name": "Sawn boards, invented", "source": "Made up for this demo"},
        months=parse_index(INDEX_LINES),
    )


def _alternative(name: str, cost: Decimal | None, components: str, **values: Any) -> dict[str, Any]:
    """A way with its hours, life, and the shortest and longest life, as four numbers."""
    hours, life, low, high = (int(number) for number in components.split())
    return {
        "name": name,
        "first_amount": cost,
        "first_hours": Decimal(hours),
        "life_years": life,
        "life_low_years": low,
        "life_high_years": high,
    } | values
