"""Files that are broken, hostile, or not what they say.

Numbers such as 5.2.1 are requirements of OWASP ASVS 5.0.0 (read in its own repository).
"""

import contextlib
import io
import pathlib
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import Workbook

from materials.exchange.faults import WorkbookError
from materials.exchange.outside_tables import isolated, sheets
from materials.exchange.outside_tables.limits import MAX_COLUMNS_READ
from materials.exchange.outside_tables.sheets import load_rows, open_file
from materials.models import ImportJob
from materials.services import import_jobs
from tests.exchange.small import repack

from .steps import as_text, as_xlsx, check, choose, faults, upload

ROWS = [["Date", "Item", "Qty", "Total"], ["2026-03-07", "Nails", "2 boxes", "9"]]
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def refused(data: bytes, name: str = "x.xlsx") -> str:
    """The sentence a file is refused with."""
    with pytest.raises(WorkbookError) as error:
        open_file(data, name)
    return str(error.value)


def rows_of(data: bytes, name: str = "x.xlsx", place: int = 0) -> list:
    opened = open_file(data, name)
    rows, _ = load_rows(data, opened.content, place, opened.encoding, opened.delimiter)
    return rows


def sheet_xml(body: str) -> bytes:
    start = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    return repack(as_xlsx(ROWS), xl__worksheets__sheet1_xml=f"{start}{body}</worksheet>")


# 5.2.1 size of uploads


def test_an_upload_over_the_limit_is_refused_before_it_is_read(clients, build, monkeypatch):
    """ASVS 5.2.1."""
    monkeypatch.setattr("materials.forms.imports.MAX_UPLOAD", 1000)
    url = reverse("imports", args=[build.pk])
    file = SimpleUploadedFile("x.csv", b"a,b\n" * 500)
    answer = clients["owner"].post(url, {"table": file})
    assert answer.status_code == 422
    assert "over 50 MB" in answer.content.decode()
    assert not ImportJob.objects.exists()


def test_uploads_of_a_user_and_open_imports_of_a_build_are_limited(entries, clients, monkeypatch):
    """ASVS 5.2.1: neither the disk nor the day can be filled by asking often."""
    monkeypatch.setattr(import_jobs, "MAX_OPEN_JOBS", 2)
    for _ in range(2):
        upload(entries, as_text(ROWS))
    url = reverse("imports", args=[entries.build.pk])
    answer = clients["owner"].post(url, {"pasted": "a\tb\n1\t2"})
    assert answer.status_code == 422
    assert "finish or drop one" in answer.content.decode()
    monkeypatch.setattr(import_jobs, "MAX_OPEN_JOBS", 20)
    monkeypatch.setattr(import_jobs, "MAX_UPLOADS_AN_HOUR", 2)
    answer = clients["owner"].post(url, {"pasted": "a\tb\n1\t2"})
    assert "Wait a little" in answer.content.decode()
    # What was pasted stands there still.
    assert "a\tb" in answer.content.decode()
    assert ImportJob.objects.count() == 2


# 5.2.2 content against name


@pytest.mark.parametrize("name", ["x.csv", "x.xls", "x.ods", "x", "x.pdf"])
def test_a_workbook_of_another_ending_is_read_as_what_it_is(name):
    """ASVS 5.2.2."""
    opened = open_file(as_xlsx(ROWS), name)
    assert opened.content == "xlsx"
    assert bool(opened.notes) == ("." in name)


def test_text_that_calls_itself_a_workbook_is_read_as_text():
    """ASVS 5.2.2."""
    opened = open_file(as_text(ROWS), "x.xlsx")
    assert opened.content == "text"
    assert opened.notes == [
        "The file's name ends in .xlsx, but it is plain text: it is read as that."
    ]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "not a table"),
        (b"%PDF-1.7 something", "not a table"),
        (b"<html><table><tr><td>1</td></tr></table>", "web page"),
        (b"<?xml version='1.0'?><Workbook/>", "web page or XML"),
        (bytes(range(1, 32)) * 50, "neither a workbook nor text"),
        (OLE + b"W\0o\0r\0d\0D\0o\0c\0" * 90, "not a workbook"),
        (OLE + "EncryptedPackage".encode("utf-16-le") * 3, "encrypted"),
        (b"   \n ,, \n", "only blank cells"),
    ],
)
def test_what_is_no_table_is_refused_with_a_sentence(data, says):
    """ASVS 5.2.2."""
    assert says in refused(data, "table.xlsx")


def test_an_archive_of_something_else_is_refused():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("word/document.xml", "<x/>")
    assert "not a workbook" in refused(stream.getvalue())


# 5.2.3 what archives unpack to


def test_a_zip_bomb_is_refused_by_its_unpacked_size():
    """ASVS 5.2.3: a gigabyte in a megabyte is never unpacked."""
    bomb = repack(as_xlsx(ROWS), xl__worksheets__sheet1_xml=b" " * 300_000_000)
    assert len(bomb) < 1_000_000
    assert "would unpack to" in refused(bomb)


def test_an_archive_of_many_parts_is_refused():
    """ASVS 5.2.3: number of files."""
    stream = io.BytesIO(as_xlsx(ROWS))
    with zipfile.ZipFile(stream, "a") as archive:
        for number in range(2100):
            archive.writestr(f"xl/media/{number}", b"")
    assert "parts" in refused(stream.getvalue())


def test_entities_are_never_expanded():
    body = '<!DOCTYPE x [<!ENTITY a "aaaa">]><worksheet><sheetData/></worksheet>'
    assert "damaged" in refused(repack(as_xlsx(ROWS), xl__worksheets__sheet1_xml=body))


def test_a_cell_in_the_last_corner_does_not_take_the_memory():
    cell = '<sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    assert "delete what is far below" in refused(sheet_xml(cell))


def test_more_columns_than_any_sheet_has_are_refused():
    cells = "".join(f'<c r="{letters}1"><v>1</v></c>' for letters in ("A", "ZZZ", "ZZZZ"))
    assert "columns" in refused(sheet_xml(f'<sheetData><row r="1">{cells}</row></sheetData>'))


def test_a_million_columns_of_text_are_cut_and_it_is_said():
    wide = "a," * 1_000_000
    opened = open_file(f"Date,Item\n{wide}\n".encode(), "x.csv")
    assert opened.sheets[0]["columns"] == MAX_COLUMNS_READ
    assert "reaches to column" in opened.sheets[0]["notes"][0]


def test_more_rows_than_are_read_are_said(monkeypatch):
    monkeypatch.setattr("materials.exchange.outside_tables.child.MAX_ROWS_READ", 3)
    opened = open_file(b"a,b\n" * 10, "x.csv")
    assert opened.sheets[0]["rows"] == 3
    assert "more than 3 filled rows" in opened.sheets[0]["notes"][0]


def test_a_damaged_old_workbook_ends_a_process_but_not_the_server():
    """ASVS 5.2.3: sizes in an .xls are claims; its reader runs apart, with little memory."""
    good = (pathlib.Path(__file__).parent / "files" / "saturdays.xls").read_bytes()
    assert open_file(good, "x.xls").sheets[0]["rows"] == 8
    for at in range(512, len(good), 600):
        broken = bytearray(good)
        broken[at : at + 64] = b"\xff" * 64
        with contextlib.suppress(WorkbookError):
            open_file(bytes(broken), "x.xls")
    # A size of four gigabytes in the directory of the file.
    broken = good[:512] + b"\xff\xff\xff\x7f" * 200 + good[1312:]
    assert "damaged" in refused(broken, "x.xls")


def test_a_process_that_takes_too_much_memory_is_a_damaged_file(monkeypatch):
    """The limit holds in the process itself: what asks for more than there is gets nothing."""
    monkeypatch.setattr(isolated, "_START", "import sys; sys.argv.pop(1);" + _GREEDY)
    assert "damaged" in refused(as_xlsx(ROWS))


_GREEDY = (
    f"sys.path.insert(0, {str(isolated.ROOT)!r});"
    "from materials.exchange.outside_tables.child import limit_resources; limit_resources();"
    "x = bytearray(64 * 1024**3)"
)


def test_a_process_that_takes_too_long_is_ended(monkeypatch):
    monkeypatch.setattr(isolated, "_START", "import time; time.sleep(60)")
    monkeypatch.setattr(isolated, "CHILD_SECONDS", -4)
    assert "took too long" in refused(as_xlsx(ROWS))


# 5.3.1, 5.3.2 what is kept


@pytest.mark.parametrize("name", ["../../etc/passwd", "a/../b.csv", "x\r\ny.csv", "shell.py"])
def test_a_file_is_kept_under_a_name_of_our_own(name, clients, build, media):
    """ASVS 5.3.2: no part of a sent name becomes a path; 5.3.1: and no address leads to it."""
    url = reverse("imports", args=[build.pk])
    file = SimpleUploadedFile("x", as_text(ROWS))
    file.name = name
    assert clients["owner"].post(url, {"table": file}).status_code == 302
    job = ImportJob.objects.get()
    kept = [path for path in media.rglob("*") if path.is_file()]
    assert len(kept) == 1
    assert kept[0].parent == media / "builds" / str(build.pk) / "tables"
    assert len(kept[0].name) == 32
    assert not kept[0].suffix
    # Nothing is served from there: the address it would have leads nowhere.
    assert clients["owner"].get(f"/media/{job.file.name}").status_code == 404
    assert clients["owner"].get(f"/{job.file.name}").status_code == 404


def test_a_dropped_import_leaves_no_file(
    clients, entries, media, django_capture_on_commit_callbacks
):
    job = upload(entries, as_text(ROWS))
    with django_capture_on_commit_callbacks(execute=True):
        clients["owner"].post(reverse("import_drop", args=[entries.build.pk, job.pk]))
    assert [path for path in media.rglob("*") if path.is_file()] == []
    assert not ImportJob.objects.exists()


# Formulas, macros, links


def test_macros_are_said_and_never_run():
    data = repack(as_xlsx(ROWS), **{"xl__vbaProject.bin": b"Sub Auto_Open()"})
    opened = open_file(data, "x.xlsm")
    assert "not run" in opened.notes[0]
    assert rows_of(data)[1][1][1] == "Nails"


def test_links_to_other_files_are_said_and_saved_values_are_used():
    cell = (
        '<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>Item</t></is></c></row>'
        '<row r="2"><c r="A2"><f>\'[other.xlsx]Sheet1\'!A1</f><v>42</v></c>'
        "<c r=\"B2\"><f>'[other.xlsx]Sheet1'!B1</f></c></row></sheetData>"
    )
    data = repack(sheet_xml(cell), xl__externalLinks__externalLink1_xml=b"<x/>")
    opened = open_file(data, "x.xlsx")
    assert any("the other files stay closed" in note for note in opened.notes)
    kept, missing = rows_of(data)[1][1]
    assert kept == ["n", "42"]
    assert missing[0] == "e"
    assert "result was not saved" in missing[1]


def test_a_formula_without_a_saved_result_is_a_fault_of_its_row(entries):
    workbook = Workbook()
    page = workbook.active
    for row in [["Date", "Item", "Qty", "Total"], ["2026-03-07", "Nails", "2 boxes", "=1+8"]]:
        page.append(row)
    stream = io.BytesIO()
    workbook.save(stream)
    job = check(entries, stream.getvalue(), "x.xlsx", source="retail")
    ((number, key, sentence),) = faults(job)
    assert (number, key) == (2, "total")
    assert "result was not saved" in sentence


# Encodings


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_encodings_are_told_by_the_content(encoding):
    data = as_text([["Händler", "Größe"], ["Öding", "5 m²"]], ";", encoding)
    assert rows_of(data, "x.csv") == [[1, ["Händler", "Größe"]], [2, ["Öding", "5 m²"]]]


def test_an_encoding_that_does_not_fit_is_refused_with_the_line(clients, entries):
    job = upload(entries, as_text([["Händler"], ["Öding"]], ";", "cp1252"), "x.csv")
    url = reverse("import_table", args=[entries.build.pk, job.pk])
    again = {"read_again": "1", "encoding": "utf-8", "delimiter": ";"}
    answer = clients["owner"].post(url, again)
    assert answer.status_code == 422
    assert "Line 1 of the file is not in UTF-8" in answer.content.decode()
    job.refresh_from_db()
    assert job.encoding == "cp1252"
    answer = clients["owner"].post(url, again | {"encoding": "cp1251", "delimiter": ","})
    assert answer.status_code == 302
    job.refresh_from_db()
    assert job.sheets[0]["head"][1] == [2, ["Цding"]]


def test_a_sign_that_cannot_be_read_is_a_fault_of_its_row(entries):
    rows = [["Date", "Item", "Qty"], ["2026-03-07", "Na\x07ils", "2 boxes"]]
    job = check(entries, "\n".join(",".join(row) for row in rows).encode(), source="retail")
    ((_, key, sentence),) = faults(job)
    assert key == "item"
    assert "cannot be read" in sentence


def test_a_quotation_mark_that_is_never_closed_swallows_nothing():
    lines = ["Item,Size"] + [f"Pipe {n},{n}" for n in range(100)]
    lines[2] = '"Pipe 1,12'
    rows = rows_of("\n".join(lines).encode(), "x.csv")
    assert len(rows) == 101
    opened = open_file("\n".join(lines).encode(), "x.csv")
    assert "never closed" in opened.sheets[0]["notes"][0]


def test_texts_that_begin_like_formulas_stay_texts(entries):
    rows = [["Date", "Item", "Qty", "Note"], ["2026-03-07", "=cmd|' /C calc'!A0", "1 box", "@x"]]
    job = check(entries, as_text(rows), source="retail")
    assert faults(job) == []
    row = job.rows.get(number=2)
    assert row.values["item"] == "=cmd|' /C calc'!A0"


def test_a_cell_with_a_novel_in_it_is_a_fault_of_its_row(entries):
    rows = [["Date", "Item", "Qty", "Note"], ["2026-03-07", "Nails", "1 box", "word " * 3000],
            ["2026-03-07", "Nails", "1 box", "word " * 200]]  # fmt: skip
    job = check(entries, as_text(rows), source="retail")
    assert [(number, key) for number, key, _ in faults(job)] == [(2, "note"), (3, "note")]


def test_one_bad_sheet_does_not_stop_the_others(entries):
    workbook = Workbook()
    page = workbook.active
    page.title = "Broken"
    page["XFD900000"] = 1
    for row in ROWS:
        workbook.create_sheet("Good") if "Good" not in workbook.sheetnames else None
        workbook["Good"].append(row)
    stream = io.BytesIO()
    workbook.save(stream)
    job = upload(entries, stream.getvalue(), "x.xlsx")
    assert job.sheet == "Good"
    assert "far below" in next(s["fault"] for s in job.sheets if s["name"] == "Broken")
    assert choose(entries, job).row_count == 1


def test_the_reader_sees_no_settings_and_no_database():
    """What opens uploads has neither Django nor the environment with its keys."""
    code = (
        "import os, sys; sys.path.insert(0, sys.argv.pop(1));"
        "import materials.exchange.outside_tables.child;"
        "print(__import__('json').dumps({'notes': [sorted(os.environ), 'django' in sys.modules]}))"
    )
    monkey = isolated._START
    try:
        isolated._START = code
        (found,) = isolated.ask_child(b"", "list", "xlsx")
    finally:
        isolated._START = monkey
    names, has_django = found["notes"]
    assert not {"SECRET_KEY", "DATABASE_URL"} & set(names)
    assert has_django is False


def test_files_beyond_the_absolute_limit_are_refused(monkeypatch):
    monkeypatch.setattr(sheets, "MAX_FILE_BYTES", 10)
    assert "larger than" in refused(as_text(ROWS))
