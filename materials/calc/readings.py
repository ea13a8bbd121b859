"""Other ways in which a quantity that was refused could have been meant.

Each is a whole text for the one parser; what that does not read is no reading. They are offered,
never taken: only who typed it knows which is meant. A ``QuantityError`` carries them as
``offers``, the form's field hands them on, ``templates/short_form/offers.html`` shows them.
"""

import re
from typing import Final

_WORDS: Final = "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve"
_COUNT: Final = rf"(?P<count>[0-9]{{1,6}}|{_WORDS})"
_SIDE: Final = r"[0-9][0-9./'\"-]{0,12}"
_BY: Final = r"[x×*]"
_DASHED: Final = re.compile(rf"{_COUNT}\s*[-–—:]\s*(?P<size>{_SIDE}\s*{_BY}.*)", re.IGNORECASE)
_BESIDE: Final = re.compile(
    rf"{_COUNT}(?P<unit>\s*[^\W\d_]{{2,12}}\.?)?\s+(?P<size>{_SIDE}(?:\s|{_BY}|[^\W\d_]|$).*)",
    re.IGNORECASE,
)
_TIMES: Final = re.compile(rf"{_COUNT}\s*{_BY}\s*(?P<size>[0-9].*)", re.IGNORECASE)
_LAST: Final = re.compile(
    rf"(?P<size>{_SIDE}(?:\s?{_BY}\s?{_SIDE}){{1,2}})\s*{_BY}\s*(?P<count>[0-9]{{1,6}})",
    re.IGNORECASE,
)
_SPACED: Final = re.compile(rf"\s{_BY}\s", re.IGNORECASE)
_GROUPED: Final = re.compile(r"(?P<head>[0-9]{1,3})(?P<rest>(?: [0-9]{3})+)(?P<unit>\s*[^\W\d_].*)")


def readings(text: str) -> list[str]:
    """Texts that a refused one could stand for, the likeliest first."""
    plain = " ".join(text.split())
    # "2x8x12s": several of that size.
    plain = re.sub(r"(?<=[0-9])'?s(?![^\W\d_])", "", plain)
    found: list[str] = []
    if match := _GROUPED.fullmatch(plain):
        found.append(match["head"] + match["rest"].replace(" ", "") + match["unit"])
    if match := _DASHED.fullmatch(plain):
        found += _counted(match["count"], match["size"])
    if match := _BESIDE.fullmatch(plain):
        found += _counted(match["count"] + (match["unit"] or ""), match["size"])
    sides = len(re.findall(_BY, plain, re.IGNORECASE))
    first, last = _TIMES.fullmatch(plain), _LAST.fullmatch(plain)
    if last and (sides > 2 or (_SPACED.search(plain) and not _spaced_first(plain))):
        found.append(f"{last['count']} @ {last['size']}")
    if first and (sides == 1 or _spaced_first(plain)):
        found.append(f"{first['count']} @ {first['size']}")
    if sides in (1, 2) and plain[:1].isdigit() and " @ " not in plain:
        found.append(f"1 @ {plain}")
    return [re.sub(r"(?<=[0-9])(?=[^\W\d_]{2})", " ", each) for each in dict.fromkeys(found)]


def _counted(count: str, size: str) -> list[str]:
    """A count before a size; a sheet's two bare sides are feet."""
    return [f"{count} @ {size}", f"{count} @ {size} ft"]


def _spaced_first(text: str) -> bool:
    """Whether only the first of several signs of multiplying stands between spaces."""
    parts = _SPACED.split(text)
    return len(parts) == 2 and not re.search(_BY, parts[0], re.IGNORECASE)
