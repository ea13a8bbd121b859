"""Colours, targets, narrow screens, what has the focus, and paper."""

import re

import pytest
from django.urls import reverse

from materials.choices import Role
from materials.services.accounts import ensure_user
from tests.entries import line

from .conftest import PHONE
from .contrast import contrast, rules, schemes, used
from .screens import AREAS
from .test_axe import FORMS, look
from .test_measures import past_limits

NARROW = {"width": 320, "height": 640}

# Text and what it may stand on: each on each, as a caution may hold a link or an amount.
TEXTS = ("ink", "soft", "accent", "accent-strong", "alarm")
GROUNDS = ("paper", "surface", "tint", "alarm-tint")
# Text on a ground of its own: filled buttons, and the link that skips the index.
FILLED = (("on-accent", "accent"), ("on-accent", "accent-strong"), ("on-alarm", "alarm"))
INVERTED = (("surface", "ink"),)
# What marks a control, a state, or a part of a picture.
MARKS = ("ink", "edge", "accent", "accent-strong", "alarm", "focus", "salvage", "seconds", "retail")
# Lines between rows only part what the space between parts already.
ORNAMENTS = ("rule",)


def test_contrast_is_calculated_as_published():
    """F10: relative luminance with the threshold 0.04045."""
    # 21:1 is the most there is; #767676 on white is the lightest grey of 4.5:1 (plain arithmetic:
    # 0x76 / 255 = 0.46275, ((0.46275 + 0.055) / 1.055) ^ 2.4 = 0.18116, 1.05 / 0.23116 = 4.542).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.542, abs=0.001)
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("scheme", ["light", "dark", "paper"])
def test_text_stands_out_by_4_5_and_marks_by_3(scheme):
    """F09: WCAG 2.2, 1.4.3 and 1.4.11."""
    colours = schemes()[scheme]
    text = [(text, ground, 4.5) for text in TEXTS for ground in GROUNDS]
    text += [(*pair, 4.5) for pair in FILLED + INVERTED]
    marks = [(mark, ground, 3.0) for mark in MARKS for ground in ("paper", "surface")]
    marks += [("focus", ground, 3.0) for ground in GROUNDS]
    too_weak = [
        f"{name} on {ground}: {ratio:.2f}"
        for name, ground, least in text + marks
        if (ratio := contrast(colours[name], colours[ground])) < least
    ]
    assert too_weak == []


def test_no_colour_is_used_that_is_not_looked_at():
    looked_at = {*TEXTS, *(text for text, _ in FILLED + INVERTED)}
    shapes = {*MARKS, *ORNAMENTS}
    assert used("color") - shapes <= looked_at
    assert used("background") <= {*GROUNDS, *(ground for _, ground in FILLED + INVERTED), "rule"}
    for part in ("border[a-z-]*", "outline", "stroke", "fill"):
        assert used(part) <= {*looked_at, *shapes, *GROUNDS, *schemes_of_space()}, part
    named = {*looked_at, *shapes, *GROUNDS}
    assert set(schemes()["light"]) == named
    # No colour but those named in tokens.css, and paper's own.
    screen = re.sub(r"^:root \{.*\}$", "", rules(), flags=re.MULTILINE)
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(", screen.replace("url(#", "")) == []


def schemes_of_space() -> set[str]:
    """Names that borders also use and that are no colours."""
    return {"line", "line-strong", "corner"}


TARGETS = """() => {
  const parts = [...document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary')];
  const box = part => {
    const over = getComputedStyle(part, '::after');
    const covers = over.position === 'absolute' && over.content !== 'none';
    return (covers ? part.offsetParent : part).getBoundingClientRect();
  };
  const shown = parts.filter(part => part.checkVisibility({visibilityProperty: true})
    && !part.closest('[aria-hidden=true]')).map(part => [part, box(part)]);
  const inSentence = part => getComputedStyle(part).display === 'inline'
    && [...part.parentNode.childNodes].some(n => n.nodeType === 3 && n.data.trim().length > 1);
  const small = ([part, b]) => b.width < 24 || b.height < 24;
  const near = ([part, b], [other, o]) => {
    // A circle of 24 px on the middle of a small target, and another target or its circle.
    const x = b.x + b.width / 2, y = b.y + b.height / 2;
    if (small([other, o]))
      return Math.hypot(x - o.x - o.width / 2, y - o.y - o.height / 2) < 24;
    const dx = Math.max(o.left - x, 0, x - o.right), dy = Math.max(o.top - y, 0, y - o.bottom);
    return Math.hypot(dx, dy) < 12;
  };
  return shown.filter(one => small(one) && !inSentence(one[0])
      && shown.some(other => other[0] !== one[0] && near(one, other)))
    .map(([part, b]) => `${part.outerHTML.slice(0, 80)} ${b.width} x ${b.height}`);
}"""


# A word that stands on two lines, other than a number or address that is made to break.
BROKEN_WORDS = r"""() => {
  const found = [], range = document.createRange();
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = texts.currentNode, part = text.parentElement;
    if (!part.checkVisibility({visibilityProperty: true}) || part.closest('svg, option, .unseen'))
      continue;
    for (const word of text.data.matchAll(/[\p{L}\p{N}]+/gu)) {
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const lines = [...range.getClientRects()].filter(box => box.width);
      if (new Set(lines.map(box => Math.round(box.top))).size > 1)
        found.push(`“${word[0]}” is broken in “${text.data.trim().slice(0, 60)}”`);
    }
  }
  return found;
}"""

# How much of the window's height is covered by what stays where it is while the page is scrolled.
COVERED = """() => {
  const over = [...document.querySelectorAll('body *')]
    .filter(part => ['fixed', 'sticky'].includes(getComputedStyle(part).position)
      && !part.matches(':popover-open') && part.checkVisibility())
    .map(part => part.getBoundingClientRect());
  const rows = [...Array(innerHeight).keys()];
  return rows.filter(y => over.some(box => box.top <= y && y < box.bottom)).length / innerHeight;
}"""
# The smallest phone, and 1280 x 900 magnified four times: of these so much may be covered.
SMALLEST = {"width": 320, "height": 568}
MOST_COVERED = ((SMALLEST, 0.25), ({"width": 320, "height": 225}, 0))


def misfits(page, screen: str) -> list[str]:
    """What is wider than a narrow screen or broken by it, targets too small, bars over it."""
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    width = page.evaluate("document.documentElement.scrollWidth")
    found = [f"{width} px wide"] if width > NARROW["width"] else []
    found += [*page.evaluate(BROKEN_WORDS), *page.evaluate(TARGETS)]
    for size, most in MOST_COVERED:
        page.set_viewport_size(size)
        covered = page.evaluate(COVERED)
        found += [f"{covered:.0%} of {size} is covered"] if covered > most else []
    return [f"{screen}: {text}" for text in found]


UNFIT = {
    "px wide": "<div style='width: 400px'>a</div>",
    "“Denver” is broken": "<p style='width: 2em; overflow-wrap: anywhere'>Denver</p>",
    "button": "<button style='width: 9px; height: 9px; padding: 0'></button>" * 2,
    "is covered": "<p style='position: fixed; bottom: 0; height: 50px'>a</p>",
    "26% of": "<p style='position: sticky; bottom: 0; height: 148px'>a</p>",
}


@pytest.mark.parametrize("complaint", UNFIT)
def test_what_does_not_fit_is_found(complaint, open_page):
    page = open_page(NARROW)
    page.set_content(f"<!doctype html><main>{UNFIT[complaint]}</main>")
    assert any(complaint in text for text in misfits(page, "it"))


def test_what_fits_is_not(open_page):
    page = open_page(NARROW)
    page.set_content("<!doctype html><main><p>Boards, 12 pieces</p><button>Save</button></main>")
    assert misfits(page, "it") == []


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("seen", FORMS)
@pytest.mark.parametrize(
    "area",
    [area if area == "purchase" else pytest.param(area, marks=pytest.mark.slow) for area in AREAS],
)
def test_screens_fit_320_px_and_a_finger_and_have_no_violation(area, seen, walk):
    """F12: targets of 24 px or with room around them (2.5.8); F13: reflow at 320 px (1.4.10).

    On the same visit it is measured on a phone and a desk, and goes to axe-core, as wide as a
    phone: everything, or what is first.
    """
    steps, found = walk(PHONE), []
    for screen in steps.through(AREAS[area], 1 if seen == "the first" else None):
        found += past_limits(steps.page, screen)
        steps.page.set_viewport_size(NARROW)
        found += misfits(steps.page, screen)
        steps.page.set_viewport_size(PHONE)
        found += look(steps.page, screen, seen)
    assert not found, "\n".join(found)


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_no_violation_where_a_build_and_an_account_end(open_page, enter, build, entries):
    """Both pages as they are where nothing stands in the way, and refused: they ask for words."""
    entries.purchase("P1", line(entries.component("Door"), "2 pieces", unit_price=3))
    build.members.exclude(role=Role.OWNER).delete()
    page, found = open_page(), []
    enter(page, entries.actor)
    lone, _ = ensure_user(username="lone", password="sawdust-and-lime")
    ends = (("build_delete", [build.pk], entries.actor), ("account_delete", [], lone))
    for name, args, user in ends:
        enter(page, user)
        page.goto(reverse(name, args=args))
        button = page.locator("button.danger:not([data-act])")
        for seen in (name, f"{name} refused"):
            assert button.is_visible(), seen
            found += look(page, seen)
            page.set_viewport_size(NARROW)
            found += misfits(page, seen)
            page.set_viewport_size(PHONE)
            if seen == name:
                with page.expect_navigation():
                    button.click()
                page.locator("#faults").wait_for()
    assert not found, "\n".join(found)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_kinds_of_source_differ_in_forced_colours(scheme, walk):
    steps = walk(forced_colors="active", color_scheme=scheme)
    steps.page.goto(reverse("cost_sheet", args=[steps.build.pk]))
    drawn = """part => {
      const style = getComputedStyle(part, '::before');
      return style.backgroundImage + style.backgroundColor + style.forcedColorAdjust;
    }"""
    kinds = [
        steps.page.locator(f".kind-{kind}").first.evaluate(drawn)
        for kind in ("salvage", "seconds", "retail")
    ]
    assert len(set(kinds)) == 3
    # What is drawn in colours of the page's own is kept; the rest is the system's.
    assert all(kind.endswith("none") for kind in kinds), kinds


# Whether any of what has the focus is seen: it is not all under the bar, nor off the screen.
SEEN = """() => {
  const part = document.activeElement, b = part.getBoundingClientRect();
  const seen = [[.5, .5], [.1, .1], [.9, .1], [.1, .9], [.9, .9]].some(([x, y]) => {
    const hit = document.elementFromPoint(b.x + b.width * x, b.y + b.height * y);
    return hit && (part.contains(hit) || hit.contains(part));
  });
  return [part.tagName, seen ? '' : part.outerHTML.slice(0, 120)];
}"""


# A low window, and 1280 x 900 magnified four times (WCAG 2.2, 1.4.10).
LOW = ({"width": 390, "height": 480}, 1)
MAGNIFIED = ({"width": 320, "height": 225}, 4)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("size", "scale"), [LOW, MAGNIFIED], ids=["low", "magnified"])
@pytest.mark.parametrize("name", ["log", "cost_sheet", "purchase_add"])
def test_what_has_the_focus_is_never_all_covered(name, size, scale, walk):
    """F14: WCAG 2.2, 2.4.11."""
    steps, hidden, places = walk(size, device_scale_factor=scale), [], 0
    steps.page.goto(reverse(name, args=[steps.build.pk]))
    for _ in range(400):
        steps.page.keyboard.press("Tab")
        tag, covered = steps.page.evaluate(SEEN)
        if tag == "BODY":
            break
        places += 1
        hidden += [covered] if covered else []
    assert places > 15
    assert hidden == []


# What stays where it is while the page is scrolled, and so lies over it.
LYING_OVER = """() => [...document.querySelectorAll('body *')]
  .filter(part => ['fixed', 'sticky'].includes(getComputedStyle(part).position)
    && part.checkVisibility())
  .map(part => part.outerHTML.slice(0, 90))"""


@pytest.mark.django_db(transaction=True)
def test_magnified_no_bar_lies_over_a_form(walk):
    size, scale = MAGNIFIED
    steps, over = walk(size, device_scale_factor=scale), []
    names = "log purchase_add labour_add stock_take conversion_add life_choice_add cost_sheet"
    for screen in steps.through(names, 1):
        over += [f"{screen}: {part}" for part in steps.page.evaluate(LYING_OVER)]
    assert over == []
    steps.page.set_viewport_size(PHONE)
    assert steps.page.evaluate(LYING_OVER), "on a phone the bar is at the thumb"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("name", ["element_add", "supplier_add", "upload"])
def test_a_short_form_is_saved_at_the_thumb(name, walk):
    steps = walk(PHONE)
    steps.page.goto(reverse(name, args=[steps.build.pk]))
    save = steps.page.locator(".bar .primary").bounding_box()
    more = steps.page.get_by_role("button", name="More").bounding_box()
    assert PHONE["height"] - 20 < save["y"] + save["height"] <= PHONE["height"]
    assert abs(save["y"] - more["y"]) < 4
    assert more["x"] + more["width"] < save["x"]


@pytest.mark.django_db(transaction=True)
def test_a_link_to_a_folded_part_unfolds_it(walk):
    steps = walk(PHONE)
    sheet = reverse("cost_sheet", args=[steps.build.pk])
    steps.page.goto(sheet)
    row = steps.page.get_by_role("link", name="B30 Roofing")
    assert not row.is_visible()
    steps.page.get_by_role("link", name="Element", exact=True).last.click()
    row.wait_for()
    steps.page.goto(reverse("home", args=[steps.build.pk]))
    steps.page.get_by_role("link", name="components without a price").click()
    steps.page.get_by_text("left out of both sides").wait_for()


# Between the margins of print.css on A4: 210 mm less 2 x 14 mm, at 96 px to 25.4 mm.
PAPER = {"width": 688, "height": 980}
CONTROLS = "nav, button, .button, input, select, .cover, .bar, .skip"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("cost_sheet", ["Cutler Lane seed house", "Savings", "By element", "Steel drum, 55 gal"]),
        ("needed", ["Still needed", "Get", "New price", "Hydrated lime"]),
        ("hours_report", ["Lime plaster", "Ida", "Marten"]),
    ],
)
def test_paper_has_the_content_and_no_controls(name, content, walk):
    steps = walk(PAPER, color_scheme="dark")
    page = steps.page
    page.goto(reverse(name, args=[steps.build.pk]))
    page.emulate_media(media="print", color_scheme="dark")
    shown = [part for part in page.locator(CONTROLS).all() if part.is_visible()]
    assert [part.evaluate("part => part.outerHTML.slice(0, 90)") for part in shown] == []
    page_text = page.inner_text("main")
    assert [text for text in content if text not in page_text] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PAPER["width"]
    style = "part => [getComputedStyle(part).color, getComputedStyle(part).backgroundColor]"
    ink, ground = page.locator("body").evaluate(style)
    assert (ink, ground) == ("rgb(18, 27, 22)", "rgb(255, 255, 255)"), "dark ink on white"
    # What a script shows when it is needed is not there.
    inside = "main details:not([hidden] *) > :not(summary, figure, .key, :has(> .way))"
    folded = page.locator(inside).all()
    assert all(part.is_visible() for part in folded), "nothing can be unfolded on paper"
    if name == "needed":
        assert page.locator(".tick-box").first.is_visible()
        assert page.get_by_text("Log it").first.is_hidden()


# A4, and how many of them what is carried or handed over may take.
SHEETS = {"cost_sheet": 3, "needed": 2}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("name", SHEETS)
def test_paper_is_saved(name, walk):
    steps = walk(PAPER)
    steps.page.goto(reverse(name, args=[steps.build.pk]))
    written = steps.page.pdf(format="A4", prefer_css_page_size=False)
    assert 1 <= written.count(b"/Type /Page\n") <= SHEETS[name]
    # The count is one of pages: what is longer takes more.
    steps.page.evaluate("document.querySelector('main').style.minHeight = '9000px'")
    longer = steps.page.pdf(format="A4", prefer_css_page_size=False)
    assert longer.count(b"/Type /Page\n") > SHEETS[name]


@pytest.mark.django_db(transaction=True)
def test_a_shopping_list_has_nothing_to_press_on_paper_of_any_width(walk):
    steps = walk()
    page = steps.page
    page.goto(reverse("needed", args=[steps.build.pk]))
    received, unfold = page.locator(".stand").first, page.locator(".stands-too > summary")
    for width in (320, 390, 640, 800, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(media="screen")
        assert received.is_visible() == (width > 640), f"on the screen, {width} px"
        if width <= 640:
            unfold.click()
            assert received.is_visible(), f"unfolded, {width} px"
            unfold.click()
        assert page.locator("td.no-print").first.is_visible(), width
        page.emulate_media(media="print")
        pressed = page.locator(".no-print, .shopping .button").all()
        assert not [part for part in pressed if part.is_visible()], width
        assert received.is_visible(), f"on paper, {width} px"


@pytest.mark.django_db(transaction=True)
def test_the_shopping_list_fits_its_page(walk):
    steps = walk({"width": 1280, "height": 900})
    steps.page.goto(reverse("needed", args=[steps.build.pk]))
    frames = steps.page.locator(".table-frame").all()
    assert frames
    for frame in frames:
        assert frame.evaluate("part => part.scrollWidth <= part.clientWidth")
