"""A third build for the demo, in which nearly everything is made of something else."""

import io
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import Image, ImageDraw

from ...choices import State
from ...estimates.calc.price_rise import PriceRise
from ...estimates.services import estimate_from, save_estimate
from ...lifecycle.services.comparisons import save_life_choice
from ...models import Build, BuildArea, LifeChoice
from ...queries.components import list_components
from ...queries.lessons import list_lessons
from ...queries.many_lines import get_many_lines
from ...services.got_and_made import log_and_make
from ...services.imports import ImportPlan, import_plan
from ...services.many_lines import give_to_lines, versions_seen
from ...services.photos import add_to_pile
from ._demo_plans import add_cutting_plans, add_takeoffs, read_rows

DAY = date(2026, 9, 18)
NUMBERS = frozenset(
    "price made_hours made_extra first_amount first_hours again_amount again_hours drag_amount"
    " drag_hours rate_percent".split()
)


def add_boat_shed(user: User, plan: ImportPlan, folder: Path, first: Build) -> Build:
    """Load its workbook, and with it what a workbook does not carry."""
    build = import_plan(actor=user, plan=plan, owner=user)
    more = read_rows(folder, "more.json")
    add_takeoffs(user, build, folder)
    add_cutting_plans(user, build, folder)
    _make_at_once(user, build, **more["made_at_once"])
    _give_payer(user, build, **more["payer"])
    _compare(user, build, **more["comparison"])
    for place, caption in enumerate(more["pile"]):
        add_to_pile(actor=user, build=build, files=[_photo(place)], caption=caption)
    _estimate(user, build, first)
    return build


def _day(text: str) -> date:
    """A day that has come, whatever this machine's clock says."""
    return min(date.fromisoformat(text), timezone.localdate())


def _typed(values: dict[str, Any]) -> dict[str, Any]:
    """Values with their numbers as numbers."""
    return {name: Decimal(value) if name in NUMBERS else value for name, value in values.items()}


def _make_at_once(
    user: User, build: Build, day: str, entry: dict[str, Any], of: str, made: dict[str, str]
) -> None:
    """Log what was got together with what was made of it."""
    parts = {part.name: part for part in list_components(build)}
    values = {"component": parts[of], "bought_on": _day(day), "state": State.RECEIVED}
    log_and_make(
        actor=user,
        build=build,
        entry=values | _typed(entry),
        outputs=[{"component": parts[name], "made_text": text} for name, text in made.items()],
        on=_day(day),
    )


def _give_payer(user: User, build: Build, name: str, purchases: list[str]) -> None:
    """Say of several purchases at once who paid."""
    chosen = build.purchases.filter(number__in=purchases)
    keys = list(chosen.values_list("lines__pk", flat=True))
    seen = versions_seen(get_many_lines(build, keys))
    give_to_lines(
        actor=user,
        build=build,
        keys=keys,
        seen=seen,
        given={"paid_by": name},
        on=_day("2026-07-11"),
    )


def _compare(
    user: User,
    build: Build,
    lesson: str,
    component: str,
    day: str,
    values: dict[str, Any],
    ways: list[dict[str, Any]],
) -> None:
    """A comparison of lifetime cost that works out what a lesson says."""
    save_life_choice(
        actor=user,
        build=build,
        choice=LifeChoice(),
        values={
            **_typed(values),
            "component": list_components(build).get(name=component),
            "lesson": list_lessons(build).get(text__startswith=lesson),
            "noted_on": date.fromisoformat(day),
        },
        alternatives=[_typed(way) for way in ways],
    )


def _estimate(user: User, build: Build, first: Build) -> None:
    """What the first build, unfinished as it is, says about this one."""
    floor = build.areas.get(label=BuildArea.FLOOR)
    rise = PriceRise(DAY, yearly=Fraction(3, 100))
    made, values, pasts = estimate_from([first], build=build, area=floor, rise=rise)
    values["note"] = "By what is finished of the seed house."
    save_estimate(actor=user, build=build, made=made, values=values, pasts=pasts)


def _photo(place: int) -> SimpleUploadedFile:
    """A drawn stand-in for a photo: a stack of boards, another one each time."""
    image = Image.new("RGB", (480, 360), (196, 208, 214))
    pencil = ImageDraw.Draw(image)
    pencil.rectangle((0, 270, 480, 360), fill=(120, 112, 88))
    for row in range(5):
        left, top = 40 + 12 * ((row * 7 + place * 5) % 6), 90 + 36 * row
        shade = 150 + 14 * ((row + place) % 4)
        pencil.rectangle((left, top, left + 330, top + 30), fill=(shade, shade - 40, 70))
        pencil.line((left, top + 30, left + 330, top + 30), fill=(70, 52, 34), width=2)
    stream = io.BytesIO()
    image.save(stream, "PNG")
    return SimpleUploadedFile(f"stack-{place}.png", stream.getvalue(), content_type="image/png")
