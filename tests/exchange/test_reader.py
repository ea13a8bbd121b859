"""Files that are no workbooks, hostile ones, and what spreadsheet programs leave in cells.

Zip limits: OWASP ASVS 5.0.0 requirement 5.2.3. Sheet limits (1 048 576 rows, 16 384 columns):
the applications that write ISO/IEC 29500 files.
"""

import zipfile

import pytest
from openpyxl import Workbook

from materials.exchange import archive, reader
from materials.exchange.faults import WorkbookError
from materials.exchange.reader import read_workbook
from tests.ratios import grows_evenly

from .small import check, labour_sheet, repack, save, small_sheets, text_cell, to_bytes

OLE = reader.OLE_MARK
HEAD = f'<sheetData><row r="1">{text_cell("A1", "Date")}{text_cell("B1", "Person")}</row>'


def refused(source) -> str:
    with pytest.raises(WorkbookError) as caught:
        read_workbook(source)
    return str(caught.value)


@pytest.mark.parametrize(
    ("data", "fragment"),
    [
        (b"", "0 bytes"),
        (b"Name,Value\n", "not a workbook"),
        (b"%PDF-1.7 ...", "not a workbook"),
        (b"PK\x03\x04 and nonsense", "damaged"),
        (OLE + bytes(2000), "old .xls format"),
        (OLE + bytes(600) + "EncryptedPackage".encode("utf-16-le"), "encrypted"),
    ],
    ids=["empty", "csv", "pdf", "not-a-zip", "old-format", "encrypted"],
)  # fmt: skip
def test_what_is_no_workbook_is_refused_in_one_sentence(data, fragment):
    assert fragment in refused(data)


def test_a_missing_file_and_a_device_are_refused():
    assert "is not there" in refused("/no/such/file.xlsx")
    assert "not a file" in refused("/dev/zero")
    assert "file name" in refused("a\0b.xlsx")


def test_a_folder_without_sheets_is_refused(tmp_path):
    assert "nothing to import" in refused(tmp_path)


def test_a_workbook_without_our_sheets_or_rows_is_refused():
    assert "none of the sheets" in refused(save({"Sheet1": [["a"]]}))
    assert "is empty" in refused(save({"Labour": []}))


def test_another_archive_is_refused(tmp_path):
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as target:
        target.writestr("readme.txt", "hello")
    assert "not a workbook" in refused(path)


def test_a_truncated_file_is_refused():
    data = save(small_sheets())
    assert "damaged" in refused(data[: len(data) // 2])


def test_a_zip_bomb_is_refused_from_its_directory(monkeypatch):
    """ASVS 5.2.3: by its unpacked size."""
    data = repack(save(small_sheets()), xl__media__a=bytes(archive.MAX_UNPACKED_BYTES + 1))
    opened = []
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda *args, **kwargs: opened.append(args))
    assert "would unpack to" in refused(data)
    assert not opened, "nothing of it is unpacked"


def test_an_absurd_ratio_is_refused():
    assert "would unpack to" in refused(repack(save(small_sheets()), xl__media__a=bytes(20 << 20)))


def test_too_many_parts_are_refused():
    """ASVS 5.2.3: number of files."""
    parts = {f"xl__media__{number}": b"a" for number in range(archive.MAX_MEMBERS)}
    assert "parts" in refused(repack(save(small_sheets()), **parts))


def test_a_directory_that_lies_about_a_size_is_refused():
    data = bytearray(repack(save(small_sheets()), zz=bytes(3 << 20)))
    entry = data.rfind(b"PK\x01\x02")
    data[entry + 24 : entry + 28] = (10).to_bytes(4, "little")
    assert "damaged" in refused(bytes(data))


def test_two_parts_of_one_name_are_refused():
    data = repack(save(small_sheets()), XL__worksheets__sheet1_xml="<worksheet/>")
    assert "damaged" in refused(data)


def test_a_document_type_is_refused():
    data = repack(
        save({"Labour": [["Date"]]}),
        xl__worksheets__sheet1_xml='<!DOCTYPE a [<!ENTITY b "x">]><worksheet>&b;</worksheet>',
    )
    assert "damaged" in refused(data)


@pytest.mark.parametrize("encoding", ["UTA-8", "utf-7", "shift_jis"])
def test_an_odd_encoding_is_refused(encoding):
    part = f'<?xml version="1.0" encoding="{encoding}"?><worksheet/>'
    data = repack(save({"Labour": [["Date"]]}), xl__worksheets__sheet1_xml=part)
    assert "damaged" in refused(data)


def test_a_cell_in_the_last_corner_is_refused_and_an_empty_one_is_harmless():
    """F07: row 1 048 576 and column XFD (16 384) are the last."""
    last = '<row r="1048576"><c r="XFD1048576">{}</c></row></sheetData>'
    assert "reaches to row 1,048,576" in refused(labour_sheet(HEAD + last.format("<v>1</v>")))
    assert len(read_workbook(labour_sheet(HEAD + last.format(""))).sheets["Labour"].rows) == 1


def test_a_column_beyond_the_last_is_refused():
    """F07: 16 384 columns."""
    beyond = '<row r="2"><c r="ZZZ2"><v>1</v></c></row></sheetData>'
    assert "16,384 columns" in refused(labour_sheet(HEAD + beyond))


def test_one_long_text_in_very_many_cells_is_refused():
    cells = "".join(
        f'<row r="{row}"><c r="A{row}" t="s"><v>0</v></c></row>' for row in range(1, 15_001)
    )
    data = repack(
        labour_sheet(f"<sheetData>{cells}</sheetData>"),
        xl__sharedStrings_xml=f"<sst><si><t>{'x' * 32_000}</t></si></sst>",
    )
    assert "more text" in refused(data)


def test_too_many_filled_rows_are_refused(monkeypatch):
    monkeypatch.setattr(reader, "MAX_FILLED_ROWS", 5)
    assert "more than 5 filled rows" in refused(save(small_sheets()))


def test_too_large_a_file_is_refused(monkeypatch, tmp_path):
    """ASVS 5.2.1."""
    path = tmp_path / "a.xlsx"
    path.write_bytes(save(small_sheets()))
    monkeypatch.setattr(reader, "MAX_FILE_BYTES", 1000)
    assert "split it" in refused(path)
    assert "split it" in refused(path.read_bytes())


def blank_rows(count: int) -> bytes:
    blank = "".join(
        f'<row r="{row}"><c r="A{row}" s="0"/>{text_cell(f"B{row}", " ")}</row>'
        for row in range(2, count + 2)
    )
    return labour_sheet(f"{HEAD}{blank}</sheetData>")


def test_a_hundred_thousand_blank_rows_are_quick_and_harmless():
    data = {count: blank_rows(count) for count in (5_000, 40_000)}
    assert grows_evenly(lambda count: read_workbook(data[count]), 5_000)
    rows = read_workbook(blank_rows(100_000)).sheets["Labour"].rows
    assert [row.number for row in rows] == [1]


def one_labour_row(**cells):
    """A Labour sheet with a whole row 2, some of its cells replaced."""
    workbook = Workbook()
    page = workbook.active
    page.title = "Labour"
    page.append(["Date", "Person", "Task", "Kind", "Hours", "Paid"])
    page.append(["2026-05-03", "Ida", None, "installing", 6, None])
    for reference, value in cells.items():
        page[reference] = value
    return workbook


@pytest.mark.django_db
def test_a_formula_without_a_saved_result_is_a_fault_of_its_cell():
    data = to_bytes(one_labour_row(E2="=2+3", E3="=2+3"))
    found = [str(fault) for fault in check(data, name="A").faults]
    assert [text.partition(":")[0] for text in found][:1] == ["Labour row 2, Hours"]
    assert "formula whose result was not saved" in found[0]
    assert any(text.startswith("Labour row 3, Hours: The cell holds a formula") for text in found)


@pytest.mark.django_db
def test_a_formula_with_a_saved_result_is_its_result():
    row = (
        f'<row r="2">{text_cell("A2", "2026-05-03")}{text_cell("B2", "Ida")}'
        f'{text_cell("C2", "installing")}<c r="D2"><f>2+3</f><v>5</v></c>'
        '<c r="E2" t="str"><f>IF(1,"","")</f><v></v></c></row></sheetData>'
    )
    head = "".join(
        text_cell(f"{letter}1", title)
        for letter, title in zip("ABCDE", ("Date", "Person", "Kind", "Hours", "Paid"), strict=True)
    )
    checked = check(labour_sheet(f'<sheetData><row r="1">{head}</row>{row}'), name="A")
    assert checked.plan.labour[0].values["hours"] == 5
    assert checked.plan.labour[0].values.get("paid_amount") is None


@pytest.mark.django_db
def test_an_error_value_is_a_fault_of_its_cell():
    (fault,) = check(to_bytes(one_labour_row(E2="#REF!")), name="A").faults
    assert str(fault).startswith("Labour row 2, Hours: The cell holds an error")


@pytest.mark.django_db
def test_merged_data_cells_are_a_fault_that_names_the_range():
    workbook = one_labour_row(A3="2026-05-04", D3="installing", E3=2)
    workbook["Labour"].merge_cells("B2:B3")
    found = [str(fault) for fault in check(to_bytes(workbook), name="A").faults]
    assert any(
        text.startswith("Labour row 2, Person: The cells B2:B3 are merged") for text in found
    )


@pytest.mark.django_db
def test_a_merged_title_above_the_table_does_no_harm():
    workbook = one_labour_row()
    page = workbook["Labour"]
    page.merge_cells("H1:J1")
    page.merge_cells("H2:J9")
    assert check(to_bytes(workbook), name="A").plan is not None


ODS = """<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>
 <table:table table:name="Labour">{}</table:table></office:spreadsheet></office:body>
</office:document-content>"""


def ods(rows: str, tmp_path) -> bytes:
    path = tmp_path / "a.ods"
    with zipfile.ZipFile(path, "w") as target:
        target.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        target.writestr("META-INF/manifest.xml", "<manifest/>")
        target.writestr("content.xml", ODS.format(rows))
    return path.read_bytes()


def ods_row(*cells: str, repeat: int = 1) -> str:
    texts = "".join(
        f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
        for cell in cells
    )
    return f'<table:table-row table:number-rows-repeated="{repeat}">{texts}</table:table-row>'


def test_an_ods_is_read(tmp_path):
    book = read_workbook(ods(ods_row("Date", "Person") + ods_row("2026-01-01", "Ida"), tmp_path))
    assert [row.cells for row in book.sheets["Labour"].rows] == [
        ("Date", "Person"),
        ("2026-01-01", "Ida"),
    ]


@pytest.mark.parametrize("repeat", [1_048_576, 999_999_999_999])
def test_an_ods_that_unfolds_without_end_is_refused(repeat, tmp_path):
    wide = (
        f'<table:table-row table:number-rows-repeated="{repeat}"><table:table-cell'
        ' table:number-columns-repeated="16384" office:value-type="float" office:value="1"/>'
        "</table:table-row>"
    )
    assert refused(ods(wide, tmp_path)).startswith("The sheet “Labour”")


def test_a_folder_of_csv_files_is_read(tmp_path):
    (tmp_path / "left_over.csv").write_text("\ufeffDate,Component\n2026-01-01,Plank\n", "utf-8")
    (tmp_path / "LABOUR.CSV").write_text('Date,Note\n2026-01-01,"a, ""b"""\n', "utf-8")
    (tmp_path / "notes.txt").write_text("not ours", "utf-8")
    book = read_workbook(tmp_path)
    assert book.sheets["Left over"].rows[0].cells == ("Date", "Component")
    assert book.sheets["Labour"].rows[1].cells == ("2026-01-01", 'a, "b"')


def test_csv_files_that_are_not_text_are_refused(tmp_path):
    (tmp_path / "labour.csv").write_bytes(b"Date\n\xff\xfe\n")
    assert "not in UTF-8" in refused(tmp_path)
    (tmp_path / "labour.csv").write_text('Date\n"open\n', "utf-8")
    assert "not a readable CSV" in refused(tmp_path)
    (tmp_path / "labour.csv").write_text("," * 16_384 + "\n", "utf-8")
    assert "16,384 columns" in refused(tmp_path)
