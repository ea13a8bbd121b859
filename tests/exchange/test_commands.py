"""import_sheet and export_sheet: exit codes, sentences, nothing half-saved."""

import io

import pytest
from django.core.management import call_command

from materials.models import Build, Member
from materials.services import imports

from .small import NAME, put, save, small_sheets

pytestmark = pytest.mark.django_db


def run(*arguments: object) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of a command."""
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command(*map(str, arguments), stdout=out, stderr=err)
    except SystemExit as stop:
        return int(stop.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "cabin.xlsx"
    path.write_bytes(save(small_sheets()))
    return path


def test_import_and_export(file, tmp_path):
    code, out, err = run("import_sheet", file, "--build", "Given name")
    assert (code, err) == (0, "")
    assert "4 purchases" in out
    # The name on the command line wins.
    assert Build.objects.get().name == "Given name"
    target = tmp_path / "out.xlsx"
    assert run("export_sheet", "--build", "Given name", "--to", target)[0] == 0
    assert run("import_sheet", target, "--build", "Again")[0] == 0
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_dry_run_saves_nothing(file):
    code, out, _ = run("import_sheet", file, "--build", NAME, "--dry-run")
    assert code == 0
    assert "Would import" in out
    assert not Build.objects.exists()


def test_faults_are_told_one_a_line_and_nothing_is_saved(tmp_path):
    sheets = small_sheets()
    put(sheets, "Purchases", 2, "Quantity", "some")
    put(sheets, "Labour", 2, "Kind", "resting")
    path = tmp_path / "bad.xlsx"
    path.write_bytes(save(sheets))
    code, _, err = run("import_sheet", path, "--build", NAME)
    assert code == 1
    lines = err.splitlines()
    assert lines[0].startswith("Purchases row 2, Quantity: ")
    assert lines[1].startswith("Labour row 2, Kind: ")
    assert len(lines) == 2
    assert not Build.objects.exists()


def test_a_failure_half_way_saves_nothing(file, monkeypatch):
    def fail(build):
        raise imports.LedgerError("Something is short: add it.")

    monkeypatch.setattr(imports, "check_stock", fail)
    code, _, err = run("import_sheet", file, "--build", NAME)
    assert (code, err) == (1, "Something is short: add it.\n")
    assert not Build.objects.exists()


@pytest.mark.parametrize("name", ["missing.xlsx", "", "a\0b"])
def test_files_that_cannot_be_read(name, tmp_path):
    source = name if "\0" in name else tmp_path / name
    code, _, err = run("import_sheet", source, "--build", NAME)
    assert code == 1
    assert len(err.splitlines()) == 1


def test_several_builds_of_one_name(file, tmp_path):
    Build.objects.create(name=NAME)
    Build.objects.create(name=NAME)
    assert "2 builds called" in run("import_sheet", file, "--build", NAME)[2]
    assert "2 builds called" in run("export_sheet", "--build", NAME, "--to", tmp_path / "x")[2]


@pytest.mark.parametrize("target", ["", "no/such/place.xlsx"])
def test_places_that_cannot_be_written(file, tmp_path, target):
    run("import_sheet", file, "--build", NAME)
    code, _, err = run("export_sheet", "--build", NAME, "--to", tmp_path / target)
    assert code == 1
    assert len(err.splitlines()) == 1


def test_export_of_an_unknown_build(tmp_path):
    code, _, err = run("export_sheet", "--build", "Nowhere", "--to", tmp_path / "x.xlsx")
    assert code == 1
    assert "No build is called “Nowhere”" in err
    assert list(tmp_path.iterdir()) == []


def test_the_only_user_owns_the_build_and_several_own_nothing(file, django_user_model):
    django_user_model.objects.create_user("ida")
    run("import_sheet", file, "--build", "One")
    assert Member.objects.get(build__name="One").user.username == "ida"
    django_user_model.objects.create_user("max")
    _, printed, _ = run("import_sheet", file, "--build", "Two")
    assert "nobody owns the new build" in printed
    assert not Member.objects.filter(build__name="Two").exists()
    _, printed, _ = run("import_sheet", file, "--build", "Three", "--owner", "max")
    assert "nobody" not in printed
    assert Member.objects.get(build__name="Three").user.username == "max"
    code, _, err = run("import_sheet", file, "--build", "Four", "--owner", "nobody")
    assert code == 1
    assert "No active user is called “nobody”" in err


@pytest.mark.parametrize("name", ["", "  ", "a\x07b", "x" * 200])
def test_names_no_build_can_have(file, name):
    code, _, err = run("import_sheet", file, "--build", name)
    assert code == 1
    assert len(err.splitlines()) == 1
    assert not Build.objects.exists()
