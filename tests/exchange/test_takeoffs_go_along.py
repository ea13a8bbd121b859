"""Takeoffs in the file of one build: under new keys, with what they are part of, never believed."""

import pytest

from materials.exchange.backups import read_build
from materials.exchange.faults import WorkbookError
from materials.models import Takeoff
from materials.queries.checks import find_differences
from materials.services.errors import LedgerError
from materials.services.records import undo_change
from materials.takeoffs.queries import requirement_of
from materials.takeoffs.services import UseMode, use_for_area
from tests.exchange.test_build_file import on, rewritten, written


@pytest.fixture
def used(entries, records, settings, tmp_path):
    """A wall that a component and the floor area take figures from."""
    settings.MEDIA_ROOT = tmp_path / "media"
    wall = records["takeoff"]
    siding = entries.component("Siding", "sq ft")
    entries.use(wall, "net", siding)
    use_for_area(**entries.by, takeoff=wall, figure="net", label="Floor area", how=UseMode.KEEP)
    return siding


def test_what_it_is_part_of_comes_along(used, build, cast):
    made = read_build(written(build), actor=cast["stranger"], name="Copy")
    assert list(find_differences(made)) == []
    wall = made.takeoffs.get()
    assert wall.inputs == build.takeoffs.get().inputs
    assert [(use.figure, use.area_label) for use in wall.uses.all()] == [
        ("net", ""),
        ("net", "Floor area"),
    ]
    siding = made.components.get(name="Siding")
    assert siding.pk != used.pk
    (part,) = requirement_of(siding).parts
    assert (part.use.takeoff, part.base) == (wall, 160)


def test_its_history_can_be_undone_there(used, build, cast):
    made = read_build(written(build), actor=cast["stranger"], name="Copy")
    change = made.changes.filter(record_type="takeoff").first()
    undo_change(actor=cast["stranger"], build=made, change=change)
    assert made.takeoffs.get().uses.count() == 1


def test_forged_figures_are_worked_out_again(used, build, cast):
    forged = [{"key": "net", "label": "Area", "typed": "9 sq ft", "formula": "3 × 3"}]
    stream = rewritten(written(build), on("takeoff", lambda row: row | {"figures": forged}))
    made = read_build(stream, actor=cast["stranger"], name="Copy")
    assert made.takeoffs.get().figures[0]["typed"] == "160 sq ft"


@pytest.mark.parametrize(
    "values",
    [
        {"shape": "castle"},
        {"inputs": {}},
        {"inputs": [1, 2]},
        {"inputs": {"length": "9" * 5000 + " ft", "height": "8 ft"}},
        {"name": "x" * 500},
    ],
    ids=["shape", "nothing", "list", "long", "name"],
)
def test_measures_that_make_no_shape_are_refused(values, used, build, cast):
    stream = rewritten(written(build), on("takeoff", lambda row: row | values))
    before = Takeoff.objects.count()
    with pytest.raises((LedgerError, WorkbookError)) as refused:
        read_build(stream, actor=cast["stranger"], name="Copy")
    assert str(refused.value)
    assert Takeoff.objects.count() == before
