"""Several changes of one act: each in the history, undone as one, brought back as one."""

import pytest

from materials.models import Change, Component, Purchase, Supplier
from materials.models.history import SEVERAL
from materials.queries.acts import parts_of, whole_of
from materials.queries.checks import find_differences
from materials.services.acts import as_one, mark
from materials.services.errors import LedgerError
from materials.services.records import undo_change
from tests.entries import line
from tests.world import once

pytestmark = once("entries")


def newest(build) -> Change:
    return Change.objects.filter(build=build).first()


@pytest.fixture
def act(entries):
    """A purchase of something new at a place that is new, as one act."""
    with as_one(**entries.by, summary="Slates from the quarry") as made:
        slate = entries.component("Slate")
        entries.purchase("P1", line(slate, "40 pieces"), supplier="Quarry")
    return made


def test_each_change_stands_there_and_one_more_for_the_whole(act, build):
    whole = newest(build)
    assert act.change == whole
    assert (whole.record_type, whole.summary) == (SEVERAL, "Slates from the quarry")
    parts = list(parts_of(whole))
    assert [part.record_type for part in parts] == ["purchase", "supplier", "component"]
    assert {whole_of(part) for part in parts} == {whole}
    assert whole_of(whole) is None


@pytest.mark.parametrize("place", range(4))
def test_it_is_undone_as_one_by_any_of_its_entries(place, act, entries, build):
    entry = [act.change, *parts_of(act.change)][place]
    assert undo_change(**entries.by, change=entry) == []
    for model in (Purchase, Supplier, Component):
        assert not model.objects.exists()
    assert list(find_differences(build)) == []


def test_undoing_is_one_act_and_is_undone_as_one(act, entries, build):
    undo_change(**entries.by, change=act.change)
    undone = newest(build)
    assert (undone.record_type, undone.action) == (SEVERAL, "undone")
    undo_change(**entries.by, change=undone)
    bought = Purchase.objects.get()
    assert [str(row) for row in bought.lines.all()] == ["40 pieces Slate"]
    assert bought.supplier.name == "Quarry"
    assert list(find_differences(build)) == []


def test_a_second_undo_says_that_it_was_undone(act, entries):
    undo_change(**entries.by, change=act.change)
    with pytest.raises(LedgerError, match="undone already"):
        undo_change(**entries.by, change=act.change)


def test_a_name_that_something_else_uses_stays_and_is_told(act, entries):
    entries.purchase("P2", line(entries.component("Ridge tile"), "6 pieces"), supplier="Quarry")
    said = undo_change(**entries.by, change=act.change)
    assert said == ["Kept, because they are used: Quarry."]
    assert [purchase.number for purchase in Purchase.objects.all()] == ["P2"]


def test_what_was_changed_since_is_not_undone_and_nothing_else_is(act, entries, build):
    bought = Purchase.objects.get()
    bought.note = "ten are chipped"
    bought.save()
    before = Change.objects.count()
    with pytest.raises(LedgerError, match="changed again since"):
        undo_change(**entries.by, change=act.change)
    assert Change.objects.count() == before
    assert Component.objects.filter(name="Slate").exists()


def test_one_change_is_no_act(entries, build):
    with as_one(**entries.by, summary="Only one") as made:
        entries.component("Slate")
    assert made.change == newest(build)
    assert (made.change.record_type, made.change.act) == ("component", "")


def test_nothing_is_no_act(entries, build):
    before = Change.objects.count()
    with as_one(**entries.by, summary="Nothing") as made:
        pass
    assert made.change is None
    assert Change.objects.count() == before


def test_an_act_inside_another_belongs_to_it(entries, build):
    with as_one(**entries.by, summary="Outer"):
        with as_one(**entries.by, summary="Inner"):
            entries.component("Slate")
            entries.component("Batten")
        entries.component("Nail")
    assert newest(build).summary == "Outer"
    assert parts_of(newest(build)).count() == 3


def refused_after_one(entries) -> None:
    entries.component("Slate")
    raise LedgerError("No.")


def test_a_failed_act_leaves_nothing_and_no_mark(entries, build):
    before = Change.objects.count()
    with pytest.raises(LedgerError), as_one(**entries.by, summary="Failed"):
        refused_after_one(entries)
    assert Change.objects.count() == before
    assert mark() == ""
