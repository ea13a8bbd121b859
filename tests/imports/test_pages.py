"""The pages of an import, as somebody goes through them; and what is told, mended, undone."""

import re
from decimal import Decimal as D

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from materials.exchange.faults import WorkbookError
from materials.exchange.outside_tables import steps
from materials.models import (
    Change,
    Component,
    ImportJob,
    LabourEntry,
    Purchase,
    PurchaseLine,
    RowState,
    Supplier,
)
from materials.queries.checks import find_differences
from materials.queries.imports import get_job, get_row, list_names
from materials.services import import_runs
from materials.services.errors import LedgerError
from materials.services.import_runs import run_chunk, start_run
from materials.services.long_work import Work
from materials.services.records import delete_record, undo_change
from materials.views import imports
from tests.entries import line

from .steps import answer, as_text, bring, check, choose, faults, lines, run, states, upload

HEAD = ["Date", "Vendor", "Item", "Qty", "Unit", "Each"]
ROWS = [
    HEAD,
    ["2026-03-07", "Yard", "Board", "12", "ft", "1.50"],
    ["2026-03-07", "yard", "Nails", "2", "boxes", "9"],
    ["2026-03-09", "Depot", "boards", "30", "ft", "2"],
]


def at(build, name: str, *args) -> str:
    return reverse(name, args=[build.pk, *args])


def text_of(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_from_the_file_to_the_ledger_page_by_page(clients, build):
    """Without scripts: every step is a form, and each leads to the next."""
    owner = clients["owner"]
    file = SimpleUploadedFile("march.csv", as_text(ROWS))
    answer = owner.post(at(build, "imports"), {"table": file})
    job = ImportJob.objects.get()
    assert answer.url == at(build, "import_table", job.pk)
    text = text_of(owner.get(answer.url))
    assert "First rows of Table" in text
    answer = owner.post(answer.url, {"place": 0, "heading_row": 1, "kind": "purchases"})
    assert answer.url == at(build, "import_columns", job.pk)
    page = owner.get(answer.url)
    form = page.context["form"]
    posted = {bound.html_name: bound.value() or "" for bound in form}
    # Nothing says where it came from: that is asked before any row is read.
    refused = owner.post(answer.url, posted)
    assert refused.status_code == 422
    assert "Source has no column" in text_of(refused)
    answer = owner.post(answer.url, posted | {"source": "salvage"})
    assert answer.url == at(build, "import_rows", job.pk)
    text = text_of(owner.get(answer.url))
    assert "3 rows can be imported" in text
    assert "Component “boards” counts as “Board”" in text
    assert "Supplier “Yard” is new and will be added" in text
    answer = owner.post(at(build, "import_run", job.pk), {"action": "start"})
    assert "3 rows imported" in text_of(owner.get(answer.url))
    assert lines(build) == [
        ("2026-03-07", "Yard", "Board", "12 ft", D(18), ""),
        ("2026-03-07", "Yard", "Nails", "2 boxes", D(18), ""),
        ("2026-03-09", "Depot", "Board", "30 ft", D(60), ""),
    ]
    entry = Change.objects.get(record_type="table")
    assert entry.summary == "Import of march.csv: 3 rows"
    assert list(find_differences(build)) == []


def test_a_pasted_table_is_read_the_same_way(clients, build):
    pasted = "\n".join("\t".join(row) for row in ROWS)
    answer = clients["owner"].post(at(build, "imports"), {"pasted": pasted})
    assert answer.status_code == 302
    job = ImportJob.objects.get()
    assert (job.delimiter, job.file_name) == ("\t", "pasted table")


@pytest.mark.parametrize("sent", [{}, {"pasted": "a\tb", "table": True}, {"pasted": "  \n "}])
def test_one_file_or_one_paste(sent, clients, build):
    if "table" in sent:
        sent["table"] = SimpleUploadedFile("x.csv", b"a,b")
    answer = clients["owner"].post(at(build, "imports"), sent)
    assert answer.status_code == 422
    assert not ImportJob.objects.exists()


@pytest.mark.parametrize(
    ("name", "sent"),
    [
        ("import_table", {"place": "99", "heading_row": "x", "kind": "nothing"}),
        ("import_table", {"place": "-1", "heading_row": "-4"}),
        ("import_table", {"read_again": "1", "encoding": "rot13", "delimiter": "%"}),
        ("import_columns", {"field_0": "nothing", "state": "gone", "year": "9"}),
        ("import_columns", {"field_0": "date", "field_1": "date", "field_2": "item"}),
        ("import_columns", {}),
        ("import_names", {"target_999999": "x", "unit_1": "\x00"}),
        ("import_rows", {"r2-date": "\ud800x", "choice": "99:skip:x", "r2-nothing": "x"}),
        ("import_rows", {"r999-date": "x"}),
        ("import_rows", {"choice": "1:skip"}),
        ("import_run", {"action": "dance"}),
    ],
)
def test_nonsense_is_answered_in_words(name, sent, clients, entries):
    job = check(entries, as_text(ROWS), source="retail")
    sent = {key: text.encode("utf-8", "replace").decode() for key, text in sent.items()}
    answer = clients["owner"].post(at(entries.build, name, job.pk), sent)
    assert answer.status_code in (302, 404, 422)
    assert clients["owner"].get(at(entries.build, name, job.pk)).status_code in (200, 302)


def test_pages_lead_to_the_step_a_job_stands_at(clients, entries):
    build, owner = entries.build, clients["owner"]
    job = upload(entries, as_text(ROWS))
    for name in ("import_columns", "import_names", "import_rows"):
        assert owner.get(at(build, name, job.pk)).url == at(build, "import_table", job.pk)
    choose(entries, job)
    assert owner.get(at(build, "import_rows", job.pk)).url == at(build, "import_columns", job.pk)
    # A co-builder sees what another began; who is no member sees nothing.
    assert "table.csv" in text_of(clients["co_builder"].get(at(build, "imports")))
    assert clients["stranger"].get(at(build, "import_columns", job.pk)).status_code == 404
    assert clients["viewer"].get(at(build, "import_columns", job.pk)).status_code == 403


def test_a_job_of_another_build_is_not_found(clients, entries, other_build):
    job = check(entries, as_text(ROWS), source="retail")
    for name in ("import_table", "import_columns", "import_names", "import_rows", "import_run",
                 "import_drop"):  # fmt: skip
        assert clients["stranger"].get(at(other_build, name, job.pk)).status_code == 404
        assert clients["stranger"].post(at(other_build, name, job.pk)).status_code == 404
    assert clients["stranger"].get(at(other_build, "import_row", job.pk, 2)).status_code == 404
    assert ImportJob.objects.get() == job


# Mending


def test_rows_are_mended_in_place_and_nothing_typed_is_lost(clients, entries):
    build, owner = entries.build, clients["owner"]
    rows = [HEAD, ["soon", "Yard", "Board", "12", "ft", "cheap"], *ROWS[1:]]
    job = check(entries, as_text(rows), source="retail")
    url = at(build, "import_rows", job.pk)
    page = owner.get(url)
    assert 'name="r2-date"' in page.content.decode()
    # One of two is mended: the other text stays and is told again.
    owner.post(url, {"r2-date": "2026-03-01", "r2-unit_price": "cheapish"})
    assert get_row(job, 2).mended == {"date": "2026-03-01", "unit_price": "cheapish"}
    page = owner.get(url).content.decode()
    assert 'value="cheapish"' in page
    assert "In the file: cheap" in page
    owner.post(url, {"r2-date": "2026-03-01", "r2-unit_price": "3"})
    row = get_row(job, 2)
    assert (row.state, row.values["unit_price"]) == (RowState.READY, "3")
    # The step of the columns may be taken again: what was corrected holds still.
    answer(entries, get_job(build, job.pk), source="salvage")
    row = get_row(job, 2)
    assert (row.values["date"], row.values["source"]) == ("2026-03-01", "salvage")
    # A text put back is no change any more.
    owner.post(at(build, "import_row", job.pk, 2), {"r2-date": "soon"})
    assert "date" not in get_row(job, 2).mended


def test_a_mended_day_holds_for_the_empty_cells_below_it(entries):
    rows = [
        HEAD,
        ["soon", "Yard", "Board", "12", "ft", "1"],
        ["", "", "Nails", "2", "boxes", "1"],
        ["", "", "Lime", "2", "bags", "1"],
        ["2026-03-09", "Depot", "Sand", "1", "ton", "5"],
    ]
    job = check(entries, as_text(rows), source="retail", repeat=True)
    assert [number for number, _, _ in faults(job)] == [2, 3, 4]
    steps.fix_rows(entries.build, job.pk, {2: {"date": "2026-03-01"}})
    assert faults(job) == []
    assert [row.values["date"] for row in job.rows.filter(number__gt=1)] == [
        "2026-03-01", "2026-03-01", "2026-03-01", "2026-03-09",
    ]  # fmt: skip


def test_a_name_that_was_mended_away_is_no_new_name(entries):
    entries.component("Board", unit="ft")
    rows = [HEAD, ["2026-03-07", "Yard", "Bxrd", "12", "ft", "1"]]
    job = check(entries, as_text(rows), source="retail")
    assert "Bxrd" in [name.name for name in list_names(job)]
    steps.fix_rows(entries.build, job.pk, {2: {"item": "board"}})
    assert [name.name for name in list_names(job)] == ["Yard"]


def test_names_stand_for_records_that_are_there(clients, entries):
    build, owner = entries.build, clients["owner"]
    plank = entries.component("Plank", unit="ft")
    job = check(entries, as_text(ROWS), source="retail")
    names = {name.name: name.pk for name in list_names(job)}
    url = at(build, "import_names", job.pk)
    posted = {f"target_{names['Board']}": "Plonk", f"unit_{names['Board']}": "ft"}
    refused = owner.post(url, posted)
    assert refused.status_code == 422
    assert "No such name" in text_of(refused)
    assert 'value="Plonk"' in refused.content.decode()
    posted |= {f"target_{names['Board']}": "plank", f"target_{names['Depot']}": "Yard"}
    posted |= {f"target_{names['boards']}": "Plank", f"unit_{names['Nails']}": "box"}
    assert owner.post(url, posted).status_code == 302
    run(entries, get_job(build, job.pk))
    assert {row[2] for row in lines(build)} == {"Plank", "Nails"}
    assert plank.lines.count() == 2
    assert [supplier.name for supplier in Supplier.objects.filter(build=build)] == ["Yard"]


def test_what_one_holds_can_be_said_of_a_new_component(clients, entries):
    build = entries.build
    rows = [HEAD, ["2026-03-07", "Yard", "Joist", "12", "pcs", "1"],
            ["2026-03-08", "Yard", "Joist", "32", "ft", "1"]]  # fmt: skip
    job = check(entries, as_text(rows), source="retail")
    ((number, _, sentence),) = faults(job)
    assert (number, "1 piece =" in sentence) == (3, True)
    name = next(name for name in list_names(job) if name.name == "Joist")
    posted = {f"unit_{name.pk}": "piece", f"contents_{name.pk}": "1 piece = 16 ft"}
    clients["owner"].post(at(build, "import_names", job.pk), posted)
    assert faults(job) == []
    run(entries, get_job(build, job.pk))
    assert [line.base_qty for line in PurchaseLine.objects.order_by("pk")] == [12, 2]


def test_signs_that_no_database_keeps_are_marked_and_told(clients, entries):
    build, owner = entries.build, clients["owner"]
    job = check(entries, as_text(ROWS), source="retail")
    owner.post(at(build, "import_row", job.pk, 2), {"r2-item": "Bo\x00ard"})
    assert get_row(job, 2).mended == {"item": "Bo\ufffdard"}
    ((number, key, sentence),) = faults(job)
    assert (number, key) == (2, "item")
    assert "cannot be read" in sentence
    name = list_names(job)[0]
    for field in ("target", "unit", "contents"):
        answer = owner.post(at(build, "import_names", job.pk), {f"{field}_{name.pk}": "x\x00y"})
        assert answer.status_code == 422
    mapped = {f"field_{i}": key for i, key in enumerate(
        ("date", "supplier", "item", "quantity", "unit", "unit_price"))}  # fmt: skip
    posted = mapped | {"source": "retail", "state": "received", "differ": "ask"}
    url = at(build, "import_columns", job.pk)
    assert owner.post(url, posted | {"supplier": "a\x07b"}).status_code == 422
    assert owner.post(url, posted | {"supplier": "Yard"}).status_code == 302


# Doubles


def test_rows_that_are_in_the_ledger_are_left_out_unless_one_says_so(clients, entries):
    build = entries.build
    bring(entries, as_text(ROWS), source="retail")
    before = lines(build)
    again = [*ROWS, ["2026-03-10", "Depot", "Lime", "6", "bags", "3"], ROWS[1]]
    job = check(entries, as_text(again), source="retail")
    # One board of that day is in the ledger; the second in the file is not.
    assert states(job) == {"above": 1, "ready": 2, "skip": 3, "double": 4}
    text = text_of(clients["owner"].get(at(build, "import_rows", job.pk) + "?show=double"))
    assert "In the ledger already: purchase" in text
    assert "The same as row 2" in text
    clients["owner"].post(at(build, "import_rows", job.pk), {"choice": "3:import"})
    clients["owner"].post(at(build, "import_rows", job.pk), {"choice": "6:skip"})
    run(entries, get_job(build, job.pk))
    assert sorted(lines(build)) == sorted(
        [*before, before[1], ("2026-03-10", "Depot", "Lime", "6 bags", D(18), "")]
    )


def test_hours_and_prices_that_are_there_are_left_out(entries):
    hours = [["Date", "Who", "Job", "Hours"], ["2026-03-07", "Ida", "Roof", "4"]]
    bring(entries, as_text(hours), labour="upkeep")
    job = check(entries, as_text(hours), labour="upkeep")
    assert states(job) == {"above": 1, "skip": 1, "double": 1}
    prices = [["Material", "Price", "Per", "Date"], ["Lime", "4", "bag", "2026-03-07"]]
    bring(entries, as_text(prices))
    job = check(entries, as_text(prices))
    assert states(job) == {"above": 1, "skip": 1, "double": 1}
    needs = [["Item", "Qty needed", "Unit"], ["Lime", "4", "bag"], ["Sand", "2", "ton"]]
    job = check(entries, as_text(needs))
    assert states(job) == {"above": 1, "ready": 1, "skip": 1, "double": 1}


# Columns remembered


def test_the_columns_of_a_set_of_headings_are_remembered(entries, other_build):
    job = choose(entries, upload(entries, as_text(ROWS)))
    answer(entries, job, {"Each": "total", "Vendor": ""}, source="seconds", together=False)
    turned = [[row[5], *row[:5]] for row in ROWS]
    job = choose(entries, upload(entries, as_text(turned), "april.csv"))
    fields = {c["heading"]: job.mapping["columns"][i]["field"] for i, c in enumerate(job.profile)}
    assert (fields["Each"], fields["Vendor"], fields["Date"]) == ("total", "", "date")
    assert (job.mapping["options"]["source"], job.mapping["options"]["together"]) == (
        "seconds", False,
    )  # fmt: skip
    # Other headings are guessed anew.
    job = choose(entries, upload(entries, as_text([[*row, "x"] for row in ROWS])))
    assert job.mapping["options"]["source"] == ""


# Bringing in


def test_a_row_each_can_become_a_purchase(entries):
    bring(entries, as_text(ROWS), source="retail", together=False)
    assert Purchase.objects.filter(build=entries.build).count() == 3


def test_purchases_of_very_many_lines_are_divided(entries, monkeypatch):
    monkeypatch.setattr("materials.exchange.outside_tables.check.LINES_PER_PURCHASE", 3)
    rows = [HEAD, *(["2026-03-07", "Yard", f"Board {n}", "1", "ft", "1"] for n in range(8))]
    bring(entries, as_text(rows), source="retail")
    counts = [purchase.lines.count() for purchase in entries.build.purchases.order_by("pk")]
    assert counts == [3, 3, 2]


def test_chunks_go_on_where_the_last_ended_and_a_job_can_be_stopped(clients, entries, monkeypatch):
    build, owner = entries.build, clients["owner"]
    rows = [HEAD]
    rows += [["2026-03-07", f"Yard {n}", "Board", str(n + 1), "ft", "1"] for n in range(10)]
    job = check(entries, as_text(rows), source="retail")
    start_run(build=build, pk=job.pk)
    run_chunk(actor=entries.actor, build=build, pk=job.pk, most=4)
    assert states(job) == {"above": 1, "ready": 6, "done": 4}
    text = text_of(owner.get(at(build, "import_run", job.pk)))
    assert "Importing rows: 4 of 10" in text
    # While it runs, no row can be changed.
    with pytest.raises(LedgerError):
        steps.fix_rows(build, job.pk, {9: {"date": "2026-03-01"}})
    owner.post(at(build, "import_run", job.pk), {"action": "stop"})
    assert get_job(build, job.pk).state == "checked"
    # Another step of a stopped job does nothing.
    run_chunk(actor=entries.actor, build=build, pk=job.pk)
    assert states(job) == {"above": 1, "ready": 6, "done": 4}
    answer = owner.post(
        at(build, "import_run", job.pk), {"action": "start"}, headers={"HX-Request": "true"}
    )
    assert answer["HX-Redirect"] == at(build, "import_run", job.pk)
    assert sorted(PurchaseLine.objects.values_list("base_qty", flat=True)) == list(range(1, 11))
    (entry,) = Change.objects.filter(record_type="table")
    assert entry.summary == "Import of table.csv: 10 rows"


def test_a_chunk_is_written_whole_or_not_at_all(entries, monkeypatch):
    job = check(entries, as_text(ROWS), source="retail")
    start_run(build=entries.build, pk=job.pk)
    monkeypatch.setattr(import_runs, "_log_import", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        run_chunk(actor=entries.actor, build=entries.build, pk=job.pk)
    assert states(job) == {"above": 1, "ready": 3}
    assert not PurchaseLine.objects.exists()
    assert not Component.objects.filter(build=entries.build).exists()


def test_what_changed_since_the_check_is_a_fault_of_the_row(entries):
    board = entries.component("Board", unit="ft")
    job = check(entries, as_text(ROWS), source="retail")
    entries.change(board, unit="gal")
    job = run(entries, job)
    found = {number: sentence for number, _, sentence in faults(job)}
    # The whole purchase waits, not half of it.
    assert set(found) == {2, 3, 4}
    assert "cannot be turned into" in found[2]
    assert not PurchaseLine.objects.exists()


def test_bringing_in_the_rest_later_is_the_same_import(entries):
    rows = [*ROWS, ["soon", "Depot", "Lime", "6", "bags", "3"]]
    job = run(entries, check(entries, as_text(rows), source="retail"))
    steps.fix_rows(entries.build, job.pk, {5: {"date": "2026-03-09"}})
    job = run(entries, get_job(entries.build, job.pk))
    (entry,) = Change.objects.filter(record_type="table")
    assert entry.summary == "Import of table.csv: 4 rows"
    assert job.change == entry
    # It does not slip into a purchase that is in the ledger already.
    assert Purchase.objects.filter(build=entries.build).count() == 3


# Undoing


def test_an_import_is_undone_as_one_and_can_be_brought_in_again(clients, entries):
    build, owner = entries.build, clients["owner"]
    entries.purchase("P7", line(entries.component("Slate", unit="square"), "2 squares"))
    kept = lines(build)
    job = bring(entries, as_text(ROWS), source="retail")
    after = lines(build)
    entry = job.change
    assert "Undo this" in text_of(owner.get(at(build, "change", entry.pk)))
    assert owner.post(at(build, "change_undo", entry.pk)).url == at(build, "history")
    assert lines(build) == kept
    assert [part.name for part in Component.objects.filter(build=build)] == ["Slate"]
    assert not Supplier.objects.filter(build=build).exists()
    assert list(find_differences(build)) == []
    # The old entry is history; the rows wait again.
    assert "Undo this" not in text_of(owner.get(at(build, "change", entry.pk)))
    run(entries, get_job(build, job.pk))
    assert lines(build) == after


def test_what_was_changed_since_stands_in_the_way_of_undoing_and_is_named(entries):
    job = bring(entries, as_text(ROWS), source="retail")
    first = entries.build.purchases.order_by("pk").first()
    from materials.services.purchases import save_purchase

    board = Component.objects.get(name="Board")
    save_purchase(
        **entries.by, purchase=first, values={"note": "paid in cash"}, lines=[line(board, "1 ft")]
    )
    changed = Change.objects.filter(record_type="purchase").first()
    with pytest.raises(LedgerError, match=f"purchase {first.number} was changed since"):
        undo_change(**entries.by, change=job.change)
    assert entries.build.purchases.count() == 2
    # Once that is undone nothing stands in the way.
    undo_change(**entries.by, change=changed)
    undo_change(**entries.by, change=job.change)
    assert not entries.build.purchases.exists()


def test_material_that_was_used_since_stands_in_the_way(entries):
    job = bring(entries, as_text(ROWS), source="retail")
    entries.left_over(Component.objects.get(name="Board"), "40 ft")
    with pytest.raises(LedgerError, match="more Board than there is"):
        undo_change(**entries.by, change=job.change)
    assert PurchaseLine.objects.count() == 3


def test_names_that_are_used_since_stay_and_are_told(clients, entries):
    build = entries.build
    job = bring(entries, as_text(ROWS), source="retail")
    board = Component.objects.get(name="Board")
    entries.purchase("P99", line(board, "3 ft"), supplier="Yard")
    answer = clients["owner"].post(at(build, "change_undo", job.change.pk), follow=True)
    assert "Kept, because they are used: Board, Yard" in text_of(answer)
    assert [purchase.number for purchase in build.purchases.all()] == ["P99"]
    assert {part.name for part in build.components.all()} == {"Board"}


def test_a_purchase_deleted_since_does_not_stand_in_the_way(entries):
    job = bring(entries, as_text(ROWS), source="retail")
    delete_record(**entries.by, record=entries.build.purchases.first())
    undo_change(**entries.by, change=job.change)
    assert not entries.build.purchases.exists()


def test_hours_components_and_prices_are_undone_as_well(entries):
    hours = [["Date", "Who", "Job", "Hours"], ["2026-03-07", "Ida", "Roof", "4"]]
    prices = [["Material", "Price", "Per", "Date"], ["Lime", "4", "bag", "2026-03-07"]]
    needs = [["Item", "Qty needed", "Unit", "Element", "New price"],
             ["Sand", "2", "ton", "B2010", "20"]]  # fmt: skip
    jobs = [bring(entries, as_text(hours), labour="upkeep"), bring(entries, as_text(prices)),
            bring(entries, as_text(needs))]  # fmt: skip
    build = entries.build
    assert build.elements.filter(code="B2010").exists()
    for job in reversed(jobs):
        undo_change(**entries.by, change=job.change)
    assert not LabourEntry.objects.exists()
    assert not Component.objects.filter(build=build).exists()
    assert not build.elements.filter(code="B2010").exists()
    assert not build.tasks.exists()


def test_dropping_what_is_in_keeps_it_and_its_undoing(clients, entries):
    build = entries.build
    job = bring(entries, as_text(ROWS), source="retail")
    clients["owner"].post(at(build, "import_drop", job.pk))
    assert "3 rows imported" in text_of(clients["owner"].get(at(build, "import_run", job.pk)))
    assert not job.rows.exists()
    undo_change(**entries.by, change=job.change)
    assert not build.purchases.exists()


def test_what_all_rows_would_ask_is_asked_on_the_page_of_columns(clients, build, entries):
    """Words for units, and whether prices hold their tax: once, and what was typed stays."""
    rows = [
        ["Date", "Item", "Qty", "Unit", "Tax", "Total"],
        ["2026-05-02", "Roof sheet", "6", "Tafeln", "4.80", "64.80"],
        ["2026-05-02", "Lath", "12", "oddments", "", "10"],
    ]
    job = choose(entries, upload(entries, as_text(rows)), kind="purchases")
    owner, url = clients["owner"], at(build, "import_columns", job.pk)
    form = owner.get(url).context["form"]
    posted = {bound.html_name: bound.value() or "" for bound in form}
    assert (posted["unitword_3_0"], posted["unitword_3_1"]) == ("sheet", "")
    refused = owner.post(url, posted | {"source": "retail", "unitword_3_1": "piece"})
    assert refused.status_code == 422
    assert "Choose whether whole prices include the tax" in text_of(refused)
    assert refused.context["form"]["unitword_3_1"].value() == "piece"
    given = {"source": "retail", "unitword_3_1": "piece", "taxed": "included"}
    assert owner.post(url, posted | given).url == at(build, "import_rows", job.pk)
    owner.post(at(build, "import_run", job.pk), {"action": "start"})
    assert [row[3:5] for row in lines(build)] == [("6 sheets", D(60)), ("12 pieces", D(10))]
    assert build.purchases.get().landed_amount == D("74.80")


def test_a_refusal_is_told_and_the_file_can_be_tried_again(monkeypatch):
    kept = {"key": (Work("done"), (None, "Reading the file took too long."))}
    monkeypatch.setattr(
        imports, "do_value", lambda key, make: kept.get(key) or (Work("done"), make())
    )
    monkeypatch.setattr(imports, "forget", kept.pop)
    with pytest.raises(WorkbookError, match="too long"):
        imports._aside("key", lambda: "read")
    assert imports._aside("key", lambda: "read")[1] == "read"
