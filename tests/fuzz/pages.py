"""The forms and links of a page, as a browser would send and follow them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser


@dataclass
class Field:
    """One control: what it would send, and the values it offers."""

    name: str
    kind: str
    value: str = ""
    sent: bool = True
    options: list[str] = field(default_factory=list)


@dataclass
class Form:
    """A form: whereto, how, and its controls in order."""

    action: str
    method: str
    fields: list[Field] = field(default_factory=list)

    @property
    def takes_files(self) -> bool:
        """Whether there is a control for a file in it."""
        return any(control.kind == "file" for control in self.fields)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[Form] = []
        self.links: list[str] = []
        self.open: Form | None = None
        self.select: Field | None = None
        self.area: Field | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        if tag == "a" and "href" in values:
            self.links.append(values["href"])
        elif tag == "form":
            self.open = Form(values.get("action", ""), values.get("method", "get").lower())
            self.forms.append(self.open)
        if self.open is None:
            return
        if tag == "option" and self.select is not None:
            self.select.options.append(values.get("value", ""))
            if "selected" in values or len(self.select.options) == 1:
                self.select.value = values.get("value", "")
        if tag in ("input", "select", "textarea", "button") and values.get("name"):
            self._add_control(self.open, tag, values)

    def _add_control(self, form: Form, tag: str, result: dict[str, str]) -> None:
        kind = result.get("type", "text") if tag in ("input", "button") else tag
        control = Field(result["name"], kind, result.get("value", ""))
        form.fields.append(control)
        if kind in ("checkbox", "radio"):
            control.sent = "checked" in result
            control.value = control.value or "on"
        elif kind == "submit" or tag == "button":
            control.kind, control.sent = "submit", False
        elif tag == "select":
            self.select = control
        elif tag == "textarea":
            self.area = control

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.open = None
        elif tag == "select":
            self.select = None
        elif tag == "textarea":
            self.area = None

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area.value += data


def read_page(html: str) -> tuple[list[Form], list[str]]:
    """Forms and links of a page."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader.forms, reader.links
