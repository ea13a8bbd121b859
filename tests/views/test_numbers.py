"""Numbers of purchases and conversions: which one is suggested, and what becomes of one taken.

Decided without a published source: a series is what counts on, and a number typed once from a
supplier's receipt begins none.
"""

import pytest
from django.urls import reverse

from materials.models import Conversion, Purchase
from materials.queries.purchases import number_after
from tests.world import once

pytestmark = once("records")

# Numbers there are, the newest first, and the one suggested next.
SUGGESTED = [
    ([], "P001"),
    (["P7"], "P8"),
    (["INV-20443", "P002", "P001"], "P003"),
    (["INV-20443"], "P001"),
    (["4512", "P027", "P026"], "P028"),
    # Two that count on are a series of one's own, and the newest series goes on.
    (["2026-015", "2026-014", "P027", "P026"], "2026-016"),
    (["A-1"], "A-2"),
    (["P003", "2026-015", "2026-014"], "P004"),
    # Not the newest but the highest of its series; what is taken is left out.
    (["P002", "P009", "P001"], "P010"),
    (["P099", "P098"], "P100"),
    (["P100", "P99"], "P101"),
    (["receipt", "P001"], "P002"),
]


@pytest.mark.parametrize(("there", "expected"), SUGGESTED)
def test_a_series_goes_on_and_a_receipt_begins_none(there, expected):
    assert number_after(there, "P") == expected


FORMS = {"purchase_add": Purchase, "conversion_add": Conversion}


@pytest.fixture
def typed(screens, records):
    """Opens a form and fills it in, as one of two would who have it open."""

    def fill(name, **over):
        page = screens.open(name)
        if name == "purchase_add":
            values = {
                "lines-0-component": "Board",
                "lines-0-quantity_text": "3 pieces",
                "lines-0-source": "Salvage",
            }
        else:
            values = {
                "source": "Board",
                "used_text": "1 piece",
                "outputs-0-component": "Shelf",
                "outputs-0-made_text": "1 piece",
            }
        return screens.filled(page.form, values | over)

    return fill


@pytest.mark.parametrize("name", FORMS)
def test_a_suggested_number_taken_meanwhile_gives_way_to_the_next(name, screens, typed):
    first, second = typed(name), typed(name)
    number = first["number"]
    assert second["number"] == number
    assert screens.send(screens.url(name), first).status_code == 302
    answer = screens.send(screens.url(name), second)
    assert answer.status_code == 302
    made = FORMS[name].objects.latest("pk")
    assert made.number != number
    assert FORMS[name].objects.filter(number=number).count() == 1
    text = screens.read(answer.url).text
    assert f"{number} was used meanwhile, so this one is {made.number}." in text


@pytest.mark.parametrize("name", FORMS)
def test_one_that_was_typed_is_refused_at_its_box(name, screens, typed):
    assert screens.send(screens.url(name), typed(name, number="X-5")).status_code == 302
    answer = screens.send(screens.url(name), typed(name, number="x-5"))
    assert answer.status_code == 422
    kind = "purchase" if name == "purchase_add" else "conversion"
    said = f"“x-5” is the number of another {kind} already. Choose a different one."
    assert answer.context["form"].errors["number"] == [said]


@pytest.mark.parametrize("name", FORMS)
def test_a_typed_one_is_not_taken_for_suggested_after_the_form_came_back(name, screens, typed):
    """Asked for another row, or refused, the form still knows what it had suggested."""
    rows = "lines" if name == "purchase_add" else "outputs"
    number = typed(name)["number"]
    own = typed(name, number="X-6")
    assert screens.send(screens.url(name), own).status_code == 302
    for over in ({"add_row": rows}, {f"{rows}-0-component": ""}):
        page = screens.send(screens.url(name), own | over)
        assert page.context["form"]["suggested"].value() == number
    answer = screens.send(screens.url(name), own | {"note": "another"})
    assert answer.status_code == 422


def test_a_changed_record_keeps_its_number_or_is_refused(screens, records, entries):
    url = screens.url("purchase_edit", records["purchase"].pk)
    entries.purchase(
        "Q7", {"component": records["component"], "quantity_text": "1 piece", "source": "salvage"}
    )
    page = screens.read(url)
    answer = screens.send(url, screens.filled(page.form, {"number": "Q7"}))
    assert answer.status_code == 422
    assert screens.send(url, screens.filled(page.form, {})).status_code == 302


def test_several_lines_at_once_suggest_too(clients, build):
    typed = {"what": "Board", "quantity_text": "3 pieces", "from_short": "1"}
    answer = clients["owner"].post(reverse("purchase_add", args=[build.pk]), typed)
    form = answer.context["form"]
    assert form["number"].value() == form["suggested"].value()
