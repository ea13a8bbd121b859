"""Pages of long work: what takes longer than two seconds says how far it is, and can be left."""

import io
import re
import threading
import time
import zipfile
from decimal import Decimal

import pytest
from django.urls import reverse

from materials.services import long_work
from tests.entries import line
from tests.services.test_long_work import folder, held  # noqa: F401 (fixtures)

pytestmark = pytest.mark.django_db
TEXT = re.compile(r"\s+")
HTMX = {"HX-Request": "true"}


@pytest.fixture
def hurried(held, monkeypatch):  # noqa: F811
    """Nobody waits, and what is begun goes on until it is let go."""
    monkeypatch.setattr(long_work.do, "__defaults__", (0,))
    monkeypatch.setattr(long_work.do_value, "__defaults__", (0,))
    return held


def words(answer) -> str:
    return TEXT.sub(" ", answer.content.decode())


def until_done() -> None:
    for thread in threading.enumerate():
        if isinstance(thread, long_work._Thread):
            thread.join(20)


@pytest.fixture
def workbook(hurried, build, monkeypatch):
    def write(build, stream, tell):
        hurried(stream, tell)

    monkeypatch.setattr("materials.views.files.write_workbook", write)
    return reverse("download", args=[build.pk])


def test_a_long_export_is_a_page_and_then_a_file(hurried, workbook, owner):
    answer = owner.get(workbook)
    assert answer.status_code == 302
    going = answer["Location"]
    for _ in range(100):
        page = words(owner.get(going))
        if "3 of 7" in page:
            break
        time.sleep(0.05)
    assert "Sheets written: 3 of 7, after" in page
    assert 'role="status"' in page
    assert f'href="{going}">Look again' in page
    assert "http-equiv=&quot;refresh" not in page
    # Whoever comes back by the plain link is led to the same work.
    assert owner.get(workbook)["Location"] == going
    piece = words(owner.get(going, headers=HTMX))
    assert "<html" not in piece
    assert 'hx-trigger="load delay:2s"' in piece
    hurried.set()
    until_done()
    page = words(owner.get(going, headers=HTMX))
    assert "hx-get" not in page
    (ready,) = re.findall(r'href="([^"]*)">Save the file', page)
    for address in (ready.replace("&amp;", "&"),) * 2:
        answer = owner.get(address)
        assert answer["Content-Disposition"] == 'attachment; filename="Hill shed.xlsx"'
        assert b"".join(answer.streaming_content) == b"all of it"


def test_another_person_sees_nothing_of_it(hurried, workbook, owner, clients):
    going = owner.get(workbook)["Location"]
    assert clients["stranger"].get(going).status_code == 404
    # A viewer's own has not begun: the address leads to the beginning.
    assert clients["viewer"].get(going)["Location"] == workbook
    hurried.set()
    until_done()


def test_what_stopped_can_begin_anew(hurried, workbook, owner, monkeypatch):
    def fail(build, stream, tell):
        assert hurried.wait(30)
        raise ValueError("no room")

    monkeypatch.setattr("materials.views.files.write_workbook", fail)
    going = owner.get(workbook)["Location"]
    hurried.set()
    until_done()
    page = words(owner.get(going))
    assert "This stopped before it was done." in page
    (again,) = re.findall(r'href="([^"]*)">Start again', page)
    answer = owner.get(again.replace("&amp;", "&"))
    assert answer["Location"] == workbook
    # Held again: what fails while the page waits is told there.
    hurried.clear()
    assert owner.get(workbook)["Location"] == going


@pytest.mark.parametrize("mark", ["x", "0" * 32, "%00", "a" * 500])
def test_an_address_of_nothing_leads_to_the_beginning(mark, owner, build):
    for name in ("download", "build_file", "download_tables"):
        address = reverse(name, args=[build.pk])
        answer = owner.get(f"{address}?look={mark}&file=1&again=")
        assert answer.status_code == 302
        assert answer["Location"] == address


def test_one_whose_turn_has_not_come_is_told(hurried, workbook, owner, monkeypatch):
    monkeypatch.setattr(long_work, "_slots", threading.BoundedSemaphore(1))
    monkeypatch.setattr(long_work._slots, "acquire", lambda timeout: False)
    page = words(owner.get(workbook))
    assert "Other long work comes first." in page


@pytest.fixture
def plan(hurried, entries, build, monkeypatch):
    """A sourcing plan that takes until it is let go."""
    stud = entries.component("Stud", required_text="48 pieces")
    entries.price(stud, "4.50")
    entries.purchase("P1", line(stud, "8 pieces", unit_price=Decimal(1)))
    from materials.sourcing.queries import plan as queries

    def slow(*args):
        assert hurried.wait(30)
        return queries.solve(*args)

    monkeypatch.setattr("materials.sourcing.views.solve", slow)
    return reverse("sourcing", args=[build.pk])


def test_a_long_sourcing_plan_says_how_far_it_is_and_is_there_afterwards(hurried, plan, owner):
    page = words(owner.get(plan))
    assert "Being worked out: 0 of at most 8 seconds." in page
    assert f'hx-get="{plan}"' in page
    assert 'role="status"' in page
    assert "0 of at most 8" in words(owner.get(plan, headers=HTMX))
    # Another question is other work.
    assert "at most 8 seconds" in words(owner.get(f"{plan}?aim=hours"))
    hurried.set()
    until_done()
    assert owner.get(plan, headers=HTMX)["HX-Redirect"] == plan
    for _ in range(2):
        assert "Take no offer, and buy 1 thing new." in words(owner.get(plan))


def test_a_plan_of_a_build_that_was_changed_begins_anew(hurried, plan, owner, entries):
    owner.get(plan)
    entries.component("Door")
    page = words(owner.get(plan))
    assert "0 of at most 8" in page
    assert len(threading.enumerate()) >= 3
    hurried.set()
    until_done()


@pytest.fixture
def cuts(hurried, entries, build, monkeypatch):
    """Address and entries of a cutting plan that takes until it is let go."""
    from materials.cutting.queries import plans

    board = entries.component("Board")

    def slow(order):
        assert hurried.wait(30)
        return plans.work_out(order)

    monkeypatch.setattr("materials.cutting.views.work_out", slow)
    rows = {
        f"{kind}-{name}": number
        for kind, total in (("hand", 0), ("buy", 1), ("needs", 1))
        for name, number in (("TOTAL_FORMS", total), ("INITIAL_FORMS", 0))
    }
    typed = {
        "name": "Plan A",
        "planned_on": "2026-05-04",
        "component": board.pk,
        "kerf_text": "1/8 in",
        "buy-0-length_text": "8 ft",
        "buy-0-price": "5",
        "needs-0-length_text": "30 in",
        "needs-0-count": "4",
        "needs-0-component": board.pk,
    }
    return reverse("cutting_plan_add", args=[build.pk]), typed | rows


def test_a_long_cutting_plan_keeps_what_was_typed_and_comes_when_it_is_done(hurried, cuts, owner):
    address, typed = cuts
    answer = owner.post(address, typed)
    page = words(answer)
    assert answer.status_code == 200
    assert "Not saved yet: the plan is still being worked out." in page
    assert "Being worked out: 0 of at most 5 seconds." in page
    assert 'value="30 in"' in page
    piece = owner.post(address, typed | {"look": "1"}, headers=HTMX)
    assert "0 of at most 5 seconds" in words(piece)
    hurried.set()
    until_done()
    piece = words(owner.post(address, typed | {"look": "1"}, headers=HTMX))
    assert "Boards to cut" in piece
    assert "hx-post" not in piece
    assert owner.post(address, typed).status_code == 302


@pytest.mark.django_db(transaction=True)
def test_a_real_export_goes_on_beside_others_writing(
    folder,  # noqa: F811
    settings,
    monkeypatch,
    entries,
    owner,
    build,
):
    """With a connection of its own, on either database, while the ledger goes on."""
    monkeypatch.setattr(long_work.do, "__defaults__", (0,))
    entries.component("Before")
    for name in ("download", "build_file", "download_tables"):
        going = owner.get(reverse(name, args=[build.pk]))
        if going.status_code == 302:
            entries.component(f"Meanwhile {name}")
            until_done()
            going = owner.get(f"{going['Location']}&file=1")
        with zipfile.ZipFile(io.BytesIO(b"".join(going.streaming_content))) as archive:
            assert archive.testzip() is None
