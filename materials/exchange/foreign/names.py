"""Telling names alike: plural, case, spaces and marks do not make another thing."""

import difflib
import re
from collections.abc import Iterable, Mapping

_WORD = re.compile(r"[a-z]+|\d+(?:[./]\d+)*", re.IGNORECASE)


def loose_key(name: str) -> str:
    """“2 X 4 Studs” and “2x4 stud” have the same; an empty text where nothing would be left."""
    words = []
    for word in _WORD.findall(name.casefold()) or list(name.casefold().split()):
        if len(word) > 3 and word.endswith("ies"):
            word = word[:-3] + "y"
        elif len(word) > 4 and word.endswith(("shes", "ches", "xes", "sses")):
            word = word[:-2]
        elif len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
            word = word[:-1]
        words.append(word)
    return "".join(words)[:200]


def near_names(name: str, known: Mapping[str, str], most: int = 3) -> list[str]:
    """Keys of names that look alike, the nearest first. ``known``: key to loose key."""
    wanted = loose_key(name)
    by_loose: dict[str, str] = {}
    for key, loose in known.items():
        by_loose.setdefault(loose, key)
    close = difflib.get_close_matches(wanted, list(by_loose), n=most, cutoff=0.72)
    return [by_loose[loose] for loose in close]


def by_loose_key(names: Iterable[tuple[str, int]]) -> dict[str, int]:
    """Primary keys by loose key; what two records share tells neither apart."""
    found: dict[str, int] = {}
    twice: set[str] = set()
    for name, pk in names:
        key = loose_key(name)
        if key in found:
            twice.add(key)
        found[key] = pk
    return {key: pk for key, pk in found.items() if key and key not in twice}
