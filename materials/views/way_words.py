"""Ways to make something, in words."""

from collections.abc import Callable
from fractions import Fraction

from django.utils.html import format_html, format_html_join
from django.utils.http import urlencode
from django.utils.safestring import SafeString

from ..calc.quantities import format_quantity
from ..calc.shopping import serving
from ..calc.supply.cheapest import Drawn
from ..calc.ways import Spread
from ..queries.making import MadeOf, Making
from ..queries.quantities import base_unit
from ..queries.ways import KnownWay
from ..templatetags.figures import hours, money_text, percent, quantity, rate_text

Words = SafeString | str


def made_words(known: KnownWay, used: Fraction) -> Words:
    """What so much of the source gives; only whole ones of what is counted."""
    pairs = []
    for place, (out, part) in enumerate(zip(known.way.makes, known.makes, strict=True)):
        got = serving(out.quantity * used, known.is_whole(place))
        pairs.append((quantity(got, part.unit), part.name))
    return format_html_join(" and ", "{} {}", pairs)


def making_words(making: Making) -> tuple[Words, Words]:
    """What is made out of how much, and where that comes from."""
    source, drawn = making.known.source, making.drawn
    made = format_html_join(" and ", "{} {}{}", (_made_of(one) for one in making.made))
    used = quantity(making.used, source.unit)
    if making.is_all_on_hand:
        return format_html("{} {} on hand: make {}", used, source.name, made), ""
    where = drawn_words(making.known, drawn)
    return format_html("{} {}: make {}", used, source.name, made), where


def _made_of(one: MadeOf) -> tuple[Words, str, Words]:
    over: Words = ""
    if one.over:
        over = format_html(" ({} more than needed)", quantity(one.over, one.part.unit))
    return quantity(one.quantity, one.part.unit), one.part.name, over


def asked_of(known: KnownWay, used: Fraction) -> str:
    """What the form of a conversion is asked, as a query: so much of the source, by this way."""
    text = format_quantity(used, base_unit(known.source))
    return urlencode({"source": known.source.pk, "used": text, "way": known.code})


def drawn_words(known: KnownWay, drawn: Drawn) -> Words:
    """Where what is worked up comes from: on hand and what that gives, made first, got."""
    unit, parts = known.source.unit, []
    if drawn.hand:
        of_hand = made_words(known, drawn.hand)
        parts.append(format_html("{} on hand for {}", quantity(drawn.hand, unit), of_hand))
    if drawn.made:
        parts.append(format_html("{} made first", quantity(drawn.made, unit)))
    if drawn.got:
        parts.append(format_html("{} to get", quantity(drawn.got, unit)))
    return format_html_join("; ", "{}", ((part,) for part in parts))


def way_words(known: KnownWay, currency: str) -> Words:
    """What is known of a way, in one sentence."""
    return _stated_words(known, currency) if known.record else _learned_words(known, currency)


def _learned_words(known: KnownWay, currency: str) -> Words:
    way = known.way
    made = format_html_join(
        " and ",
        "{} {}",
        (
            (quantity(out.quantity * way.used, part.unit), part.name)
            for out, part in zip(way.makes, known.makes, strict=True)
        ),
    )
    extra = f" and {money_text(way.extra * way.used, currency)} extra" if way.extra else ""
    worked = hours(way.hours * way.used) if way.hours is not None else "hours not logged"
    return format_html(
        "{} {} made {} so far, for {}{}",
        quantity(way.used, known.source.unit),
        known.source.name,
        made,
        worked,
        extra,
    )


def _stated_words(known: KnownWay, currency: str) -> Words:
    way = known.way
    made, part = way.makes[0], known.makes[0]
    said = [hours_each(known), extra_each(known, currency)]
    if way.lost:
        said.insert(0, f"{percent(way.lost * 100)} lost already taken off")
    return format_html(
        "{} {} gives {} {}, as stated; {}",
        quantity(Fraction(1), known.source.unit),
        known.source.name,
        quantity(made.quantity, part.unit),
        part.name,
        "; ".join(said),
    )


def hours_each(known: KnownWay) -> str:
    """Hours for one thing made."""
    if known.way.hours is None:
        return "hours not known"
    if len(known.makes) == 1:
        return f"{hours(known.way.each(known.way.hours))} each"
    return f"{hours(known.way.hours)} for 1 {known.source.unit} {known.source.name}"


def extra_each(known: KnownWay, currency: str) -> str:
    """Extra cost of one thing made."""
    if known.way.extra is None:
        return "extra cost not known"
    if not known.way.extra:
        return "no extra cost"
    if len(known.makes) == 1:
        return f"extra {rate_text(known.way.each(known.way.extra) or 0, currency)} each"
    extra = rate_text(known.way.extra, currency)
    return f"extra {extra} for 1 {known.source.unit} {known.source.name}"


def spread_words(label: str, spread: Spread | None, write: Callable[[Fraction], str]) -> str:
    """From the lowest to the highest of several conversions; empty where they do not differ."""
    if spread is None or not spread.is_wide:
        return ""
    return f"{label} so far: {write(spread.low)} to {write(spread.high)}"
