"""A long sheet is copied in steps: no request writes more than some rows, and none is lost."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from materials.exchange.outside_tables import steps
from materials.models import ImportJob, ImportRow, JobState, RowState
from materials.queries.imports import get_job
from materials.services import import_jobs
from materials.services.errors import LedgerError
from materials.views import import_rows, imports

from .steps import answer, as_text, choose, upload

COUNT, AT_ONCE = 95, 20


def table(count: int = COUNT, item: str = "Lath") -> bytes:
    rows = [["2026-03-07", "Yard", f"{item} {n % 7}", f"{n + 1} ft", "2"] for n in range(count)]
    return as_text([["Date", "Vendor", "Item", "Qty", "Each"], *rows])


class Killed(BaseException):
    """Nobody catches it, as nobody catches a server's end."""


@pytest.fixture
def short_steps(monkeypatch):
    """Few rows make a long sheet, and a request goes one step."""
    monkeypatch.setattr(import_jobs, "ROWS_AT_ONCE", AT_ONCE)
    monkeypatch.setattr(import_jobs, "EMPTIED_AT_ONCE", AT_ONCE)
    monkeypatch.setattr(steps, "CHECK_AT_ONCE", AT_ONCE)
    monkeypatch.setattr(imports, "SECONDS", 0)
    monkeypatch.setattr(import_rows, "STEP_SECONDS", 0)


@pytest.fixture
def written(monkeypatch):
    """How many rows were written or emptied since it was last asked."""
    counts = [0]
    create, update = ImportRow.objects.bulk_create, type(ImportRow.objects.all()).update
    delete = type(ImportRow.objects.all()).delete

    def counted_create(rows, *args, **kwargs):
        made = create(rows, *args, **kwargs)
        counts[0] += len(made)
        return made

    def counted_update(self, **values):
        number = update(self, **values)
        counts[0] += number if self.model is ImportRow else 0
        return number

    def counted_delete(self):
        number, each = delete(self)
        counts[0] += number if self.model is ImportRow else 0
        return number, each

    monkeypatch.setattr(ImportRow.objects, "bulk_create", counted_create)
    monkeypatch.setattr("django.db.models.query.QuerySet.update", counted_update)
    monkeypatch.setattr("django.db.models.query.QuerySet.delete", counted_delete)

    def since() -> int:
        found, counts[0] = counts[0], 0
        return found

    return since


def numbers(job) -> list[int]:
    return list(job.rows.order_by("number").values_list("number", flat=True))


def laid_aside(media) -> list[str]:
    return [path.name for path in media.rglob("*-*") if path.is_file()]


def press(client, build, job, limit: int, written) -> int:
    """Press the button until the job waits for somebody; gives how often. Without scripts."""
    url = reverse("import_run", args=[build.pk, job.pk])
    for presses in range(1, 60):
        assert client.post(url).status_code == 302
        assert written() <= limit
        if not steps.is_going(get_job(build, job.pk)):
            return presses
        assert "Go on" in client.get(url).content.decode()
    raise AssertionError("it does not end")


def test_no_request_writes_more_than_some_rows(
    short_steps, written, clients, build, media, django_capture_on_commit_callbacks
):
    client = clients["owner"]
    file = SimpleUploadedFile("a.csv", table())
    client.post(reverse("imports", args=[build.pk]), {"table": file})
    job = ImportJob.objects.get()
    assert written() == 0
    url = reverse("import_table", args=[build.pk, job.pk])
    chosen = {"place": "0", "heading_row": "1", "kind": "purchases"}
    told = client.post(url, chosen)
    going = reverse("import_run", args=[build.pk, job.pk])
    assert told["Location"] == going
    assert 0 < written() <= AT_ONCE
    assert "Copying the table: 20 of 96" in client.get(going).content.decode()
    # The next step waits until all rows are there.
    assert client.get(reverse("import_columns", args=[build.pk, job.pk]))["Location"] == going
    with pytest.raises(LedgerError, match="wait until it is copied"):
        steps.save_columns(build, job.pk, job.mapping)
    with django_capture_on_commit_callbacks(execute=True):
        assert press(client, build, job, AT_ONCE, written) == 4
    job = get_job(build, job.pk)
    assert (job.state, job.row_count, numbers(job)) == (JobState.COLUMNS, 95, list(range(1, 97)))
    assert laid_aside(media) == []
    # Checked, and checked anew: each time in steps.
    mapping = job.mapping | {"options": job.mapping["options"] | {"source": "retail"}}
    for _ in range(2):
        steps.save_columns(build, job.pk, mapping)
        assert written() == 0
        press(client, build, job, 2 * AT_ONCE, written)
        assert get_job(build, job.pk).state == JobState.CHECKED
        assert job.rows.filter(state=RowState.READY).count() == COUNT
        assert job.rows.get(number=1).state == RowState.ABOVE


def test_what_a_killed_server_was_copying_is_neither_lost_nor_doubled(
    short_steps, entries, media, monkeypatch
):
    job = choose(entries, upload(entries, table()))
    real = import_jobs.change_job
    for _ in range(3):
        with monkeypatch.context() as patch:

            def killed(job, **values):
                raise Killed

            patch.setattr(import_jobs, "change_job", killed)
            # Its rows are written, and how far it is is not.
            with pytest.raises(Killed):
                steps.continue_job(**entries.by, pk=job.pk, seconds=0)
        assert import_jobs.change_job is real
        steps.continue_job(**entries.by, pk=job.pk, seconds=0)
    steps.continue_job(**entries.by, pk=job.pk, seconds=None)
    job = get_job(entries.build, job.pk)
    assert numbers(job) == list(range(1, 97))
    assert [row.cells[3] for row in job.rows.all()[1:4]] == ["1 ft", "2 ft", "3 ft"]


def test_a_table_chosen_anew_while_it_is_copied_begins_anew(short_steps, entries, media):
    job = choose(entries, upload(entries, table()))
    steps.continue_job(**entries.by, pk=job.pk, seconds=0)
    job = choose(entries, get_job(entries.build, job.pk), heading_row=2)
    assert job.state == JobState.KEEPING
    steps.continue_job(**entries.by, pk=job.pk, seconds=None)
    job = get_job(entries.build, job.pk)
    assert (job.heading_row, job.row_count, numbers(job)) == (2, 94, list(range(1, 97)))


def test_another_row_of_headings_leaves_the_rows_as_they_are(short_steps, entries, written):
    job = choose(entries, upload(entries, table()))
    steps.continue_job(**entries.by, pk=job.pk, seconds=None)
    job = answer(entries, get_job(entries.build, job.pk), source="retail")
    steps.fix_rows(entries.build, job.pk, {5: {"quantity": "7 ft"}})
    written()
    job = choose(entries, job, heading_row=2)
    assert (job.state, job.row_count, written()) == (JobState.COLUMNS, 94, 0)
    assert job.rows.get(number=5).mended == {"quantity": "7 ft"}


def test_a_sheet_that_is_gone_is_asked_for_again(short_steps, clients, entries, media):
    build = entries.build
    job = choose(entries, upload(entries, table()))
    for path in media.rglob("*-*"):
        path.unlink()
    url = reverse("import_run", args=[build.pk, job.pk])
    page = clients["owner"].post(url, follow=True).content.decode()
    assert "Choose it again" in page
    assert get_job(build, job.pk).state == JobState.TABLE
    assert choose(entries, get_job(build, job.pk)).state == JobState.KEEPING


def test_dropping_deletes_some_rows_at_a_time(short_steps, written, clients, entries, media):
    job, build, client = choose(entries, upload(entries, table())), entries.build, clients["owner"]
    steps.continue_job(**entries.by, pk=job.pk, seconds=None)
    written()
    url = reverse("import_drop", args=[build.pk, job.pk])
    for left in (76, 56, 36, 16):
        answer = client.post(url, follow=True)
        assert f"{left} of its rows are left" in answer.content.decode()
        assert written() == AT_ONCE
        # Whoever leaves it here finds an import whose table can be chosen anew.
        assert get_job(build, job.pk).state == JobState.TABLE
    assert client.post(url)["Location"] == reverse("imports", args=[build.pk])
    assert not ImportJob.objects.exists()


def test_what_is_dropped_while_it_is_copied_leaves_no_file(
    short_steps, entries, media, django_capture_on_commit_callbacks
):
    job = choose(entries, upload(entries, table()))
    assert len(laid_aside(media)) == 1
    with django_capture_on_commit_callbacks(execute=True):
        import_jobs.drop_job(build=entries.build, pk=job.pk)
    assert [path for path in media.rglob("*") if path.is_file()] == []
