"""What is kept of a build is never older than the build."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from materials.choices import Fate
from materials.models import Change
from materials.queries.kept import get_kept_sheet, stamp_of
from materials.queries.reports import get_cost_sheet
from materials.services.builds import save_build
from materials.services.purchases import save_purchase
from materials.services.records import delete_record, undo_change
from tests.entries import Entries, line
from tests.imports.steps import run, small_import


def writes(entries: Entries, second: Any) -> Iterator[str]:
    """What changes figures of a build, one after another; the name of each once it is done."""
    build, by = entries.build, entries.by
    entries.fill(range(1, 2))
    yield "one of each kind"
    board = build.components.get(name="Board 001")
    entries.change(board, required_text="30 pieces")
    yield "a requirement"
    entries.price(board, "5.00")
    yield "a new price"
    purchase = entries.purchase("N1", line(board, "20 pieces", unit_price=Decimal(3)))
    yield "a purchase"
    changed = [line(board, "21 pieces", unit_price=Decimal(3))]
    save_purchase(**by, purchase=purchase, values={"state": "ordered"}, lines=changed)
    yield "a purchase changed"
    save_build(**by, values={"own_labour_rate": Decimal(31), "budget_amount": Decimal(77)})
    yield "the build's details"
    entries.left_over(board, "1 piece", Fate.ON_HAND)
    yield "a leftover"
    entries.transfer(board, "2 pieces", second)
    yield "a transfer out"
    other = Entries(entries.actor, second)
    brick = other.component("Brick")
    other.purchase("B1", line(brick, "9 pieces", unit_price=Decimal(1)))
    other.transfer(brick, "4 pieces", build)
    yield "a transfer in, made in the other build"
    entries.labour("Ida", 3)
    yield "hours"
    entries.share(Ann=2, Ida=1)
    yield "shares"
    entries.hand_over("Ann", "Ida", 8)
    yield "a payment"
    job = run(entries, small_import(entries))
    yield "an import"
    undo_change(**by, change=job.change)
    yield "an import undone"
    delete_record(**by, record=purchase)
    yield "a purchase deleted"
    undo_change(**by, change=Change.objects.filter(build=build).first())
    yield "a purchase brought back"


def test_what_is_kept_equals_what_is_worked_out_after_every_write(entries, build, second):
    on, last = timezone.localdate(), None
    for name in writes(entries, second):
        fresh = get_cost_sheet(build, on)
        assert get_kept_sheet(build, on) == fresh, name
        assert fresh != last, f"{name} changed no figure: it shows nothing here"
        last = fresh


def test_an_entry_that_is_seen_after_a_later_one_is_told(entries, build):
    """Two write at once: keys are given in turn, and the first may be the last to be seen."""
    entries.component("Board")
    before = stamp_of(build)
    newest = Change.objects.filter(build=build).first()
    newest.pk += 1
    newest.save(force_insert=True)
    later = stamp_of(build)
    Change.objects.filter(pk=newest.pk - 1).delete()
    assert len({before, later, stamp_of(build)}) == 3


def test_nothing_is_worked_out_twice(entries, build):
    entries.component("Board")
    on = date(2026, 6, 1)
    get_kept_sheet(build, on)
    with CaptureQueriesContext(connection) as asked:
        get_kept_sheet(build, on)
    assert len(asked) == 1
    with CaptureQueriesContext(connection) as asked:
        get_kept_sheet(build, on + timedelta(days=1))
    assert len(asked) > 1
