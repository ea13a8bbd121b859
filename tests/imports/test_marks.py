"""What a sheet shows beyond its values: read as shown, or asked about; never taken in silence."""

from datetime import date
from decimal import Decimal as D

import pytest
from django.urls import reverse

from materials.exchange.outside_tables import child, marks, sheets
from materials.exchange.outside_tables.mapping import mapping_faults
from materials.exchange.outside_tables.marks import as_shown, read_format, row_list
from materials.models import Build
from materials.queries.imports import get_job
from tests.exchange.small import repack

from .marked_sheets import HEAD, marked_xlsx, struck_row
from .steps import answer, as_xlsx, choose, faults, lines, run, skipped, upload

DAY = date(2026, 5, 2)
ROWS = [
    HEAD,
    [DAY, "Hill farm", "Roof sheet", 10, 35, "bent"],
    [DAY, "Hill farm", "Gutter", 20, 12.5, None],
    [DAY, "Corner Lumber", "Beam", 3, 90, None],
    [DAY, "Corner Lumber", "Lime", 2, 24, None],
]


def opened(entries, data, **found):
    return choose(entries, upload(entries, data, "barn.xlsx"), kind="purchases", **found)


def spent(build):
    return sum((p.landed_amount for p in build.purchases.all()), D(0))


# Number formats


@pytest.mark.parametrize(
    ("written", "before", "after"),
    [
        ("General", "", ""),
        ("0.00", "", ""),
        ("#,##0.00", "", ""),
        ("# ?/?", "", ""),
        ("0.00E+00", "", ""),
        ("yyyy-mm-dd", "", ""),
        ("[h]:mm", "", ""),
        ("@", "", ""),
        ('0" ft"', "", "ft"),
        ('0.0 "lb"', "", "lb"),
        ("0\\ \\f\\t", "", "ft"),
        ("#,##0.00\\ [$€-407]", "", "€"),
        ('#,##0.00\\ "€"', "", "€"),
        ("#,##0.00 €", "", "€"),
        ("[$€-2] #,##0.00;[Red]-[$€-2] #,##0.00", "€", ""),
        ('_("$"* #,##0.00_);_("$"* (#,##0.00);_("$"* "-"??_);_(@_)', "$", ""),
        ("[$-409]#,##0.00", "", ""),
        ("[$CHF] 0.00", "CHF", ""),
        ("$#,##0", "$", ""),
        ("[Red]0", "", ""),
        ("0%", "", "%"),
        ('"Lot; "0', "Lot", ""),
        # Thousands and telephone numbers: what is shown is another number than the one kept.
        ('0,"k"', "", ""),
        ('000"-"0000', "", ""),
        (f'0"{"long" * 80}"', "", ""),
    ],
)
def test_what_a_format_shows_beside_the_number(written, before, after):
    assert read_format(written) == (before, after)


@pytest.mark.parametrize(
    ("number", "before", "after", "text"),
    [
        ("12", "", "ft", "12 ft"),
        ("1234.5", "", "lb", "1234.5 lb"),
        # With three places it could be read as thousands.
        ("1.234", "", "ft", "1.2340 ft"),
        ("-5", "€", "", "-€5"),
        ("0.85", "", "%", "85%"),
    ],
)
def test_a_number_is_read_as_if_its_format_had_been_typed(number, before, after, text):
    assert as_shown(["n", number], before, after) == text
    assert as_shown("12", before, after) == "12"
    assert as_shown(["d", "2026-05-02"], before, after) == ["d", "2026-05-02"]


def test_a_format_carries_its_unit(entries, build):
    data = marked_xlsx(ROWS, formats={"D2": '0" pieces"', "D3": '0.0" ft"', "D4": '0 "pcs"',
                                      "D5": '0\\ "bags"'})  # fmt: skip
    job = answer(entries, opened(entries, data), source="salvage")
    assert faults(job) == []
    run(entries, job)
    assert [row[3] for row in lines(build)] == ["10 pieces", "20 ft", "3 pcs", "2 bags"]
    assert spent(build) == D("161.5")


@pytest.mark.parametrize("written", ["#,##0.00 [$€-407]", '"€"0.00', "#,##0.00\\ €"])
def test_another_currency_is_a_question_on_the_page_of_columns(written, entries, build, clients):
    job = opened(entries, marked_xlsx(ROWS, formats={"E": written}))
    job.mapping["options"] |= {"source": "salvage", "unit": "piece"}
    asked = dict(mapping_faults(job.kind, job.profile, job.mapping, "USD"))
    assert asked == {"money_4": "Choose the currency of these amounts."}
    assert mapping_faults(job.kind, job.profile, job.mapping, "EUR") == []
    page = clients["owner"].get(reverse("import_columns", args=[build.pk, job.pk]))
    assert "Amounts here show € (4 of 4). This build counts in USD." in page.content.decode()
    # Another currency: no row is taken.
    job = answer(entries, job, {"Cost": {"money": "other"}})
    assert [number for number, *_ in faults(job)] == [2, 3, 4, 5]
    assert "in another currency than the build" in faults(job)[0][2]
    # Only with another sign: the amounts are taken as they stand.
    job = answer(entries, get_job(build, job.pk), {"Cost": {"money": "build"}})
    assert faults(job) == []
    run(entries, job)
    assert spent(build) == D("161.5")


def test_the_builds_own_currency_is_no_question(entries, build):
    Build.objects.filter(pk=build.pk).update(currency="EUR")
    build.refresh_from_db()
    job = opened(entries, marked_xlsx(ROWS, formats={"E": "#,##0.00 [$€-407]"}))
    run(entries, answer(entries, job, source="salvage", unit="piece"))
    assert spent(build) == D("161.5")


def test_the_answer_on_a_currency_is_not_kept_for_the_next_file(entries):
    data = marked_xlsx(ROWS, formats={"E": '"€"0.00'})
    answer(entries, opened(entries, data), {"Cost": {"money": "build"}}, source="salvage",
           unit="piece")  # fmt: skip
    job = opened(entries, data)
    assert "money_4" in dict(mapping_faults(job.kind, job.profile, job.mapping, "USD"))


def test_a_share_that_is_shown_in_percent(entries, build):
    rows = [[*HEAD, "Usable"], *([*row, 1] for row in ROWS[1:])]
    data = marked_xlsx(rows, formats={"G": "0%", "D": '0" pieces"'})
    run(entries, answer(entries, opened(entries, data), source="salvage"))
    assert {line.usable_percent for p in build.purchases.all() for line in p.lines.all()} == {100}


# Rows that are struck out or hidden


def test_struck_out_and_hidden_rows_are_left_out_unless_it_is_ticked(entries, build, clients):
    data = marked_xlsx(ROWS, struck=struck_row(3), hidden=(4, 5), formats={"D": '0" pieces"'})
    job = opened(entries, data)
    url = reverse("import_columns", args=[build.pk, job.pk])
    text = clients["owner"].get(url).content.decode()
    assert "Take in 1 row struck out: row 3" in text
    assert "Take in 2 rows hidden: rows 4 and 5" in text
    job = answer(entries, job, source="salvage")
    hidden = "Hidden in the sheet."
    assert skipped(job) == {3: "Struck out in the sheet.", 4: hidden, 5: hidden}
    page = clients["owner"].get(reverse("import_rows", args=[build.pk, job.pk])).content.decode()
    assert "Left out: 1 row struck out in the sheet, row 3." in page
    assert "Left out: 2 rows hidden in the sheet, rows 4 and 5." in page
    # One row alone is taken in by its button, all of them by the tick.
    clients["owner"].post(reverse("import_rows", args=[build.pk, job.pk]), {"choice": "4:import"})
    assert 4 not in skipped(job)
    job = answer(entries, get_job(build, job.pk), struck=True, hidden=True)
    assert skipped(job) == {}
    run(entries, job)
    assert spent(build) == D("161.5")


def test_a_tick_is_not_kept_for_the_next_file(entries):
    data = marked_xlsx(ROWS, struck=struck_row(3), formats={"D": '0" pieces"'})
    answer(entries, opened(entries, data), source="salvage", struck=True)
    assert opened(entries, data).mapping["options"]["struck"] is False


def test_a_row_struck_out_in_part_is_left_out_visibly(entries):
    data = marked_xlsx(ROWS, struck=("C4",), formats={"D": '0" pieces"'})
    assert list(skipped(answer(entries, opened(entries, data), source="salvage"))) == [4]


def test_what_is_struck_out_above_the_table_does_not_count(entries, build, clients):
    rows = [["Old list", None, None, None, None, None], *ROWS]
    job = opened(entries, marked_xlsx(rows, struck=("A1",)), heading_row=2)
    url = reverse("import_columns", args=[build.pk, job.pk])
    assert "Take in" not in clients["owner"].get(url).content.decode()


def test_the_tick_works_on_the_page(entries, build, clients):
    data = marked_xlsx(ROWS, struck=struck_row(3), formats={"D": '0" pieces"'})
    job = opened(entries, data)
    url = reverse("import_columns", args=[build.pk, job.pk])
    form = clients["owner"].get(url).context["form"]
    posted = {bound.html_name: bound.value() or "" for bound in form} | {"source": "salvage"}
    posted = {name: value for name, value in posted.items() if value != ""}
    assert clients["owner"].post(url, posted).status_code == 302
    assert list(skipped(job)) == [3]
    assert clients["owner"].post(url, posted | {"struck": "on"}).status_code == 302
    assert skipped(job) == {}


# Comments and links


def test_comments_and_links_become_columns_of_the_note(entries, build):
    data = marked_xlsx(
        ROWS,
        formats={"D": '0" pieces"'},
        comments={"C2": "Ida:\nfour are bent", "E2": "paid cash", "B3": "ask again"},
        links={"E3": "https://example.org/gutter", "B4": "mailto:ida@example.org"},
    )
    job = opened(entries, data)
    headings = [column["heading"] for column in job.profile]
    assert headings == [*HEAD, "Comments of cells", "Links of cells"]
    run(entries, answer(entries, job, source="salvage"))
    assert [row[5] for row in lines(build)] == [
        "bent; Ida: four are bent; paid cash",
        "ask again; https://example.org/gutter",
        "",
        "",
    ]


def test_the_link_of_a_new_price_is_where_it_was_seen(entries, build):
    rows = [["Item", "Retail price", "Per"], ["Lime", 14.5, "bag"], ["Gutter", 3, "ft"]]
    data = marked_xlsx(rows, links={"B2": "https://example.org/lime"})
    job = choose(entries, upload(entries, data, "prices.xlsx"), kind="prices")
    run(entries, answer(entries, job))
    seen = {price.component.name: price.priced_at for part in build.components.all()
            for price in part.prices.all()}  # fmt: skip
    assert seen == {"Lime": "https://example.org/lime", "Gutter": ""}


def test_a_link_formula_is_a_link_and_a_threaded_comment_loses_its_preface():
    rows = [["Item", "See"], ["Lime", '=HYPERLINK("https://example.org/lime","here")']]
    preface = "[Threaded comment]\n\nYour version allows you to read this.\n\nComment:\n    damp"
    found = marks.find_marks(marked_xlsx(rows, comments={"A2": preface}), "Barn")
    assert found.links == [(2, "https://example.org/lime")]
    assert found.comments == [(2, "damp")]


# What cannot be looked at


def test_a_workbook_with_too_many_cells_is_read_and_that_is_said(entries, build, monkeypatch):
    monkeypatch.setattr(child, "MAX_MARKED_CELLS", 10)
    with pytest.raises(child.WorkbookError, match="more than 10 cells"):
        list(child.look_for_marks(as_xlsx(ROWS), "Sheet"))


@pytest.mark.parametrize(
    "broken",
    [
        {"xl__comments__comment1_xml": b"<comments"},
        {"xl__comments__comment1_xml": b"\0\0"},
        {"xl__theme__theme1_xml": b"<!DOCTYPE x [<!ENTITY a 'b'>]><x>&a;</x>"},
        {"docProps__core_xml": b"<!DOCTYPE x><x/>"},
    ],
)
def test_marks_that_cannot_be_read_are_said_and_the_values_come_in(broken, entries, build, clients):
    data = repack(marked_xlsx(ROWS, struck=struck_row(3), comments={"C2": "bent"}), **broken)
    job = opened(entries, data)
    job = answer(entries, job, source="salvage", unit="piece")
    assert faults(job) == []
    for name in ("import_columns", "import_rows"):
        page = clients["owner"].get(reverse(name, args=[build.pk, job.pk])).content.decode()
        assert "The marks of this workbook were skipped" in page
        assert "marked copy" not in page
    run(entries, job)
    assert spent(build) == D("161.5")


def test_a_workbook_that_takes_too_long_to_look_through_is_read(entries, monkeypatch):
    asked = sheets.ask_child

    def slow(data, action, *rest):
        if action == "marks":
            raise child.WorkbookError("Reading the file took too long.")
        return asked(data, action, *rest)

    monkeypatch.setattr(sheets, "ask_child", slow)
    job = opened(entries, marked_xlsx(ROWS))
    assert job.row_count == 4
    assert marks.NOT_LOOKED_AT in job.notes


def test_a_sheet_of_nothing_but_comments_is_not_looked_through(monkeypatch):
    monkeypatch.setattr(marks, "_MOST_COMMENTS", 1)
    data = marked_xlsx(ROWS, comments={"C2": "one", "C3": "two"})
    with pytest.raises(child.WorkbookError, match="more than 1 comments"):
        marks.find_marks(data, "Barn")


def test_marks_of_a_sheet_that_is_not_there_are_not_looked_at():
    assert sheets.look_for_marks(as_xlsx(ROWS), "xlsx", "Nowhere") == (None, [marks.NOT_LOOKED_AT])


@pytest.mark.parametrize("content", ["ods", "xls"])
def test_other_workbooks_say_that_marks_are_not_looked_at(content):
    assert sheets.look_for_marks(b"x", content, "Barn") == (None, [marks.ONLY_XLSX])
    assert sheets.look_for_marks(b"x", "text", "Barn") == (None, [])


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ([4], "row 4"),
        ([4, 5], "rows 4 and 5"),
        ([9, 4, 7, 10, 11], "rows 4, 7 and 9 to 11"),
        (range(1000, 1080, 2), "rows 1,000, 1,002, 1,004, 1,006, 1,008, 1,010, 1,012, 1,014,"
         " 1,016, 1,018, 1,020, 1,022 and more"),
    ],
)  # fmt: skip
def test_row_numbers_in_words(numbers, said):
    assert row_list(numbers) == said
