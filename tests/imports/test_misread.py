"""What tables of other people say and was read wrongly in silence: read as meant, or asked."""

from decimal import Decimal as D

import pytest

from materials.exchange.outside_tables.mapping import mapping_faults
from materials.exchange.outside_tables.steps import continue_job, save_columns
from materials.models import Build, Person

from .steps import answer, as_text, bring, check, choose, faults, lines, run, upload


def fields(job):
    """Field by heading, as guessed."""
    named = zip(job.profile, job.mapping["columns"], strict=True)
    return {column["heading"]: said["field"] for column, said in named if said["field"]}


def guessed(entries, rows):
    return fields(choose(entries, upload(entries, as_text(rows)), kind="purchases"))


def table(*rows, heading="Date,Item,Qty,Cost"):
    """Rows of text cut at the semicolon."""
    return as_text([heading.split(","), *(row.split(";") for row in rows)])


def spent(build):
    build.refresh_from_db()
    return sum((p.landed_amount for p in build.purchases.all()), D(0))


def test_paid_with_prices_in_it_is_no_person(entries, build):
    data = table(
        "2026-05-02;Roof sheet;6 pieces;$120",
        "2026-05-02;Lime;20 lb;$9/lb",
        "2026-05-03;Tarp;1 piece;free",
        "2026-05-03;Barn door;1 piece;45 obo",
        heading="Date,Item,Qty,Paid",
    )
    job = bring(entries, data, source="salvage")
    assert fields(job)["Paid"] == "total"
    assert [price for *_, price, _ in lines(build)] == [D(120), D(180), D(0), D(45)]
    assert not Person.objects.filter(build=build).exists()
    assert spent(build) == D(345)


def test_paid_with_names_in_it_is_who_paid(entries):
    rows = [["Date", "Item", "Qty", "Cost", "Paid"], ["2026-05-02", "Lime", "2 bags", "9", "Ida"]]
    assert guessed(entries, rows)["Paid"] == "paid_by"


def test_a_price_with_tax_is_no_amount_of_tax(entries, build):
    data = table(
        "2026-05-02;Roof sheet;6 pieces;60.00;64.80",
        "2026-05-02;Lime;2 bags;40.00;43.20",
        heading="Date,Item,Qty,Cost,Price with tax",
    )
    job = bring(entries, data, source="retail")
    assert fields(job)["Price with tax"] == "gross"
    assert spent(build) == D("108.00")
    assert build.purchases.get().charges.get().amount == D("8.00")


def test_a_price_with_tax_alone_is_what_was_spent(entries, build):
    data = table("2026-05-02;Lime;2 bags;43.20", heading="Date,Item,Qty,Total incl. tax")
    assert bring(entries, data, source="retail").kind == "purchases"
    assert spent(build) == D("43.20")


@pytest.mark.parametrize(
    "heading", ["tax rate", "tax %", "price before tax", "Cost (no tax) excl tax", "net of tax"]
)
def test_what_only_names_tax_is_no_amount_of_it(heading, entries):
    rows = [["Date", "Item", "Qty", heading], ["2026-05-02", "Lime", "2 bags", "8"]]
    assert guessed(entries, rows).get(heading) != "tax"


@pytest.mark.parametrize("heading", ["category", "Source", "Type", "Condition"])
def test_a_choice_is_believed_only_where_its_words_stand(heading, entries):
    rows = [
        ["Date", "Item", "Qty", "Cost", heading],
        ["2026-05-02", "Roof sheet", "6 pieces", "60", "roofing"],
        ["2026-05-02", "Lime", "2 bags", "40", "walls"],
    ]
    assert guessed(entries, rows).get(heading) != "source"
    for row, said in zip(rows[1:], ("Salvaged", "new"), strict=True):
        row[-1] = said
    assert guessed(entries, rows)[heading] == "source"


def test_source_with_places_in_it_is_where_it_came_from(entries, build):
    data = table(
        "2026-05-02;Roof sheet;6 pieces;60;Hill farm",
        "2026-05-03;Lime;2 bags;40;Corner Lumber",
        heading="Date,Item,Qty,Cost,Source",
    )
    bring(entries, data, source="salvage")
    assert {row[1] for row in lines(build)} == {"Hill farm", "Corner Lumber"}


def test_what_faults_every_row_is_asked_of_the_column(entries):
    data = table("2026-05-02;Roof sheet;6 pieces;60;tin", heading="Date,Item,Qty,Cost,Kind")
    job = choose(entries, upload(entries, data), kind="purchases")
    job.mapping["options"]["source"] = "salvage"
    for field, words in (("source", "salvage, seconds or retail"), ("tax", "a price")):
        job.mapping["columns"][4]["field"] = field
        asked = mapping_faults(job.kind, job.profile, job.mapping, entries.build.currency)
        assert words in dict(asked)["field_4"]


def test_numbers_without_any_unit_are_asked_once(entries, build):
    data = table("2026-05-02;Roof sheet;6;60", "2026-05-02;Tarp;2;10")
    job = choose(entries, upload(entries, data), kind="purchases")
    job.mapping["options"]["source"] = "salvage"
    assert "unit" in dict(
        mapping_faults(job.kind, job.profile, job.mapping, entries.build.currency)
    )
    job = answer(entries, job, unit="piece")
    assert faults(job) == []


class TestTax:
    HEADING = "Date,Item,Qty,Each,Tax,Total"

    def test_tax_explains_a_total(self, entries, build):
        data = table(
            "2026-05-02;Roof sheet;6 pieces;10;4.80;64.80",
            "2026-05-02;Lime;2 bags;20;;40",
            heading=self.HEADING,
        )
        bring(entries, data, source="retail")
        assert spent(build) == D("104.80")

    def test_and_so_do_delivery_and_discount(self, entries, build):
        data = table(
            "2026-05-02;Roof sheet;6 pieces;10;4.80;12;5;71.80",
            heading="Date,Item,Qty,Each,Tax,Delivery,Discount,Total",
        )
        bring(entries, data, source="retail")
        assert spent(build) == D("71.80")

    def test_what_tax_does_not_explain_is_asked(self, entries):
        data = table("2026-05-02;Roof sheet;6 pieces;10;4.80;70", heading=self.HEADING)
        assert [key for _, key, _ in faults(check(entries, data, source="retail"))] == ["total"]

    @pytest.mark.parametrize(("taxed", "sum_"), [("on top", "64.80"), ("included", "60")])
    def test_whether_a_total_holds_its_tax_is_asked(self, taxed, sum_, entries, build):
        data = table("2026-05-02;Roof sheet;6 pieces;4.80;60", heading="Date,Item,Qty,Tax,Total")
        job = choose(entries, upload(entries, data), kind="purchases")
        job.mapping["options"]["source"] = "retail"
        assert list(
            dict(mapping_faults(job.kind, job.profile, job.mapping, entries.build.currency))
        ) == ["taxed"]
        run(entries, answer(entries, job, taxed=taxed))
        assert spent(build) == D(sum_)

    def test_a_row_without_a_price_of_one_is_asked_by_itself(self, entries):
        data = table(
            "2026-05-02;Roof sheet;6 pieces;10;4.80;64.80",
            "2026-05-02;Lime;2 bags;;3;40",
            heading=self.HEADING,
        )
        found = faults(check(entries, data, source="retail"))
        assert [(number, key) for number, key, _ in found] == [(3, "total")]
        assert "Is the tax of 3 in the 40?" in found[0][2]

    def test_more_tax_than_price_is_asked(self, entries):
        data = table("2026-05-02;Lime;2 bags;50;40", heading="Date,Item,Qty,Tax,Total")
        found = faults(check(entries, data, source="retail", taxed="included"))
        assert "more than this" in found[0][2]


@pytest.mark.parametrize(
    ("cell", "price"),
    [
        ("45 obo", D(45)),
        ("45 (or best offer)", D(45)),
        ("20 bucks", D(20)),
        ("40.-", D(40)),
        ("$3 each", D(12)),
        ("3 ea", D(12)),
        ("2.50/piece", D(10)),
        ("3 apiece", D(12)),
        ("free", D(0)),
        ("?", None),
    ],
)
@pytest.mark.parametrize("heading", ["Cost", "Price each", "Paid"])
def test_prices_in_words(heading, cell, price, entries, build):
    data = table(f"2026-05-02;Tarp;4 pieces;{cell}", heading=f"Date,Item,Qty,{heading}")
    bring(entries, data, source="salvage")
    plain = cell in ("45 obo", "45 (or best offer)", "20 bucks", "40.-")
    wanted = price * 4 if plain and heading == "Price each" else price
    assert [row[4] for row in lines(build)] == [wanted]


def test_unknown_units_are_said_once_for_all_rows(entries, build):
    data = table(
        "2026-05-02;Roof sheet;6;Tafeln;60",
        "2026-05-02;Lath;12;oddments;10",
        "2026-05-03;Batten;5;oddments;5",
        heading="Date,Item,Qty,Unit,Cost",
    )
    job = choose(entries, upload(entries, data), kind="purchases")
    # What is known of other languages is proposed; the rest is asked.
    assert job.mapping["options"]["units"] == {"tafeln": "sheet"}
    job = answer(entries, job, source="salvage")
    assert {number for number, *_ in faults(job)} == {3, 4}
    units = {"tafeln": "sheet", "oddments": "piece"}
    save_columns(
        build, job.pk, job.mapping | {"options": job.mapping["options"] | {"units": units}}
    )
    job = continue_job(actor=entries.actor, build=build, pk=job.pk, seconds=None)
    assert faults(job) == []
    run(entries, job)
    assert [row[3] for row in lines(build)] == ["6 sheets", "12 pieces", "5 pieces"]


# Headings of one table in six languages, with a word for pieces and how numbers are written.
LANGUAGES = {
    "German": "Datum;Händler;Bezeichnung;Menge;Stückpreis;Gesamtpreis;Bemerkung;Stk",
    "French": "Date d'achat;Fournisseur;Désignation;Quantité;Prix unitaire;Montant;Remarque;pièces",
    "Spanish": "Fecha;Proveedor;Descripción;Cantidad;Precio unitario;Importe;Observaciones;uds",
    "Italian": "Data;Fornitore;Descrizione;Quantità;Prezzo unitario;Importo;Osservazioni;pz",
    "Portuguese": "Data;Fornecedor;Descrição;Quantidade;Preço unitário;Valor;Observações;un",
    "Dutch": "Datum;Leverancier;Omschrijving;Aantal;Stukprijs;Bedrag;Opmerking;stuks",
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_headings_in_other_languages(language, entries, build):
    Build.objects.filter(pk=build.pk).update(currency="EUR")
    build.refresh_from_db()
    *heading, piece = LANGUAGES[language].split(";")
    rows = [
        heading,
        ["02.05.2026", "Hof am Hang", "Dachblech", f"12 {piece}", "3,50", "42,00", "rot"],
        ["14.05.2026", "Hof am Hang", "Kalk", f"4 {piece}", "1.200,25", "4.801,00", ""],
    ]
    data = as_text(rows, ";")
    job = choose(entries, upload(entries, data, "liste.csv"))
    assert (job.heading_row, job.kind) == (1, "purchases")
    keys = ["date", "supplier", "item", "quantity", "unit_price", "total", "note"]
    assert list(fields(job).values()) == keys
    job = answer(entries, job, {heading[0]: {"day_first": True}}, source="salvage")
    assert faults(job) == []
    run(entries, job)
    assert [row[3] for row in lines(build)] == ["12 pieces", "4 pieces"]
    assert spent(build) == D("4843.00")
