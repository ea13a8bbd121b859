"""Numbers that a form suggested, and that somebody else may have taken since."""

from typing import Any

from ..models import Build, Conversion, Purchase
from ..queries.numbers import is_number_taken
from ..queries.purchases import next_number
from ..queries.stock import next_conversion_number


def with_free_number(
    record: Purchase | Conversion, build: Build, values: dict[str, Any]
) -> dict[str, Any]:
    """A new record's values, with the next free number where theirs is taken; under the lock."""
    if not is_number_taken(type(record), build, values["number"]):
        return values
    return {**values, "number": _free_number(record, build)}


def give_free_number(record: object, build: Build) -> str:
    """A record that comes back takes the next free number where its own is another's by now.

    Returns a sentence on that; empty where it keeps its number, or has none. Under the lock.
    """
    if not isinstance(record, Purchase | Conversion):
        return ""
    own = record.number
    if not is_number_taken(type(record), build, own):
        return ""
    record.number = _free_number(record, build)
    return f"{own} is another {record._meta.verbose_name} now, so this one is {record.number}."


def _free_number(record: Purchase | Conversion, build: Build) -> str:
    return next_number(build) if isinstance(record, Purchase) else next_conversion_number(build)
