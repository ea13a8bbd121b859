"""What holds for every build: exact splits, no cost lost or made, no figure from the order."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from materials.calc.costing import cost_purchase
from materials.calc.money import round_half_up, split_amount
from materials.calc.prices import highest_price
from materials.calc.reports import CostSheet, make_cost_sheet
from materials.calc.stock import work_out_positions
from materials.calc.types import (
    AreaInput,
    Basis,
    BuildInput,
    ChargeInput,
    ComponentInput,
    ElementInput,
    LabourInput,
    LabourKind,
    LineInput,
    PercentOn,
    PurchaseInput,
    SourceInput,
)
from tests.calc.builders import F, made, worked
from tests.searches import TIMES

checked = settings(max_examples=120 * TIMES, deadline=None, derandomize=True, database=None)

AMOUNT = st.integers(0, 50_000).map(lambda cents: Decimal(cents) / 100)
QUANTITY = st.integers(0, 400).map(lambda quarters: F(quarters, 4))
SHARE = st.sampled_from([F(1), F(3, 4), F(1, 3), F(0)])
PLACES = st.integers(0, 4)
KEYS = "abcdef"


@st.composite
def purchases(draw: st.DrawFn) -> PurchaseInput:
    """Up to five lines, priced every way, and up to four charges."""
    has_lot = draw(st.booleans())
    lines = []
    for key in KEYS[: draw(st.integers(1, 5))]:
        how = draw(st.sampled_from(["unit", "line", "none"])) if lines or not has_lot else "none"
        lines.append(
            LineInput(
                key,
                draw(QUANTITY),
                draw(SHARE),
                unit_price=draw(AMOUNT) / 7 if how == "unit" else None,
                priced_units=draw(QUANTITY),
                line_price=draw(AMOUNT) if how == "line" else None,
                lot_weight=draw(AMOUNT),
                retail_price=draw(st.none() | AMOUNT.map(F)),
            )
        )
    return PurchaseInput(
        draw(PLACES),
        tuple(lines),
        tuple(draw(charges(i)) for i in range(draw(st.integers(0, 4)))),
        draw(AMOUNT) if has_lot else None,
        draw(st.none() | st.sampled_from(Basis)),
    )


@st.composite
def charges(draw: st.DrawFn, key: int) -> ChargeInput:
    size = draw(st.sampled_from(["amount", "percent", "distance"]))
    return ChargeInput(
        key,
        draw(st.sampled_from(["haulage", "discount", "sales tax"])),
        amount=draw(AMOUNT) if size == "amount" else None,
        percent=draw(st.integers(0, 999)) / F(20) if size == "percent" else None,
        percent_on=draw(st.sampled_from(PercentOn)),
        distance=draw(QUANTITY) if size == "distance" else None,
        distance_rate=Decimal("0.67"),
        spread_by=draw(st.sampled_from(Basis)),
    )


@st.composite
def builds(draw: st.DrawFn) -> BuildInput:
    """Components with conversions that only go forward, labour, sources and elements."""
    count = draw(st.integers(1, 6))
    few = st.sampled_from([F(0), F(0), F(1), F(5, 2), F(7)])
    parts = [
        ComponentInput(
            key,
            key,
            element=draw(st.sampled_from([None, "x", "y"])),
            required=draw(st.none() | QUANTITY),
            retail_price=draw(st.none() | QUANTITY),
            would_buy_new=draw(st.integers(0, 5)) > 0,
            received=draw(QUANTITY),
            received_cost=F(draw(AMOUNT)),
            unknown_lines=int(draw(st.integers(0, 7)) == 0),
            ordered=draw(few),
            ordered_cost=draw(few),
            moved_in=draw(few),
            moved_in_cost=draw(few),
            unknown_transfers=int(draw(st.integers(0, 9)) == 0),
            moved_out=draw(few),
            moved_out_cost=draw(few),
            **{fate: draw(few) for fate in ("on_hand", "scrapped", "given_away", "sold", "moved")},
            proceeds=draw(few),
        )
        for key in KEYS[:count]
    ]
    steps = []
    for _ in range(draw(st.integers(0, 6)) if count > 1 else 0):
        source = draw(st.integers(0, count - 2))
        targets = draw(st.sets(st.integers(source + 1, count - 1), min_size=1, max_size=3))
        outputs = [made(KEYS[i], draw(few), draw(st.none() | QUANTITY)) for i in sorted(targets)]
        steps.append(worked(KEYS[source], draw(few), *outputs, extra=draw(few)))
    entry = st.builds(LabourInput, st.sampled_from(LabourKind), few, few, few)
    arrival = st.builds(
        SourceInput,
        st.sampled_from(["salvage", "seconds", "retail"]),
        st.sampled_from(KEYS[:count]),
        QUANTITY,
        QUANTITY,
    )
    return BuildInput(
        "Shed",
        "USD",
        2,
        components=tuple(draw(st.permutations(parts))),
        conversions=tuple(draw(st.permutations(steps))),
        labour=tuple(draw(st.lists(entry, max_size=4))),
        sources=tuple(draw(st.lists(arrival, max_size=4))),
        elements=(ElementInput("x", "A10", "X"), ElementInput("y", "B10", "Y", F(9))),
        areas=(AreaInput("floor", "Floor area", draw(few), "sq ft"),),
        budget=draw(st.none() | QUANTITY),
        retail_tax_share=draw(st.sampled_from([F(0), F(8, 100)])),
        own_labour_rate=draw(st.none() | few),
    )


@checked
@given(
    st.integers(-(10**11), 10**11),
    st.lists(st.fractions(0, 10**6, max_denominator=997), min_size=1, max_size=12),
    PLACES,
)
def test_a_split_is_exact_fair_and_in_order(
    units: int, weights: list[Fraction], places: int
) -> None:
    assume(any(weights))
    total = Decimal(units).scaleb(-places)
    parts = split_amount(total, weights, places)
    assert sum(parts) == total
    assert parts == [-part for part in split_amount(-total, weights, places)]
    unit, whole = F(1, 10**places), sum(weights, F(0))
    for part, weight in zip(parts, weights, strict=True):
        assert abs(F(part) - F(total) * weight / whole) < unit
        assert weight or not part
    # Odd units go to the largest remainders, the earlier of two alike first.
    exact = [abs(F(total)) * weight / whole / unit for weight in weights]
    order = sorted(range(len(parts)), key=lambda i: (-(exact[i] % 1), i))
    got_one = [abs(F(parts[i])) / unit > exact[i] for i in order if exact[i] % 1]
    assert got_one == sorted(got_one, reverse=True)


@checked
@given(st.decimals(-(10**9), 10**9, allow_nan=False, places=7), PLACES)
def test_rounding_agrees_with_the_decimal_library(value: Decimal, places: int) -> None:
    expected = value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    assert round_half_up(value, places) == round_half_up(F(value), places) == expected


@checked
@given(st.integers(-(10**12), 10**12), PLACES)
def test_halves_are_rounded_like_the_decimal_library(units: int, places: int) -> None:
    half = (Decimal(units) + Decimal("0.5")).scaleb(-places)
    expected = half.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    assert round_half_up(half, places) == expected


@checked
@given(purchases())
def test_landed_costs_sum_to_the_purchase(purchase: PurchaseInput) -> None:
    result = cost_purchase(purchase)
    known = [line.price for line in result.lines if line.price is not None]
    charged = [charge.amount for charge in result.charges]
    assert result.total == sum(known) + sum(charged)
    for charge in result.charges:
        assert sum(charge.shares) == charge.amount
    for line in result.lines:
        assert line.landed == round_half_up(line.landed, purchase.places)
    lot = purchase.lot_price
    if lot is not None:
        own = [line.has_own_price for line in purchase.lines]
        shares = [row.price for row, alone in zip(result.lines, own, strict=True) if not alone]
        assert sum(shares) == round_half_up(lot, purchase.places)


@checked
@given(purchases(), st.randoms(use_true_random=False))
def test_order_of_lines_moves_no_more_than_the_odd_units(
    purchase: PurchaseInput, random: Any
) -> None:
    """Lots and charges are the same; ties give each line at most one minor unit a split."""
    lines = list(purchase.lines)
    random.shuffle(lines)
    shuffled = PurchaseInput(
        purchase.places, tuple(lines), purchase.charges, purchase.lot_price, purchase.lot_split
    )
    before, after = cost_purchase(purchase), cost_purchase(shuffled)
    assert before.total == after.total
    assert before.lot_basis is after.lot_basis
    assert [row.amount for row in before.charges] == [row.amount for row in after.charges]
    if purchase.lot_price is None:
        landed = {row.key: row.landed for row in after.lines}
        odd = len(purchase.charges) * F(1, 10**purchase.places)
        assert all(abs(F(row.landed) - F(landed[row.key])) <= odd for row in before.lines)


@checked
@given(builds())
def test_no_cost_is_lost_or_made(build: BuildInput) -> None:
    """Known money in = known money in the building, on hand and moved, + proceeds."""
    places = work_out_positions(build.components, build.conversions)
    came_in = sum(part.received_cost + part.moved_in_cost for part in build.components)
    came_in += sum(step.extra_cost for step in build.conversions)
    held = sum(place.known_money + place.component.proceeds for place in places.values())
    for place in places.values():
        held += place.known_average * (place.component.on_hand + place.component.moved)
        held += place.component.moved_out_cost
    assert held == came_in
    assert make_cost_sheet(build).total.cost == sum(p.known_money for p in places.values())


@checked
@given(builds())
def test_parts_of_the_sheet_sum_to_the_whole(build: BuildInput) -> None:
    sheet = make_cost_sheet(build)
    assert sum(row.figures.cost for row in sheet.elements) == sheet.total.cost
    saved = [row.savings for row in sheet.components if row.savings is not None]
    assert sheet.savings == (sum(saved) if saved else None)
    assert sheet.forecast.low <= sheet.forecast.high
    assert sheet.forecast.low >= sheet.spent + sheet.committed
    for row in sheet.components:
        assert row.position.still_needed is None or row.position.still_needed >= 0


def figures(sheet: CostSheet) -> dict[str, Any]:
    """Everything a sheet says, free of the order of its inputs."""
    names = ["total", "elements", "sources", "areas", "hours", "spent", "committed", "remaining"]
    names += ["savings", "savings_percent", "savings_after_own_labour", "saved_per_extra_hour"]
    names += ["own_labour_value", "contingency", "unknown_lines", "tasks", "persons"]
    found = {name: getattr(sheet, name) for name in names}
    found |= {row.position.component.key: row for row in sheet.components}
    ends = sheet.forecast
    return found | {"forecast": (ends.low, ends.high, set(ends.left_out))}


@checked
@given(builds(), st.randoms(use_true_random=False))
def test_order_of_entry_changes_no_figure(build: BuildInput, random: Any) -> None:
    def mixed(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(random.sample(rows, len(rows)))

    other = BuildInput(
        build.name,
        build.currency,
        build.places,
        components=mixed(build.components),
        conversions=mixed(build.conversions),
        labour=mixed(build.labour),
        sources=mixed(build.sources),
        elements=build.elements,
        areas=build.areas,
        budget=build.budget,
        retail_tax_share=build.retail_tax_share,
        own_labour_rate=build.own_labour_rate,
    )
    assert figures(make_cost_sheet(build)) == figures(make_cost_sheet(other))


@checked
@given(
    st.lists(charges(0), max_size=3).filter(
        lambda rows: sum(row.kind == "discount" and row.percent is not None for row in rows) < 2
    ),
    st.integers(-1_000, 3_000).map(lambda thirds: F(thirds, 3)),
    st.sampled_from([0, 2, 3]),
)
def test_the_highest_price_is_the_last_that_does_not_pass_the_limit(
    rows: list[ChargeInput], limit: Fraction, places: int
) -> None:
    def landed(price: Decimal) -> Decimal:
        line = LineInput("a", F(3), retail_price=F(1), line_price=price)
        return cost_purchase(PurchaseInput(places, (line,), tuple(rows))).total

    offer = PurchaseInput(places, (LineInput("a", F(3), retail_price=F(1)),), tuple(rows))
    found = highest_price(offer, limit)
    if found is None:
        assert landed(Decimal(0)) > limit
    else:
        assert landed(found) <= limit < landed(found + Decimal(1).scaleb(-places))
