"""Rows of our own workbook that a build seems to have already: read twice, they would count twice.

Purchases and conversions have numbers, so that a second reading of them is refused; hours and
left over have none.
"""

from collections import Counter
from typing import Any

from ..models import Build, Component, Person, Task
from ..queries.exchange import keyed
from ..queries.imports import left_on, worked_on
from .plan import Plan


def likely_doubles(build: Build, plan: Plan) -> tuple[str, ...]:
    """A sentence for each sheet with rows that stand in the build just so."""
    sentences = []
    count = _hours(build, plan)
    if count:
        sentences.append(_sentence("Labour", count))
    count = _left_over(build, plan)
    if count:
        sentences.append(_sentence("Left over", count))
    return tuple(sentences)


def _sentence(sheet: str, count: int) -> str:
    rows = "1 row is" if count == 1 else f"{count:,} rows are"
    return (
        f"{sheet}: {rows} in this build already, with the same day and amounts. Importing "
        "the sheet again counts them twice."
    )


def _hours(build: Build, plan: Plan) -> int:
    if not plan.labour:
        return 0
    persons, tasks = keyed(Person, build), keyed(Task, build)
    there: dict[Any, int] = worked_on(build, {entry.values["worked_on"] for entry in plan.labour})
    planned = Counter(
        (
            entry.values["worked_on"],
            persons.get(entry.link("person")),
            tasks.get(entry.links["task"] or ""),
            entry.values["hours"],
        )
        for entry in plan.labour
    )
    return sum(min(count, there.get(key, 0)) for key, count in planned.items())


def _left_over(build: Build, plan: Plan) -> int:
    if not plan.left_over:
        return 0
    parts = keyed(Component, build)
    there: dict[Any, int] = left_on(build, {entry.values["noted_on"] for entry in plan.left_over})
    planned = Counter(
        (
            entry.values["noted_on"],
            parts.get(entry.link("component")),
            entry.values["base_qty"],
            entry.values["fate"],
        )
        for entry in plan.left_over
    )
    return sum(min(count, there.get(key, 0)) for key, count in planned.items())
