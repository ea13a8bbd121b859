"""Tables as other people keep them, in four formats and seven languages, some of them with marks.

Each comes in with its own total, or is asked about; none is free of faults with a wrong sum.
"""

import io
import shutil
import subprocess
import zipfile
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal as D
from typing import Any
from xml.sax.saxutils import escape

import pytest
from django.urls import reverse

from materials.exchange.outside_tables.mapping import mapping_faults
from materials.exchange.outside_tables.marks import ONLY_XLSX
from materials.models import Build
from materials.queries.checks import find_differences

from .marked_sheets import marked_xlsx, struck_row
from .steps import answer, as_text, as_xlsx, choose, faults, run, upload

ODS = """<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>
 <table:table table:name="Blad1">{}</table:table></office:spreadsheet></office:body>
</office:document-content>"""


def as_ods(rows: list[list[Any]]) -> bytes:
    """Rows as an OpenDocument sheet: numbers and days with their types, all else as text."""

    def cell(value: Any) -> str:
        if value in ("", None):
            return "<table:table-cell/>"
        kind = "float" if isinstance(value, (int, D)) else "string"
        said = f' office:value="{value}"' if kind == "float" else ""
        if isinstance(value, date):
            kind, said = "date", f' office:date-value="{value}"'
        text = f"<text:p>{escape(str(value))}</text:p>"
        return f'<table:table-cell office:value-type="{kind}"{said}>{text}</table:table-cell>'

    body = "".join(
        f"<table:table-row>{''.join(cell(value) for value in row)}</table:table-row>"
        for row in rows
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as target:
        target.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        target.writestr("META-INF/manifest.xml", "<manifest/>")
        target.writestr("content.xml", ODS.format(body))
    return stream.getvalue()


@dataclass
class Table:
    """Rows, the file they are kept in, and what the page is told that no column says."""

    name: str
    rows: list[list[Any]]
    total: str
    lines: int
    currency: str = "USD"
    encoding: str = "utf-8"
    merge: tuple[str, ...] = ()
    columns: dict[str, Any] = field(default_factory=dict)
    told: dict[str, Any] = field(default_factory=dict)
    marks: dict[str, Any] = field(default_factory=dict)

    @property
    def ending(self) -> str:
        return self.name.rpartition(".")[2]

    def data(self, ending: str = "") -> bytes:
        ending = ending or self.ending
        if self.marks:
            return marked_xlsx(self.rows, **self.marks)
        if ending == "xlsx":
            return as_xlsx(self.rows, merge=self.merge)
        if ending == "ods":
            return as_ods(self.rows)
        return as_text(self.rows, ";" if self.currency == "EUR" else ",", self.encoding)


DAY = date(2026, 5, 2)
DAY_FIRST = {"field": "date", "day_first": True}
TABLES = [
    Table(
        "yard receipt.csv",
        [
            ["Corner Lumber, receipt 118"],
            ["Date", "Item", "Qty", "Each", "Tax", "Total"],
            ["2026-05-02", "2x8, 10 ft", "12 pieces", "$9.50", "$9.12", "$123.12"],
            ["2026-05-02", "Deck screws", "2 boxes", "$11.25", "$1.80", "$24.30"],
            ["", "Total", "", "", "$10.92", "$147.42"],
        ],
        "147.42",
        2,
    ),
    Table(
        "shared list.xlsx",
        [
            ["Barn, what we spent", None, None, None, None, None, None],
            ["When", "Where", "What", "How many", "Paid", "Source", "Paid by"],
            [DAY, "Hill farm", "Roof sheets", "10 pieces", "$3.50 each", "salvage", "Ida"],
            [DAY, "Hill farm", "Barn doors", "2 pieces", "45 obo", "reclaimed", "Marten"],
            [DAY, "Corner Lumber", "Lime", "3 bags", "14.25/bag", "new", "Ida"],
            [DAY, "Neighbour", "Gutter", "20 ft", "free", "given", ""],
            [None, None, "Sum", None, "122.75", None, None],
        ],
        "122.75",
        4,
        merge=("A1:G1",),
    ),
    Table(
        "liste.csv",
        [
            ["Datum", "Händler", "Bezeichnung", "Menge", "Einzelpreis", "MwSt", "Brutto"],
            ["02.05.2026", "Hof am Hang", "Dachblech", "12 Stk", "3,50 €", "7,98 €", "49,98 €"],
            ["03.05.2026", "Kalkwerk", "Kalk", "4 Säcke", "8,00 €", "6,08 €", "38,08 €"],
            ["", "", "Summe", "", "", "14,06 €", "88,06 €"],
        ],
        "88.06",
        2,
        "EUR",
        "cp1252",
        columns={"Datum": DAY_FIRST},
    ),
    Table(
        "achats.ods",
        [
            ["Date", "Fournisseur", "Désignation", "Quantité", "Unité", "Montant HT", "TVA",
             "Montant TTC"],
            [DAY, "Ferme du Haut", "Tôles", 10, "pièces", D("40.00"), D("8.00"), D("48.00")],
            [DAY, "Ferme du Haut", "Chaux", 3, "sacs", D("25.50"), D("5.10"), D("30.60")],
            ["", "", "Total", "", "", D("65.50"), D("13.10"), D("78.60")],
        ],
        "78.60",
        2,
        "EUR",
    ),
    Table(
        "compras.csv",
        [
            ["Fecha", "Proveedor", "Descripción", "Cantidad", "Precio unitario", "Importe",
             "Observaciones"],
            ["02/05/2026", "Derribos Sur", "Chapas", "10 uds", "3,50", "35,00", "algo dobladas"],
            ["17/05/2026", "Derribos Sur", "Cal", "2 sacos", "12,75", "25,50", ""],
        ],
        "60.50",
        2,
        "EUR",
        columns={"Fecha": DAY_FIRST},
    ),
    Table(
        "acquisti.xlsx",
        [
            ["Fienile", None, None, None, None],
            ["Data", "Fornitore", "Descrizione", "Quantità", "Importo"],
            [DAY, "Cascina alta", "Lamiere", "12 pz", 42],
            [None, None, "Calce", "3 sacchi", D("25.5")],
            [date(2026, 5, 9), "Cascina alta", "Porta", "1 pz", 30],
            [None, None, "Totale", None, D("97.5")],
        ],
        "97.50",
        3,
        "EUR",
        merge=("A1:E1", "A3:A4", "B3:B4"),
    ),
    Table(
        "compras.ods",
        [
            ["Data", "Fornecedor", "Descrição", "Quantidade", "Un", "Preço unitário", "IVA",
             "Total com IVA"],
            [DAY, "Quinta de cima", "Chapas", 10, "un", D("3.50"), D("8.05"), D("43.05")],
            [DAY, "Quinta de cima", "Cal", 2, "sacos", D("10.00"), D("4.60"), D("24.60")],
        ],
        "67.65",
        2,
        "EUR",
    ),
    Table(
        "inkoop.csv",
        [
            ["Datum", "Leverancier", "Omschrijving", "Aantal", "Stukprijs", "Korting", "Bedrag"],
            ["2-5-2026", "Sloop Noord", "Dakplaten", "10 stuks", "3,50", "", "35,00"],
            ["16-5-2026", "Sloop Noord", "Kalk", "4 zakken", "8,25", "3,00", "30,00"],
        ],
        "65.00",
        2,
        "EUR",
        columns={"Datum": DAY_FIRST},
    ),
    Table(
        "numbered.csv",
        [
            ["No", "Description", "Category", "Amount bought", "Price with tax", "Payer", "Date"],
            ["1", "Roof sheet", "roofing", "10 pieces", "37.80", "Ida", "2026-05-02"],
            ["2", "Lime", "walls", "3 bags", "46.17", "Marten", "2026-05-02"],
            ["3", "Tarp", "site", "2 pieces", "21.60", "Ida", "2026-05-03"],
        ],
        "105.57",
        3,
    ),
    Table(
        "months.xlsx",
        [
            ["Date", "Store", "Item", "Quantity", "Cost", "Shipping", "Notes"],
            [DAY, "Corner Lumber", "2x8, 10 ft", "8 pieces", 76, None, None],
            [DAY, "Corner Lumber", "Nails", "5 lb", D("12.5"), 9, "galvanized"],
            [None, None, "May", None, D("88.5"), 9, None],
            [date(2026, 6, 6), "Hill farm", "Slate", "2 squares", 80, None, None],
            [None, None, "June", None, 80, None, None],
            [None, None, "Grand total", None, D("168.5"), 9, None],
        ],
        "177.50",
        3,
    ),
]  # fmt: skip
# What is in them cannot be imported without an answer: which question is asked.
ASKED = [
    (
        Table(
            "auction.xlsx",
            [
                ["Lot", "Description", "Qty", "Price each", "Premium", "Total", "Date"],
                [1, "Pallet of brick", "1 lot", 40, 6, 46, DAY],
                [2, "Steel beams", "4 pieces", 25, 15, 115, DAY],
            ],
            "161",
            2,
        ),
        "comes to 40, but 46 is here",
    ),
    (
        Table(
            "bank.csv",
            [
                ["Date", "Payee", "Description", "Qty", "Amount"],
                ["2026-05-02", "Corner Lumber", "Lumber", "1 lot", "-123.12"],
                ["2026-05-03", "Hill farm", "Roof sheets", "10 pieces", "-35.00"],
            ],
            "158.12",
            2,
        ),
        "is below zero",
    ),
]


HEAD = ["Date", "Where", "What", "How many", "Cost"]
# Sheets that show more than their values.
MARKED = [
    Table(
        "struck.xlsx",
        [
            HEAD,
            [DAY, "Hill farm", "Roof sheet", "10 pieces", 35],
            [DAY, "Hill farm", "Broken door", "1 piece", 20],
            [DAY, "Corner Lumber", "Lime", "2 bags", 24],
            [None, None, "Total", None, 59],
        ],
        "59",
        2,
        marks={"struck": struck_row(3, 5)},
    ),
    Table(
        "filtered.xlsx",
        [
            HEAD,
            [DAY, "Hill farm", "Roof sheet", "10 pieces", 35],
            [DAY, "Own shelf", "Screws, of the last build", "2 boxes", 18],
            [DAY, "Corner Lumber", "Lime", "2 bags", 24],
        ],
        "59",
        2,
        marks={"hidden": (3,)},
    ),
    Table(
        "units in formats.xlsx",
        [
            HEAD,
            [DAY, "Hill farm", "Gutter", 20, D("12.5")],
            [DAY, "Hill farm", "Sheet lead", 41, 30],
        ],
        "42.5",
        2,
        marks={"formats": {"D2": '0" ft"', "D3": '0.0 "lb"', "E": '"$"#,##0.00'}},
    ),
    Table(
        "comments and links.xlsx",
        [HEAD, [DAY, "Hill farm", "Gutter", "20 ft", 12], [DAY, "Mill", "Lime", "2 bags", 24]],
        "36",
        2,
        marks={
            "comments": {"C2": "Total guess"},
            "links": {"E3": "https://example.org/lime"},
        },
    ),
]
EUROS = Table(
    "euros.xlsx",
    [HEAD, [DAY, "Hof am Hang", "Gutter", "20 ft", 12], [DAY, "Kalkwerk", "Lime", "2 bags", 24]],
    "36",
    2,
    marks={"formats": {"E": "#,##0.00\\ [$€-407]"}},
)


def checked(entries, table, ending=""):
    """The table up to its rows, with what the page is told."""
    build = entries.build
    Build.objects.filter(pk=build.pk).update(currency=table.currency)
    build.refresh_from_db()
    job = choose(entries, upload(entries, table.data(ending), table.name))
    assert job.kind == "purchases"
    return answer(entries, job, table.columns, **{"source": "salvage"} | table.told)


def test_there_are_twelve():
    assert len(TABLES) + len(ASKED) == 12
    assert {table.ending for table in TABLES} == {"csv", "xlsx", "ods"}


IN_EVERY_FORMAT = [(table, ending) for table in TABLES for ending in ("csv", "xlsx", "ods")] + [
    (table, "xlsx") for table in MARKED
]
NAMED = [f"{table.name} as {ending}" for table, ending in IN_EVERY_FORMAT]


@pytest.mark.parametrize(("table", "ending"), IN_EVERY_FORMAT, ids=NAMED)
def test_a_table_comes_in_with_its_own_total(table, ending, entries, build):
    came_in_whole(entries, table, checked(entries, table, ending))


def came_in_whole(entries, table, job):
    build = entries.build
    assert faults(job) == []
    run(entries, job)
    purchases = list(build.purchases.all())
    assert sum((p.landed_amount for p in purchases), D(0)) == D(table.total)
    assert sum(p.line_count for p in purchases) == table.lines
    assert list(find_differences(build)) == []


@pytest.fixture(scope="module")
def old_workbooks(tmp_path_factory):
    """All tables as .xls, saved by LibreOffice."""
    soffice = shutil.which("soffice")
    assert soffice, "LibreOffice is missing: python -m tests installs it"
    folder = tmp_path_factory.mktemp("old")
    for table in [*TABLES, *MARKED, *(table for table, _ in ASKED)]:
        (folder / f"{table.name}.xlsx").write_bytes(table.data("xlsx"))
    command = [soffice, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
               "--convert-to", "xls", "--outdir", str(folder),
               *map(str, sorted(folder.glob("*.xlsx")))]  # fmt: skip
    subprocess.run(command, check=True, timeout=600, stdout=subprocess.DEVNULL)
    return folder


@pytest.mark.office
@pytest.mark.parametrize("table", TABLES, ids=[table.name for table in TABLES])
def test_an_old_workbook_comes_in_with_its_own_total(table, old_workbooks, entries, monkeypatch):
    data = (old_workbooks / f"{table.name}.xls").read_bytes()
    monkeypatch.setattr(table, "data", lambda ending: data)
    job = checked(entries, table)
    assert job.content == "xls"
    assert ONLY_XLSX in job.notes
    came_in_whole(entries, table, job)


@pytest.mark.office
@pytest.mark.parametrize(("table", "sentence"), ASKED, ids=[table.name for table, _ in ASKED])
def test_an_old_workbook_is_asked_about_alike(table, sentence, old_workbooks, entries, monkeypatch):
    data = (old_workbooks / f"{table.name}.xls").read_bytes()
    monkeypatch.setattr(table, "data", lambda ending: data)
    assert sentence in faults(checked(entries, table))[0][2]


@pytest.mark.office
def test_a_line_through_a_row_that_an_old_workbook_does_not_tell_shows_in_its_total(
    old_workbooks, entries, build, clients, monkeypatch
):
    """The marks of an .xls are not looked at: that is said, and the total does not agree."""
    table = MARKED[0]
    data = (old_workbooks / f"{table.name}.xls").read_bytes()
    monkeypatch.setattr(table, "data", lambda ending: data)
    job = checked(entries, table)
    page = clients["owner"].get(reverse("import_rows", args=[build.pk, job.pk])).content.decode()
    assert ONLY_XLSX in page
    assert "The total in row 5 is 59, but the rows read above it come to 79" in page


def test_amounts_in_another_currency_are_asked_about(entries):
    job = choose(entries, upload(entries, EUROS.data(), EUROS.name))
    mapping = job.mapping | {"options": job.mapping["options"] | {"source": "salvage"}}
    (asked,) = mapping_faults(job.kind, job.profile, mapping, "USD")
    assert asked == ("money_4", "Choose the currency of these amounts.")


@pytest.mark.parametrize(("table", "sentence"), ASKED, ids=[table.name for table, _ in ASKED])
def test_a_table_that_could_be_read_wrongly_is_asked_about(table, sentence, entries, build):
    found = faults(checked(entries, table))
    assert len(found) == table.lines
    assert sentence in found[0][2]


def test_whether_a_net_column_holds_its_tax_need_not_be_asked_beside_a_gross_one(entries):
    """Net, tax and gross in one table explain each other."""
    table = next(table for table in TABLES if table.name == "achats.ods")
    job = choose(entries, upload(entries, table.data(), table.name))
    mapping = job.mapping | {"options": job.mapping["options"] | {"source": "salvage"}}
    assert mapping_faults(job.kind, job.profile, mapping, entries.build.currency) == []
