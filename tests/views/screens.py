"""A reader of pages: gets a page, fills in its form as a browser would, and sends it."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.test import Client
from django.urls import reverse

VOID = {"input", "br", "hr", "img", "meta", "link", "rect"}
# What a page sends of itself, new each time it is shown.
MARKS = ("csrfmiddlewaretoken", "form_token")
HIDDEN_TEXT = ("script", "style")


@dataclass
class Form:
    """Controls of one form as a browser would send them, and the choices it offers."""

    fields: dict[str, str] = field(default_factory=dict)
    choices: dict[str, dict[str, str]] = field(default_factory=dict)
    boxes: set[str] = field(default_factory=set)
    buttons: set[tuple[str, str]] = field(default_factory=set)


class Page(HTMLParser):
    """The parts of a page that tests look at."""

    def __init__(self, html: str):
        super().__init__()
        # A number keeps its unit beside it on a screen; here both are read as words.
        self.html = html.replace("\xa0", " ")
        self.form = Form()
        self.links: list[tuple[str, str]] = []
        self.faults: list[str] = []
        self.ledger: dict[str, str] = {}
        self._open: list[tuple[str, dict[str, str]]] = []
        self._texts: list[str] = []
        self._select = self._area = ""
        self._option: tuple[str, bool] | None = None
        self._term = ""
        self._words: list[str] = []
        self.feed(html)
        self.text = " ".join(" ".join(self._words).split())

    def _inside(self, tag: str, **attrs: str) -> bool:
        return any(
            name == tag and all(value in (had.get(key) or "") for key, value in attrs.items())
            for name, had in self._open
        )

    def _in_faults(self) -> bool:
        return self._inside("ul", **{"class": "fault"}) or self._inside("div", id="faults")

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        had = dict(attrs)
        if tag not in VOID:
            self._open.append((tag, had))
        if tag in ("a", "option", "textarea", "li", "dt", "dd"):
            self._texts = []
        if self._inside("form", id="entry"):
            self._read_control(tag, had)

    def _read_control(self, tag: str, had: dict[str, Any]) -> None:
        name, value = had.get("name"), had.get("value") or ""
        if tag == "option" and self._select:
            self._option = value, "selected" in had
        if not name:
            return
        if tag == "input" and "disabled" not in had:
            self._read_input(name, value, had)
        elif tag == "select":
            self._select = name
            self.form.choices[name] = {}
        elif tag == "textarea":
            self._area = name
        elif tag == "button":
            self.form.buttons.add((name, value))

    def _read_input(self, name: str, value: str, had: dict[str, Any]) -> None:
        if had.get("type") in ("checkbox", "radio"):
            self.form.boxes.add(name)
            if "checked" in had:
                self.form.fields[name] = value or "on"
        elif had.get("type") != "file":
            self.form.fields[name] = value

    def handle_endtag(self, tag: str) -> None:
        text = " ".join("".join(self._texts).split())
        if tag in ("option", "select", "textarea"):
            self._end_control(tag, text)
        elif tag == "a":
            here = next(had for name, had in reversed(self._open) if name == "a")
            self.links.append((here.get("href") or "", text))
        elif tag == "li" and self._in_faults():
            self.faults.append(text)
        elif tag == "dt":
            self._term = text
        elif tag == "dd" and self._term:
            self.ledger.setdefault(self._term, text)
        while self._open and self._open[-1][0] != tag:
            self._open.pop()
        if self._open:
            self._open.pop()

    def _end_control(self, tag: str, text: str) -> None:
        if tag == "option" and self._option:
            value, chosen = self._option
            self.form.choices[self._select][text] = value
            if chosen or self._select not in self.form.fields:
                self.form.fields[self._select] = value
            self._option = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea" and self._area:
            # A browser drops the line break that the page puts first.
            self.form.fields[self._area] = "".join(self._texts).removeprefix("\n")
            self._area = ""

    def handle_data(self, data: str) -> None:
        self._texts.append(data)
        if not self._open or self._open[-1][0] not in HIDDEN_TEXT:
            self._words.append(data)


@dataclass
class Screens:
    """One person at one build's pages."""

    client: Client
    build_id: int | None = None

    def url(self, name: str, *args: Any) -> str:
        own = () if self.build_id is None else (self.build_id,)
        return reverse(name, args=[*own, *args])

    def read(self, url: str) -> Page:
        answer = self.client.get(url)
        assert answer.status_code == 200, (url, answer.status_code)
        return Page(answer.content.decode())

    def open(self, name: str, *args: Any) -> Page:
        return self.read(self.url(name, *args))

    def filled(self, form: Form, typed: dict[str, Any]) -> dict[str, str]:
        """What a browser sends: the page's own values, and over them what was typed.

        A choice is named by its text; ``False`` clears a box.
        """
        data = dict(form.fields)
        for name, value in typed.items():
            known = name in data or name in form.choices or name in form.boxes
            assert known, f"the page has no field {name}: {sorted(data)}"
            text = "on" if value is True else "" if value is None or value is False else str(value)
            offered = form.choices.get(name)
            if offered is not None and text not in offered.values():
                # How much there is of it may stand behind a name.
                named = [o for o in offered if o == text or o.startswith(f"{text} (")]
                assert named, f"{name} offers no {text!r}: {list(offered)}"
                text = offered[named[0]]
            data[name] = text
            if name in form.boxes and not text:
                del data[name]
        return data

    def send(self, url: str, data: dict[str, Any]) -> Any:
        return self.client.post(url, data)

    def save(self, name: str, typed: dict[str, Any], *args: Any) -> Any:
        """Open a form, fill it in and save it; fails with the page's own words."""
        url = self.url(name, *args)
        data = self.filled(self.read(url).form, typed)
        answer = self.send(url, data)
        if answer.status_code != 302:
            raise AssertionError((name, typed, Page(answer.content.decode()).faults))
        return answer

    def refused(self, name: str, typed: dict[str, Any], *args: Any) -> Page:
        """The page that comes back when a form is not taken."""
        url = self.url(name, *args)
        data = self.filled(self.read(url).form, typed)
        answer = self.send(url, data)
        assert answer.status_code == 422, (name, typed, answer.status_code)
        return Page(answer.content.decode())

    def add_rows(self, name: str, prefix: str, count: int, *args: Any) -> Page:
        """Ask for more rows until a form has ``count``, as one does without JavaScript."""
        page = self.open(name, *args)
        while int(page.form.fields[f"{prefix}-TOTAL_FORMS"]) < count:
            data = page.form.fields | {"add_row": prefix}
            answer = self.send(self.url(name, *args), data)
            assert answer.status_code == 200
            page = Page(answer.content.decode())
            assert page.faults == []
        return page
