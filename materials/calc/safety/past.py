"""What words no box asks for say of the past: a fire, gasoline as thinner, no use yet.

Read clause by clause in names, notes and places. Compounds ("fireplace brick", "burnt sienna",
"gas stove") and denials ("no smoke damage") say nothing. Common practice, no published source.
"""

import re
from functools import lru_cache
from typing import Final

_CLAUSE: Final = re.compile(r"[^,;:.!?()\n]+")
_NO_FIRE: Final = r"""(?![\s-]*(?:place|pit|brick|clay|door|stop|block|wall|rat(?:ed|ing)|proof
    |station|house|hall|truck|engine|department|brigade|alarm|escape|hydrant|hose|extinguisher
    |sprinkler|retardant|resist\w*|sale|wood|side|box|back|starter|cement|caulk|sealant|screen
    |ring|bowl|surround|mantel|grate|code|exit|red|opal|s?\b\s*(?:safety|insurance))\w*)"""
_FIRE: Final = r"(?:house|barn|shop|roof|kitchen|attic|forest|brush|garage|mill|stove|chimney|wild)"
_BURNT: Final = r"""(?<!hard[\s-])(?<!well[\s-])(?<!kiln[\s-])(?<!clamp[\s-])(?<!over[\s-])
    (?<!under[\s-])(?<!wood[\s-])(?<!dead[\s-])\bburn(?:ed|t)\b
    (?![\s-]*(?:lime|sienna|umber|orange|red|ochre|sugar|caramel|almond|copper|bronze|clay|earth
    |out\s(?:bulb|motor|fuse|lamp|element|ballast|transformer|pump)|hills?|mills?|creek|trees?
    |store|river|ridge|oaks?|islands?|points?|church|lane|roads?|street|corners?|ranch|prairie
    |woods?|in\b|cd|dvd|[\w-]*finish|stain|paint)\b)"""
# Said just before, it denies what follows.
_DENIED: Final = r"""\b(?:not|no|never|without|free\sof|isn't|wasn't|aren't|weren't|nor|nothing)
    (?:\s(?:a|any|been|in|through|the|sign|signs|trace|traces|of|ever|at|all|visible|or|smoke|fire
    |damage|damaged|burned|burnt|charred|scorched|soot|sooty)){0,5}\s*$"""


def _words(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern, re.VERBOSE)


_FIRES: Final = _words(
    rf"""{_BURNT}|\b(?:charred|scorched|singed|sooty|soot|smoke[\s-]?black(?:ened)?)\b
    |\bburn[\s-](?:damage[d]?|marks?|scars?)\b
    |\bsmoke[\s-]?(?:damaged?|stain(?:s|ed)?|smell|tainted)\b|\bsmell(?:s|ing)?\sof\ssmoke\b
    |\b(?:fire|heat)[\s-]?damaged?\b
    |\b(?:after|from|in|through|survived|since|out\sof|by|gutted\sby)\s
     (?:(?:the|a|an|that|our|their|last)\s)(?:[\w']+\s){{0,2}}?(?:{_FIRE}\s?)?
     (?:fire|blaze){_NO_FIRE}
    |\b(?:after|survived|gutted\sby|damaged\sby)\s(?:{_FIRE}\s?)?(?:fire|wildfire|blaze){_NO_FIRE}
    |\bwildfire\b|\bgutted\sby\b|\bcaught\sfire\b"""
)
_NOT_CHAR: Final = re.compile(r"\bburn(?:ed|t)[\s-](?:off|away)\spaint|\bpaint\sburn(?:ed|t)\soff")
_GAS: Final = r"(?:gas|gasoline|petrol|unleaded|benzine)"
_THINS: Final = r"""(?:thinn?(?:ed|ing|er|s)?|cut(?:s|ting)?|dilut\w+|clean(?:ed|ing|er|s|up)?
    |wip(?:e|ed|ing|es)|wash(?:ed|ing|es)?|degreas\w+|strip(?:ped|ping)?|soak(?:ed|ing)?
    |rins(?:e|ed|ing)|let\sdown)"""
_WITH_GAS: Final = _words(
    rf"""\b{_THINS}\b(?:\s(?!stove|line|pipe|saw|torch)[\w'-]+){{0,4}}?\s(?:with|in|using|by)
     (?:\s(?!natural|propane|no)[\w/-]+){{0,3}}?\s{_GAS}\b
     (?=\s*$|\s(?:and|or|before|then|at|on|to|after|so|as|when|if|last|first|until|for)\b)
    |\b{_GAS}[\s-](?:thinned|cut)\b
    |\b{_GAS}\s(?:\w+\s)?(?:to|for)\s(?:\w+\s)?{_THINS}\b(?!\s(?:gas|the\sstove|stove))
    |\b{_GAS}\s(?:used\s)?as\s(?:a\s|the\s)?(?:paint\s|brush\s)?(?:thinner|cleaner|solvent|cleanup)
    |\b(?:thinner|cleaner|solvent)\s(?:is|was|=)\s(?:just\s|really\s)?{_GAS}\b"""
)
_PIPED_GAS: Final = re.compile(
    r"\b(?:natural|propane|lp|bottled|welding) gas\b|\bgas (?:stove|range|line|pipe|heater|furnace"
    r"|boiler|saw|torch|powered|valve|meter|grill|oven|dryer|fireplace)"
)
_UNUSED: Final = _words(
    r"""\b(?:unused|never[\s-](?:used|installed|opened|hung|laid)|not\sused|uninstalled|unopened
    |mis[\s-]?tint(?:s|ed)?|factory\s(?:seconds?|blems?)|over[\s-]?stock(?:ed|s)?|overrun|closeout
    |clearance|discontinued|blem(?:s|ished)?|new\sold\sstock|new\sin\sbox|still\sin\s(?:the\s)?
    (?:box|boxes|wrap|plastic)|brand[\s-]new|surplus|end\sof\s(?:line|run))\b"""
)
_USED: Final = re.compile(
    r"\b(?:second[\s-]?hand|reclaimed|salvaged?|torn out|taken (?:down|out|off)|pulled from"
    r"|dismantled|pre[\s-]?owned|(?<!never )(?<!not )(?<!never-)used)\b"
)


# Hardly any text holds one of these, and only such a text is read clause by clause.
_MAY_TELL_FIRE: Final = re.compile(r"burn|char|scorch|sing|soot|smoke|fire|blaze|heat|gutted")
_MAY_TELL_UNUSED: Final = re.compile(
    r"un(?:used|open|install)|never|not used|mis[\s-]?tint|factory|stock|overrun|closeout|clearance"
    r"|discontinued|blem|still in|brand|surplus|end of|new in"
)
_MAY_TELL_GAS: Final = re.compile(r"gas|petrol|unleaded|benzine")


def _clauses(text: str) -> list[str]:
    return [" ".join(part.split()) for part in _CLAUSE.findall(text.lower().replace("’", "'"))]


def _is_said(pattern: re.Pattern[str], clause: str) -> bool:
    """Whether the clause says so anywhere without denying it just before."""
    return any(
        not re.search(_DENIED, clause[max(0, found.start() - 60) : found.start()], re.VERBOSE)
        for found in pattern.finditer(clause)
    )


@lru_cache(maxsize=4096)
def tells_of_fire(text: str) -> bool:
    """Whether words say that a thing, or the place it came from, burned."""
    return bool(_MAY_TELL_FIRE.search(text.lower())) and any(
        _is_said(_FIRES, clause) and not _NOT_CHAR.search(clause) for clause in _clauses(text)
    )


@lru_cache(maxsize=4096)
def tells_of_gasoline(text: str) -> bool:
    """Whether words say that gasoline thins or cleans."""
    return bool(_MAY_TELL_GAS.search(text.lower())) and any(
        _is_said(_WITH_GAS, clause) and not _PIPED_GAS.search(clause) for clause in _clauses(text)
    )


@lru_cache(maxsize=4096)
def tells_unused(text: str) -> bool:
    """Whether words say that a thing was never in use."""
    if not _MAY_TELL_UNUSED.search(text.lower()):
        return False
    found = _clauses(text)
    return any(_is_said(_UNUSED, clause) for clause in found) and not any(
        _USED.search(clause) for clause in found
    )
