"""Cases that hand texts to the parsers, as fields and cells do, without a request around them."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from random import Random
from typing import Any

from django.core.exceptions import ValidationError

from materials.calc.contents import parse_contents
from materials.calc.durations import read_hours
from materials.calc.measures import QuantityError
from materials.calc.money import MoneyError
from materials.calc.price_text import read_price_words
from materials.calc.quantities import parse_quantity, to_base
from materials.calc.readings import readings
from materials.calc.units import UNITS, UnitError, find_unit
from materials.exchange.cells import CellError
from materials.exchange.outside_tables import dates, numbers
from materials.exchange.outside_tables.cells import cell_text, tagged, text_cell
from materials.forms import fields

from . import noise
from .judging import Watch

# No sentence is longer than a screen of a phone bears, whatever was typed.
LONGEST_SENTENCE = 600


def _cleaner(field: Any) -> Callable[[str], Any]:
    return field.clean


PARSERS: dict[str, tuple[Callable[[str], Any], type[Exception] | tuple[type[Exception], ...]]] = {
    "quantity": (parse_quantity, QuantityError),
    "quantity of pieces": (lambda text: parse_quantity(text, UNITS["piece"]), QuantityError),
    "contents": (parse_contents, QuantityError),
    "hours": (read_hours, ()),
    "price in words": (read_price_words, MoneyError),
    "readings": (readings, ()),
    "unit": (find_unit, UnitError),
    "money field": (_cleaner(fields.MoneyInput(required=False)), ValidationError),
    "unit price field": (_cleaner(fields.UnitPriceField(required=False)), ValidationError),
    "per cent field": (_cleaner(fields.PercentInput(required=False)), ValidationError),
    "hours field": (_cleaner(fields.HoursInput(required=False)), ValidationError),
    "year field": (_cleaner(fields.OriginYear(required=False)), ValidationError),
    "quantity field": (_cleaner(fields.QuantityText(required=False)), ValidationError),
    "unit field": (_cleaner(fields.UnitField(required=False)), ValidationError),
    "contents field": (_cleaner(fields.ContentsText(required=False)), ValidationError),
    "day field": (_cleaner(fields.DayField(required=False)), ValidationError),
}


def exact(found: Any) -> bool:
    """Whether there is no float, no NaN and no infinity in what a parser found."""
    if isinstance(found, float):
        return False
    if isinstance(found, Decimal):
        return found.is_finite()
    if isinstance(found, tuple | list | set | frozenset):
        return all(map(exact, found))
    if isinstance(found, dict):
        return all(map(exact, found.values()))
    if hasattr(found, "__dataclass_fields__"):
        return all(exact(getattr(found, name)) for name in found.__dataclass_fields__)
    return True


def _sentence(error: Exception) -> str:
    return " ".join(error.messages) if isinstance(error, ValidationError) else str(error)


def try_parser(name: str, text: str) -> str:
    """Hand a text to a parser; says what is wrong with what it does, if anything is."""
    parse, refusal = PARSERS[name]
    try:
        found = parse(text)
    except refusal as error:
        result = _sentence(error)
        if not result or len(result) > LONGEST_SENTENCE:
            return f"{name}: a sentence of {len(result)} signs about {text[:80]!r}"
        return ""
    if not exact(found):
        return f"{name}: {text[:80]!r} was read inexactly as {found!r}"
    return ""


def any_text(random: Random) -> str:
    """A text that looks like what a parser takes, and is not quite that."""
    way = random.randrange(5)
    if way <= 1:
        return noise.bent(random, random.choice((*noise.QUANTITIES, *noise.NUMBERS, *noise.DAYS)))
    if way == 2:
        parts = (
            noise.NUMBERS,
            (*UNITS,),
            noise.QUANTITIES,
            (" ", " @ ", " x ", " = ", "; ", "/", "'"),
        )
        return "".join(random.choice(random.choice(parts)) for _ in range(random.randrange(1, 7)))
    return noise.value(random)


def parser_case(watch: Watch, random: Random, route: str) -> None:
    """Several texts, each to one parser; quantities are converted as well."""
    for _ in range(8):
        name, text = random.choice(list(PARSERS)), any_text(random)
        if problem := try_parser(name, text):
            watch.say(problem)
    try:
        read = parse_quantity(any_text(random)[:300])
        base = random.choice(list(UNITS.values()))
        if not exact(to_base(read, base, parse_contents("1 piece = 2x8x12"))):
            watch.say(f"{read} was converted inexactly")
    except QuantityError:
        pass


def _cell(random: Random) -> Any:
    way = random.randrange(4)
    if way == 0:
        pool = (1e308, -0.0, float("nan"), float("inf"), 10**40, True, 0.1, 1e-300, date(1, 1, 1))
        return tagged(random.choice(pool))
    cell = text_cell(any_text(random))
    return ["m", cell] if way == 1 and cell is not None else cell


def cell_case(watch: Watch, random: Random, route: str) -> None:
    """Cells of somebody's table, read as numbers, prices and days."""
    for _ in range(6):
        cell = _cell(random)
        text = cell_text(cell)
        mark = random.choice(("", ".", ","))
        tries: tuple[Callable[[], Any], ...] = (
            lambda cell=cell, mark=mark: numbers.read_number(cell, mark),
            lambda cell=cell, mark=mark: numbers.read_price(cell, "USD", mark),
            lambda cell=cell: dates.read_date(cell, random.choice((None, True, False)), 2026),
            lambda text=text: numbers.number_style(text),
            lambda text=text: dates.date_style(text),
            lambda text=text: dates.is_month(text),
            lambda text=text: numbers.find_currency(text),
        )
        try:
            if not exact(random.choice(tries)()):
                watch.say(f"{cell!r} was read inexactly")
        except CellError as error:
            if len(str(error)) > LONGEST_SENTENCE:
                watch.say(f"a sentence of {len(str(error))} signs about {str(cell)[:80]!r}")


CASES: dict[str, Callable[[Watch, Random, str], None]] = {
    "parser": parser_case,
    "cell": cell_case,
}
