"""The sheets made for others, as they are read."""

import re
from datetime import date
from html import unescape

import pytest
from django.urls import reverse

from materials.choices import LabourKind
from materials.models import DistanceRate
from materials.queries.sheets import weigh
from tests.answers import status
from tests.calc.builders import D
from tests.entries import line


@pytest.fixture
def printed(owner, build):
    """What a sheet says, in one line of text."""

    def read(name, query=""):
        answer = owner.get(reverse(name, args=[build.pk]) + query)
        text = re.sub(r"<[^>]+>", " ", answer.content.decode())
        return answer.status_code, " ".join(unescape(text).split())

    return read


@pytest.fixture
def filled(entries, build):
    frame = entries.element("B15", name="Frame")
    board = entries.component("Barn board", contents="1 piece = 22 lb", element=frame)
    rubble = entries.component("Rubble fill", "cu yd", load_kind="masonry")
    door = entries.component("Panel door")
    entries.price(board, "14.00", on=date(2026, 3, 2), priced_at="Lumber yard")
    entries.price(board, "16.00", on=date(2026, 6, 2))
    entries.purchase(
        "P1", line(board, "20 pieces", line_price_amount=D(60)),
        line(rubble, "2 cu yd", line_price_amount=D(0)),
        line(door, "1 piece", line_price_amount=D(5)),
        charges=[{"kind": "haulage", "amount": D("8.00")}],
    )  # fmt: skip
    entries.left_over(board, "4 pieces")
    entries.labour("Ann", "6.5")
    entries.labour("Ben", "2", paid_amount=D("50"))
    entries.labour("Ben", "1", kind=LabourKind.UPKEEP, paid_amount=D("20"))


def test_cost_basis(filled, printed):
    code, text = printed("cost_basis")
    assert code == 200
    assert "Paid for what is in the building: $123.00 ." in text
    assert "Ask a tax professional" in text
    assert "Own hours: 6.5 h" in text
    assert "Paid upkeep: $20.00." in text
    assert "distance at your own rate" not in text


def test_cost_basis_says_what_has_no_receipt(filled, printed, entries, build):
    DistanceRate.objects.create(build=build, from_on=date(2026, 1, 1), rate=D("0.70"))
    nail = entries.component("Nail", "lb")
    entries.purchase(
        "P2", line(nail, "5 lb", line_price_amount=D(4)),
        charges=[{"kind": "haulage", "distance_text": "30 mi"}],
    )  # fmt: skip
    assert "$21.00 is distance at your own rate" in printed("cost_basis")[1]


def test_replacement_takes_the_prices_of_the_day(filled, printed):
    """16 boards are in the building: at 14.00 and 8 % tax in May, at 16.00 from June on."""
    code, text = printed("replacement", "?on=2026-05-04")
    assert code == 200
    assert "would cost $241.92 new" in text
    assert "2 Mar 2026, Lumber yard" in text
    assert "Panel door , 1 piece: no new price known" in text
    assert "$276.48" in printed("replacement", "?on=2026-07-01")[1]
    assert "Take this to your insurer" in text


def test_replacement_marks_what_is_priced_as_bought(filled, printed, entries):
    """5 lb of nails bought new for 4.00 and nothing else known of their price."""
    nail = entries.component("Nail", "lb")
    entries.purchase("P9", line(nail, "5 lb", line_price_amount=D(4), source="retail"))
    text = printed("replacement", "?on=2026-05-04")[1]
    assert "Nail 5 lb as you paid: no new price $4.00" in text
    # 241.92 of boards, and 4.00.
    assert "would cost $245.92 new" in text
    assert "at prices read between 2 Mar 2026 and 4 May 2026, and $4.00 of it as you paid" in text


def test_replacement_of_nothing_but_what_is_priced_as_bought(printed, entries):
    nail = entries.component("Nail", "lb")
    entries.purchase("P9", line(nail, "5 lb", line_price_amount=D(4), source="retail"))
    text = printed("replacement", "?on=2026-05-04")[1]
    assert "would cost $4.00 new, with tax: all of it as you paid" in text


@pytest.mark.parametrize("query", ["?on=", "?on=soon", "?on=2026-02-30", "?on=9999-01-01"])
def test_a_wrong_day_is_answered_in_words(filled, printed, query):
    code, text = printed("replacement", query)
    assert code == 422
    assert "Not that day" in text


def test_replacement_of_nothing(printed):
    assert "Nothing in the building has a new price" in printed("replacement")[1]


def test_landfill(filled, printed):
    """16 of 20 boards of 22 lb: 352 lb; 2 cu yd of rubble: 2,000 to 2,800 lb; a door unknown."""
    code, text = printed("landfill")
    assert code == 200
    assert "Kept: 2,352 to 3,152 lb" in text
    assert "and 1 component of unknown weight" in text
    assert "your contents: 1 piece = 22 lb" in text
    assert "1,400 lb per loose cubic yard: USGBC" in text
    assert "1,000 lb per loose cubic yard: NAHB" in text


def test_what_would_not_have_been_thrown_away_is_not_counted(filled, printed, entries, build):
    entries.change(build.components.get(name="Rubble fill"), load_kind="not waste")
    text = printed("landfill")[1]
    assert "Kept: 352 lb , and 1 component" in text
    assert "Rubble fill : 2 cu yd, which would not have been thrown away." in text


@pytest.mark.parametrize(
    ("unit", "contents", "kind", "pounds"),
    [
        ("piece", "1 piece = 22 lb", "", (22, 22)),
        # What the builder states goes before what is published.
        ("piece", "1 piece = 22 lb; 1 piece = 1 cu yd", "drywall", (22, 22)),
        ("cu yd", "", "drywall", (400, 500)),
        ("piece", "1 piece = 2 cu yd", "wood", (534, 800)),
        ("lb", "", "", (1, 1)),
        ("piece", "", "wood", None),
        ("cu yd", "", "", None),
        ("cu yd", "", "feathers", None),
    ],
)
def test_where_a_weight_comes_from(unit, contents, kind, pounds):
    found = weigh(unit, contents, kind)
    assert (found and (found.low, found.high)) == pounds


def test_a_stranger_gets_nothing(client, cast, build):
    client.force_login(cast["stranger"])
    for name in ("cost_basis", "replacement", "landfill"):
        assert status(client.get(reverse(name, args=[build.pk]))) == 404
