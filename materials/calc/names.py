"""Telling names alike: plural, case, spaces and marks do not make another thing."""

import difflib
import re
from collections.abc import Iterable
from collections.abc import Mapping as Map

_WORD = re.compile(r"\d[\d./x-]*|[^\W\d_]+")
_PLURAL_SIZE = re.compile(r"(?<=\d)['’]?s(?![^\W\d_])")
_BY = re.compile(r"(?<=\d)\s*[x×*]\s*(?=\d)")


def loose_key(name: str) -> str:
    """“2 X 4 Studs” and “Stud, 2x4” have the same; an empty text where nothing would be left."""
    words = []
    for word in _WORD.findall(_PLURAL_SIZE.sub("", _BY.sub("x", name.casefold()))):
        if len(word) > 3 and word.endswith("ies"):
            word = word[:-3] + "y"
        elif len(word) > 4 and word.endswith(("shes", "ches", "xes", "sses")):
            word = word[:-2]
        elif len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
            word = word[:-1]
        words.append(word)
    return " ".join(sorted(words))[:200]


def near_names(name: str, known: Map[str, str], most: int = 3) -> list[str]:
    """Keys of names that look alike, the nearest first. ``known``: key to loose key."""
    wanted = loose_key(name)
    by_loose: dict[str, str] = {}
    for key, loose in known.items():
        by_loose.setdefault(loose, key)
    close = difflib.get_close_matches(wanted, list(by_loose), n=most, cutoff=0.72)
    return [by_loose[loose] for loose in close]


def join_names(names: Iterable[str]) -> str:
    """Names in a sentence: by commas, or by semicolons where one of them holds a comma."""
    listed = list(names)
    return separator(listed).join(listed)


def separator(names: Iterable[str]) -> str:
    """What stands between names so that each can be told from the next."""
    return "; " if any("," in name for name in names) else ", "
