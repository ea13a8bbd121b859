"""Two processes and many people at one ledger: no write lost, none counted twice."""

import threading
from decimal import Decimal

import pytest

from tests.faults.served import PASSWORD, USER, Parent, Visitor
from tests.own_database import own_database
from tests.views.screens import Page

pytestmark = pytest.mark.database
WRITERS = 50
AMOUNT = Decimal("12.34")
DAY = "2026-05-04"


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """A server of four processes with 13 threads each, and its builds."""
    folder = tmp_path_factory.mktemp("many")
    with own_database(folder, made=True) as env:
        parent = Parent(env, folder)
        try:
            builds = parent.call("looks:prepare")
            parent.serve(workers=4, threads=13)
            yield parent, builds
        finally:
            parent.end()


def together(*works) -> None:
    """Do things at the same moment, each in a thread."""
    barrier = threading.Barrier(len(works))
    failed: list[BaseException] = []

    def run(work) -> None:
        barrier.wait(60)
        try:
            work()
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=run, args=[work]) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(300)
    assert failed == []


@pytest.mark.parametrize("times", [pytest.param(5, marks=pytest.mark.slow)])
def test_fifty_write_at_once_and_every_one_is_in_the_sums(served, times):
    parent, builds = served
    visitor = Visitor(parent.port)
    assert visitor.sign_in().status == 302
    before = parent.call("many:sums", build=builds["here"])
    saved, asked_again = [], []

    def write(number: int) -> None:
        mine = visitor.copy()
        for i in range(times):
            fields = {
                "what": "Board", "quantity_text": "2 ft", "price": str(AMOUNT),
                "price_for": "line", "source": "salvage", "state": "received",
                "bought_on": DAY, "form_token": f"writer-{times}-{number:03}-{i:05}-token",
            }  # fmt: skip
            for _ in range(60):
                answer = mine.post(f"/builds/{builds['here']}/purchases/log/", fields)
                if answer.status != 503:
                    break
                assert answer.headers["Retry-After"]
                asked_again.append(number)
            assert answer.status == 302, (answer.status, Page(answer.text).text[:600])
            saved.append(number)

    together(*[lambda n=n: write(n) for n in range(WRITERS)])
    assert len(saved) == WRITERS * times
    after = parent.call("many:sums", build=builds["here"])
    assert Decimal(after["spent"]) - Decimal(before["spent"]) == AMOUNT * len(saved)
    assert Decimal(after["received"]) - Decimal(before["received"]) == 2 * len(saved)
    assert after["purchases"] - before["purchases"] == len(saved)
    assert after["changes"] - before["changes"] == len(saved)
    assert after["numbers"] == after["purchases"]
    assert after["differences"] == []


def test_of_many_who_change_one_record_at_once_one_is_saved_and_all_others_are_told(served):
    parent, builds = served
    visitor = Visitor(parent.port)
    assert visitor.sign_in().status == 302
    at = f"/builds/{builds['there']}/components/{builds['there Shelf']}/change/"
    form = Page(visitor.get(at).text).form.fields
    answers = []

    def change(number: int) -> None:
        fields = form | {"note": f"by {number}", "form_token": f"changer-{number:03}-token"}
        answers.append((visitor.copy().post(at, fields), number))

    together(*[lambda n=n: change(n) for n in range(8)])
    statuses = sorted(answer.status for answer, _ in answers)
    assert statuses == [302] + [409] * 7
    [winner] = [number for answer, number in answers if answer.status == 302]
    # Nothing typed is lost to those who came second.
    for answer, number in answers:
        if answer.status == 409:
            assert Page(answer.text).form.fields["note"] == f"by {number}"
    assert Page(visitor.get(at).text).form.fields["note"] == f"by {winner}"


def test_one_form_sent_many_times_at_once_is_recorded_once(served):
    parent, builds = served
    visitor = Visitor(parent.port)
    assert visitor.sign_in().status == 302
    before = parent.call("many:sums", build=builds["there"])
    fields = {
        "what": "Board", "quantity_text": "2 ft", "price": "5", "price_for": "line",
        "source": "salvage", "state": "received", "bought_on": DAY, "form_token": "w" * 30,
    }  # fmt: skip
    led = []
    at = f"/builds/{builds['there']}/purchases/log/"
    together(*[lambda: led.append(visitor.copy().post(at, fields).to)] * 8)
    after = parent.call("many:sums", build=builds["there"])
    assert after["purchases"] - before["purchases"] == 1
    assert len(set(led)) == 1


def test_limits_count_over_all_processes(served):
    """One after another, each on a connection of its own, so that all processes take part."""
    parent, _ = served
    visitor = Visitor(parent.port)
    visitor.get("/sign-in/")
    answers = [
        visitor.copy().post("/sign-in/", {"username": "nobody", "password": "wrong"}).status
        for _ in range(9)
    ]
    assert answers == [200] * 7 + [429] * 2
    # Another name from there is not locked by it.
    assert Visitor(parent.port).sign_in(USER, PASSWORD).status == 302
    unknown = [visitor.copy().get(f"/join/{'x' * 40}{n:03}/").status for n in range(22)]
    assert unknown == [404] * 20 + [429] * 2


def test_wrong_passwords_at_once_never_let_more_through_than_there_are_threads(served):
    """Of tries at the same moment each is counted: afterwards the name is locked."""
    parent, _ = served
    visitor = Visitor(parent.port)
    visitor.get("/sign-in/")
    entry = {"username": "somebody", "password": "wrong"}
    together(*[lambda: visitor.copy().post("/sign-in/", entry)] * 10)
    assert visitor.post("/sign-in/", entry).status == 429
