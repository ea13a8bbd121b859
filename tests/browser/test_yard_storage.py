"""Without signal: new releases, keeping switched off, and a browser that clears or refuses."""

import pytest
from django.conf import settings as project
from django.contrib.staticfiles.storage import StaticFilesStorage

from .yard import added, counts

pytestmark = pytest.mark.django_db(transaction=True)
# Few ways of each kind always run; the whole check runs all of them.
LONG = pytest.mark.slow

FILES = "async () => (await (await caches.open('files')).keys()).map(({ url }) => url)"


class Released(StaticFilesStorage):
    """Names of files differ from release to release, as those with digests do."""

    def url(self, name):
        return f"/static/{project.RELEASE}/{name}"


@pytest.fixture
def release(settings, wire):
    """Put out a release: other names of files, and none of the names before."""

    def put_out(name):
        settings.RELEASE = wire.release = name
        own = {"staticfiles": {"BACKEND": f"{__name__}.Released"}}
        settings.STORAGES = settings.STORAGES | own

    return put_out


def files(phone):
    """Releases of the files that are kept."""
    names = phone.page.evaluate(FILES)
    return {name.split("/static/")[1].split("/")[0] for name in names if "/static/" in name}


def is_styled(phone):
    """Whether the page has its styles."""
    return phone.page.evaluate("document.styleSheets[0].cssRules.length") > 50


def test_a_new_release_over_old_kept_pages(phone, release):
    release("first")
    phone = phone()
    phone.keep()
    before = counts(phone.build)
    assert files(phone) == {"first"}
    phone.cut("offline")
    release("second")
    phone.open("log")
    phone.page.get_by_text("As of").wait_for()
    assert is_styled(phone)
    phone.purchase()
    phone.wait_for(1)
    # An old page sends to the new server.
    phone.mend()
    phone.wait_until(lambda kept: not kept)
    assert added(phone.build, before) == {"received": 1, "photos": 1}
    phone.open("home")
    for _ in range(200):
        if files(phone) == {"second"}:
            break
        phone.page.wait_for_timeout(50)
    assert files(phone) == {"second"}
    phone.cut("offline")
    for name in ("yard", "log", "labour_add", "timer", "price_add", "needed", "home"):
        phone.open(name)
        phone.page.get_by_text("As of").wait_for()
        assert is_styled(phone), name
        assert "/static/first/" not in phone.page.content()


@LONG
def test_switched_off_the_worker_goes_and_what_waits_is_sent(phone, settings):
    phone = phone()
    phone.keep()
    before = counts(phone.build)
    phone.cut("offline")
    phone.open("log")
    phone.purchase()
    phone.wait_for(1)
    settings.OFFLINE = False
    phone.wire.cut("503")
    phone.page.context.set_offline(False)
    phone.open("yard")
    phone.page.get_by_text("switched off keeping pages").wait_for()
    phone.wait_for(1)
    for _ in range(200):
        if phone.page.evaluate("async () => !(await caches.keys()).length"):
            break
        phone.page.wait_for_timeout(50)
    ask = "async () => (await navigator.serviceWorker.getRegistrations()).length"
    assert phone.page.evaluate(ask) == 0
    assert [entry["state"] for entry in phone.kept()] == ["waiting"]
    phone.wire.mend()
    phone.send()
    assert added(phone.build, before) == {"received": 1, "photos": 1}
    # The forms are the ordinary ones again.
    phone.open("labour_add")
    phone.hours()
    phone.page.wait_for_url("**/hours/?saved=**")
    assert phone.kept() == []


@LONG
def test_a_browser_that_cleared_all_can_keep_again(phone):
    phone = phone()
    phone.keep()
    session = phone.page.context.new_cdp_session(phone.page)
    types = "indexeddb,service_workers,cache_storage,local_storage"
    asked = {"origin": phone.wire.url, "storageTypes": types}
    session.send("Storage.clearDataForOrigin", asked)
    phone.open("log")
    phone.purchase()
    phone.page.wait_for_url("**/purchases/*/?saved=**")
    phone.keep()
    phone.cut("offline")
    phone.open("log")
    phone.page.get_by_text("As of").wait_for()


REFUSES = "indexedDB.open = () => { throw new DOMException('refused', 'UnknownError'); };"
FULL = """{
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (value, ...more) {
    if (this.name === 'outbox' && %s) {
      this.transaction.abort();
      throw new DOMException('full', 'QuotaExceededError');
    }
    return put.call(this, value, ...more);
  };
}"""


@LONG
@pytest.mark.parametrize("stub", [REFUSES, FULL % "true"], ids=["refuses", "full"])
def test_where_nothing_can_be_kept_it_says_so_and_what_was_typed_stays(stub, phone):
    phone = phone(expects=("refused", "full"))
    phone.keep()
    before = counts(phone.build)
    phone.page.context.add_init_script(stub)
    phone.open("log")
    phone.purchase()
    phone.page.get_by_text("Nothing could be kept on this device").wait_for()
    assert phone.page.locator("[name=what]").input_value() == "Pantile"
    assert phone.page.locator("[name=photo]").evaluate("box => box.files.length") == 1
    assert added(phone.build, before) == {}
    phone.cut("offline")
    phone.save()
    phone.page.get_by_text("No connection. Nothing was sent.").wait_for()
    assert phone.page.locator("[name=what]").input_value() == "Pantile"
    # With a signal it is sent without being kept.
    phone.mend()
    phone.save()
    phone.page.wait_for_url("**/purchases/*/?saved=**")
    assert added(phone.build, before) == {"received": 1, "photos": 1}


def test_without_room_for_the_photo_the_entry_is_kept_without_it(phone):
    phone = phone(expects=("refused", "full"))
    phone.keep()
    before = counts(phone.build)
    phone.page.context.add_init_script(FULL % "value.files.length")
    phone.cut("offline")
    phone.open("log")
    phone.purchase()
    phone.page.get_by_text("No room on this device for the photo.").wait_for()
    assert [entry["files"] for entry in phone.kept()] == [0]
    # Saved again, it is the same entry.
    phone.page.set_input_files("[name=photo]", [])
    phone.save()
    phone.wait_for(1)
    phone.mend()
    phone.send()
    assert added(phone.build, before) == {"received": 1}
