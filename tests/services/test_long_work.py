"""Long work goes on beside the request, is found again, and says when it stopped."""

import os
import shutil
import threading
import time

import pytest

from materials.services import long_work
from materials.services.long_work import do, do_value, forget, key_of, look


class Person:
    def __init__(self, pk):
        self.pk = pk


@pytest.fixture
def folder(tmp_path, settings, monkeypatch):
    settings.LONG_WORK_BESIDE = True
    monkeypatch.setattr(long_work, "_root", lambda secret: tmp_path)
    monkeypatch.setattr(long_work, "TOLD_EVERY", 0)
    monkeypatch.setattr(long_work, "_slots", threading.BoundedSemaphore(2))
    return tmp_path


@pytest.fixture
def held(folder):
    """Work that goes on until it is let go."""

    class Held(threading.Event):
        def __call__(self, stream, tell):
            tell(3, 7)
            assert self.wait(30)
            stream.write(b"all of it")

    event = Held()
    yield event
    event.set()
    for thread in threading.enumerate():
        if isinstance(thread, long_work._Thread):
            thread.join(10)


KEY = key_of(Person(1), "plan", "question")


def read(work):
    with work.result as stream:
        return stream.read()


def until(state, key=KEY):
    for _ in range(200):
        work = look(key)
        if work.state == state:
            return work
        time.sleep(0.05)
    raise AssertionError(work)


def test_short_work_is_answered_at_once_and_not_kept(folder):
    work = do(KEY, lambda stream, tell: stream.write(b"short"))
    assert (work.state, read(work)) == ("done", b"short")
    assert look(KEY).state == "new"
    assert not list(folder.iterdir())


def test_long_work_is_told_found_again_and_kept(folder, held):
    assert do(KEY, held, wait=0).is_going
    until("going")
    work = until("going")
    assert (work.done, work.of) in ((0, 0), (3, 7))
    assert do(KEY, lambda stream, tell: 1 / 0, wait=0).state == "going"
    held.set()
    for _ in range(2):
        until("done")
        assert read(do(KEY, held)) == b"all of it"
    forget(KEY)
    assert look(KEY).state == "new"


def test_how_far_it_is(folder, held):
    do(KEY, held, wait=0)
    for _ in range(200):
        if (work := look(KEY)).of:
            break
        time.sleep(0.05)
    assert (work.done, work.of) == (3, 7)


def test_nobody_is_told_of_another_ones_work(folder, held):
    do(KEY, held, wait=0)
    other = key_of(Person(2), "plan", "question")
    assert other != KEY
    assert look(other).state == "new"
    assert key_of(Person(1), "plan", "another") != KEY


def test_a_fault_while_the_page_waits_is_its_own(folder):
    with pytest.raises(ZeroDivisionError):
        do(KEY, lambda stream, tell: 1 / 0)
    assert look(KEY).state == "new"


def test_work_that_fails_later_is_said_to_have_stopped(folder):
    go = threading.Event()

    def fail(stream, tell):
        go.wait(30)
        raise ValueError("later")

    assert do(KEY, fail, wait=0).is_going
    go.set()
    until("stopped")
    forget(KEY)
    assert read(do(KEY, lambda stream, tell: stream.write(b"x"))) == b"x"


def test_work_of_a_server_that_was_killed_is_said_to_have_stopped(folder):
    child = os.fork()
    if not child:
        do(KEY, lambda stream, tell: time.sleep(60), wait=0)
        os._exit(0)
    os.waitpid(child, 0)
    assert look(KEY).state == "stopped"


def test_only_so_much_goes_on_at_once(folder, held):
    for n in range(2):
        assert do(key_of(Person(n), "plan"), held, wait=0).is_going
    assert do(KEY, held, wait=0).state == "waiting"
    held.set()
    until("done", key_of(Person(0), "plan"))
    until("done", key_of(Person(1), "plan"))
    assert read(do(KEY, held, wait=20)) == b"all of it"


def test_what_is_older_than_an_hour_is_gone(folder, held):
    do(KEY, held, wait=0)
    held.set()
    until("done")
    old = time.time() - long_work.KEPT - 10
    for name in ("result", "lock"):
        os.utime(folder / KEY / name, (old, old))
    os.utime(folder / KEY, (old, old))
    assert look(KEY).state == "new"
    assert not read(do(key_of(Person(9), "other"), lambda stream, tell: None))
    assert not (folder / KEY).exists()


def test_one_person_keeps_only_so_much_of_a_kind(folder, held):
    held.set()
    for n in range(7):
        key = key_of(Person(1), "file", n)
        folder.joinpath(key).mkdir()
        folder.joinpath(key, "result").write_bytes(b"kept")
        os.utime(folder / key, (time.time() - n, time.time() - n))
    assert read(do(key_of(Person(1), "file", 99), held))
    assert len(list(folder.iterdir())) == long_work.MOST_KEPT - 1
    assert (folder / key_of(Person(1), "file", 0)).exists()


def test_a_value_is_opened_only_if_this_server_sealed_it(folder):
    assert do_value(KEY, lambda: {"a": 1})[1] == {"a": 1}
    go = threading.Event()

    def later():
        go.wait(30)
        return [1, 2]

    assert do_value(KEY, later, wait=0)[1] is None
    go.set()
    until("done")
    assert do_value(KEY, later)[1] == [1, 2]
    path = folder / KEY / "result"
    path.write_bytes(path.read_bytes()[:-1] + b"!")
    work, value = do_value(KEY, later)
    assert (work.state, value) == ("stopped", None)


def test_where_there_is_no_folder_the_page_waits(folder, monkeypatch):
    monkeypatch.setattr(long_work, "_root", lambda secret: None)
    assert read(do(KEY, lambda stream, tell: stream.write(b"x"))) == b"x"
    monkeypatch.setattr(long_work, "_root", lambda secret: folder / "gone" / "below")
    assert read(do(KEY, lambda stream, tell: stream.write(b"y"))) == b"y"


def test_a_folder_that_others_may_enter_is_not_used(tmp_path, monkeypatch):
    root = long_work._root.__wrapped__
    monkeypatch.setattr(long_work.tempfile, "gettempdir", lambda: str(tmp_path))
    found = root("secret")
    assert found is not None
    assert found.stat().st_mode & 0o777 == 0o700
    found.chmod(0o755)
    assert root("secret") is None
    shutil.rmtree(found)
    found.symlink_to(tmp_path)
    assert root("secret") is None
