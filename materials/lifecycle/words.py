"""What a comparison of lifetime costs says, in sentences, and the picture of it."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from ..calc.money import minor_units
from ..templatetags.figures import hours, money_text, plain
from .calc.break_even import (
    Comparison,
    Count,
    Span,
    Standing,
    TwoChoices,
    compare,
    differences,
)
from .calc.picture import LETTERS, cost_over_years
from .calc.present_cost import CostKind, Event, Timeline
from .calc.types import Alternative, Terms

COST_KINDS = {
    CostKind.FIRST: "At first",
    CostKind.UPKEEP: "Upkeep",
    CostKind.REPLACED: "Replaced",
    CostKind.DRAGGED: "Dragged along",
    CostKind.LEFT: "Less what is left",
}
# How a difference reads, when more and when less of it falls to the cheaper one.
_MORE_LESS = {
    CostKind.FIRST: ("{} more at first", "{} less at first"),
    CostKind.REPLACED: ("{} more in replacing", "{} less in replacing"),
    CostKind.DRAGGED: ("{} more dragged along", "{} less dragged along"),
    CostKind.UPKEEP: ("{} more in upkeep", "{} less in upkeep"),
    CostKind.LEFT: ("{} less left at the end", "{} more left at the end"),
    "hours": ("{} more in own hours", "{} less in own hours"),
}


def answer(
    terms: Terms, alternatives: Sequence[Alternative], currency: str, with_hours: bool | None
) -> dict[str, Any]:
    """All that templates/lifecycle/_answer.html shows.

    ``with_hours`` None: own hours count where they change the choice.
    """
    two = TwoChoices(*(compare(terms, alternatives, counted) for counted in (False, True)))
    with_hours = two.differ if with_hours is None else with_hours
    comparison = two.hours if with_hours else two.money
    lettered = dict(zip((one.key for one in alternatives), LETTERS, strict=False))
    return {
        "terms": terms,
        "with_hours": with_hours,
        "rows": [
            _row(row, lettered[row.timeline.alternative.key], comparison)
            for row in comparison.standings
        ],
        "verdict": verdict(comparison, currency),
        "otherwise": otherwise(two, with_hours, currency),
        "why": why(comparison, currency),
        "unknown": [unknown(row.timeline, with_hours) for row in comparison.left_out],
        "break_even": [
            (row.timeline.alternative.name, text)
            for row in comparison.standings
            if (text := break_even_text(row, comparison, currency))
        ],
        "certainty": certainty(comparison, currency),
        "picture": picture(comparison, lettered, currency),
    }


def _row(row: Standing, letter: str, comparison: Comparison) -> dict[str, Any]:
    timeline = row.timeline
    return {
        "letter": letter,
        "name": timeline.alternative.name,
        "one": timeline.alternative,
        "cash": timeline.cash,
        "yearly": timeline.per_year(False),
        "worked": timeline.hours_worked,
        "together": timeline.cost(True),
        "together_yearly": timeline.per_year(True),
        "is_cheapest": row is comparison.cheapest,
        "low": row.low if row.has_range else None,
        "high": row.high if row.has_range else None,
        "years": [_year(event, timeline) for event in timeline.events],
        "hours_value": timeline.hours_value,
    }


def _year(event: Event, timeline: Timeline) -> dict[str, Any]:
    what, dragged = COST_KINDS[event.kind], timeline.alternative.dragged
    if event.kind is CostKind.DRAGGED and dragged is not None:
        what = f"{what}: {dragged.name}"
    return {
        "year": event.year,
        "what": what,
        "amount": event.amount,
        "hours": event.hours,
        "factor": plain(event.factor, 4),
        "present": event.present,
        "present_of_hours": event.present_of_hours(timeline.terms.hour_rate),
    }


def years_text(years: int) -> str:
    """“1 year”, “12 years”."""
    return "1 year" if years == 1 else f"{years:,} years"


def verdict(comparison: Comparison, currency: str) -> str:
    """Which costs least, in one sentence."""
    known, counted = comparison.known, ", own hours counted," if comparison.with_hours else ""
    over = f"Over {years_text(comparison.terms.years)}{counted}"
    if len(known) < 2:
        return "Not enough is known yet to say which costs least."
    first = known[0]
    cost = money_text(first.cost or 0, currency)
    if comparison.cheapest is None:
        names = " and ".join(
            row.timeline.alternative.name for row in known if row.cost == first.cost
        )
        return f"{over} {names} cost the same, {cost} in money of today."
    yearly = money_text(first.timeline.per_year(comparison.with_hours) or 0, currency)
    ahead = money_text(first.ahead or 0, currency)
    return (
        f"{over} {first.timeline.alternative.name} costs least: {cost} in money of today, {yearly}"
        f" a year. {_rival(first)} costs {ahead} more."
    )


def otherwise(two: TwoChoices, with_hours: bool, currency: str) -> str:
    """The other headline where own hours change the choice; empty where they do not."""
    other = two.money if with_hours else two.hours
    first, rate = other.cheapest, other.terms.hour_rate
    if not two.differ or first is None or rate is None:
        return ""
    how = "In money alone" if with_hours else "With own hours counted"
    return (
        f"Own hours, at {money_text(rate, currency)} each, change the choice. {how}"
        f" {first.timeline.alternative.name} costs least: {money_text(first.cost or 0, currency)}."
        f" {_rival(first)} costs {money_text(first.ahead or 0, currency)} more."
    )


def _rival(row: Standing) -> str:
    return "" if row.rival is None else row.rival.alternative.name


def why(comparison: Comparison, currency: str) -> str:
    """What the cheapest costs more of and less of than the next; empty without a cheapest."""
    row = comparison.cheapest
    if row is None or row.rival is None:
        return ""
    parts = [
        _MORE_LESS[kind][amount < 0].format(money_text(abs(amount), currency))
        for kind, amount in differences(row.timeline, row.rival, comparison.with_hours)
    ]
    name = row.timeline.alternative.name
    return f"Compared with {_rival(row)}, {name} has {_listed(parts)}."


def _listed(parts: Sequence[str]) -> str:
    """“a, b and c”."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def unknown(timeline: Timeline, with_hours: bool) -> str:
    """Why the cost of one is not known."""
    one, terms = timeline.alternative, timeline.terms
    reasons = []
    dragged = one.dragged if any(e.kind is CostKind.DRAGGED for e in timeline.events) else None
    if dragged is not None and dragged.amount is None:
        reasons.append(f"no cost of {dragged.name} is stated")
    if one.price is None:
        reasons.append("no first cost is stated")
    if one.life is None:
        reasons.append("no life is stated")
    if one.upkeep_every is not None and one.upkeep is None:
        reasons.append("no cost of upkeep is stated")
    if with_hours:
        if one.hours is None:
            reasons.append("no first hours are stated")
        if dragged is not None and dragged.hours is None:
            reasons.append(f"no hours of {dragged.name} are stated")
        if one.upkeep_every is not None and one.upkeep_hours is None:
            reasons.append("no hours of upkeep are stated")
        if terms.hour_rate is None:
            reasons.append("no value of an own hour is stated")
    listed = "; ".join(reasons) or "a figure is missing"
    return f"{one.name} is left out: {listed}. If it is none, enter 0."


def break_even_text(row: Standing, comparison: Comparison, currency: str) -> str:
    """At which first cost and which life of one the choice changes; what follows its name."""
    if row.rival is None:
        return ""
    leads = row is comparison.cheapest
    return " ".join(
        text
        for text in (_break_even_price(row, leads, currency), _break_even_life(row, leads))
        if text
    )


def _break_even_price(row: Standing, leads: bool, currency: str) -> str:
    if row.break_even_price is None:
        return ""
    one, rival = row.timeline.alternative, _rival(row)
    highest = row.highest_price(minor_units(currency))
    if highest is None:
        return f"would cost more than {rival} even as a gift."
    now = "not stated" if one.price is None else f"now {money_text(one.price, currency)}"
    if one.replacement is None and any(
        event.kind is CostKind.REPLACED for event in row.timeline.events
    ):
        now += ", paid again at each replacement"
    return (
        f"costs no more than {rival} up to a first cost of {money_text(highest, currency)} ({now})."
    )


def _break_even_life(row: Standing, leads: bool) -> str:
    one, rival = row.timeline.alternative, _rival(row)
    if row.lives is None:
        return ""
    if not row.lives:
        return f"However long it lasts, it costs more than {rival}."
    if row.lives == ((1, None),):
        return f"However short it lasts, it costs no more than {rival}."
    now = "not stated" if one.life is None else f"stated: {years_text(one.life)}"
    if leads and row.break_even_life is not None:
        return f"Break-even at a life of {years_text(row.break_even_life)} ({now})."
    start = "It stays so" if leads else f"Or costs no more than {rival}"
    return f"{start} with a life of {spans(row.lives)} ({now})."


def spans(lives: Sequence[Span]) -> str:
    """“8 to 9 years, or 12 years or more”."""
    parts = []
    for first, last in lives:
        if last is None:
            parts.append(f"{years_text(first)} or more")
        elif first == last:
            parts.append(years_text(first))
        else:
            parts.append(f"{first:,} to {years_text(last)}")
    return ", or ".join(parts)


def certainty(comparison: Comparison, currency: str) -> list[str]:
    """How the answer holds over the ranges stated; nothing where no range is."""
    texts = []
    for row in comparison.standings:
        if not row.has_range or row.own is None or row.low is None or row.high is None:
            continue
        name, leads = row.timeline.alternative.name, row is comparison.cheapest
        break_even = ""
        if leads and row.break_even_life is not None:
            break_even = f"; break-even at a life of {years_text(row.break_even_life)}"
        texts.append(
            f"{name} {'stays' if leads else 'is'} cheaper than {_rival(row)} in"
            f" {_of(row.own)}{break_even}. It comes to {money_text(row.low, currency)} to"
            f" {money_text(row.high, currency)}."
        )
    joint = [row for row in comparison.standings if row.joint is not None]
    if sum(row.has_range for row in joint) > 1 and joint[0].joint is not None:
        won = [
            f"{row.timeline.alternative.name}{' is cheapest' if row is joint[0] else ''}"
            f" in {row.joint.cheaper or 'none'}"
            for row in joint
            if row.joint is not None
        ]
        texts.append(
            f"Of all {joint[0].joint.cases:,} combinations of the first costs and lives stated,"
            f" {_listed(won)}."
        )
    return texts


def _of(count: Count) -> str:
    """“7 of the 9 cases stated”."""
    return (
        f"{f'{count.cheaper:,}' if count.cheaper else 'none'} of the {count.cases:,} cases stated"
    )


def picture(
    comparison: Comparison, lettered: dict[Any, str], currency: str
) -> dict[str, Any] | None:
    """Present cost over the years, and the words that say the same; None with nothing to draw."""
    rows = [
        (lettered[row.timeline.alternative.key], row.timeline.running(comparison.with_hours), row)
        for row in comparison.standings
    ]
    drawn = cost_over_years([(letter, sums) for letter, sums, _ in rows], comparison.terms.years)
    if drawn is None:
        return None
    words, key = [], []
    for letter, sums, row in rows:
        if not sums:
            continue
        name = row.timeline.alternative.name
        first, middle, last = sums[0], _half(sums, comparison.terms.years), sums[-1]
        words.append(
            f"{letter}, {name}: {money_text(first[1], currency)} at first,"
            f" {money_text(middle, currency)} by the middle of the years,"
            f" {money_text(last[1], currency)} in the end."
        )
        key.append({"letter": letter, "kind": letter.lower(), "name": name})
    return {"drawn": drawn, "words": words, "key": key}


def _half(sums: Sequence[tuple[int, Fraction]], years: int) -> Fraction:
    return next(value for year, value in reversed(sums) if year <= years // 2)


def stated(one: Alternative, currency: str) -> list[tuple[str, str]]:
    """What is stated of one, in words, for the page to be read without its form."""
    rows = [
        (
            "First cost",
            _range(one.price_low, one.price, one.price_high, lambda v: money_text(v, currency)),
        ),
        ("Own hours at first", _known(one.hours, hours)),
        ("Life", _range(one.life_low, one.life, one.life_high, years_text)),
    ]
    if one.upkeep_every is None:
        rows.append(("Upkeep", "none stated"))
    else:
        every = "every year" if one.upkeep_every == 1 else f"every {years_text(one.upkeep_every)}"
        cost = _known(one.upkeep, lambda v: money_text(v, currency))
        worked = _known(one.upkeep_hours, hours)
        rows.append(("Upkeep", f"{every}: {cost}, own hours: {worked}"))
        if one.upkeep_change:
            rows.append(("Upkeep rises", f"{plain(one.upkeep_change * 100, 2, trim=True)}% a year"))
    replacement = (
        "the first cost again" if one.replacement is None else money_text(one.replacement, currency)
    )
    rows.append(("Replacement", f"{replacement}, {_replacement_hours(one)}"))
    if one.dragged is not None:
        cost = _known(one.dragged.amount, lambda v: money_text(v, currency))
        worked = _known(one.dragged.hours, hours)
        said = f"{one.dragged.name}: {cost}, own hours: {worked}"
        rows.append(("Each replacement drags along", said))
    left = "by the share of life left"
    if one.residual is not None:
        left = money_text(one.residual, currency)
    rows.append(("Worth at the end", left))
    return rows


def _replacement_hours(one: Alternative) -> str:
    return "the first hours again" if one.again_hours is None else hours(one.again_hours)


def _known(value: Any, write: Any) -> str:
    return "not known" if value is None else str(write(value))


def _range(low: Any, likely: Any, high: Any, write: Any) -> str:
    """“$900, from $700 to $1,100”."""
    text = _known(likely, write)
    if low is not None and high is not None:
        return f"{text}, from {write(low)} to {write(high)}"
    if low is not None:
        return f"{text}, at least {write(low)}"
    return text if high is None else f"{text}, at most {write(high)}"
