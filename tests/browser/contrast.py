"""Contrast of two colours, and the colours the stylesheets name.

Relative luminance and contrast ratio as defined in WCAG 2.2 (https://www.w3.org/TR/WCAG22/,
"relative luminance" and "contrast ratio"; read in the primary text): L = 0.2126 R + 0.7152 G +
0.0722 B, where a channel up to 0.04045 is divided by 12.92 and one above it is
((c + 0.055) / 1.055) ^ 2.4; the ratio is (lighter + 0.05) / (darker + 0.05).
"""

import re
from pathlib import Path

from django.conf import settings

CSS = Path(settings.BASE_DIR) / "static/css"
TOKEN = re.compile(r"--([\w-]+):\s*(#[0-9a-f]{6});")
Colours = dict[str, str]


def luminance(colour: str) -> float:
    """Relative luminance of a colour such as #07584c."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def schemes() -> dict[str, Colours]:
    """The colours by name: in light, in dark, and on paper."""
    light, dark = (CSS / "tokens.css").read_text().split("@media")
    paper = (CSS / "print.css").read_text()
    first = dict(TOKEN.findall(light))
    return {
        "light": first,
        "dark": first | dict(TOKEN.findall(dark)),
        "paper": first | dict(TOKEN.findall(paper)),
    }


def rules() -> str:
    """All stylesheets but the one that names the colours."""
    return "\n".join(
        path.read_text() for path in sorted(CSS.glob("*.css")) if path.stem != "tokens"
    )


def used(declared: str) -> set[str]:
    """Names of the colours that the stylesheets give to a property."""
    return set(re.findall(rf"(?<![\w-]){declared}:[^;}}]*?var\(--([a-z-]+)\)", rules()))
