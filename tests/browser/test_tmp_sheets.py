import pytest
from decimal import Decimal
from django.urls import reverse
from tests.entries import Entries, sized, panel, line
from materials.models import CuttingMethod
from .conftest import DESKTOP, PHONE
pytestmark = pytest.mark.django_db(transaction=True)

def test_shots(walk):
    steps = walk(PHONE)
    page = steps.page
    owner = steps.build.members.get(role="owner").user
    e = Entries(owner, steps.build)
    ply = e.component("Shuttering ply", contents="1 piece = 32 sq ft")
    pan = e.component("Shelf panel", contents="1 piece = 3 sq ft")
    bat = e.component("Batten", contents="1 piece = 5 ft")
    e.purchase("PX9", line(ply, "3 @ 4x8 ft", line_price_amount=66))
    a = e.sheet_plan("Shelf panels", ply, pan, needs=[panel("2 ft", "18 in", 6, pan, may_turn=True), panel("30 in", "11 in", 5, pan)])
    b = e.sheet_plan("Battens", ply, bat, method=CuttingMethod.RIPPED, keep_text="1 in",
        hand=[sized("12 ft", "7-1/4 in", count=3, trim_text="2 in")], buy=[sized("10 ft", "5-1/2 in", price=Decimal("7.40"), most=None, trim_text="")],
        needs=[panel("5 ft", "1-1/2 in", 14, bat), panel("40 in", "2-1/4 in", 6, bat)])
    for size, n in ((PHONE, "390"), (DESKTOP, "1280")):
        page.set_viewport_size(size)
        for rec, nm in ((a, "a"), (b, "b")):
            page.goto(reverse("cutting_plan", args=[steps.build.pk, rec.pk]))
            page.screenshot(path=f"/tmp/shots-sheets/{nm}-{n}.png", full_page=True)
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        page.goto(reverse("cutting_plan_edit", args=[steps.build.pk, a.pk]))
        page.screenshot(path=f"/tmp/shots-sheets/edit-{n}.png", full_page=True)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    page.goto(reverse("cutting_plan_take", args=[steps.build.pk, a.pk]))
    page.screenshot(path="/tmp/shots-sheets/take.png", full_page=True)
    page.locator("[name=bought]").check()
    page.get_by_role("button", name="Log the cuts").last.click()
    page.get_by_text("is logged as").wait_for()
    page.screenshot(path="/tmp/shots-sheets/taken.png", full_page=True)
