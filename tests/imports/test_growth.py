"""Pages and chunks run the same number of queries however many rows there are."""

from django.urls import reverse

from materials.exchange.outside_tables import steps
from materials.queries.imports import get_job
from materials.services.import_runs import run_chunk, start_run
from tests.queries.test_growth import count, grown, page_counts

from .steps import as_text, check, choose, small_import, upload


def rows(number: int, ledger: str = "") -> list[list[str]]:
    """Rows of other names each, in purchases of their own."""
    head = ["Date", "Vendor", "Item", "Qty", "Each"]
    made = [
        ["2026-03-07", f"Yard {ledger}{n}", f"Board {ledger}{n}", f"{n + 1} ft", "2"]
        for n in range(number)
    ]
    return [head, *made]


def test_pages_of_an_import_run_the_same_queries_for_more_rows(clients, entries):
    def urls(job) -> dict[str, str]:
        args = [entries.build.pk, job.pk]
        names = ("import_table", "import_columns", "import_names", "import_rows", "import_run")
        return {name: reverse(name, args=args) for name in names}

    few = check(entries, as_text(rows(2)), source="retail")
    many = check(entries, as_text(rows(40)), source="retail")
    page_counts(clients["owner"], urls(few))
    before = page_counts(clients["owner"], urls(few))
    assert grown(before, page_counts(clients["owner"], urls(many))) == {}


def test_the_list_of_imports_runs_the_same_queries_for_more_of_them(clients, entries):
    url = {"imports": reverse("imports", args=[entries.build.pk])}
    small_import(entries)
    page_counts(clients["owner"], url)
    few = page_counts(clients["owner"], url)
    for _ in range(4):
        small_import(entries)
    assert grown(few, page_counts(clients["owner"], url)) == {}


def test_a_chunk_runs_no_query_for_each_row(entries):
    """Checking and bringing in grow with the number of chunks, not with that of rows."""
    counts = {}
    for number in (20, 120):
        data = as_text(rows(number, f"{number}-"))
        job = choose(entries, upload(entries, data))
        mapping = job.mapping
        mapping["options"]["source"] = "retail"
        steps.save_columns(entries.build, job.pk, mapping)

        def check_all(pk=job.pk) -> None:
            steps.continue_job(actor=None, build=entries.build, pk=pk, seconds=None)

        checking = count(check_all)
        start_run(build=entries.build, pk=job.pk)

        def bring_all(pk=job.pk) -> None:
            run_chunk(actor=entries.actor, build=entries.build, pk=pk)

        counts[number] = {"check": checking, "run": count(bring_all)}
        assert get_job(entries.build, job.pk).done_count == number
    # SQLite takes long inserts in pieces; a query for each row would be a hundred more.
    more = {step: counts[120][step] - counts[20][step] for step in ("check", "run")}
    assert max(more.values()) <= 12, more
