"""What a page may not hold: anything that runs, styles or fetches from elsewhere than our files."""

from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlsplit

# Attributes that make a browser fetch or send something.
FETCHES = {"src", "srcset", "action", "formaction", "data", "poster", "ping", "background"}
LEADS = {"href", "xlink:href"}


class Looked(HTMLParser):
    """Gathers what is inline or foreign in ``faults``, and the places of style sheets."""

    def __init__(self, html: str):
        super().__init__()
        self.faults: list[str] = []
        self._in_script = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        had = {name: value or "" for name, value in attrs}
        at = f"line {self.getpos()[0]}: <{tag}>"
        if tag in ("style", "iframe", "object", "embed", "base", "applet"):
            self.faults.append(at)
        if tag == "script":
            self._in_script = True
            if not had.get("src"):
                self.faults.append(f"{at} without a file")
        for name, value in had.items():
            if name == "style" or name.startswith("on"):
                self.faults.append(f"{at} {name}")
            if name == "http-equiv" or name == "srcdoc":
                self.faults.append(f"{at} {name}={value}")
            if name in FETCHES | LEADS:
                self._address(at, tag, name, value)

    def _address(self, at: str, tag: str, name: str, value: str) -> None:
        result = urlsplit(value.strip())
        if tag == "a" and name == "href" and (result.scheme, result.netloc) == ("otpauth", "totp"):
            # Hands the key of one's own second step to an app on this device; loads nothing.
            return
        if result.scheme not in ("", "http", "https"):
            self.faults.append(f"{at} {name}={value[:60]}")
        # A link that a reader may follow can lead to the source of a rule; nothing else may.
        may_leave = tag == "a" and name == "href" and result.scheme == "https"
        if result.netloc and not may_leave:
            self.faults.append(f"{at} {name} leads to {result.netloc}")

    def handle_endtag(self, tag: str) -> None:
        if tag == "script":
            self._in_script = False

    def handle_data(self, data: str) -> None:
        if self._in_script and data.strip():
            self.faults.append(f"line {self.getpos()[0]}: a script in the page")
