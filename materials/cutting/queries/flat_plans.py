"""Plans of sheets and of boards that are ripped: read, worked out, shown."""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ...calc.measures import QuantityError
from ...calc.units import Unit
from ...models import CuttingPlan
from ..calc.flat.picture import Drawn, drawn
from ..calc.flat.plan import plan_sheets
from ..calc.flat.store import from_data
from ..calc.flat.types import FlatOrder, FlatPlan, Part, Sheet
from ..calc.flat.words import CAUTIONS, RULE, by, letter_of, notes, waste_percent, why
from ..calc.reading import WithUnits, write_area, write_length
from ..calc.store import StoredPlanError
from ..calc.types import CuttingError
from ..models import CuttingMethod

# A page waits no longer than this for the best plan; it shows the best one found till then.
WEB_SECONDS = 8


def flat_order_of(
    method: str,
    texts: tuple[str, str],
    hand: Iterable[Any],
    buy: Iterable[Any],
    needs: Iterable[Any],
) -> tuple[FlatOrder, Unit]:
    """The order of typed rows (records or their like), and the unit its lengths are written in.

    ``texts``: saw cut, and how narrow a remnant may be. Raises QuantityError.
    """
    lengths = WithUnits()
    read = lengths.read

    def sheet(row: Any, price: Fraction | None, count: int | None, is_on_hand: bool) -> Sheet:
        size = read(row.length_text), read(row.width_text)
        name = f"{row.length_text} by {row.width_text}"
        return Sheet(name, *size, price, count, read(row.trim_text), is_on_hand)

    sheets = [sheet(row, None, row.count, True) for row in hand]
    sheets += [
        sheet(row, None if row.price is None else Fraction(row.price), row.most, False)
        for row in buy
    ]
    is_ripped = method == CuttingMethod.RIPPED
    parts = []
    for row in needs:
        size = read(row.length_text), read(row.width_text)
        # A board that is ripped yields neither turned pieces nor triangles.
        is_triangle = row.is_triangle and not is_ripped
        corner = read(row.corner_text) if is_triangle and row.corner_text else None
        may_turn = row.may_turn and not is_ripped
        name = f"{row.length_text} by {row.width_text}{' triangle' if is_triangle else ''}"
        parts.append(Part(name, *size, row.count, may_turn, is_triangle, corner))
    kerf, keep = read(texts[0]), read(texts[1])
    if not keep:
        keep = min((min(part.length, part.width) for part in parts), default=Fraction(0))
    order = FlatOrder(tuple(sheets), tuple(parts), kerf, keep, is_ripped)
    return order, lengths.unit


def work_out_flat(order: FlatOrder, seconds: int = WEB_SECONDS) -> FlatPlan:
    """The best plan found in so many seconds. Raises CuttingError."""
    end = time.monotonic_ns() + seconds * 10**9
    return plan_sheets(order, lambda: max(0, (end - time.monotonic_ns()) // 10**6), seconds)


@dataclass(frozen=True)
class ShownFlat:
    """A plan as a page shows it; lengths and areas are texts.

    ``to_buy``: (text for the short form, count, size, price of one or None, cost or None).
    ``off_cuts``: how many remnants of which size are kept.
    """

    order: FlatOrder
    plan: FlatPlan
    unit: Unit
    sheets: tuple[Drawn, ...]
    waste: str
    used: str
    percent: Fraction
    keep_from: str
    pieces: tuple[tuple[str, int, str, Any], ...]
    boards: tuple[tuple[str, int, str], ...]
    to_buy: tuple[tuple[str, int, str, Fraction | None, Fraction | None], ...]
    off_cuts: tuple[tuple[int, str], ...]
    why: tuple[str, ...]
    notes: tuple[str, ...]
    rule: str = RULE
    cautions: tuple[str, ...] = CAUTIONS
    is_flat: bool = True

    @property
    def thing(self) -> str:
        """What is cut."""
        return "boards" if self.order.is_ripped else "sheets"

    @property
    def remnants(self) -> int:
        """How many remnants are kept."""
        return sum(count for count, _ in self.off_cuts)

    @property
    def is_stretched(self) -> bool:
        """Whether something is drawn wider than it is."""
        return any(sheet.is_stretched for sheet in self.sheets)


def show_flat(
    order: FlatOrder,
    unit: Unit,
    plan: FlatPlan,
    components: Iterable[Any],
    money: Callable[[Fraction], str],
) -> ShownFlat:
    """What a page shows of a plan."""

    def length(value: Fraction) -> str:
        return write_length(value, unit)

    def area(value: Fraction) -> str:
        return write_area(value, unit)

    counts: dict[int, int] = {}
    kept: dict[tuple[Fraction, Fraction], int] = {}
    for cut in plan.cuts:
        counts[cut.sheet] = counts.get(cut.sheet, 0) + cut.count
        for size in remnants_of(cut.boxes):
            kept[size] = kept.get(size, 0) + cut.count
    used = sorted(counts.items())
    to_buy = []
    for place, count in used:
        sheet = order.sheets[place]
        if not sheet.is_on_hand:
            cost = None if sheet.price is None else sheet.price * count
            text = f"{count} @ {sides_text((sheet.length, sheet.width), unit)}"
            to_buy.append((text, count, sheet.name, sheet.price, cost))
    largest = sorted(kept.items(), key=lambda one: (-one[0][0] * one[0][1], one))
    return ShownFlat(
        order,
        plan,
        unit,
        tuple(drawn(order, plan, length)),
        area(plan.waste),
        area(plan.used),
        waste_percent(plan),
        length(order.keep),
        tuple(
            (letter_of(place), part.count, part.name, component)
            for place, (part, component) in enumerate(zip(order.parts, components, strict=True))
        ),
        tuple(
            (order.sheets[place].name, count, "on hand" if order.sheets[place].is_on_hand else "")
            for place, count in used
        ),
        tuple(to_buy),
        tuple((count, by(size, length)) for size, count in largest),
        tuple(why(plan, money, area)),
        tuple(notes(order, plan)),
    )


def remnants_of(boxes: Iterable[Any]) -> list[tuple[Fraction, Fraction]]:
    """Sizes of what stays of one sheet."""
    return [(box.wide, box.tall) for box in boxes if box.kind == "remnant"]


def sides_text(size: tuple[Fraction, Fraction], unit: Unit) -> str:
    """A length and a width that quantities can be counted in: “8 ft x 4 ft”."""
    from .plans import size_text

    return " x ".join(size_text(side, unit) for side in size)


def read_stored_flat(plan: CuttingPlan, money: Callable[[Fraction], str]) -> ShownFlat | None:
    """What is stored of a plan, ready to be shown; None where it has to be worked out anew."""
    needs = list(plan.needs.all())
    try:
        texts = plan.kerf_text, plan.keep_text
        order, unit = flat_order_of(plan.method, texts, plan.hand.all(), plan.buy.all(), needs)
        stored = from_data(plan.result, order)
        return show_flat(order, unit, stored, [need.component for need in needs], money)
    except (QuantityError, StoredPlanError, CuttingError, ValueError, ZeroDivisionError):
        return None
