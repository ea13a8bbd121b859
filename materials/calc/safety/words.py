"""Traits guessed from the words of a component's name and note.

A guess only saves ticking boxes; the builder's tick decides. Words are read whole, whatever their
case, singular or plural, clause by clause. Longer phrases go before shorter ones, so that
"glass block" is no masonry. A clause about a tool, a fastener or a coating ("joist hanger",
"masonry bit") says nothing. What follows "from", "for", "with" and the like is another thing, of
which only what stays with the material counts: "planks from railroad ties" are treated wood.
"""

import re
from typing import Final

from materials.calc.safety.past import tells_of_gasoline
from materials.calc.safety.phrases import PHRASES
from materials.calc.safety.types import Trait

_T: Final = Trait
_NONE: Final[frozenset[Trait]] = frozenset()
_NEGATIONS: Final = frozenset("not no never non un without".split())
_PREPOSITIONS: Final = frozenset(
    "for from off with without to behind under over near on in against w inside around full".split()
)
# Holds good of the material wherever in the clause it is said.
LASTING: Final = frozenset(
    {
        _T.LOAD_BEARING,
        _T.UNGRADED,
        _T.PAINTED,
        _T.TREATED,
        _T.POLE_OR_TIE,
        _T.DRINKING_WATER,
        _T.UNPAINTED,
    }
)
_FRAMING: Final = frozenset({_T.LUMBER, _T.LOAD_BEARING})
# Made of these, it is no board whose paint one would ask about.
_NO_FINISH: Final = frozenset({_T.FOAM, _T.INSULATION, _T.ELECTRICAL, _T.SOLAR})
_CARRIES_NOTHING: Final = re.compile(
    r"\b(?:non|not)[- ]?(?:a[- ])?(?:load[- ]?)?bearing|\bnon[- ]?structural|\bnot structural"
)
# "Gas" is gasoline unless something says that it is burnt out of a pipe.
_KINDS_OF_GAS: Final = frozenset("old stale regular premium some spare leftover pump mixed".split())
_PIPED: Final = frozenset(
    """natural propane butane lp lpg bottled welding pipe piping line stove range oven cooktop
    cooker grill fireplace dryer heater furnace boiler meter fitting connector connection hookup
    regulator valve cock shutoff utility service permit log insert appliance leak""".split()
)
# Things made for a material, not of it.
_TOOLS: Final = frozenset(
    """hanger bit screw bolt nail anchor finder brush roller saw blade sealer sealant cleaner
    primer paint stain adhesive glue epoxy tape clip bracket strap glove curtain charger drill
    driver cutter wrench hammer chisel trowel plane heater stove lamp lantern generator engine pump
    tank truck mixer vibrator blanket stake jack clamp gun nozzle book manual poster toy sticker
    sign rack holder hook stapler staple respirator mask detector tester puller spreader opener
    caulk filler sander grinder vacuum scraper film powered tractor mower""".split()
)
# What is sold by two measures and is no sawn lumber.
_NOT_STICKS: Final = frozenset(
    """tile sheet plywood osb drywall panel troffer light vent register grille duct mesh paver
    window door rug mat tarp foam steel aluminum metal tube tubing angle cmu cmus concrete brick
    block glass mirror carpet shed pvc canvas photo trailer""".split()
)


def _singular(word: str) -> str:
    """A word without its plural ending, near enough for names of materials."""
    if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith(("sses", "shes", "ches", "xes")):
        return word[:-2]
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    return word[:-1]


def _phrase_table() -> dict[tuple[str, ...], frozenset[Trait]]:
    table: dict[tuple[str, ...], frozenset[Trait]] = {}
    for traits, text in PHRASES:
        for phrase in re.split(r"[|\n]", text):
            table[tuple(_singular(word) for word in phrase.split())] = frozenset(traits)
    return table


_TABLE: Final = _phrase_table()
_LONGEST: Final = max(map(len, _TABLE))

_SIZE: Final = re.compile(
    r"""(?<![\w/.\#])(?P<thick>[0-9]{1,2}(?:/[0-9])?)\s*["”]?(?:\s*[x×*]\s*|(?:\s+|-)by(?:\s+|-))
    (?P<wide>[0-9]{1,2})\s*["”]?(?P<long>\s*[x×*]\s*[0-9]{1,3})?['’]?s?(?![\w/.])
    (?P<unit>\s*(?:ft|feet|foot|yd|mm|cm|m)\b)?""",
    re.VERBOSE,
)
_THICKNESSES: Final = frozenset("1 5/4 3/2 2 3 4 6 8".split())
_BOARD_THICKNESSES: Final = frozenset("1 5/4 3/2".split())
_WORD: Final = re.compile(r"[,;:.()/\n&+!?]|\#+|[^\W_]+")
_BREAKS: Final = frozenset(",;:.()/\n&+!?")


def _size_sign(match: re.Match[str]) -> str:
    """``#`` for the size of a board, ``##`` for one of framing, nothing for other measures."""
    thick, wide = match["thick"], int(match["wide"])
    in_feet = match["unit"] is not None and match["long"] is None
    if in_feet or thick not in _THICKNESSES or not 2 <= wide <= 16:
        return " "
    if "/" not in thick and (int(thick) > wide or (int(thick) == 8 and wide > 8)):
        return " "
    return " # " if thick in _BOARD_THICKNESSES else " ## "


def _clauses(text: str) -> list[list[str]]:
    """Words of each clause, singular, lower case, ``#`` for a lumber size."""
    found: list[list[str]] = [[]]
    # Single spaces only, so that the pattern of sizes runs through any text in linear time.
    plain = "\n".join(" ".join(line.split()) for line in text.replace("#", " ").splitlines())
    for match in _WORD.finditer(_SIZE.sub(_size_sign, plain.lower())):
        word = match[0]
        if word in _BREAKS:
            found.append([])
        else:
            found[-1].append(_singular(word))
    return found


def _read(words: list[str]) -> list[tuple[int, str, frozenset[Trait]]]:
    """The clause as (place, word or "" for a phrase, what it says), longest phrases first."""
    read: list[tuple[int, str, frozenset[Trait]]] = []
    at = 0
    while at < len(words):
        for length in range(min(_LONGEST, len(words) - at), 0, -1):
            traits = _TABLE.get(tuple(words[at : at + length]))
            if traits is not None:
                denied = at > 0 and words[at - 1] in _NEGATIONS
                read.append((at, "", _NONE if denied else traits))
                at += length
                break
        else:
            read.append((at, words[at], _NONE))
            at += 1
    return read


def _head(words: list[str]) -> tuple[int, int]:
    """Where the thing itself is named: after "of" ("a box of bricks"), before a preposition."""
    end = next((at for at, word in enumerate(words) if word in _PREPOSITIONS), len(words))
    start = max((at + 1 for at in range(end) if words[at] == "of"), default=0)
    return start, end


def _of_clause(words: list[str]) -> frozenset[Trait]:
    """Traits one clause tells."""
    found: set[Trait] = set()
    start, end = _head(words)
    no_sticks = not _NOT_STICKS.isdisjoint(words[start:end])
    for at, word, traits in _read(words):
        if at < start:
            continue
        if at < end and word in _TOOLS:
            return _NONE
        if word == "#" and not no_sticks:
            traits = frozenset({_T.LUMBER})
        if word == "##" and not no_sticks:
            traits = _FRAMING
        if at >= end:
            # "From behind studs" tells where it was, "for a load-bearing wall" what it does.
            traits = _NONE if traits >= _FRAMING else traits & LASTING
        found |= traits
    return frozenset(found)


def guess_traits(name: str, note: str = "") -> frozenset[Trait]:
    """Traits that the words of a name and a note suggest: guesses, for a builder to confirm."""
    found: set[Trait] = set()
    texts = [_clauses(name), _clauses(note)]
    for clauses in texts:
        for words in clauses:
            for part in _split_and(words):
                found |= _of_clause(part)
    every_word = {word for clauses in texts for words in clauses for word in words}
    if _is_gasoline(texts[0], every_word) or tells_of_gasoline(f"{name}\n{note}"):
        found.add(_T.FUEL)
    if _CARRIES_NOTHING.search(f"{name}\n{note}".lower()):
        found.discard(_T.LOAD_BEARING)
    if found & _NO_FINISH:
        found.discard(_T.FINISH)
    return frozenset(found)


# What a note of one delivery can tell of its material; where it went is no matter of the note.
_OF_NOTES: Final = LASTING - {_T.LOAD_BEARING}
_WORDS_OF_NOTES: Final = frozenset(
    word for phrase, traits in _TABLE.items() if traits & _OF_NOTES for word in phrase
)


def guess_lasting(note: str) -> frozenset[Trait]:
    """Traits that the note of one delivery adds to those of the component."""
    # Nearly all notes are about something else, and there may be thousands of them.
    if _WORDS_OF_NOTES.isdisjoint(map(_singular, re.findall(r"[^\W\d_]+", note.lower()))):
        return _NONE
    return guess_traits("", note) & _OF_NOTES


def _is_gasoline(name: list[list[str]], every_word: set[str]) -> bool:
    """Whether the name begins with "gas" and nothing said of it tells of pipes and appliances."""
    if _PIPED & every_word:
        return False
    first = next((words for words in name if words), [])
    start, end = _head(first)
    return "gas" in first[start:end] and set(first[start:end]) <= _KINDS_OF_GAS | {"gas"}


def _split_and(words: list[str]) -> list[list[str]]:
    """A clause cut at "and", unless the "and" is inside a phrase known as a whole."""
    parts: list[list[str]] = [[]]
    for at, word in enumerate(words):
        if word == "and" and tuple(words[max(at - 1, 0) : at + 2]) not in _TABLE:
            parts.append([])
        else:
            parts[-1].append(word)
    return parts
