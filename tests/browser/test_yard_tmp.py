"""Temporary."""
import pytest
from tests.photo_files import jpeg
from materials.models import *

pytestmark = pytest.mark.django_db(transaction=True)


def test_it(walk, live_server):
    w = walk(expects=("ERR_INTERNET_DISCONNECTED","Failed to load"))
    page = w.page
    b = w.build.pk
    shot = lambda n: page.screenshot(path=f"/tmp/y-{n}.png", full_page=True)
    page.goto(f"/builds/{b}/without-signal/")
    shot("off")
    page.get_by_role("button", name="Keep on this device").click()
    page.get_by_text("pages are kept").wait_for()
    print(page.locator("[data-came]").text_content())
    shot("kept")
    page.context.set_offline(True)
    page.goto(f"/builds/{b}/purchases/log/?what=2x8, 10 ft&much=4 pieces")
    page.get_by_text("As of").wait_for()
    page.locator("[name=price]").fill("3")
    page.get_by_label("Salvage").check()
    page.set_input_files("[name=photo]", {"name": "pile.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
    page.wait_for_timeout(900)
    shot("log")
    page.locator("button.primary:visible").first.click()
    page.get_by_text("Kept on this device: 1 entry").wait_for()
    page.wait_for_timeout(300)
    shot("waits")
    # change it
    page.get_by_role("link", name="Change").click()
    page.get_by_label("How much").wait_for()
    assert page.locator("[name=quantity_text]").input_value() == "4 pieces"
    assert page.locator("[name=photo]").evaluate("e => e.files.length") == 1
    page.locator("[name=quantity_text]").fill("5 pieces")
    page.locator("button.primary:visible").first.click()
    page.get_by_text("Kept on this device: 1 entry").wait_for()
    page.get_by_text("Purchase: 2x8, 10 ft, 5 pieces").wait_for()
    # hours
    page.get_by_role("link", name="Log hours").click()
    page.get_by_role("button", name="Log ½ h").wait_for()
    page.locator("[name=person]").fill("Ida")
    page.get_by_role("button", name="Log ½ h").click()
    page.get_by_text("Kept on this device: 2 entries").wait_for()
    # timer
    page.get_by_role("link", name="Timer").click()
    page.get_by_role("button", name="Start").locator("visible=true").first.click()
    page.get_by_text("Kept on this device: 3 entries").wait_for()
    page.get_by_role("link", name="Timer").click()
    page.wait_for_timeout(300)
    shot("timer")
    # offer state
    page.goto(f"/builds/{b}/without-signal/")
    page.get_by_text("Take or decline").first.click()
    page.get_by_role("button", name="Decline it").first.click()
    page.get_by_text("Kept on this device: 4 entries").wait_for()
    # a refused one
    page.get_by_role("link", name="Add new price").click()
    page.locator("[name=component]").select_option(index=1)
    page.locator("[name=price]").fill("cheap")
    page.locator("button.primary:visible").first.click()
    page.get_by_text("Kept on this device: 5 entries").wait_for()
    shot("many")
    with page.expect_download() as got:
        page.get_by_role("button", name="Save as file").locator("visible=true").first.click()
    print(open(got.value.path()).read())
    page.context.set_offline(False)
    page.get_by_text("Not accepted").locator("visible=true").wait_for()
    page.wait_for_timeout(1000)
    shot("sent")
    print(page.locator("[data-sent]").inner_text())
    print(page.locator("[data-waits]").inner_text())
    page.get_by_role("link", name="Look and fix").click()
    page.locator("#faults, .faults").first.wait_for()
    shot("look")
    page.locator("[name=price]").fill("12")
    page.locator("button.primary:visible").first.click()
    page.get_by_text("Kept on this device").locator("visible=true").first.wait_for(state="detached") if 0 else page.wait_for_url("**saved=price**")
    page.goto(f"/builds/{b}/without-signal/")
    page.wait_for_timeout(500)
    shot("end")
    for m in (Timer, ): print(list(m.objects.values()))
    print(Photo.objects.count(), Purchase.objects.latest("pk").lines.values("quantity_text"))
    page.set_viewport_size({"width": 1280, "height": 900})
    shot("desk")
