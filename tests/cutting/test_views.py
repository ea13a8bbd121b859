"""The pages of a cutting plan: typed, looked at, kept, printed, taken."""

import pytest
from django.urls import reverse

from materials.choices import Fate
from materials.models import Conversion, CuttingPlan, LeftOver
from tests.entries import line

pytestmark = pytest.mark.django_db


@pytest.fixture
def boards(entries):
    found = entries.component("Board", contents="1 piece = 16 ft")
    entries.purchase("P1", line(found, "6 @ 16 ft", line_price_amount=36))
    entries.left_over(found, "6 @ 16 ft", Fate.ON_HAND)
    return found


@pytest.fixture
def rungs(entries):
    return entries.component("Rung", contents="1 piece = 7 ft")


def sent(boards, rungs, **changed):
    """What the browser sends: two boards on hand, 12 ft to buy, pieces of 7 ft."""
    typed = {
        "name": "Ladder", "component": boards.pk, "planned_on": "2026-05-04",
        "kerf_text": "1/8 in", "keep_text": "1 ft", "note": "",
        "hand-TOTAL_FORMS": "1", "hand-INITIAL_FORMS": "0",
        "hand-0-length_text": "16 ft", "hand-0-count": "2",
        "buy-TOTAL_FORMS": "1", "buy-INITIAL_FORMS": "0",
        "buy-0-length_text": "", "buy-0-price": "",
        "needs-TOTAL_FORMS": "1", "needs-INITIAL_FORMS": "0",
        "needs-0-length_text": "7 ft", "needs-0-count": "4", "needs-0-component": rungs.pk,
    }  # fmt: skip
    return typed | changed


NEED = ("needs-0-length_text", "needs-0-count", "needs-0-component")


def address(build, name="cutting_plan_add", *keys):
    return reverse(name, args=[build.pk, *keys])


def test_look_keep_take_and_once_only(clients, build, boards, rungs):
    client = clients["owner"]
    looked = client.post(address(build), sent(boards, rungs, look="1"))
    assert looked.status_code == 200
    assert "fewer than 2 boards" in looked.content.decode()
    assert not CuttingPlan.objects.exists()
    kept = client.post(address(build), sent(boards, rungs), follow=True)
    plan = CuttingPlan.objects.get()
    assert kept.redirect_chain[0][0] == address(build, "cutting_plan", plan.pk)
    shown = kept.content.decode()
    assert "Saw at 7 ft, 14 ft 1/8 in" in shown
    assert "From one end: 2 of 7 ft (A); the off-cut is 1 ft 11-3/4 in." in shown
    take = address(build, "cutting_plan_take", plan.pk)
    assert "4 × 7 ft become Rung" in client.get(take).content.decode()
    done = client.post(take, {"taken_on": "2026-05-04"}, follow=True)
    assert "is logged as" in done.content.decode()
    again = client.post(take, {"taken_on": "2026-05-04"})
    assert again.status_code == 422
    assert "took this plan already" in again.content.decode()
    assert Conversion.objects.count() == 1
    # A plan that was taken stands as it is.
    edit = client.get(address(build, "cutting_plan_edit", plan.pk))
    assert "took this plan already" in edit.content.decode()
    late = client.post(address(build, "cutting_plan_edit", plan.pk), sent(boards, rungs, note="x"))
    assert late.status_code == 422


def test_a_fault_loses_nothing(clients, build, boards, rungs):
    faulty = sent(boards, rungs, kerf_text="thin", note="for the loft") | {
        "needs-0-length_text": "7",
        "hand-0-count": "many",
    }
    answer = clients["owner"].post(address(build), faulty)
    text = answer.content.decode()
    assert answer.status_code == 422
    for typed in ("thin", "for the loft", "many"):
        assert f'value="{typed}"' in text
    assert "has no unit" in text
    assert not CuttingPlan.objects.exists()


@pytest.mark.parametrize(
    ("changed", "result"),
    [
        ({"needs-0-length_text": "17 ft"}, "17 ft is longer than any board"),
        ({"needs-0-count": "9"}, "5 × 7 ft cannot be cut"),
        (dict.fromkeys(NEED, ""), "piece to cut"),
        ({"hand-0-length_text": "", "hand-0-count": ""}, "board to cut from"),
        ({"hand-0-trim_text": "9 ft"}, "leave nothing of it"),
        ({"needs-0-count": "99999"}, "over 10000"),
        ({"needs-0-length_text": "7 ft 3"}, "has no unit after"),
        ({"needs-0-length_text": "2400"}, "2400 ft, 2400 in, 2400 m or 2400 mm"),
        ({"hand-0-trim_text": "1/16 in"}, "less than one saw cut"),
        ({"component": "999999"}, "Select a valid choice"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_said(clients, build, boards, rungs, changed, result):
    answer = clients["owner"].post(address(build), sent(boards, rungs, **changed))
    assert answer.status_code == 422
    assert result in answer.content.decode()


def test_more_rows_than_a_page_takes(clients, build, boards, rungs):
    rows = {"needs-TOTAL_FORMS": "61"}
    for n in range(61):
        rows |= {f"needs-{n}-length_text": f"{n + 1} in", f"needs-{n}-count": "1"}
    answer = clients["owner"].post(address(build), sent(boards, rungs, **rows))
    assert answer.status_code == 422
    assert "more than 60 rows" in answer.content.decode()


def test_one_more_row_keeps_what_was_typed(clients, build, boards, rungs):
    answer = clients["owner"].post(address(build), sent(boards, rungs, add_row="needs"))
    text = answer.content.decode()
    assert 'name="needs-1-length_text"' in text
    assert 'value="7 ft"' in text


def test_begins_with_what_is_known(clients, build, boards):
    answer = clients["owner"].get(address(build) + f"?component={boards.pk}")
    text = answer.content.decode()
    assert 'name="hand-0-count" value="6"' in text
    assert 'name="buy-0-price" value="6"' in text
    assert clients["owner"].get(address(build) + "?component=999").status_code == 404
    assert clients["owner"].get(address(build) + "?component=x").status_code == 200


def test_a_viewer_reads_and_prints_but_does_not_take(clients, build, entries, boards, rungs):
    plan = entries.cutting_plan("Cuts", boards, rungs)
    text = clients["viewer"].get(address(build, "cutting_plan", plan.pk)).content.decode()
    assert "Boards to cut" in text
    assert "Take plan" not in text


def test_a_damaged_plan_is_said_to_be_one(clients, build, entries, boards, rungs):
    plan = entries.cutting_plan("Cuts", boards, rungs)
    CuttingPlan.objects.update(result={"cuts": "?"})
    for name in ("cutting_plan", "cutting_plan_edit", "cutting_plan_take"):
        assert clients["owner"].get(address(build, name, plan.pk)).status_code == 200
    text = clients["owner"].get(address(build, "cutting_plan", plan.pk)).content.decode()
    assert "Work this plan out again" in text


def test_what_is_to_be_bought_is_logged_first(clients, build, entries, boards, rungs):
    buy = [{"length_text": "16 ft", "price": 6, "most": None, "trim_text": ""}]
    plan = entries.cutting_plan("Cuts", boards, rungs, hand=[], buy=buy)
    shown = clients["owner"].get(address(build, "cutting_plan", plan.pk)).content.decode()
    assert "2 × 16 ft at $6.00 each" in shown
    assert "what=Board&amp;much=2+%40+16+ft" in shown
    take = address(build, "cutting_plan_take", plan.pk)
    refused = clients["owner"].post(take, {"taken_on": "2026-05-04"})
    assert refused.status_code == 422
    assert "Log the boards to buy first" in refused.content.decode()
    assert not Conversion.objects.exists()
    # Ticked although they are not: all six boards of the ledger are on hand.
    ticked = {"taken_on": "2026-05-04", "bought": "on"}
    assert clients["owner"].post(take, ticked).status_code == 422
    assert not Conversion.objects.exists()
    entries.purchase("P2", line(boards, "2 @ 16 ft", line_price_amount=12))
    assert clients["owner"].post(take, ticked).status_code == 302
    assert Conversion.objects.count() == 1


def test_where_boards_on_hand_come_from_is_said_before_it_is_taken(
    clients, build, entries, boards, rungs
):
    entries.purchase("P2", line(boards, "4 @ 16 ft", line_price_amount=12))
    plan = entries.cutting_plan("Cuts", boards, rungs)
    take = address(build, "cutting_plan_take", plan.pk)
    text = clients["owner"].get(take).content.decode()
    assert "2 × 16 ft: from what is on hand." in text
    assert "comes off what counts as built in" not in text
    LeftOver.objects.filter(fate=Fate.ON_HAND).delete()
    text = clients["owner"].get(take).content.decode()
    assert "2 × 16 ft: from what counts as built in." in text
    assert "comes off what counts as built in" in text
