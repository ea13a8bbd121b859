"""Numbers of purchases and conversions: which one comes next, and whether one is taken."""

import re
from collections.abc import Container, Iterable

from django.db.models import F
from django.db.models.functions import Lower
from django.db.models.lookups import Exact

from ..models import Build, Conversion, Purchase


def is_number_taken(model: type[Purchase] | type[Conversion], build: Build, number: str) -> bool:
    """Whether a record of the build has this number, upper and lower case alike."""
    same = Exact(Lower(F("number")), number.lower())
    return model._default_manager.filter(same, build=build).exists()


def number_after(numbers: Iterable[str], prefix: str) -> str:
    """A free number of the newest series there is; ``prefix`` begins the first one.

    ``numbers`` come newest first. A series counts on, or begins at 1, or with ``prefix``: a
    number taken from a supplier's receipt is none.
    """
    listed = [number.lower() for number in numbers]
    taken = set(listed)
    newest = next((number for number in listed if _is_of_series(number, taken, prefix)), None)
    if newest is None:
        return count_on(f"{prefix}000", taken)
    manner, _ = _counted(newest)
    highest = max(
        (number for number in taken if _counted(number)[0] == manner and _counted(number)[1]),
        key=lambda number: int(_counted(number)[1]),
    )
    return count_on(highest.upper(), taken)


def count_on(number: str, taken: Container[str] = ()) -> str:
    """The next number that is not taken (``taken`` holds lower case), in the same width."""
    manner, digits = _counted(number)
    count = int(digits) + 1
    while f"{manner}{count:0{len(digits)}}".lower() in taken:
        count += 1
    return f"{manner}{count:0{len(digits)}}"


def _counted(number: str) -> tuple[str, str]:
    """What a number begins with, and the digits it ends in, if any."""
    digits = re.search(r"[0-9]{1,9}$", number)
    return (number[: digits.start()], digits[0]) if digits else (number, "")


def _is_of_series(number: str, taken: Container[str], prefix: str) -> bool:
    manner, digits = _counted(number)
    if not digits:
        return False
    before = int(digits) - 1
    is_begun = manner == prefix.lower() or before == 0
    return is_begun or any(
        f"{manner}{text}" in taken for text in (str(before), f"{before:0{len(digits)}}")
    )
