"""What a comparison of what lasts says, in sentences, and the picture of it."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from ..calc.money import minor_units
from ..templatetags.figures import hours, money_text, plain
from .calc.break_even import Comparison, Count, Span, Standing, compare, differences
from .calc.picture import LETTERS, cost_over_years
from .calc.present_cost import Course, Event, What
from .calc.types import Alternative, Terms

WHATS = {
    What.FIRST: "At first",
    What.UPKEEP: "Upkeep",
    What.REPLACED: "Replaced",
    What.LEFT: "Left at the end, taken off",
}
# How a difference reads, when more and when less of it falls to the cheaper one.
_MORE_LESS = {
    What.FIRST: ("{} more at first", "{} less at first"),
    What.REPLACED: ("{} more in replacing", "{} less in replacing"),
    What.UPKEEP: ("{} more in upkeep", "{} less in upkeep"),
    What.LEFT: ("{} less left at the end", "{} more left at the end"),
    "hours": ("{} more in own hours", "{} less in own hours"),
}


def answer(
    terms: Terms, alternatives: Sequence[Alternative], currency: str, with_hours: bool
) -> dict[str, Any]:
    """All that templates/lifecycle/_answer.html shows."""
    told = compare(terms, alternatives, with_hours)
    lettered = dict(zip((one.key for one in alternatives), LETTERS, strict=False))
    return {
        "terms": terms,
        "with_hours": with_hours,
        "rows": [_row(row, lettered[row.course.alternative.key], told) for row in told.standings],
        "verdict": verdict(told, currency),
        "why": why(told, currency),
        "unknown": [unknown(row.course, with_hours) for row in told.left_out],
        "turning": [
            (row.course.alternative.name, text)
            for row in told.standings
            if (text := turning(row, told, currency))
        ],
        "sureness": sureness(told, currency),
        "picture": picture(told, lettered, currency),
    }


def _row(row: Standing, letter: str, told: Comparison) -> dict[str, Any]:
    course = row.course
    return {
        "letter": letter,
        "name": course.alternative.name,
        "one": course.alternative,
        "cash": course.cash,
        "yearly": course.per_year(False),
        "worked": course.hours_worked,
        "together": course.cost(True),
        "together_yearly": course.per_year(True),
        "is_cheapest": row is told.cheapest,
        "low": row.low if row.has_range else None,
        "high": row.high if row.has_range else None,
        "years": [_year(event, course.terms) for event in course.events],
        "hours_value": course.hours_value,
    }


def _year(event: Event, terms: Terms) -> dict[str, Any]:
    return {
        "year": event.year,
        "what": WHATS[event.what],
        "amount": event.amount,
        "hours": event.hours,
        "factor": plain(event.factor, 4),
        "present": event.present,
        "present_of_hours": event.present_of_hours(terms.hour_rate),
    }


def years_text(years: int) -> str:
    """“1 year”, “12 years”."""
    return "1 year" if years == 1 else f"{years:,} years"


def verdict(told: Comparison, currency: str) -> str:
    """Which costs least, in one sentence."""
    known, counted = told.known, ", own hours counted," if told.with_hours else ""
    over = f"Over {years_text(told.terms.years)}{counted}"
    if len(known) < 2:
        return "Not enough is known yet to say which costs least."
    first = known[0]
    cost = money_text(first.cost or 0, currency)
    if told.cheapest is None:
        names = " and ".join(row.course.alternative.name for row in known if row.cost == first.cost)
        return f"{over} {names} cost the same, {cost} in money of today."
    yearly = money_text(first.course.per_year(told.with_hours) or 0, currency)
    ahead = money_text(first.ahead or 0, currency)
    return (
        f"{over} {first.course.alternative.name} costs least: {cost} in money of today, {yearly}"
        f" a year. {_rival(first)} costs {ahead} more."
    )


def _rival(row: Standing) -> str:
    return "" if row.rival is None else row.rival.alternative.name


def why(told: Comparison, currency: str) -> str:
    """What the cheapest costs more of and less of than the next; empty without a cheapest."""
    row = told.cheapest
    if row is None or row.rival is None:
        return ""
    told_of = [
        _MORE_LESS[what][amount < 0].format(money_text(abs(amount), currency))
        for what, amount in differences(row.course, row.rival, told.with_hours)
    ]
    name = row.course.alternative.name
    return f"Beside {_rival(row)}, {name} comes to {_listed(told_of)}."


def _listed(parts: Sequence[str]) -> str:
    """“a, b and c”."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def unknown(course: Course, with_hours: bool) -> str:
    """Why the cost of one is not known."""
    one, terms = course.alternative, course.terms
    reasons = []
    if one.price is None:
        reasons.append("its first cost is not stated")
    if one.life is None:
        reasons.append("its life is not stated")
    if one.upkeep_every is not None and one.upkeep is None:
        reasons.append("what its upkeep costs is not stated")
    if with_hours:
        if one.hours is None:
            reasons.append("its first hours are not stated")
        if one.upkeep_every is not None and one.upkeep_hours is None:
            reasons.append("the hours of its upkeep are not stated")
        if terms.hour_rate is None:
            reasons.append("no worth of an own hour is stated, here or in the build’s details")
    listed = "; ".join(reasons) or "something of it is not stated"
    return f"{one.name} is left out: {listed}. Not known is not nothing: write 0 for none."


def turning(row: Standing, told: Comparison, currency: str) -> str:
    """At which first cost and which life of one the choice turns; what follows its name."""
    if row.rival is None:
        return ""
    leads = row is told.cheapest
    return " ".join(
        text for text in (_price_turn(row, leads, currency), _life_turn(row, leads)) if text
    )


def _price_turn(row: Standing, leads: bool, currency: str) -> str:
    if row.turning_price is None:
        return ""
    one, rival = row.course.alternative, _rival(row)
    highest = row.highest_price(minor_units(currency))
    if highest is None:
        return f"would cost more than {rival} even as a gift."
    now = "its own is not stated" if one.price is None else f"now {money_text(one.price, currency)}"
    if one.again is None and any(event.what is What.REPLACED for event in row.course.events):
        now += ", paid again at each replacement"
    begun = "stays no dearer" if leads else "would be no dearer"
    return f"{begun} than {rival} up to a first cost of {money_text(highest, currency)} ({now})."


def _life_turn(row: Standing, leads: bool) -> str:
    one, rival = row.course.alternative, _rival(row)
    if row.lives is None:
        return ""
    if not row.lives:
        return f"No life, however long, makes it no dearer than {rival}."
    if row.lives == ((1, None),):
        return f"It is no dearer than {rival} whatever its life."
    now = "its life is not stated" if one.life is None else f"stated: {years_text(one.life)}"
    if leads and row.turns_at is not None:
        return f"It turns when its life is under {years_text(row.turns_at)} ({now})."
    begun = "It stays so" if leads else f"Or no dearer than {rival}"
    return f"{begun} with a life of {spans(row.lives)} ({now})."


def spans(lives: Sequence[Span]) -> str:
    """“8 to 9 years, or 12 years or more”."""
    told = []
    for first, last in lives:
        if last is None:
            told.append(f"{years_text(first)} or more")
        elif first == last:
            told.append(years_text(first))
        else:
            told.append(f"{first:,} to {years_text(last)}")
    return ", or ".join(told)


def sureness(told: Comparison, currency: str) -> list[str]:
    """How the answer holds over the ranges stated; nothing where no range is."""
    texts = []
    for row in told.standings:
        if not row.has_range or row.own is None or row.low is None or row.high is None:
            continue
        name, leads = row.course.alternative.name, row is told.cheapest
        turns = ""
        if leads and row.turns_at is not None:
            turns = f"; it turns when its life is under {years_text(row.turns_at)}"
        texts.append(
            f"{name} {'stays' if leads else 'is'} cheaper than {_rival(row)} in"
            f" {_of(row.own)}{turns}. It comes to {money_text(row.low, currency)} to"
            f" {money_text(row.high, currency)}."
        )
    joint = [row for row in told.standings if row.joint is not None]
    if sum(row.has_range for row in joint) > 1 and joint[0].joint is not None:
        won = [
            f"{row.course.alternative.name} in {row.joint.cheaper or 'none'}"
            for row in joint
            if row.joint is not None
        ]
        texts.append(
            f"Of all {joint[0].joint.cases:,} combinations of the first costs and lives stated,"
            f" costs least: {_listed(won)}."
        )
    return texts


def _of(count: Count) -> str:
    """“7 of the 9 cases stated”."""
    return (
        f"{f'{count.cheaper:,}' if count.cheaper else 'none'} of the {count.cases:,} cases stated"
    )


def picture(told: Comparison, lettered: dict[Any, str], currency: str) -> dict[str, Any] | None:
    """Present cost over the years, and the words that say the same; None with nothing to draw."""
    rows = [
        (lettered[row.course.alternative.key], row.course.running(told.with_hours), row)
        for row in told.standings
    ]
    drawn = cost_over_years([(letter, sums) for letter, sums, _ in rows], told.terms.years)
    if drawn is None:
        return None
    words, key = [], []
    for letter, sums, row in rows:
        if not sums:
            continue
        name = row.course.alternative.name
        first, middle, last = sums[0], _half(sums, told.terms.years), sums[-1]
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
    told = [
        (
            "First cost",
            _range(one.price_low, one.price, one.price_high, lambda v: money_text(v, currency)),
        ),
        ("Own hours at first", _known(one.hours, hours)),
        ("Life", _range(one.life_low, one.life, one.life_high, years_text)),
    ]
    if one.upkeep_every is None:
        told.append(("Upkeep", "none stated"))
    else:
        every = "every year" if one.upkeep_every == 1 else f"every {years_text(one.upkeep_every)}"
        cost = _known(one.upkeep, lambda v: money_text(v, currency))
        worked = _known(one.upkeep_hours, hours)
        told.append(("Upkeep", f"{every}: {cost}, own hours: {worked}"))
        if one.upkeep_change:
            told.append(
                ("Upkeep rises", f"{plain(one.upkeep_change * 100, 2, trim=True)} % a year")
            )
    again = "the first cost" if one.again is None else money_text(one.again, currency)
    told.append(("Replacing it", f"{again}, {_again_hours(one)}"))
    left = "by the share of its life to come"
    if one.residual is not None:
        left = money_text(one.residual, currency)
    told.append(("Worth at the end", left))
    return told


def _again_hours(one: Alternative) -> str:
    return "the first hours" if one.again_hours is None else hours(one.again_hours)


def _known(value: Any, write: Any) -> str:
    return "not known" if value is None else str(write(value))


def _range(low: Any, likely: Any, high: Any, write: Any) -> str:
    """“$900, from $700 to $1,100”."""
    told = _known(likely, write)
    if low is not None and high is not None:
        return f"{told}, from {write(low)} to {write(high)}"
    if low is not None:
        return f"{told}, at least {write(low)}"
    return told if high is None else f"{told}, at most {write(high)}"
