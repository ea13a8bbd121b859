"""Rows under a form, without JavaScript: one more, taken out, kept, and copied."""

from decimal import Decimal as D

import pytest

from materials.models import Change, Conversion, Purchase
from tests.entries import line
from tests.views.screens import MARKS, Page
from tests.world import once

pytestmark = once("records")

TYPED = {
    "number": "P77",
    "bought_on": "not yet a date",
    "supplier": "Barn & Sons <b>",
    "state": "ordered",
    "lot_price_amount": "abc",
    "lines-0-component": "Board",
    "lines-0-quantity_text": "twelve-ish",
    "lines-0-source": "seconds",
    "lines-0-usable_percent": "101",
    "charges-0-kind": "haulage",
    "charges-0-distance_text": "far",
}


def same_values(page: Page, sent: dict[str, str], but: set[str]) -> dict[str, tuple]:
    """Controls that lost or changed what was sent in them."""
    return {
        name: (value, page.form.fields.get(name))
        for name, value in sent.items()
        if page.form.fields.get(name) != value and name not in {*but, *MARKS}
    }


@pytest.mark.parametrize("prefix", ["lines", "charges"])
def test_another_line_keeps_everything_typed(screens, prefix):
    url = screens.url("purchase_add")
    page = screens.read(url)
    assert {("add_row", "lines"), ("add_row", "charges")} <= page.form.buttons
    sent = screens.filled(page.form, TYPED)
    count = Change.objects.count()
    answer = screens.send(url, sent | {"add_row": prefix})
    assert answer.status_code == 200
    more = Page(answer.content.decode())
    counted = {f"{p}-{which}_FORMS" for p in ("lines", "charges") for which in ("TOTAL", "INITIAL")}
    assert same_values(more, sent, counted) == {}
    assert more.faults == []
    assert {p: more.form.fields[f"{p}-TOTAL_FORMS"] for p in ("lines", "charges")} == {
        "lines": "1",
        "charges": "1",
        prefix: "2",
    }
    assert (Purchase.objects.count(), Change.objects.count()) == (1, count)


def test_rows_asked_for_are_saved_in_their_order(screens):
    page = screens.add_rows("purchase_add", "lines", 3)
    data = {"number": "P5"}
    for i, quantity in enumerate(("3 pieces", "1 piece", "2 pieces")):
        data |= {
            f"lines-{i}-component": "Board",
            f"lines-{i}-quantity_text": quantity,
            f"lines-{i}-source": "salvage",
        }
    answer = screens.send(screens.url("purchase_add"), screens.filled(page.form, data))
    assert answer.status_code == 302
    made = Purchase.objects.get(number="P5")
    assert [row.quantity_text for row in made.lines.all()] == ["3 pieces", "1 piece", "2 pieces"]


def test_empty_rows_are_skipped(screens):
    page = screens.add_rows("purchase_add", "lines", 4)
    data = {"number": "P5"}
    data |= {"lines-2-component": "Board", "lines-2-quantity_text": "1 piece"}
    data |= {"lines-2-source": "salvage"}
    assert (
        screens.send(screens.url("purchase_add"), screens.filled(page.form, data)).status_code
        == 302
    )
    made = Purchase.objects.get(number="P5")
    assert (made.lines.count(), made.charges.count()) == (1, 0)


@pytest.fixture
def stored(entries, records) -> Purchase:
    """A purchase with three lines and a charge."""
    board = records["component"]
    return entries.purchase(
        "P3",
        *(line(board, f"{n} pieces", unit_price=D(n)) for n in (2, 3, 4)),
        charges=[{"kind": "haulage", "amount": D(9)}],
        supplier="Yard",
        note="as it was",
    )


def test_saving_unchanged_keeps_rows_and_writes_no_history(screens, stored):
    rows = list(stored.lines.values())
    count = Change.objects.count()
    screens.save("purchase_edit", {}, stored.pk)
    assert list(stored.lines.values()) == rows
    assert Change.objects.count() == count


def folded(page: Page) -> list[str]:
    """What finished lines say while they are folded."""
    parts = page.html.split('<details class="line-fold"><summary>')[1:]
    return [Page(part.split("</summary>")[0]).text for part in parts]


def test_finished_lines_are_one_line_each_with_what_they_come_to(screens, stored):
    page = screens.open("purchase_edit", stored.pk)
    assert len(folded(page)) == stored.lines.count() > 1
    for line_ in stored.lines.all():
        (said,) = [text for text in folded(page) if line_.quantity_text in text]
        assert line_.component.name in said
        assert f"${line_.price_amount:.2f}" in said
    # A line with a fault is open, and so is the last, in which one goes on.
    typed = {"lines-0-quantity_text": "twelve-ish"}
    refused = screens.refused("purchase_edit", typed, stored.pk)
    assert len(folded(refused)) == stored.lines.count() - 1
    assert "twelve-ish" not in " ".join(folded(refused))


def test_a_single_line_is_not_folded(screens, stored):
    stored.lines.exclude(pk=stored.lines.first().pk).delete()
    assert folded(screens.open("purchase_edit", stored.pk)) == []


def test_changing_keeps_the_keys_of_lines(screens, stored):
    keys = list(stored.lines.values_list("pk", flat=True))
    charge = stored.charges.get().pk
    screens.save(
        "purchase_edit",
        {"lines-1-quantity_text": "7 pieces", "charges-0-amount": "10"},
        stored.pk,
    )
    rows = list(stored.lines.all())
    assert [row.pk for row in rows] == keys
    assert [row.quantity_text for row in rows] == ["2 pieces", "7 pieces", "4 pieces"]
    assert (stored.charges.get().pk, stored.charges.get().amount) == (charge, 10)


def test_a_line_is_taken_out_and_the_others_stay(screens, stored):
    first, _, last = stored.lines.values_list("pk", flat=True)
    screens.save("purchase_edit", {"lines-1-DELETE": True}, stored.pk)
    assert list(stored.lines.values_list("pk", flat=True)) == [first, last]
    assert [row.position for row in stored.lines.all()] == [0, 1]


def test_a_line_with_faults_can_be_taken_out(screens, stored):
    typed = {"lines-1-quantity_text": "nonsense", "lines-1-DELETE": True}
    screens.save("purchase_edit", typed, stored.pk)
    assert stored.lines.count() == 2


def test_the_last_line_cannot_be_taken_out(screens, stored):
    typed = {f"lines-{i}-DELETE": True for i in range(3)}
    page = screens.refused("purchase_edit", typed, stored.pk)
    assert any("at least one line" in fault for fault in page.faults)
    assert stored.lines.count() == 3


def test_another_line_on_a_stored_purchase_keeps_keys_and_ticks(screens, stored):
    url = screens.url("purchase_edit", stored.pk)
    keys = list(stored.lines.values_list("pk", flat=True))
    sent = screens.filled(
        screens.read(url).form, {"lines-0-quantity_text": "5 pieces", "lines-2-DELETE": True}
    )
    page = Page(screens.send(url, sent | {"add_row": "lines"}).content.decode())
    assert page.form.fields["lines-2-DELETE"] == "on"
    more = {
        "lines-3-component": "Board",
        "lines-3-quantity_text": "6 pieces",
        "lines-3-source": "retail",
    }
    total = int(page.form.fields["lines-TOTAL_FORMS"])
    more = {name.replace("-3-", f"-{total - 1}-"): value for name, value in more.items()}
    answer = screens.send(url, screens.filled(page.form, more))
    assert answer.status_code == 302, Page(answer.content.decode()).faults
    rows = list(stored.lines.all())
    assert [row.pk for row in rows[:2]] == keys[:2]
    assert [row.quantity_text for row in rows] == ["5 pieces", "3 pieces", "6 pieces"]


def test_a_line_of_another_build_is_refused(screens, stored, records):
    other = records["purchase"].lines.get()
    page = screens.refused("purchase_edit", {"lines-0-pk": other.pk}, stored.pk)
    assert any("Open the page again" in fault for fault in page.faults)
    other.refresh_from_db()
    assert other.purchase == records["purchase"]


@pytest.mark.parametrize("pk", ["0", "-1", "999999", "9" * 30, "x", "1.5", "\x00"])
def test_a_key_of_no_line_is_refused(screens, stored, pk):
    before = list(stored.lines.values())
    screens.refused("purchase_edit", {"lines-0-pk": pk}, stored.pk)
    assert list(stored.lines.values()) == before


def test_logging_one_like_it(screens, stored):
    detail = screens.open("purchase", stored.pk)
    (url,) = [href for href, text in detail.links if text == "Copy purchase"]
    page = screens.read(url)
    assert page.form.fields["supplier"] == "Yard"
    assert page.form.fields["number"] not in ("P3", "")
    quantities = [page.form.fields[f"lines-{i}-quantity_text"] for i in range(3)]
    assert quantities == ["2 pieces", "3 pieces", "4 pieces"]
    answer = screens.send(url, screens.filled(page.form, {"lines-1-quantity_text": "8 pieces"}))
    assert answer.status_code == 302, Page(answer.content.decode()).faults
    made = Purchase.objects.latest("pk")
    assert [row.quantity_text for row in made.lines.all()] == ["2 pieces", "8 pieces", "4 pieces"]
    assert not set(made.lines.values_list("pk")) & set(stored.lines.values_list("pk"))
    assert stored.lines.count() == 3


def test_one_more_line_on_one_like_it(screens, stored):
    url = screens.url("purchase_add") + f"?like={stored.pk}"
    sent = screens.read(url).form.fields | {"add_row": "lines"}
    page = Page(screens.send(url, sent).content.decode())
    assert screens.send(url, page.form.fields).status_code == 302
    made = Purchase.objects.latest("pk")
    assert [row.quantity_text for row in made.lines.all()] == ["2 pieces", "3 pieces", "4 pieces"]


@pytest.mark.parametrize("like", ["abc", "-1", "", "1.5", "9" * 40, "²", "%00"])
def test_like_nonsense_is_a_plain_page(screens, like):
    page = screens.read(screens.url("purchase_add") + f"?like={like}")
    assert page.form.fields["lines-0-quantity_text"] == ""


def test_like_another_builds_purchase_is_not_found(screens, other_build, stored):
    stored.build = other_build
    stored.save()
    url = screens.url("purchase_add") + f"?like={stored.pk}"
    assert screens.client.get(url).status_code == 404


TAMPERED = {
    "lines-TOTAL_FORMS": ["x", "", "-1", "1e3", "0"],
    "lines-INITIAL_FORMS": ["x", "", "-1", str(10**9), "0"],
    "lines-MAX_NUM_FORMS": ["x", "-1"],
}


@pytest.mark.parametrize(
    ("name", "value"), [(name, value) for name, values in TAMPERED.items() for value in values]
)
def test_a_tampered_count_of_rows_is_never_an_error(screens, stored, name, value):
    """It is refused in a sentence, or makes no difference."""
    url = screens.url("purchase_edit", stored.pk)
    data = screens.read(url).form.fields | {name: value}
    lines = stored.lines.count()
    for sent in (data, data | {"add_row": "lines"}):
        answer = screens.send(url, sent)
        assert answer.status_code in (200, 302, 422)
        if answer.status_code == 422:
            again = Page(answer.content.decode())
            assert again.faults
            assert "Hidden field" not in again.text
            assert "_FORMS" not in again.text
    assert stored.lines.count() == lines


@pytest.mark.parametrize("counts", [{}, {"TOTAL": "x"}, {"TOTAL": "0"}, {"INITIAL": "-3"}])
def test_what_was_typed_outlives_a_lost_count(screens, stored, counts):
    """The rows come back with what was typed in them, and can be saved then."""
    url = screens.url("purchase_edit", stored.pk)
    typed = {"lines-1-quantity_text": "7 pieces", "charges-0-amount": "10"}
    sent = screens.filled(screens.read(url).form, typed)
    if counts:
        sent |= {f"lines-{name}_FORMS": value for name, value in counts.items()}
    else:
        sent = {name: value for name, value in sent.items() if not name.endswith("_FORMS")}
    answer = screens.send(url, sent)
    again = Page(answer.content.decode())
    assert answer.status_code == 422
    assert any("check them here, and save again" in fault for fault in again.faults)
    of_rows = {name for name in sent if name.endswith("_FORMS")}
    assert same_values(again, sent, of_rows) == {}
    assert screens.send(url, again.form.fields).status_code == 302
    assert [row.quantity_text for row in stored.lines.all()] == ["2 pieces", "7 pieces", "4 pieces"]
    assert stored.charges.get().amount == 10


@pytest.mark.parametrize("value", ["x", "0", ""])
def test_another_line_outlives_a_lost_count(screens, stored, value):
    url = screens.url("purchase_edit", stored.pk)
    sent = screens.filled(screens.read(url).form, {"lines-1-quantity_text": "7 pieces"})
    sent |= {"lines-TOTAL_FORMS": value, "add_row": "lines"}
    more = Page(screens.send(url, sent).content.decode())
    assert more.form.fields["lines-1-quantity_text"] == "7 pieces"


@pytest.mark.parametrize("value", ["x", "-1", "9", "0"])
def test_a_tampered_count_of_outputs_is_never_an_error(screens, records, value):
    conversion = records["conversion"]
    url = screens.url("conversion_edit", conversion.pk)
    for name in ("outputs-INITIAL_FORMS", "outputs-TOTAL_FORMS"):
        data = screens.read(url).form.fields | {name: value}
        assert screens.send(url, data).status_code in (302, 422)
    assert conversion.outputs.count() == 1


def test_missing_counts_are_told_in_a_sentence(screens):
    data = {"number": "P9", "bought_on": "2026-05-04", "state": "received"}
    answer = screens.send(screens.url("purchase_add"), data)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert any("came back incomplete" in fault for fault in page.faults)
    assert "ManagementForm" not in page.html


def test_more_rows_than_can_be_are_told_in_a_sentence(screens):
    page = screens.refused("purchase_add", {"number": "P9", "lines-TOTAL_FORMS": str(10**9)})
    assert any("more than 200 rows" in fault for fault in page.faults)


def test_outputs_of_a_conversion_grow_the_same_way(screens, records):
    url = screens.url("conversion_add")
    page = screens.add_rows("conversion_add", "outputs", 2)
    data = {"number": "C7", "source": "Board", "used_text": "2 pieces"}
    for i in range(2):
        data |= {f"outputs-{i}-component": "Shelf", f"outputs-{i}-made_text": f"{i + 1} pieces"}
    assert screens.send(url, screens.filled(page.form, data)).status_code == 302
    made = Conversion.objects.get(number="C7")
    assert [row.made_text for row in made.outputs.all()] == ["1 pieces", "2 pieces"]
    keys = list(made.outputs.values_list("pk", flat=True))
    screens.save("conversion_edit", {"outputs-1-made_text": "3 pieces"}, made.pk)
    assert list(made.outputs.values_list("pk", flat=True)) == keys
