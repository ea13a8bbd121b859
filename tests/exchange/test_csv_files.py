"""CSV of each sheet: RFC 4180 as reprinted in summaries of it (F01 line ends, F02 quotes, F03
spaces and field count, F04 media type), and guarded cells after OWASP ASVS 5.0.0 requirement
1.2.10 (F05 the signs, F06 numbers)."""

import csv
import io
import zipfile
from decimal import Decimal

import pytest

from materials.exchange.csv_files import CONTENT_TYPE, write_archive, write_csv
from materials.exchange.csv_guard import guarded, unguarded
from materials.exchange.schema import TITLES
from materials.models import Build

from .small import bring_in, small_sheets
from .test_commands import run
from .test_round_trip import facts

pytestmark = pytest.mark.django_db


def table(build: Build, title: str) -> bytes:
    stream = io.BytesIO()
    write_csv(title, build, stream)
    return stream.getvalue()


def rows(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def test_lines_end_with_cr_lf_and_have_the_same_number_of_fields():
    """F01, F03."""
    build = bring_in(small_sheets())
    for title in TITLES:
        data = table(build, title)
        assert data.startswith(b"\xef\xbb\xbf")
        assert data.endswith(b"\r\n")
        assert data.count(b"\n") == data.count(b"\r\n")
        assert len({len(row) for row in rows(data)}) == 1, title


def test_commas_quotes_and_line_breaks_stand_in_quotes():
    """F02."""
    build = bring_in(small_sheets())
    build.components.filter(name="Plank").update(note='8" wide, say\r\ntwo')
    data = table(build, "Components")
    assert b'"8"" wide, say\r\ntwo"' in data
    assert any(row[13] == '8" wide, say\r\ntwo' for row in rows(data))


def test_spaces_belong_to_the_field_and_nothing_stands_after_the_last():
    """F03."""
    build = bring_in(small_sheets())
    build.components.filter(name="Plank").update(note=" a ")
    (row,) = [row for row in rows(table(build, "Components")) if row[0] == "Plank"]
    assert row[13] == " a "


def test_the_media_type_names_character_set_and_heading():
    """F04."""
    assert CONTENT_TYPE == "text/csv; charset=utf-8; header=present"


@pytest.mark.parametrize("sign", ["=1+1", "+1", "-5", "@x", "\t=1", "\r=1", "\0=1", "＝1"])
def test_a_text_that_begins_like_a_formula_is_guarded(sign):
    """F05, 1.2.10."""
    assert guarded(sign) == f"'{sign}"
    assert unguarded(guarded(sign)) == sign
    # One that looks guarded already comes back as it was, too.
    assert unguarded(guarded(f"'{sign}")) == f"'{sign}"


@pytest.mark.parametrize("text", ["7' 6\"", "'til noon", "a=b", "", "'", "½ gal"])
def test_other_texts_are_left_alone(text):
    assert guarded(text) == text
    assert unguarded(text) == text


def test_a_negative_number_is_a_number_and_a_text_like_it_is_guarded():
    """F06."""
    sheets = small_sheets()
    sheets["Charges"].append(["P3", "deposit", -5, None, None, None, None])
    build = bring_in(sheets)
    build.components.filter(name="Plank").update(note="-5")
    (row,) = [row for row in rows(table(build, "Charges")) if row[1] == "deposit"]
    assert Decimal(row[2]) == -5
    (row,) = [row for row in rows(table(build, "Components")) if row[0] == "Plank"]
    assert row[13] == "'-5"


def test_a_folder_of_tables_reads_back_into_an_equal_build(tmp_path):
    sheets = small_sheets()
    first = bring_in(sheets)
    first.components.filter(name="Plank").update(note="'=1+1")
    first.components.filter(name="Paint").update(note="@home, 0,5 m³")
    code, out, err = run("export_sheet", "--build", first.name, "--csv", tmp_path / "tables")
    assert (code, err) == (0, "")
    assert "tables" in out
    assert sorted(path.stem for path in (tmp_path / "tables").iterdir()) == sorted(TITLES)
    assert run("import_sheet", tmp_path / "tables", "--build", "Again")[0] == 0
    second = Build.objects.get(name="Again")
    assert facts(second) == facts(first)


def test_the_archive_holds_every_table():
    build = bring_in(small_sheets())
    stream = io.BytesIO()
    write_archive(build, stream)
    with zipfile.ZipFile(stream) as archive:
        assert archive.namelist() == [f"{title}.csv" for title in TITLES]
        assert archive.read("Labour.csv") == table(build, "Labour")
        assert archive.testzip() is None


def test_the_command_asks_where_to(tmp_path):
    build = bring_in(small_sheets())
    code, _, err = run("export_sheet", "--build", build.name)
    assert code == 1
    assert "--to FILE" in err
    blocked = tmp_path / "file"
    blocked.write_text("")
    code, _, err = run("export_sheet", "--build", build.name, "--csv", blocked)
    assert code == 1
    assert "cannot be written" in err
