"""Long work on a phone: it says how far it is, by itself or when asked, and can be left."""

import threading

import pytest
from django.urls import reverse

from materials.exchange import writer
from materials.services import long_work
from materials.sourcing.queries import plan as queries

from .conftest import PHONE
from .test_axe import ALL, AXE_SCRIPT, UNFOLD, violations

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def go(settings, monkeypatch, tmp_path_factory):
    """Work that nobody waits for goes on until this is set."""
    settings.LONG_WORK_BESIDE = True
    folder = tmp_path_factory.mktemp("work")
    monkeypatch.setattr(long_work, "_root", lambda secret: folder)
    for work in (long_work.do, long_work.do_value):
        monkeypatch.setattr(work, "__defaults__", (0,))
    let_go = threading.Event()

    def solve(*args):
        assert let_go.wait(60)
        return queries.solve(*args)

    def write(build, stream, tell):
        tell(5, 17)
        assert let_go.wait(60)
        writer.write_workbook(build, stream, tell=tell)

    monkeypatch.setattr("materials.sourcing.views.solve", solve)
    monkeypatch.setattr("materials.views.files.write_workbook", write)
    yield let_go
    let_go.set()
    for thread in threading.enumerate():
        if isinstance(thread, long_work._Thread):
            thread.join(60)


def test_a_page_that_stays_open_is_told_and_comes_to_the_result(walk, go):
    steps = walk(PHONE)
    page = steps.page
    page.goto(reverse("sourcing", args=[steps.build.pk]))
    status = page.get_by_role("status")
    status.get_by_text("0 of at most 8 seconds").wait_for()
    status.get_by_text("2 of at most 8 seconds").or_(
        status.get_by_text("3 of at most 8")
    ).wait_for()
    page.evaluate(AXE_SCRIPT)
    page.evaluate(UNFOLD)
    assert violations(page, ALL) == []
    go.set()
    page.get_by_text("Change the question").first.wait_for()
    go.clear()
    page.goto(reverse("downloads", args=[steps.build.pk]))
    page.get_by_role("link", name="Export workbook").click()
    page.get_by_role("status").get_by_text("Sheets written: 5 of 17").wait_for()
    go.set()
    with page.expect_download() as got:
        page.get_by_role("link", name="Save the file").click()
    assert got.value.suggested_filename == "Cutler Lane seed house.xlsx"


@pytest.mark.slow
def test_without_script_it_is_looked_at_again_by_a_link(walk, go):
    steps = walk(PHONE, java_script_enabled=False)
    page = steps.page
    page.goto(reverse("sourcing", args=[steps.build.pk]))
    page.get_by_text("0 of at most 8 seconds").wait_for()
    page.goto(reverse("home", args=[steps.build.pk]))
    page.goto(reverse("sourcing", args=[steps.build.pk]))
    page.get_by_role("link", name="Look again").click()
    page.get_by_text("of at most 8 seconds").wait_for()
    go.set()
    for _ in range(30):
        if not page.get_by_role("link", name="Look again").count():
            break
        page.get_by_role("link", name="Look again").click()
        page.wait_for_timeout(300)
    assert page.get_by_text("Change the question").count()
