"""Ten tables as untidy as people make them, each imported as its maker would wish."""

from datetime import date, datetime, time
from decimal import Decimal as D
from pathlib import Path

import pytest

from materials.exchange.outside_tables import steps
from materials.models import Build, Charge, Component, LabourEntry, RetailPrice, RowState
from materials.queries.checks import find_differences
from materials.queries.imports import get_row, list_names

from .steps import (
    answer,
    as_text,
    as_xlsx,
    bring,
    check,
    choose,
    faults,
    lines,
    run,
    skipped,
    states,
    upload,
)

FILES = Path(__file__).parent / "files"


@pytest.fixture(autouse=True)
def derived_figures_hold(build):
    """Whatever came in, the ledger's stored figures are those it would work out."""
    yield
    assert list(find_differences(build)) == []


def test_1_title_merged_days_total_and_a_footer(entries, build):
    """A printed list: title rows above, one day merged over several rows, a total, a footer."""
    data = as_xlsx(
        [
            ["Pump house: what we bought"],
            ["(as of spring)"],
            [],
            ["Date", "Where", "What", "How many", "Price", "Cost", None],
            [date(2026, 3, 7), "Mill Street Demolition", "Joist 2x8", "14 @ 2x8x12", 6, 84, None],
            [None, None, "Matchboard", "320 sq ft", 0.4, 128, None],
            [
                datetime.combine(date(2026, 3, 9), time()),
                "Corner Lumber",
                "Deck screw",
                "3 boxes",
                11.5,
                34.5,
                "new",
            ],
            [None, None, "Total", None, None, 246.5, None],
            [],
            ["Bo keeps the receipts in the tin"],
        ],
        merge=("A1:F1", "A5:A6", "B5:B6"),
    )
    job = bring(entries, data, "list.xlsx", source="salvage")
    assert lines(build) == [
        ("2026-03-07", "Mill Street Demolition", "Joist 2x8", "14 @ 2x8x12", D(84), ""),
        ("2026-03-07", "Mill Street Demolition", "Matchboard", "320 sq ft", D(128), ""),
        ("2026-03-09", "Corner Lumber", "Deck screw", "3 boxes", D("34.5"), ""),
    ]  # fmt: skip
    assert build.purchases.count() == 2
    assert skipped(job) == {8: "It looks like a total.", 10: "A heading within the table."}
    assert build.components.get(name="Joist 2x8").unit == "piece"


def test_2_semicolons_decimal_commas_and_an_old_encoding(entries, build):
    """Text from a desktop of the 1990s, in a build that reckons in euro."""
    Build.objects.filter(pk=build.pk).update(currency="EUR")
    build.refresh_from_db()
    data = as_text(
        [
            ["Datum", "Händler", "Material", "Menge", "Einheit", "Stückpreis", "Bemerkung"],
            [
                "07.03.2026",
                "Hof Öding",
                "Bretter 24 mm",
                "12,5",
                "sq m",
                "8,20 €",
                "Länge gemischt",
            ],
            ["21.03.2026", "Hof Öding", "Dämmung", "40", "sq m", "1.234,50 €", ""],
            ["5.4.2026", "Abriss Süd", "Ziegel", "1.200", "pcs", "0,15", "geputzt"],
        ],
        ";",
        "cp1252",
    )
    job = upload(entries, data, "liste.txt")
    assert (job.encoding, job.delimiter) == ("cp1252", ";")
    job = choose(entries, job, kind="purchases")
    columns = {
        "Datum": "date", "Händler": "supplier", "Material": "item", "Einheit": "unit",
        "Menge": {"field": "quantity", "mark": ","}, "Stückpreis": "unit_price",
        "Bemerkung": "note",
    }  # fmt: skip
    columns["Datum"] = {"field": "date", "day_first": True}
    run(entries, answer(entries, job, columns, source="salvage"))
    assert lines(build) == [
        ("2026-03-07", "Hof Öding", "Bretter 24 mm", "12.5 sq m", D("102.5"), "Länge gemischt"),
        ("2026-03-21", "Hof Öding", "Dämmung", "40 sq m", D("49380"), ""),
        ("2026-04-05", "Abriss Süd", "Ziegel", "1200 pieces", D(180), "geputzt"),
    ]


def test_3_pasted_with_the_day_only_on_the_first_row(entries, build):
    """Copied out of a spreadsheet: a day and a shop stand once for all that was bought there."""
    pasted = (
        "When\tWhere from\tStuff\tQty\t$ ea\tWho paid\n"
        "Sat 7 Mar 2026\tOld school\tDoor, panelled\t3\tfree\tIda\n"
        "\t\tRadiator\t2 pcs\t?\t\n"
        "\t\tSlate\t2.5 squares\t$40.00\t\n"
        "\n"
        "Mar 14, 2026\tCorner Lumber\tOSB sheet\t12 @ 4x8 sheets\t14.5\tBo\n"
    )
    job = choose(entries, upload(entries, pasted.encode(), "pasted table", encoding="utf-8"))
    assert job.mapping["options"]["repeat"] is True
    job = answer(entries, job, source="salvage", unit="piece")
    assert faults(job) == []
    run(entries, job)
    assert lines(build) == [
        ("2026-03-07", "Old school", "Door, panelled", "3 pieces", D(0), ""),
        ("2026-03-07", "Old school", "Radiator", "2 pcs", None, ""),
        ("2026-03-07", "Old school", "Slate", "2.5 squares", D(100), ""),
        ("2026-03-14", "Corner Lumber", "OSB sheet", "12 @ 4x8 sheets", D(174), ""),
    ]
    first, second = build.purchases.order_by("bought_on")
    assert (first.paid_by.name, second.paid_by.name) == ("Ida", "Bo")
    assert first.unknown_count == 1


def test_4_hours_in_an_old_workbook(entries, build):
    """An .xls of Saturdays: hours as a length of time, as text and as a number, and a total."""
    data = (FILES / "saturdays.xls").read_bytes()
    job = choose(entries, upload(entries, data, "saturdays.xls"))
    assert (job.content, job.kind, job.heading_row) == ("xls", "hours", 3)
    job = answer(entries, job, labour="preparing")
    assert faults(job) == []
    assert set(skipped(job)) == {8, 9}
    run(entries, job)
    found = LabourEntry.objects.filter(build=build).order_by("worked_on", "pk")
    assert [
        (e.worked_on.isoformat(), e.person.name, e.task.name, e.hours, e.paid_amount, e.note)
        for e in found
    ] == [
        ("2026-03-07", "Ida", "Stripping roof", D("4.5"), None, "rain after noon"),
        ("2026-03-07", "Bo", "Stripping roof", D("3.25"), None, ""),
        ("2026-03-14", "Ida", "De-nailing boards", D(5), None, ""),
        ("2026-03-14", "Wim", "De-nailing boards", D(6), D(90), ""),
    ]
    assert {entry.person.name for entry in found} == {"Ida", "Bo", "Wim"}


def test_5_a_list_of_needs_with_the_unit_in_the_heading(entries, build):
    """An .ods with a cover sheet: sections between the rows, most quantities in feet."""
    data = (FILES / "needs.ods").read_bytes()
    job = choose(entries, upload(entries, data, "needs.ods"))
    assert (job.sheet, job.kind) == ("List", "components")
    job = answer(entries, job, {"Qty (ft)": {"field": "quantity", "mark": "."}})
    assert faults(job) == []
    run(entries, job)
    found = {part.name: part for part in Component.objects.filter(build=build)}
    assert set(found) == {"Purlin 2x4", "Ridge board", "Siding board", "Window, used"}
    assert found["Purlin 2x4"].required_qty == 240
    assert found["Purlin 2x4"].waste_percent == 10
    assert found["Ridge board"].required_qty == D("32.5")
    assert found["Siding board"].required_qty == 1450
    # The build has the groups of elements; a finer code of the classification is made.
    assert found["Siding board"].element.name == "Exterior walls"
    assert (found["Window, used"].unit, found["Window, used"].required_qty) == ("piece", 4)
    price = RetailPrice.objects.get(component=found["Purlin 2x4"])
    assert (price.price, price.per_text, price.priced_at) == (D("0.85"), "ft", "Corner Lumber")


def test_6_five_styles_of_days_in_one_column(entries, build):
    data = as_xlsx(
        [
            ["Date", "Vendor", "Item", "Qty (ft)", "Total ($)"],
            ["2026-03-07", "Yard", "Rafter 2x6", 160, 80],
            ["8 Mar 2026", "Yard", "Rafter 2x6", 32, 16],
            ["31/12/2026", "Yard", "Ridge", 20, 25],
            [date(2026, 3, 10), "Yard", "Fascia", 64, 0],
            ["12/30/26", "Yard", "Soffit", 64, 12.5],
            ["4/3/2026", "Yard", "Trim", 48, 30],
        ]
    )
    job = choose(entries, upload(entries, data, "days.xlsx"))
    # The rows that can be read in one way only contradict each other: nothing is proposed.
    assert "day_first" not in job.mapping["columns"][0]
    job = answer(entries, job, {"Date": {"field": "date", "day_first": True}}, source="retail")
    run(entries, job)
    assert [(day, item, text, price) for day, _, item, text, price, _ in lines(build)] == [
        ("2026-03-04", "Trim", "48 ft", D(30)),
        ("2026-03-07", "Rafter 2x6", "160 ft", D(80)),
        ("2026-03-08", "Rafter 2x6", "32 ft", D(16)),
        ("2026-03-10", "Fascia", "64 ft", D(0)),
        ("2026-12-30", "Soffit", "64 ft", D("12.5")),
        ("2026-12-31", "Ridge", "20 ft", D(25)),
    ]


def test_7_remarks_and_all_kinds_of_money_in_price_cells(entries, build):
    """What is clear is read, what is not is asked row by row, and mended in place."""
    data = as_text(
        [
            ["Date", "Store", "Description", "Quantity", "Unit Cost", "Amount"],
            ["2026-03-07", "Yard", "Beam", "2 pcs", "$1,234.50", ""],
            ["2026-03-07", "Yard", "Plank", "10 pcs", "12.50 (two split)", "125.00"],
            ["2026-03-07", "Yard", "Pipe", "30 ft", "$0.90/ft", ""],
            ["2026-03-08", "Fair", "Sink", "1", "", "free"],
            ["2026-03-08", "Fair", "Stove", "1", "?", "?"],
            ["2026-03-08", "Fair", "Tiles", "1 lot", "", "40 for the lot"],
            ["2026-03-08", "Fair", "Lamp", "2", "€8", ""],
            ["2026-03-09", "Fair", "Refund for lamp", "1", "", "(8.00)"],
        ]
    )
    money = {"Unit Cost": {"money": "other"}}
    job = check(entries, data, columns=money, source="salvage", unit="piece")
    found = {number: sentence for number, _, sentence in faults(job)}
    assert set(found) == {8, 9}
    assert "another currency" in found[8]
    assert "discount" in found[9]
    steps.fix_rows(build, job.pk, {8: {"unit_price": "8.60"}}, {9: "skip"})
    assert faults(job) == []
    assert get_row(job, 8).mended == {"unit_price": "8.60"}
    run(entries, job)
    assert [(item, price, note) for _, _, item, _, price, note in lines(build)] == [
        ("Beam", D(2469), ""),
        ("Plank", D(125), "two split"),
        ("Pipe", D(27), ""),
        ("Sink", D(0), ""),
        ("Stove", None, ""),
        ("Tiles", D(40), ""),
        ("Lamp", D("17.2"), ""),
    ]


def test_8_two_tables_beside_each_other_and_headings_twice(entries, build):
    """The table one wants on the left, a summary on the right, an empty column between."""
    data = as_xlsx(
        [
            [None, "Date", "Item", "Qty", "Unit", "Price", "Price", None, "Item", "Total"],
            [None, date(2026, 3, 7), "Brick", 1200, "ea", 0.15, None, None, "Bricks", 180],
            [None, date(2026, 3, 8), "Sand", 2.5, "ton", 22, "was 30", None, "Sand", 55],
            [None, None, None, None, None, None, None, None, "Sum", 235],
            [None, date(2026, 3, 9), "Lime", 6, "bags", 14.25, None, None, None, None],
        ]
    )
    job = choose(entries, upload(entries, data, "beside.xlsx"))
    places = {c["key"]: job.mapping["columns"][i]["field"] for i, c in enumerate(job.profile)}
    assert places["item"] == "item"
    assert places["item 2"] == places["column h"] == ""
    job = answer(entries, job, {"Total": ""}, source="salvage")
    assert states(job) == {"above": 1, "ready": 3, "skip": 1}
    run(entries, job)
    assert [(item, text, price) for _, _, item, text, price, _ in lines(build)] == [
        ("Brick", "1200 pieces", D(180)),
        ("Sand", "2.5 tons", D(55)),
        ("Lime", "6 bags", D("85.5")),
    ]


def test_9_a_price_list_with_other_spellings_of_what_is_there(entries, build):
    stud = entries.component("Stud, 2x4", contents="1 piece = 2x4x8")
    sheet = entries.component("OSB", unit="sheet")
    data = as_text(
        [
            ["Corner Lumber, spring prices", "", "", ""],
            ["Product", "Price", "Per", "Checked"],
            ["2 x 4 Studs", "4.38", "each", "March 3, 2026"],
            ["osb", "$14.50", "sheet", "3/3/2026"],
            ["Drywall 1/2 in.", "11", "sheet", "3/3/2026"],
            ["OSB", "14.50", "sheet", "3/3/2026"],
        ],
        "\t",
    )
    job = check(entries, data, supplier="Corner Lumber")
    assert job.kind == "prices"
    taken = {name.name: name.record_id for name in list_names(job)}
    assert taken == {"2 x 4 Studs": stud.pk, "Drywall 1/2 in.": None}
    assert get_row(job, 6).is_double
    run(entries, job)
    assert (stud.prices.get().price, stud.prices.get().priced_at) == (D("4.38"), "Corner Lumber")
    assert sheet.prices.count() == 2
    assert Component.objects.get(build=build, name="Drywall 1/2 in.").unit == "sheet"


def test_10_receipts_with_tax_delivery_miles_and_printed_headings(entries, build):
    """UTF-16 out of a spreadsheet: receipts of several rows, headings again on each page."""
    heading = ["DATE", "STORE", "RECEIPT #", "ITEM", "QTY", "UNIT", "$ EACH", "AMOUNT", "TAX",
               "DELIVERY", "MILES", "NEW/USED", "WHO PAID", "STATUS"]  # fmt: skip
    data = as_text(
        [
            heading,
            ["2026-03-07", "Depot", "881", "Cement", "1,200", "lb", "0.10", "120.00", "9.60",
             "25", "", "new", "Ida", "got it"],
            ["2026-03-07", "Depot", "881", "Rebar", "40", "pcs", "7.25", "290.00", "23.20", "",
             "", "new", "Ida", "got it"],
            ["2026-03-07", "Depot", "882", "Trowel", "1", "pcs", "19.99", "19.99", "", "", "",
             "new", "Ida", "got it"],
            ["", "", "", "March", "", "", "", "429.99", "", "", "", "", "", ""],
            heading,
            ["2026-04-02", "Barn on Route 9", "", "Hewn beam", "6", "pcs", "", "300.00", "", "",
             "84", "used", "Bo", "got it"],
            ["2026-04-02", "Barn on Route 9", "", "Barn siding", "450", "sq ft", "", "225.00", "",
             "", "84", "reclaimed", "Bo", "got it"],
            ["2026-04-20", "Depot", "", "Window", "2", "pcs", "310", "620.00", "", "", "", "new",
             "Ida", "on order"],
        ],
        "\t",
        "utf-16",
    )  # fmt: skip
    job = check(entries, data, "export.txt", columns={"QTY": {"field": "quantity", "mark": "."}})
    assert faults(job) == []
    assert set(skipped(job)) == {5, 6}
    run(entries, job)
    lines = [
        (p.bought_on.isoformat(), p.note, p.state, p.landed_amount, p.lines.count())
        for p in build.purchases.order_by("bought_on", "pk")
    ]
    assert lines == [
        ("2026-03-07", "Receipt 881", "received", D("467.80"), 2),
        ("2026-03-07", "Receipt 882", "received", D("19.99"), 1),
        ("2026-04-02", "", "received", D("583.80"), 2),
        ("2026-04-20", "", "ordered", D(620), 1),
    ]
    beam = build.components.get(name="Hewn beam").lines.get()
    assert (beam.source, beam.obtained_by) == ("salvage", "second-hand")
    trip = Charge.objects.get(distance_text="84 mi")
    assert trip.charged_amount == D("58.80")


def test_rows_that_were_left_out_can_be_brought_in_all_the_same(entries, build):
    data = as_text(
        [
            ["Date", "Item", "Qty", "Total"],
            ["2026-03-07", "Nails", "2 boxes", "9"],
            ["2026-03-08", "Total station", "1 piece", "400"],
            ["", "Total", "", "409"],
        ]
    )
    job = check(entries, data, source="retail")
    # A thing that is only called so is none.
    assert states(job) == {"above": 1, "ready": 2, "skip": 1}
    steps.fix_rows(build, job.pk, {}, {4: "import"})
    assert get_row(job, 4).state == RowState.FAULT
