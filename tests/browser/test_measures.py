"""How long a screen is, how wordy, how many requests it takes, and how far its content is.

Every screen of the walks in test_looks.py is measured on that visit; here are the limits, and
pages that break them.
"""

from dataclasses import dataclass

import pytest

from .conftest import PHONE

DESK = {"width": 1280, "height": 800}

# Screens of a phone, 844 px each, that a page may be high: people scroll, they do not search.
LONGEST = 6
SHORTER = {"cost_sheet": 5, "home": 3}
# A list of all that was ever changed is read as far as one likes.
UNENDING = {"history", "record_history"}
# Screens whose business is figures: a label, a unit and little else for each of them.
FIGURES = set(
    "home cost_sheet shared budget hours_report needed compare estimate replacement landfill"
    " cost_basis settling_up figure purchases purchase_lines components suppliers prices labour"
    " tasks elements conversions left_over".split()
)
WORDS_A_NUMBER = 2.5
# Less than a screen of figures is headings, and what to do.
FEW_NUMBERS = 40
# Styles and scripts, besides what a page holds of its own.
REQUESTS = 3
# The link over everything, the names of app and build, account and sign-out.
STOPS_TO_INDEX = 6
STOPS_TO_CONTENT = {390: 12, 1280: 20}

MEASURE = r"""() => {
  const main = document.querySelector('main');
  const shown = part => part.checkVisibility({visibilityProperty: true});
  const read = document.createTreeWalker(main, NodeFilter.SHOW_TEXT);
  const texts = [];
  while (read.nextNode()) {
    const part = read.currentNode.parentElement;
    if (!shown(part) || part.closest('select, .unseen')) continue;
    // “Not known” stands where a number would.
    texts.push(part.closest('.unknown') ? '0' : read.currentNode.data);
  }
  const text = texts.join(' ');
  const count = what => (text.match(what) || []).length;
  const stops = [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
    .filter(part => part.tabIndex >= 0 && part.type !== 'hidden' && shown(part)
      && !part.closest(':popover-open'));
  const before = part => stops.filter(stop =>
    part.compareDocumentPosition(stop) & Node.DOCUMENT_POSITION_PRECEDING).length;
  const index = document.querySelector('.pages');
  const inView = part => {
    const box = part.getBoundingClientRect();
    return box.top >= 0 && box.bottom <= innerHeight && box.left >= 0 && box.right <= innerWidth;
  };
  const entries = index ? [...index.querySelectorAll('summary, a')].filter(shown) : [];
  const current = index && index.querySelector('[aria-current]');
  const styled = performance.getEntriesByType('resource')
    .filter(entry => ['link', 'script', 'css'].includes(entry.initiatorType));
  return {
    height: document.documentElement.scrollHeight,
    words: count(/\p{L}{2,}/gu),
    numbers: count(/\d+(?:[.,:'’\/]\d+)*/g),
    requests: styled.length,
    to_index: index && shown(index) && !index.matches(':popover-open') ? before(index) : 0,
    to_content: before(main),
    cut: entries.filter(part => !inView(part)).map(part => part.innerText.trim()),
    lost: Boolean(current && !(shown(current) && inView(current))),
  };
}"""

# The script that folds and unfolds by width has run, and on a desk all parts are unfolded.
SETTLED = """() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => {
  scrollTo(0, 0);
  const folds = document.querySelectorAll('.fold:not(.workings)');
  if (innerWidth > 1024) folds.forEach(part => part.open = true);
  done();
})))"""


@dataclass(frozen=True)
class Measured:
    """A screen as it is at a size."""

    height: int
    words: int
    numbers: int
    requests: int
    to_index: int
    to_content: int
    cut: list[str]
    lost: bool


def measure(page, size) -> Measured:
    """Measure a page; at a size it may not have yet."""
    page.set_viewport_size(size)
    page.evaluate(SETTLED)
    return Measured(**page.evaluate(MEASURE))


def past_limits(page, screen: str) -> list[str]:
    """What a screen is past of its limits, on a phone and on a desk."""
    name = screen.split()[0]
    phone, desk = measure(page, PHONE), measure(page, DESK)
    found = [f"{screen}: {text}" for text in past_height(name, phone) + past_words(name, desk)]
    for size, seen in ((PHONE, phone), (DESK, desk)):
        found += [f"{screen}, {size['width']} px: {text}" for text in past_ways(size, seen)]
    return found


def past_height(name: str, phone: Measured) -> list[str]:
    """Longer than one scrolls."""
    most = SHORTER.get(name, LONGEST)
    high = phone.height / PHONE["height"]
    return [f"{high:.1f} screens high"] if high > most and name not in UNENDING else []


def past_words(name: str, desk: Measured) -> list[str]:
    """Wordier than figures need; where all parts of a page are unfolded."""
    if name not in FIGURES or desk.numbers < FEW_NUMBERS:
        return []
    ratio = desk.words / desk.numbers
    return [f"{ratio:.1f} words a number"] if ratio > WORDS_A_NUMBER else []


def past_ways(size: dict[str, int], seen: Measured) -> list[str]:
    """Too far, too many requests, or something of the index that cannot be seen."""
    found = [f"{seen.requests} requests"] if seen.requests > REQUESTS else []
    if seen.to_index > STOPS_TO_INDEX:
        found.append(f"{seen.to_index} stops to the index")
    if seen.to_content > STOPS_TO_CONTENT[size["width"]]:
        found.append(f"{seen.to_content} stops to the content")
    if size == DESK:
        found += [f"{text} is cut off in the index" for text in seen.cut]
        found += ["the current entry is out of view"] if seen.lost else []
    return found


ENTRIES = "".join(f"<p><a href='/{n}'>Entry {n}</a></p>" for n in range(40))
BROKEN = {
    "screens high": ("budget", "<main><div style='height: 5100px'>a</div></main>"),
    "words a number": ("budget", f"<main>{'<p>some words for 12</p>' * 60}</main>"),
    "requests": ("log", "<main></main>" + "<script src='/x.js?{}'></script>" * 4),
    "stops to the index": (
        "log",
        f"{'<button>a</button>' * 7}<nav class='pages'></nav><main></main>",
    ),
    "stops to the content": ("log", f"{'<button>a</button>' * 21}<main></main>"),
    "is cut off in the index": ("log", f"<nav class='pages'>{ENTRIES}</nav><main></main>"),
    "current entry is out of view": (
        "log",
        f"<nav class='pages'>{ENTRIES}<a href='/' aria-current='page'>Here</a></nav><main></main>",
    ),
}


@pytest.mark.parametrize("complaint", BROKEN)
def test_a_page_past_a_limit_is_found(complaint, open_page):
    name, html = BROKEN[complaint]
    for number in range(html.count("{}")):
        html = html.replace("{}", str(number), 1)
    page = open_page()
    page.route("**/x.js*", lambda route: route.fulfill(body=""))
    page.route("**/broken/", lambda route: route.fulfill(body=html, content_type="text/html"))
    page.goto("/broken/")
    assert any(complaint in text for text in past_limits(page, name))


def test_a_page_within_them_is_not(open_page):
    page, html = open_page(), f"<main>{'<p>some words 12 24</p>' * 40}</main>"
    page.route("**/fine/", lambda route: route.fulfill(body=html, content_type="text/html"))
    page.goto("/fine/")
    assert past_limits(page, "budget") == []
