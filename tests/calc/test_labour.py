"""Hours by kind, own and paid (costing rule 8): hours and money are never mixed."""

from fractions import Fraction
from typing import Any

import pytest

from materials.calc.labour import at_rate, hours_by, own_hours_by_person, total_hours
from materials.calc.types import LabourInput, LabourKind
from tests.calc.builders import F, labour

ENTRIES = [
    labour("sourcing", own=4, task="roof", person="Ada"),
    labour("preparing", own="2.5", task="roof", person="Ada"),
    labour("preparing", paid_hours=3, paid=60, task="walls", person="Ben"),
    # A conversion's hours: preparing, nobody's, no task.
    labour("preparing", own="1.25"),
    labour("installing", own=10, paid_hours=5, paid=100, task="walls", person="Ben"),
    labour("reworking", own=1, task="roof", person="Ada"),
    labour("upkeep", paid_hours=2, paid=30, person="Ben"),
]


class TestTotals:
    HOURS = total_hours(ENTRIES)

    def test_by_kind(self) -> None:
        assert self.HOURS.by_kind == {
            LabourKind.SOURCING: 4,
            LabourKind.PREPARING: F("6.75"),
            LabourKind.INSTALLING: 15,
            LabourKind.REWORKING: 1,
            LabourKind.UPKEEP: 2,
        }
        assert self.HOURS.total == F("28.75")

    def test_extra_hours_are_sourcing_and_preparing_own_and_paid(self) -> None:
        assert self.HOURS.extra == F("10.75")
        assert self.HOURS.own_extra == F("7.75")
        assert self.HOURS.paid_extra == 60

    def test_own_hours_are_those_nothing_was_paid_for(self) -> None:
        assert self.HOURS.own == F("18.75")
        assert self.HOURS.paid_labour == 190

    @pytest.mark.parametrize("kind", list(LabourKind))
    def test_which_kinds_are_extra(self, kind: LabourKind) -> None:
        found = total_hours([labour(kind, own=1, paid_hours=2, paid=7)])
        is_extra = kind in ("sourcing", "preparing")
        assert (found.extra, found.own_extra, found.paid_extra) == (
            (3, 1, 7) if is_extra else (0, 0, 0)
        )
        assert (found.total, found.own, found.paid_labour) == (3, 1, 7)

    def test_no_entries(self) -> None:
        found = total_hours([])
        assert found.total == found.extra == found.own == found.paid_labour == 0
        assert set(found.by_kind) == set(LabourKind)


class TestValueOfOwnHours:
    @pytest.mark.parametrize(
        ("hours", "rate", "value"),
        [
            ("10", "15", 150),
            ("0", "15", 0),
            ("0", None, 0),
            ("10", None, None),
            ("10", "0", 0),
            ("1/3", "15", 5),
        ],
    )
    def test_at_rate(self, hours: str, rate: str | None, value: Fraction | None) -> None:
        assert at_rate(F(hours), None if rate is None else F(rate)) == value

    def test_paid_hours_have_no_value_of_their_own(self) -> None:
        assert TestTotals.HOURS.own_value(F(10)) == F("187.5")
        assert total_hours([labour("sourcing", paid_hours=5, paid=50)]).own_value(None) == 0


@pytest.mark.parametrize(
    ("what", "expected"),
    [
        ("task", {"roof": F("7.5"), "walls": 18, None: F("3.25")}),
        ("person", {"Ada": F("7.5"), "Ben": 20, None: F("1.25")}),
    ],
)
def test_hours_by(what: str, expected: dict[Any, Any]) -> None:
    found = hours_by(ENTRIES, what)
    assert found == expected
    assert sum(found.values()) == total_hours(ENTRIES).total


def test_hours_by_of_nothing() -> None:
    nothing: list[LabourInput] = []
    assert hours_by(nothing, "task") == {}


def test_own_hours_are_of_those_who_have_any() -> None:
    entries = [
        labour("installing", own=3, person="Ada"),
        labour("preparing", own="0.5", person="Ada"),
        labour("installing", paid_hours=4, paid=80, person="Ben"),
        labour("preparing", own=2),
    ]
    assert own_hours_by_person(entries) == {"Ada": F("3.5")}
