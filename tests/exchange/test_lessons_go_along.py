"""The sheet Lessons: read, refused with a sentence, undone as a part of its import."""

import pytest

from materials.models import Change, Lesson
from materials.services.imports import import_plan
from materials.services.records import undo_change

from .small import check, small_sheets

HEAD = ["Date", "Kind", "Lesson", "Component", "Element", "Task", "Supplier", "Money", "Hours"]
ROW = ("2026-05-06", "regret", "Planed it wet", "Plank", None, None, None, 12.5, "2:30", "Ida")


def sheets_with(*rows):
    sheets = small_sheets()
    sheets["Lessons"] = [[*HEAD, "Noted by"], *map(list, rows)]
    return sheets


@pytest.mark.django_db
def test_lessons_come_in_and_go_with_their_import(cast):
    whole = ("2026-05-07", "win", "Asked the neighbours first", *[None] * 7)
    new = ("2026-05-07", "regret", "Too late in the day", None, None, "Oiling", None, None, 0, None)
    build = import_plan(actor=cast["owner"], plan=check(small_sheets()).plan, owner=cast["owner"])
    checked = check({"Lessons": sheets_with(ROW, whole, new)["Lessons"]}, build=build)
    assert checked.faults == ()
    assert checked.plan.counts()["lessons"] == 3
    import_plan(actor=cast["owner"], plan=checked.plan, build=build)
    found = Lesson.objects.filter(build=build).order_by("pk")
    assert [(one.text, str(one.about)) for one in found] == [
        ("Planed it wet", "Plank"),
        ("Asked the neighbours first", "None"),
        ("Too late in the day", "Oiling"),
    ]
    first, second, third = found
    assert (str(first.amount), str(first.hours), first.author) == ("12.5000", "2.5000", "Ida")
    assert (second.amount, second.hours) == (None, None)
    assert third.hours == 0
    again = check({"Lessons": sheets_with(ROW, whole, new)["Lessons"]}, build=build)
    assert again.plan.lessons == ()
    assert "Lessons: what is noted already stays as it is." in again.notes
    change = Change.objects.filter(build=build, action="imported").first()
    undo_change(actor=cast["owner"], build=build, change=change)
    assert not Lesson.objects.filter(build=build).exists()
    assert not build.tasks.filter(name="Oiling").exists()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ((*ROW[:6], "River yard", *ROW[7:]), "A lesson is about one thing"),
        ((ROW[0], "pity", *ROW[2:]), "regret, win"),
        ((*ROW[:2], None, *ROW[3:]), "Lesson"),
        ((*ROW[:3], "Log", *ROW[4:]), "is not on the Components sheet"),
        (("2190-05-06", *ROW[1:]), "That day has not come yet"),
        ((*ROW[:7], -1, *ROW[8:]), "is negative"),
    ],
)
@pytest.mark.django_db
def test_what_cannot_be_is_said_at_its_cell(row, said):
    checked = check(sheets_with(row))
    assert checked.plan is None
    (fault,) = checked.faults
    assert fault.sheet == "Lessons"
    assert said in f"{fault.column}: {fault.text}"
