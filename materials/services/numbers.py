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
    free = next_number if isinstance(record, Purchase) else next_conversion_number
    return {**values, "number": free(build)}
