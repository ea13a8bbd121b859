"""Files that take long to read: the page answers within seconds, and reading goes on beside it."""

import re
import threading
import time
from tempfile import gettempdir

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from materials.exchange.faults import WorkbookError
from materials.exchange.outside_tables import steps
from materials.models import Build, ImportJob, JobState
from materials.services import long_work
from materials.views import files
from tests.exchange.small import save
from tests.imports.steps import as_text

ROWS = [["Date", "What", "How many"], *(["2026-03-07", f"Lath {n}", "4 pieces"] for n in range(9))]


@pytest.fixture
def beside(settings, tmp_path, monkeypatch):
    """Long work is done beside the request, in a folder of the test's own."""
    settings.LONG_WORK_BESIDE = True
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert gettempdir() == str(tmp_path)
    long_work._root.cache_clear()
    yield
    long_work._root.cache_clear()


@pytest.fixture
def held(monkeypatch, beside):
    """Reading that waits until it is told to go on; ``hold("look_at")`` holds that function."""
    may_go = threading.Event()

    def hold(name: str, error: Exception | None = None):
        real = getattr(steps, name)

        def slow(*args, **kwargs):
            may_go.wait(60)
            if error is not None:
                raise error
            return real(*args, **kwargs)

        monkeypatch.setattr(steps, name, slow)
        return may_go

    yield hold
    may_go.set()
    for thread in threading.enumerate():
        if isinstance(thread, long_work._Thread):
            thread.join(60)


def send(client, build):
    file = SimpleUploadedFile("yard.csv", as_text(ROWS))
    return client.post(reverse("imports", args=[build.pk]), {"table": file})


def until(client, url: str, text: str) -> str:
    """The page once it says something."""
    end = time.monotonic() + 30
    while True:
        page = client.get(url).content.decode()
        if text in page:
            return page
        assert time.monotonic() < end, page
        time.sleep(0.1)


def test_a_long_file_is_looked_at_beside_the_request(held, clients, build):
    may_go, client = held("look_at"), clients["owner"]
    began = time.monotonic()
    answer = send(client, build)
    assert time.monotonic() - began < long_work.WAIT + 3
    job = ImportJob.objects.get()
    url = reverse("import_table", args=[build.pk, job.pk])
    assert (answer.status_code, answer["Location"], job.content) == (302, url, "")
    assert "It goes on if you leave" in client.get(url).content.decode()
    # Nothing can be chosen before it is there.
    assert "It goes on" in client.post(url, {"opened": "1"}).content.decode()
    may_go.set()
    page = until(client, url, "The file is read.")
    assert "Choose the table" in page
    job.refresh_from_db()
    assert job.content == "", "looking changes nothing"
    assert client.post(url, {"opened": "1"}).status_code == 302
    job.refresh_from_db()
    assert (job.content, job.sheets[0]["rows"]) == ("text", len(ROWS))
    assert "Lath 3" in client.get(url).content.decode()


def test_a_long_file_that_is_none_says_so_and_can_be_dropped(held, clients, build):
    may_go, client = held("look_at", WorkbookError("The sheet is not whole.")), clients["owner"]
    send(client, build)
    job = ImportJob.objects.get()
    may_go.set()
    page = until(client, reverse("import_table", args=[build.pk, job.pk]), "not whole")
    drop = reverse("import_drop", args=[build.pk, job.pk])
    assert f'href="{drop}"' in page
    assert client.post(drop).status_code == 302


def test_a_file_that_is_none_is_refused_at_once_where_that_is_soon_known(beside, clients, build):
    file = SimpleUploadedFile("yard.xlsx", b"PK no workbook")
    answer = clients["owner"].post(reverse("imports", args=[build.pk]), {"table": file})
    assert answer.status_code == 422
    assert not ImportJob.objects.exists()


def test_a_long_sheet_is_read_beside_the_request(held, clients, build):
    client = clients["owner"]
    send(client, build)
    job = ImportJob.objects.get()
    may_go = held("read_sheet")
    url = reverse("import_table", args=[build.pk, job.pk])
    chosen = {"place": "0", "heading_row": "1", "kind": "purchases"}
    answer = client.post(url, chosen)
    assert answer.status_code == 302
    going = answer["Location"]
    assert going.startswith(f"{url}?reading=1")
    assert "It goes on if you leave" in client.get(going).content.decode()
    assert not job.rows.exists()
    may_go.set()
    page = until(client, going, "The file is read.")
    for name, value in chosen.items():
        assert f'name="{name}" value="{value}"' in page
    answer = client.post(url, chosen)
    assert answer["Location"] == reverse("import_columns", args=[build.pk, job.pk])
    job.refresh_from_db()
    assert (job.state, job.row_count, job.rows.count()) == (JobState.COLUMNS, 9, 10)


@pytest.mark.parametrize("query", ["reading=1", "reading=1&place=7&heading_row=x&kind="])
def test_asking_after_a_sheet_that_is_none_leads_back(query, clients, build):
    client = clients["owner"]
    send(client, build)
    url = reverse("import_table", args=[build.pk, ImportJob.objects.get().pk])
    answer = client.get(f"{url}?{query}")
    assert (answer.status_code, answer["Location"]) == (302, url)


@pytest.mark.parametrize("is_new", [True, False])
def test_a_long_workbook_is_read_beside_the_request(is_new, beside, clients, build, monkeypatch):
    may_go, client = threading.Event(), clients["owner"]
    real = files.read_workbook

    def slow(data):
        may_go.wait(60)
        return real(data)

    monkeypatch.setattr(files, "read_workbook", slow)
    # Whether it is there already is asked of the database, which shows a test's rows to it alone.
    monkeypatch.setattr("materials.exchange.importer.get_existing_build", lambda build: None)
    url = reverse("upload_new") if is_new else reverse("upload", args=[build.pk])
    book = {
        "Build": [["Name", "Long barn"], ["Currency", "USD"]],
        "Tasks": [["Task"], ["Lay tiles"]],
    }
    typed = {"workbook": SimpleUploadedFile("b.xlsx", save(book)), "name": "Typed barn"}
    answer = client.post(url, typed)
    assert answer.status_code == 302
    going = answer["Location"]
    assert going.startswith(f"{url}?read=")
    assert "It goes on if you leave" in client.get(going).content.decode()
    may_go.set()
    page = until(client, going, "The file is read.")
    sent = dict(re.findall(r'name="(\w+)" value="([^"]*)"', page))
    assert set(sent) >= {"read", "name"}
    answer = client.post(url, sent)
    assert answer.status_code == 302, answer.content.decode()
    if is_new:
        assert Build.objects.get(name="Typed barn").tasks.get().name == "Lay tiles"
    else:
        assert build.tasks.filter(name="Lay tiles").exists()


def test_a_workbook_read_too_long_ago_is_asked_for_again(beside, clients, build):
    url = reverse("upload", args=[build.pk])
    answer = clients["owner"].get(f"{url}?read={'0' * 64}")
    assert (answer.status_code, answer["Location"]) == (302, url)
    answer = clients["owner"].post(url, {"read": "0" * 64})
    assert answer.status_code == 422
    assert "Choose the file again" in answer.content.decode()
    assert clients["owner"].post(url, {"read": "x"}).status_code == 422
