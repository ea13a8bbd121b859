"""Reading one of our own workbooks twice: hours and left over have no numbers to be told by."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from materials.models import Build, Change, LabourEntry, LeftOver, Purchase
from materials.queries.checks import find_differences
from materials.services.errors import LedgerError
from materials.services.purchases import save_purchase
from materials.services.records import undo_change
from tests.entries import Entries, line

from .small import bring_in, check, save, small_sheets

pytestmark = pytest.mark.django_db


def again() -> dict:
    """The sheets that can be read a second time."""
    return {title: rows for title, rows in small_sheets().items() if title in ("Labour", "Tasks")}


def test_hours_that_are_there_already_are_said_before_they_count_twice(cast, clients):
    build = bring_in(small_sheets())
    build.members.create(user=cast["owner"], role="owner")
    assert "Labour: 3 rows are in this build already" in check(again(), build=build).doubles[0]
    url = reverse("upload", args=[build.pk])

    def send(**more):
        return clients["owner"].post(
            url, {"workbook": SimpleUploadedFile("x.xlsx", save(again()))} | more
        )

    refused = send()
    assert refused.status_code == 422
    assert "3 rows are in this build already" in refused.content.decode()
    assert 'type="checkbox" name="doubles_too"' in refused.content.decode()
    assert LabourEntry.objects.count() == 3
    assert send(doubles_too="on").status_code == 302
    assert LabourEntry.objects.count() == 6
    # Of three rows that stand there twice, three are doubles again.
    assert "3 rows" in check(again(), build=build).doubles[0]


def test_the_command_says_it_too(tmp_path, capsys):
    build = bring_in(small_sheets())
    file = tmp_path / "again.xlsx"
    file.write_bytes(save(again()))
    call_command("import_sheet", str(file), "--build", build.name, "--dry-run")
    assert "Note: Labour: 3 rows are" in capsys.readouterr().out


def test_other_hours_are_no_doubles():
    build = bring_in(small_sheets())
    sheets = again()
    for row in sheets["Labour"][1:]:
        row[4] = 7.25
    assert check(sheets, build=build).doubles == ()


def test_a_workbook_read_into_a_build_is_undone_as_one(cast):
    begun = small_sheets()
    build = bring_in({title: begun[title] for title in ("Build", "Elements")})
    entries = Entries(cast["owner"], build)
    sheets = small_sheets()
    del sheets["Build"], sheets["Elements"]
    before = Build.objects.get(pk=build.pk)
    bring_in(sheets, build=build)
    change = Change.objects.filter(build=build, action="imported").first()
    assert Purchase.objects.exists()
    undo_change(**entries.by, change=change)
    for model in (Purchase, LabourEntry, LeftOver):
        assert not model.objects.exists()
    assert not build.components.exists()
    assert list(find_differences(before)) == []
    # Used since, it stands in the way by name.
    bring_in(sheets, build=build)
    change = Change.objects.filter(build=build, action="imported").first()
    purchase = build.purchases.get(number="P3")
    part = purchase.lines.first().component
    save_purchase(**entries.by, purchase=purchase, values={}, lines=[line(part, "2 pieces")])
    with pytest.raises(LedgerError, match=f"purchase {purchase.number} was changed since"):
        undo_change(**entries.by, change=change)
