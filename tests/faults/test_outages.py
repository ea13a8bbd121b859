"""No room, no right to write, no turn, no database: plain words, and nothing typed is lost."""

import errno
import re
import sqlite3
from decimal import Decimal

import psycopg
import pytest
from django.db import OperationalError, ProgrammingError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import Build, Change, Purchase, PurchaseLine, Supplier
from materials.queries.checks import find_differences
from materials.queries.reports import get_cost_sheet
from materials.services.outages import Outage, outage_of
from tests.access.test_routes import ROUTES, address
from tests.answers import status
from tests.faults.hindered import away, full, held, read_only
from tests.views.screens import Page

pytestmark = pytest.mark.django_db(transaction=True)
LONG = "the long boards from the far end of the barn, " * 5


@pytest.fixture
def visitor(cast):
    """The owner's browser: it shows what the server answers, whatever broke, and checks CSRF."""
    client = Client(raise_request_exception=False, enforce_csrf_checks=True)
    client.force_login(cast["owner"])
    return client


def logged(client, build, n: int, **typed):
    """Log purchase by the short form."""
    url = reverse("log", args=[build.pk])
    data = Page(client.get(url).content.decode()).form.fields
    data |= {
        "what": f"Board {n}", "quantity_text": "3 ft", "price": f"{n}.25", "price_for": "line",
        "source": "salvage", "supplier": f"Yard {n} {LONG}"[:110], "bought_on": "2026-05-04",
    }  # fmt: skip
    return client.post(url, data | typed), data | typed


def landed(build: Build) -> Decimal:
    return get_cost_sheet(build, timezone.localdate()).spent.value


def nothing_half_done(saved: int) -> None:
    """So many purchases, each with its line, its supplier and its entry in the history."""
    assert Purchase.objects.count() == saved
    assert PurchaseLine.objects.count() == saved
    assert Change.objects.filter(record_type="purchase").count() == saved
    assert Supplier.objects.count() == saved
    for build in Build.objects.all():
        assert list(find_differences(build)) == []


def test_a_full_disk_is_told_and_what_was_typed_is_sent_again_from_that_page(visitor, build):
    saved = 0
    with full():
        for n in range(2000):
            answer, typed = logged(visitor, build, n)
            if answer.status_code != 302:
                break
            saved += 1
        text = answer.content.decode()
        assert answer.status_code == 507
        assert answer["Retry-After"] == "30"
        page = Page(text)
        assert "The disk is full" in page.text
        assert "Nothing was saved." in page.text
        assert typed["supplier"] in page.text
        nothing_half_done(saved)
        # Sent again while there is still no room: the same page, with the same in it.
        again = visitor.post(reverse("log", args=[build.pk]), page.form.fields)
        assert again.status_code == 507
        # Reading goes on.
        assert visitor.get(reverse("purchases", args=[build.pk])).status_code == 200
        nothing_half_done(saved)
    kept = Page(again.content.decode()).form.fields
    done = visitor.post(reverse("log", args=[build.pk]), kept)
    assert done.status_code == 302, Page(done.content.decode()).faults
    # And once more, as by a double tap: it is the same form.
    visitor.post(reverse("log", args=[build.pk]), kept)
    nothing_half_done(saved + 1)
    assert Purchase.objects.first().supplier.name == typed["supplier"].strip()


def test_every_page_is_read_while_nothing_can_be_written(visitor, build, everything):
    with read_only():
        answers = {name: status(visitor.get(address(name, build, everything))) for name in ROUTES}
        anonymous = status(Client().get(address("shared", build, everything)))
        sign_in = status(Client().get(reverse("sign_in")))
    expected = {name: row[0]["owner"] for name, row in ROUTES.items()}
    # Coming by an invitation is the beginning of joining, which is writing; so is counting who
    # tries the address of the first account.
    assert answers == expected | {"join_link": 503, "first_link": 503}
    assert (anonymous, sign_in) == (200, 200)


def test_writing_where_nothing_can_be_written_is_told(visitor, build, cast):
    with read_only():
        answer, _ = logged(visitor, build, 7)
        page = Page(answer.content.decode())
        assert answer.status_code == 503
        assert "Nothing can be saved right now" in page.text
        assert "Nothing was saved" in page.text
        nothing_half_done(0)
        # Signing in is writing too. Its page holds no password.
        stranger = Client(raise_request_exception=False)
        entry = {"username": "owner", "password": "pw-for-tests"}
        refused = stranger.post(reverse("sign_in"), entry)
        assert refused.status_code == 503
        assert "pw-for-tests" not in refused.content.decode()
        assert "Go back in your browser" in refused.content.decode()
        # Who is signed in stays so.
        assert visitor.get(reverse("cost_sheet", args=[build.pk])).status_code == 200
    assert visitor.post(reverse("log", args=[build.pk]), page.form.fields).status_code == 302
    nothing_half_done(1)


def test_who_does_not_get_a_turn_is_asked_to_send_again(visitor, build):
    url = reverse("log", args=[build.pk])
    data = Page(visitor.get(url).content.decode()).form.fields
    data |= {"what": "Board", "quantity_text": "3 ft", "price": "2", "source": "salvage"}
    with held():
        answer = visitor.post(url, data)
    assert answer.status_code == 503
    assert answer["Retry-After"] == "5"
    page = Page(answer.content.decode())
    assert "Others were saving at that moment" in page.text
    assert Purchase.objects.count() == 0
    assert visitor.post(url, page.form.fields).status_code == 302
    assert Purchase.objects.count() == 1


def test_a_ledger_out_of_reach_is_told_in_words(visitor, build, monkeypatch):
    def broken(*args, **kwargs):
        raise away()

    monkeypatch.setattr("materials.views.base.access.get_build", broken)
    answer = visitor.get(reverse("purchases", args=[build.pk]) + "?page=2")
    assert answer.status_code == 503
    text = answer.content.decode()
    assert "The ledger does not answer right now" in text
    assert f'href="/builds/{build.pk}/purchases/?page=2"' in text


def test_where_the_answer_broke_off_nothing_is_promised(visitor, build, monkeypatch):
    def broken(*args, **kwargs):
        raise away()

    monkeypatch.setattr("materials.views.history.undo_change", broken)
    entry = Change.objects.filter(build=build).first() or Change.objects.create(
        build=build, action="added", record_type="task", summary="x"
    )
    url = reverse("change_undo", args=[build.pk, entry.pk])
    visitor.get(reverse("history", args=[build.pk]))
    mark = visitor.cookies["csrftoken"].value
    text = Page(visitor.post(url, {"csrfmiddlewaretoken": mark}).content.decode()).text
    assert "saved whole or not at all" in text
    assert "first check whether it is there" in text
    assert "Nothing was saved" not in text


def test_a_file_that_may_not_be_read_is_not_called_one_that_may(visitor, build, monkeypatch):
    def broken(*args, **kwargs):
        raise PermissionError(errno.EACCES, "no")

    monkeypatch.setattr("materials.views.base.access.get_build", broken)
    answer = visitor.get(reverse("purchases", args=[build.pk]))
    assert answer.status_code == 503
    assert "The ledger does not answer right now" in answer.content.decode()


def test_a_fault_of_the_program_is_not_called_trouble(visitor, build, monkeypatch):
    def broken(*args, **kwargs):
        raise ValueError("a fault")

    monkeypatch.setattr("materials.views.base.access.get_build", broken)
    answer = visitor.get(reverse("purchases", args=[build.pk]))
    assert answer.status_code == 500
    assert "The fault is ours" in answer.content.decode()


def test_a_form_from_elsewhere_is_never_one_press_from_being_taken(cast, build, monkeypatch):
    """Where the database fails before the form's own mark was checked, nothing is offered."""
    client = Client(raise_request_exception=False, enforce_csrf_checks=True)
    client.force_login(cast["owner"])

    def broken(*args, **kwargs):
        raise away()

    monkeypatch.setattr("django.middleware.csrf.CsrfViewMiddleware._check_token", broken)
    answer = client.post(reverse("log", args=[build.pk]), {"what": "Evil", "form_token": "x" * 20})
    assert answer.status_code == 503
    assert "Evil" not in answer.content.decode()
    assert "<form" not in answer.content.decode()


def test_what_is_written_back_into_the_page_is_text(visitor, build):
    with read_only():
        answer, _ = logged(visitor, build, 1, note='\n"><b>&amp;', what="<i>Board")
    text = answer.content.decode()
    assert "<b>" not in text
    assert "<i>" not in text
    fields = Page(text).form.fields
    assert fields["what"] == "<i>Board"
    assert fields["note"] == '\n"><b>&amp;'


def caused(cause: BaseException, as_class=OperationalError) -> BaseException:
    error = as_class(str(cause))
    error.__cause__ = cause
    return error


def sqlite(name: str) -> sqlite3.OperationalError:
    error = sqlite3.OperationalError(name)
    error.sqlite_errorname = name
    return error


@pytest.mark.parametrize(
    ("error", "expected"),
    [
        (caused(sqlite("SQLITE_FULL")), Outage.FULL),
        # What a read meets on a full disk; https://www.sqlite.org/rescode.html#ioerr_shmsize
        (caused(sqlite("SQLITE_IOERR_SHMSIZE")), Outage.FULL),
        (caused(sqlite("SQLITE_READONLY_DBMOVED")), Outage.READ_ONLY),
        (caused(sqlite("SQLITE_BUSY_SNAPSHOT")), Outage.BUSY),
        (caused(sqlite("SQLITE_IOERR_WRITE")), Outage.AWAY),
        (caused(sqlite("SQLITE_CANTOPEN")), Outage.AWAY),
        (caused(sqlite("SQLITE_ERROR")), None),
        (caused(psycopg.errors.DiskFull("x")), Outage.FULL),
        (caused(psycopg.errors.ReadOnlySqlTransaction("x")), Outage.READ_ONLY),
        (caused(psycopg.errors.LockNotAvailable("x")), Outage.BUSY),
        (caused(psycopg.errors.DeadlockDetected("x")), Outage.BUSY),
        (caused(psycopg.errors.AdminShutdown("x")), Outage.AWAY),
        (caused(psycopg.OperationalError("x")), Outage.AWAY),
        (caused(psycopg.errors.UndefinedTable("x"), ProgrammingError), None),
        (OSError(errno.ENOSPC, "x"), Outage.FULL),
        (OSError(errno.EROFS, "x"), Outage.READ_ONLY),
        (FileNotFoundError(errno.ENOENT, "x"), None),
        (ValueError("x"), None),
        (None, None),
    ],
)
def test_each_cause_is_told_from_faults_of_the_program(error, expected):
    assert outage_of(error) is expected


def test_the_page_stands_without_the_database(visitor, build, django_assert_num_queries):
    """It may be the database that is broken: the page itself asks it nothing."""
    from django.test import RequestFactory

    from materials.views.outages import server_error

    request = RequestFactory().get("/builds/1/")
    with django_assert_num_queries(0):
        try:
            raise away()
        except OperationalError:
            answer = server_error(request)
    assert answer.status_code == 503
    assert re.search(r"<h1>[^<]+</h1>", answer.content.decode())
