"""Reading the measures of a shape as they were typed.

Measures go through the one parser of quantities; what it refuses, or what is too large or of
another kind, comes back as one sentence for the question. Nothing is guessed.
"""

import re
from collections.abc import Mapping
from contextlib import suppress
from fractions import Fraction
from typing import Any, Final

from materials.calc.measures import (
    LENGTH_EXAMPLE,
    QuantityError,
    Reader,
    format_quantity,
    plain,
    tidy,
)
from materials.calc.quantities import parse_quantity
from materials.calc.readings import read_product
from materials.calc.units import UNITS, Dimension, quote
from materials.takeoffs.calc.lines import MOST_FEET, MOST_WHOLE, READERS
from materials.takeoffs.calc.types import MANY, Kind, Question, TakeoffError, Values

MOST_LINES: Final = 40
MOST_TEXT: Final = 2000
_UNITS_OF: Final = {
    Kind.LENGTH: (Dimension.LENGTH, "ft", Fraction(MOST_FEET), LENGTH_EXAMPLE),
    Kind.AREA: (Dimension.AREA, "sq ft", Fraction(10**7), "350 sq ft or 32 sq m"),
    Kind.VOLUME: (Dimension.VOLUME, "cu ft", Fraction(10**6), "3 cu yd, 20 cu ft or 2 cu m"),
    Kind.MASS: (Dimension.MASS, "lb", Fraction(10**6), "94 lb or 25 kg"),
}
_MEASURED: Final = (
    Kind.LENGTH,
    Kind.LENGTHS,
    Kind.AREA,
    Kind.AREAS,
    Kind.VOLUMES,
    Kind.BOXES,
    Kind.PIECES,
)
_METRIC: Final = re.compile(r"[0-9]\s*(?:sq |cu )?(?:m[23²³]?|mm|cm|metres?|meters?|L)(?!\w)")
_BARE: Final = re.compile(r"[0-9]{1,4}(?:[.,][0-9]{1,2}|(?:[ -][0-9]{1,2})?/[0-9]{1,2})?")
_PART: Final = re.compile(r"([1-9][0-9]?)\s*(?:/|\bof\b)\s*([1-9][0-9]?)", re.IGNORECASE)
_SLOPE: Final = re.compile(r"^(.+?)\s*(?:/|:|\bin\b|\bto\b)\s*(.+)$")


def read_inputs(
    questions: tuple[Question, ...], typed: Mapping[str, Any]
) -> tuple[Values, dict[str, TakeoffError]]:
    """What was typed, by the names of the questions, and one refusal for each that is amiss."""
    values: Values = {}
    faults: dict[str, TakeoffError] = {}
    unit = _common_unit(questions, typed)
    for question in questions:
        text = typed.get(question.name, "")
        text = text if isinstance(text, str) else ""
        if unit and question.kind is Kind.LENGTH and _BARE.fullmatch(text.strip()):
            text = f"{text.strip()} {unit}"
        try:
            values[question.name] = _read(question, text)
        except QuantityError as error:
            faults[question.name] = TakeoffError(str(error), question.name)
        except TakeoffError as error:
            faults[question.name] = TakeoffError(str(error), question.name)
    return values, faults


def is_metric(questions: tuple[Question, ...], typed: Mapping[str, Any]) -> bool:
    """Whether the first measure that was typed is a metric one."""
    for question in questions:
        text = typed.get(question.name)
        if question.kind not in _MEASURED or not isinstance(text, str) or not text.strip():
            continue
        if not _BARE.fullmatch(text.strip()):
            return _METRIC.search(text) is not None
    return False


def _common_unit(questions: tuple[Question, ...], typed: Mapping[str, Any]) -> str:
    """Feet or metres, where all lengths that say their unit are in it; empty where none does.

    Then a bare number beside them is one of the same.
    """
    found: set[str] = set()
    for question in questions:
        text = typed.get(question.name)
        if question.kind is not Kind.LENGTH or not isinstance(text, str) or not text.strip():
            continue
        if _BARE.fullmatch(text.strip()):
            continue
        try:
            found.add(parse_quantity(text).unit.symbol)
        except QuantityError:
            return ""
    return found.pop() if found in ({"ft"}, {"m"}) else ""


def _read(question: Question, text: str) -> Any:
    if len(text) > MOST_TEXT:
        raise TakeoffError(f"This is longer than {MOST_TEXT} signs: shorten it.")
    if question.kind in MANY:
        return _many(question, text)
    if not text.strip():
        if question.needed:
            raise TakeoffError("This is needed to work it out.")
        return None
    if question.kind in _UNITS_OF:
        return _measure(question, text)
    if question.kind is Kind.CHOICE:
        if text not in {code for code, _ in question.choices}:
            raise TakeoffError("Choose one of the list.")
        return text
    if question.kind is Kind.SLOPE:
        return _slope(text)
    if question.kind is Kind.PART and (part := _PART.fullmatch(text.strip())):
        return int(part[1]), int(part[2])
    return _number(question, text)


def _bounds(question: Question, value: Fraction, most: Fraction | int) -> None:
    if question.least and value < question.least:
        raise TakeoffError(f"This is below {plain(question.least)}: enter at least that.")
    if value > most:
        raise TakeoffError(f"This is over {plain(most)}: enter at most that.")


def _number(question: Question, text: str) -> Any:
    tidied = tidy(text.strip().rstrip("%").strip() if question.kind is Kind.PERCENT else text)
    how = f"enter it like {question.start or 4}"
    if tidied.startswith(("-", "−")):
        raise TakeoffError(f"{quote(text)} is below zero: {how}.")
    try:
        reader = Reader(tidied)
        value = reader.number()
    except QuantityError:
        raise TakeoffError(f"{quote(text)} is not a number: {how}.") from None
    if reader.rest():
        raise TakeoffError(f"{quote(text)} is not a number: {how}.")
    most = question.most or {Kind.PERCENT: 100}.get(question.kind, MOST_WHOLE)
    _bounds(question, value, most)
    if question.kind is Kind.PERCENT:
        return value / 100
    if question.kind is Kind.NUMBER:
        if not value:
            raise TakeoffError("This is nothing: enter a number above zero.")
        return value
    if value.denominator != 1:
        raise TakeoffError(f"{quote(text)} is not a whole number: {how}.")
    return (int(value), 0) if question.kind is Kind.PART else int(value)


def _slope(text: str) -> Fraction:
    """Rise over run: 6/12, 6 in 12, 6:12, 6 (in 12) or 50 %."""
    tidied = tidy(text)
    how = "enter the rise over the run, like 6/12 or 6 in 12"
    if tidied.endswith("%"):
        rise, run = tidied.rstrip("% "), "100"
    elif found := _SLOPE.match(tidied):
        rise, run = found[1], found[2]
    else:
        rise, run = tidied, "12"
    values: list[Fraction] = []
    for part in (rise, run):
        reader = Reader(part)
        values.append(reader.number() if reader.kind() in ("num", "dash") else Fraction(-1))
        if reader.rest() or values[-1] < 0:
            raise TakeoffError(f"{quote(text)} is not a slope: {how}.")
    if not values[1] or values[0] > 4 * values[1]:
        raise TakeoffError(f"{quote(text)} is steeper than 48 in 12: {how}.")
    return Fraction(values[0] / values[1])


def _measure(question: Question, text: str) -> Fraction:
    dimension, symbol, most, example = _UNITS_OF[question.kind]
    value = _one_measure(text, dimension, example) / UNITS[symbol].factor
    limit = question.most or most
    if value > limit:
        shown = format_quantity(limit, UNITS[symbol])
        raise TakeoffError(f"{quote(text)} is over {shown}: check the number and its unit.")
    if not value and question.needed:
        raise TakeoffError(f"This is nothing: enter it like {example}.")
    if question.least and value < question.least:
        shown = format_quantity(question.least, UNITS[symbol])
        raise TakeoffError(f"{quote(text)} is below {shown}: check the number and its unit.")
    return Fraction(value)


def _one_measure(text: str, dimension: Dimension, example: str) -> Fraction:
    """A measure in SI units; "96 ft x 12 in x 6 in" is a volume."""
    with suppress(QuantityError):
        product = read_product(text)
        if product and product[1].dimension is dimension:
            return product[0] * product[1].factor
    parsed = _with_unit(text, example)
    if parsed.unit.dimension is not dimension or parsed.size.equivalences:
        raise TakeoffError(f"{quote(text)} is no {dimension.value}: enter it like {example}.")
    return Fraction(parsed.count * parsed.unit.factor)


def _with_unit(text: str, example: str) -> Any:
    try:
        return parse_quantity(text)
    except QuantityError as error:
        # Said again with what is asked for here: the other suggests quantities of any kind.
        reader = Reader(tidy(text, example=example), example)
        _, unit = reader.measure()
        if reader.rest():
            raise TakeoffError(
                f"{quote(text)} holds {quote(reader.rest())}, which is not understood: enter a"
                f" number and its unit, like {example}."
            ) from None
        if unit is None:
            raise TakeoffError(f"{quote(text)} has no unit: enter it like {example}.") from None
        raise error


def _many(question: Question, text: str) -> Any:
    # "1 lime : 3 sand" may stand on one line.
    marks = "[\n;:]" if question.kind is Kind.PARTS else "[\n;]"
    parts = re.split(marks, "\n".join(text.splitlines()))
    lines = [line for line in parts if line.strip()]
    if len(lines) > MOST_LINES:
        raise TakeoffError(f"There are more than {MOST_LINES} lines: put some of them together.")
    if not lines and question.needed:
        raise TakeoffError("This is needed to work it out.")
    return tuple(READERS[question.kind](line) for line in lines)
