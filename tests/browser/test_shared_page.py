"""A share link between two browsers: made, opened on a phone, printed, revoked, gone."""

import re
import zlib
from contextlib import suppress

import pytest
from django.urls import reverse

from materials.models import Component
from materials.services.components import save_component
from materials.services.sharing import make_link

from .conftest import DESKTOP, PHONE
from .screens import press
from .test_looks import CONTROLS
from .visitors import Visitor

pytestmark = pytest.mark.django_db(transaction=True)

# Between the margins of print.css, at 96 px to an inch: A4 is 210 mm wide, Letter 8.5 in.
PAPERS = {"A4": 688, "Letter": 710}
# What stands out of the sheet to the right, or is cut off within its own box.
CUT = """() => {
  const edge = document.querySelector('main').getBoundingClientRect().right + 1;
  return [...document.querySelectorAll('main *')].filter(part => part.checkVisibility()
      && !part.closest('svg, .running, .unseen')).filter(part => {
    const style = getComputedStyle(part), box = part.getBoundingClientRect();
    return box.right > edge
      || (style.overflowX !== 'visible' && part.scrollWidth > part.clientWidth + 1);
  }).map(part => part.outerHTML.slice(0, 90));
}"""


def make(page, build) -> str:
    """Make share link on the owner's screen; its address as one would copy it."""
    page.goto(reverse("share_add", args=[build.pk]))
    page.get_by_label("For whom").fill("Aunt Ida")
    page.get_by_label("Show people").check()
    press(page, "Make link")
    return page.get_by_label("The link for").input_value()


def test_a_link_is_made_opened_elsewhere_and_revoked(open_page, enter, demo_build):
    """ASVS 5.0.0 14.3.3 besides: the reader's browser is left with nothing to keep."""
    owner, reader = open_page(DESKTOP), open_page(PHONE)
    enter(owner, demo_build.members.get().user)
    address = make(owner, demo_build)
    answer = reader.goto(address)
    assert answer.status == 200
    assert reader.get_by_role("heading", level=1).inner_text() == "Cutler Lane seed house"
    assert reader.get_by_role("heading", name="People").is_visible()
    assert reader.get_by_role("heading", name="Suppliers").count() == 0
    assert reader.context.cookies() == []
    assert reader.evaluate("[localStorage.length, sessionStorage.length]") == [0, 0]
    reader.get_by_role("link", name="Component", exact=True).click()
    assert reader.get_by_role("heading", name="By component").is_visible()

    owner.goto(reverse("share_links", args=[demo_build.pk]))
    row = owner.locator("tbody tr", has_text="Aunt Ida")
    assert row.locator("td[data-label='Times opened']").inner_text() == "1"
    row.get_by_role("link", name="Revoke").click()
    press(owner, "Revoke it")
    assert owner.get_by_text("The link no longer works").is_visible()

    gone = reader.context.new_page()
    assert gone.goto(address).status == 404
    assert gone.get_by_role("heading", level=1).inner_text() == "Page not found"


def test_nothing_else_is_told_where_the_reader_came_from(walk, open_page):
    """The token stands in the address, so no request of the page may name it as its referrer."""
    steps, page, lines = walk(), open_page(), []
    page.on("request", lambda request: lines.append(request.headers.get("referer", "")))
    page.goto(reverse("shared", args=[steps.records["token_all"]]))
    page.wait_for_load_state("networkidle")
    assert len(lines) > 1
    assert set(lines) == {""}


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("token", ["token_all", "token_bare"])
def test_paper_holds_the_whole_sheet(paper, token, walk):
    steps = walk({"width": PAPERS[paper], "height": 980}, color_scheme="dark")
    page = steps.page
    page.goto(reverse("shared", args=[steps.records[token]]))
    Visitor(page).unfold_all()
    told_on_screen = page.inner_text("main")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("document.documentElement.scrollWidth") <= PAPERS[paper]
    assert page.evaluate(CUT) == []
    shown = [part for part in page.locator(CONTROLS).all() if part.is_visible()]
    assert shown == []
    running = page.locator(".running")
    assert running.is_visible()
    assert "Cutler Lane seed house" in running.inner_text()
    for text in ("By element", "By source", "Hours", "By component", "Steel drum, 55 gal"):
        assert text in told_on_screen
        assert text in page.inner_text("main")
    style = "part => [getComputedStyle(part).color, getComputedStyle(part).backgroundColor]"
    assert page.locator("body").evaluate(style) == ["rgb(18, 27, 22)", "rgb(255, 255, 255)"]


@pytest.mark.parametrize("paper", PAPERS)
def test_the_members_sheet_is_as_ready_for_paper(paper, walk):
    steps = walk({"width": PAPERS[paper], "height": 980})
    page = steps.page
    page.goto(reverse("cost_sheet", args=[steps.build.pk]))
    assert page.locator(".running").is_hidden()
    page.emulate_media(media="print")
    assert page.evaluate(CUT) == []
    assert "Cutler Lane seed house" in page.locator(".running").inner_text()


# Leaves the head of the printed pages as the only thing that draws any text.
HEAD_ALONE = """() => {
  const rules = document.styleSheets[document.styleSheets.length - 1];
  for (const rule of ['@page { @bottom-right { content: none } }',
      'main * { visibility: hidden !important }',
      '.running, .running * { visibility: visible !important }'])
    rules.insertRule(rule, rules.cssRules.length);
}"""
NO_HEAD = "document.querySelectorAll('.running p').forEach(part => part.textContent = '')"


def test_each_printed_page_says_which_build_and_day(walk):
    """The head of a table is drawn again wherever a page breaks."""
    steps = walk(DESKTOP)
    page = steps.page
    page.goto(reverse("shared", args=[steps.records["token_all"]]))
    page.emulate_media(media="print")
    page.evaluate(HEAD_ALONE)
    printed = page.pdf(format="A4")
    assert pages(printed) > 4
    assert pages_with_text(printed) == pages(printed)
    page.evaluate(NO_HEAD)
    assert pages_with_text(page.pdf(format="A4")) == 0


def pages(pdf: bytes) -> int:
    """Number of pages of a document."""
    return len(re.findall(rb"/Type /Page\s", pdf))


def pages_with_text(pdf: bytes) -> int:
    """Number of pages on which any text is drawn."""
    drawn = 0
    for stream in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        with suppress(zlib.error):
            result = zlib.decompress(stream)
            drawn += b"BT\n" in result and b" Tf\n" in result
    return drawn


def test_a_wide_word_breaks_and_the_page_stays_narrow(open_page, demo_build):
    owner = demo_build.members.get().user
    values = {"name": "W" * 100, "unit": "piece"}
    save_component(actor=owner, build=demo_build, component=Component(), values=values)
    token = make_link(actor=owner, build=demo_build, values={"label": "Ida"})[1]
    page = open_page({"width": 320, "height": 640})
    page.goto(reverse("shared", args=[token]))
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
