"""Three ways to use a screen: with scripts, without them, and by keyboard alone.

A step names what is to be done by the words on the screen. Each pair of hands does it in its
own way, so that one script of steps serves all three.
"""

import re
from typing import Any

from playwright.sync_api import Locator, Page

from .conftest import DESKTOP, PHONE

# Whether the focus is on a part, and whether it stands before that part or behind it.
PLACE = """part => {
  const here = document.activeElement;
  if (here === part) return 'here';
  const order = here.compareDocumentPosition(part);
  return here === document.body || order & 4 ? 'ahead' : 'behind';
}"""
MOST_TABS = 250


class Visitor:
    """A pointer, or a thumb, on a screen with scripts."""

    options: dict[str, Any] = {}
    size = PHONE

    def __init__(self, page: Page):
        self.page = page
        self.taps = self.typed = 0

    # Finding things by their words

    def field(self, label: str) -> Locator:
        """The field that is labelled so."""
        exact = re.compile(rf"^{re.escape(label)}( \(optional\))?$")
        return self.page.locator("#entry").get_by_label(exact).locator("visible=true").first

    def group(self, legend: str) -> Locator:
        """The choices that stand under a legend."""
        exact = re.compile(rf"^{re.escape(legend)}( \(optional\))?$")
        return self.page.get_by_role("group", name=exact)

    def control(self, name: str) -> Locator:
        """The button or link of that name that is to be seen."""
        button = self.page.get_by_role("button", name=name, exact=True)
        link = self.page.get_by_role("link", name=name, exact=True)
        return button.or_(link).locator("visible=true").first

    # Doing

    def type(self, label: str, text: str) -> None:
        """Type into a field."""
        self.typed += 1
        self.field(label).fill(text)

    def attach(self, label: str, picture: Any) -> None:
        """Choose a photo."""
        self.taps += 1
        self.page.get_by_label(label, exact=True).set_input_files(picture)

    def enter(self) -> None:
        """The Enter key after the last thing typed."""
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def select(self, label: str, option: str) -> None:
        """Take one of a list."""
        self.taps += 1
        self.field(label).select_option(label=option)

    def pick(self, legend: str, option: str) -> None:
        """Take one of a few choices that are all to be seen."""
        self.taps += 1
        self.group(legend).get_by_label(option, exact=True).check()

    def tick(self, label: str) -> None:
        """Tick a box."""
        self.taps += 1
        self.field(label).check()

    def unfold(self, words: str) -> None:
        """Open what is folded under some words."""
        self.taps += 1
        self.page.locator("summary", has_text=words).click()

    def unfold_all(self) -> None:
        """Open every part of the page that is folded."""
        folded = self.page.locator("main details:not([open], [hidden] *) > summary")
        while folded.count():
            folded.first.click()

    def press(self, name: str) -> None:
        """Press a button or follow a link to the next page."""
        self.taps += 1
        with self.page.expect_navigation():
            self.control(name).click()

    def log_purchase(self) -> None:
        """The short form, from any page of a build: at the thumb, or beside the page."""
        self.press("Log" if self.control("Log").is_visible() else "Log purchase")

    def turn_to(self, name: str) -> None:
        """Another page of the build, by the index."""
        more = self.control("More")
        if more.is_visible():
            self.taps += 1
            more.click()
        entry = self.page.locator("#pages").get_by_role("link", name=name, exact=True)
        if not entry.is_visible():
            self.taps += 1
            self.group_of(name).click()
        self.taps += 1
        with self.page.expect_navigation():
            entry.click()

    def group_of(self, name: str) -> Any:
        """What unfolds the group of the index that an entry stands in."""
        group = self.page.locator("#pages details", has=self.page.locator("a", has_text=name))
        return group.first.locator("summary")

    def look(self, *result: str) -> None:
        """See what was understood, which is shown while one types."""
        self.sees(*result)

    def sees(self, *words: str) -> None:
        """Some words under “What this costs”."""
        for text in words:
            self.page.locator("#understood").get_by_text(text).first.wait_for()


class Follower(Visitor):
    """A thumb that follows links by the beginning of their words, and counts pages."""

    def __init__(self, page):
        super().__init__(page)
        self.pages = 0
        page.on("load", lambda _: setattr(self, "pages", self.pages + 1))

    def follow(self, words: str) -> None:
        """Press the first link of the page that begins so."""
        self.taps += 1
        # Words that are heard only stand apart by a space.
        name = re.compile("^" + re.escape(words).replace(":", " ?:"))
        link = self.page.locator("main").get_by_role("link", name=name)
        with self.page.expect_navigation():
            link.locator("visible=true").first.click()
        assert self.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]

    def reads(self, *words: str) -> None:
        """Words that the page says, as far as it is unfolded."""
        text = " ".join(self.page.inner_text("main").split())
        for part in words:
            assert part in text, (part, text)

    def saved(self) -> None:
        """What was done is kept."""
        self.page.get_by_role("status").get_by_text("Saved.").wait_for()


class ScriptlessVisitor(Visitor):
    """The same without scripts: what was understood is asked for."""

    options = {"java_script_enabled": False}

    def look(self, *result: str) -> None:
        self.press("Preview")
        self.sees(*result)


class KeyboardVisitor(Visitor):
    """The keyboard alone."""

    size = DESKTOP

    def reach(self, part: Locator) -> None:
        """Tab to a part, or back to it."""
        target = part.element_handle()
        for _ in range(MOST_TABS):
            place = target.evaluate(PLACE)
            if place == "here":
                return
            self.page.keyboard.press("Tab" if place == "ahead" else "Shift+Tab")
        raise AssertionError(f"no way by Tab to {part}")

    def type(self, label: str, text: str) -> None:
        self.reach(self.field(label))
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def select(self, label: str, option: str) -> None:
        field = self.field(label)
        self.reach(field)
        self.page.keyboard.type(option)
        assert field.evaluate("list => list.selectedOptions[0].label") == option

    def pick(self, legend: str, option: str) -> None:
        choices = self.group(legend).get_by_role("radio")
        checked = [choice for choice in choices.all() if choice.is_checked()]
        self.reach(checked[0] if checked else choices.first)
        self.page.keyboard.press("Space")
        wanted = self.group(legend).get_by_label(option, exact=True)
        for _ in choices.all():
            if not wanted.is_checked():
                self.page.keyboard.press("ArrowDown")
        assert wanted.is_checked()

    def unfold(self, words: str) -> None:
        self.reach(self.page.locator("summary", has_text=words))
        self.page.keyboard.press("Enter")

    def press(self, name: str) -> None:
        control = self.control(name)
        self.reach(control)
        is_link = control.evaluate("part => part.tagName") == "A"
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter" if is_link else "Space")

    def turn_to(self, name: str) -> None:
        more = self.control("More")
        if more.is_visible():
            self.reach(more)
            self.page.keyboard.press("Enter")
        entry = self.page.locator("#pages").get_by_role("link", name=name, exact=True)
        if not entry.is_visible():
            self.reach(self.group_of(name))
            self.page.keyboard.press("Enter")
        self.reach(entry)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")


class PhoneKeyboardVisitor(KeyboardVisitor):
    """The keyboard alone on a screen as narrow as a phone's, as when a desk's is magnified."""

    size = PHONE
