"""Whatever a table's columns are called and however they stand: its sum comes in, or is asked."""

from collections import Counter
from decimal import Decimal as D

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from materials.exchange.outside_tables.mapping import mapping_faults
from materials.exchange.outside_tables.steps import continue_job, save_columns
from tests.searches import TIMES

from .steps import as_text, as_xlsx, choose, faults, run, upload

HEADINGS = {
    "date": "Date|When|Bought on|Datum|Fecha|Data",
    "item": "Item|Material|What|Description|Bezeichnung|Désignation|Descripción|Omschrijving",
    "quantity": "Qty|Quantity|How many|Menge|Quantité|Cantidad|Quantità|Aantal",
    "unit_price": "Price each|Unit price|$ ea|Each|Stückpreis|Prix unitaire|Prezzo unitario",
    "total": "Total|Amount|Cost|Line total|Gesamtpreis|Montant|Importe|Bedrag|Paid",
    "tax": "Tax|Sales tax|MwSt|TVA|IVA",
    "gross": "Price with tax|Total incl tax|Brutto|Montant TTC|Con IVA",
    "haulage": "Delivery|Shipping|Fracht|Livraison",
}
# Columns of money, and what the sum of a row is made of.
LAYOUTS = [
    ["unit_price"],
    ["total"],
    ["unit_price", "total"],
    ["unit_price", "tax", "total"],
    ["unit_price", "tax"],
    ["unit_price", "haulage"],
    ["tax", "total"],
    ["gross"],
    ["total", "gross"],
    ["unit_price", "tax", "gross"],
]
NOISE = {
    "Category": ["roofing", "walls", "floor"],
    "Source": ["Hill farm", "Mill, Creek Road", "Corner Lumber"],
    "Kind": ["tin", "oak", "lime"],
    "Paid by": ["Ida", "Marten", "Ida"],
    "Checked": ["yes", "no", "yes"],
    "Painted?": ["red", "", "no"],
    "No": ["1", "2", "3"],
    "Year built": ["1931", "1952", "1931"],
    "tax rate": ["8 %", "8 %", "8 %"],
    "Remark": ["two bent", "", "ask Ida"],
}
ITEMS = ["Roof sheet", "Lime", "2x8, 10 ft", "Barn door", "Flashing"]
LINE = st.tuples(
    st.sampled_from(ITEMS), st.integers(1, 40), st.integers(1, 99_999), st.integers(0, 20)
)


def cells(line, layout, taxed, style):
    """The cells of a row by column, and what it comes to."""
    item, count, cents, tenths = line
    each = D(cents) / 100
    net = each * count
    tax = (net * tenths / 100).quantize(D("0.01")) if {"tax", "gross"} & set(layout) else D(0)
    haulage = D(tenths) if "haulage" in layout else D(0)
    written = {
        "date": "2026-05-02",
        "item": item,
        "quantity": f"{count} pieces",
        "unit_price": style.format(each),
        "total": style.format(net + tax if taxed else net),
        "tax": style.format(tax),
        "gross": style.format(net + tax),
        "haulage": style.format(haulage),
    }
    return written, net + tax + haulage


@st.composite
def tables(draw):
    """Rows of text with their sum, and whether whole prices hold the tax."""
    layout = draw(st.sampled_from(LAYOUTS))
    taxed = draw(st.booleans()) and "tax" in layout and "total" in layout
    style = draw(st.sampled_from(["{:.2f}", "${:.2f}", "{:.2f} USD", "$ {:,.2f}"]))
    rows = [
        cells(line, layout, taxed, style) for line in draw(st.lists(LINE, min_size=3, max_size=3))
    ]
    columns = ["date", "item", "quantity", *layout]
    noise = draw(st.lists(st.sampled_from(sorted(NOISE)), max_size=4, unique=True))
    order = draw(st.permutations([*columns, *noise]))
    heads = {key: draw(st.sampled_from(HEADINGS[key].split("|"))) for key in columns}
    table = [[heads.get(key, key) for key in order]]
    for place, (written, _) in enumerate(rows):
        table.append([written[key] if key in written else NOISE[key][place] for key in order])
    if draw(st.booleans()):
        table.append(["Total" if key == "item" else "" for key in order])
    if draw(st.booleans()):
        table = [["What we bought for the barn"], [], *table]
    return table, sum((money for _, money in rows), D(0)), taxed


def bring_in(entries, table, taxed, as_book):
    """What was spent, or None where something is asked beyond what a table cannot tell."""
    data, name = (as_xlsx(table), "t.xlsx") if as_book else (as_text(table), "t.csv")
    job = choose(entries, upload(entries, data, name), kind="purchases")
    told = {"source": "salvage", "taxed": "included" if taxed else "on top", "unit": "piece"}
    mapping = job.mapping | {"options": job.mapping["options"] | told}
    if mapping_faults(job.kind, job.profile, mapping, entries.build.currency):
        return None
    save_columns(entries.build, job.pk, mapping)
    job = continue_job(actor=entries.actor, build=entries.build, pk=job.pk, seconds=None)
    if faults(job):
        return None
    run(entries, job)
    return sum((p.landed_amount for p in entries.build.purchases.all()), D(0))


@pytest.mark.slow
def test_the_sum_of_a_table_comes_in_or_is_asked(entries):
    seen = Counter()

    @settings(
        max_examples=60 * TIMES,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow],
    )
    @given(tables(), st.booleans())
    def search(made, as_book):
        table, wanted, taxed = made
        with transaction.atomic():
            spent = bring_in(entries, table, taxed, as_book)
            transaction.set_rollback(True)
        seen["asked" if spent is None else "read"] += 1
        assert spent in (None, wanted), table

    search()
    assert seen["read"] > 4 * seen["asked"], seen
