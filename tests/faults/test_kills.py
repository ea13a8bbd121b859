"""What was acknowledged is there after kill -9, and nothing is half done.

Here a few kills; ``python -m tests.faults --kills 1000`` does many by hand, with its figures.
"""

from dataclasses import replace

import pytest

from tests.faults.book import Act, Book
from tests.faults.kills import kill_many
from tests.faults.people import ACTS
from tests.searches import TIMES


@pytest.mark.database
@pytest.mark.parametrize(
    "kills", [2, pytest.param(max(1, TIMES // 3) * len(ACTS), marks=pytest.mark.slow)]
)
def test_a_killed_server_has_lost_and_doubled_nothing(tmp_path, kills):
    result = kill_many(kills, tmp_path, seed=11)
    assert result.wrong == []
    assert sum(result.kills.values()) == kills
    assert sum(result.acknowledged.values()) >= kills
    assert result.whole_group >= kills // 2 - 1


# And that the loop would see it, had something been lost.

PURCHASE, PLANK = "purchase of 1.00", "component Plank"
VALUE = {"total": "1.00", "changes": 1}
NEW = Act("log", "/", [], {PURCHASE: (None, VALUE), PLANK: (None, 1)})


def found(wrong=(), imports=(), **records):
    names = {"purchase": PURCHASE, "plank": PLANK}
    return {
        "records": {names[name]: value for name, value in records.items()},
        "keys": {},
        "imports": dict(imports),
        "wrong": list(wrong),
    }


@pytest.mark.parametrize(
    ("records", "expected"),
    [
        ({"purchase": VALUE, "plank": 1}, 0),
        ({"plank": 1}, 1),
        ({"purchase": VALUE | {"total": "2.00"}, "plank": 1}, 1),
        ({"purchase": VALUE | {"changes": 2}, "plank": 1}, 1),
        ({}, 2),
    ],
)
def test_what_was_acknowledged_and_is_otherwise_is_seen(records, expected):
    book = Book()
    book.note(NEW)
    assert len(book.compare(found(**records))) == expected


@pytest.mark.parametrize(
    ("records", "is_right"),
    [
        ({}, True),
        ({"purchase": VALUE, "plank": 1}, True),
        ({"plank": 1}, False),
        ({"purchase": VALUE}, False),
        ({"purchase": VALUE | {"total": "0.00"}, "plank": 1}, False),
    ],
)
def test_what_was_not_answered_is_whole_or_absent(records, is_right):
    book = Book(open=[replace(NEW)])
    assert (book.compare(found(**records)) == []) is is_right


def test_what_nobody_sent_is_seen():
    assert Book().compare(found(purchase=VALUE)) != []


def test_an_import_that_goes_back_is_seen():
    book = Book(imports={"1": (500, False), "2": (700, True)})
    whole = {"state": "done", "done": 700, "rows": 701}
    right = {"1": {"state": "running", "done": 500, "rows": 701}, "2": whole}
    assert book.compare(found(imports=right.items())) == []
    for wrong in (
        {"2": whole},
        right | {"1": {"state": "running", "done": 0, "rows": 701}},
        right | {"2": whole | {"state": "running"}},
    ):
        book = Book(imports={"1": (500, False), "2": (700, True)})
        assert len(book.compare(found(imports=wrong.items()))) == 1


def test_what_is_wrong_in_itself_is_told():
    assert Book().compare(found(wrong=["purchase N1 has no line"])) == ["purchase N1 has no line"]
