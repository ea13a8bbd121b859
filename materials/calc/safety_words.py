"""Traits guessed from the words of a component's name and note.

A guess only saves ticking boxes; the builder's tick decides. Words are read whole, whatever their
case, singular or plural, clause by clause. Longer phrases go before shorter ones, so that
"glass block" is no masonry. A clause about a tool, a fastener or a coating ("joist hanger",
"masonry bit") says nothing. What follows "from", "for", "with" and the like is another thing, of
which only what stays with the material counts: "planks from railroad ties" are treated wood.
"""

import re
from typing import Final

from materials.calc.safety_types import Trait

_T: Final = Trait
_NONE: Final[frozenset[Trait]] = frozenset()
_NEGATIONS: Final = frozenset("not no never non un without".split())
_PREPOSITIONS: Final = frozenset(
    "for from off with without to behind under over near on in against w inside around full".split()
)
# Holds good of the material wherever in the clause it is said.
_LASTING: Final = frozenset(
    {_T.LOAD_BEARING, _T.UNGRADED, _T.PAINTED, _T.TREATED, _T.POLE_OR_TIE, _T.DRINKING_WATER}
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

# Phrases by what they say; those without a trait say nothing and hide the words in them.
_PHRASES: Final[tuple[tuple[tuple[Trait, ...], str], ...]] = (
    (
        (),
        """glass block|butcher block|sanding block|engine block|terminal block|pulley block
        block and tackle|block out|wood block|brick mold|brick mould|brick tie|cement board
        concrete board|concrete form|metal stud|steel stud|wheel stud|steel joist|bar joist
        metal joist|steel beam|concrete beam|i beam|laser beam|light beam|metal truss|steel truss
        composite decking|plastic lumber|heat treated|heat treatment|fire retardant treated
        gas valve|valve cover|valve box|solar shade|solar screen|solar light|solar tube
        aa battery|aaa battery|wood flooring|hardwood flooring|oak flooring
        maple flooring|pine flooring|fir flooring|laminate flooring|bamboo flooring|cork flooring
        engineered flooring|ceramic floor tile|porcelain floor tile|window well|window shade
        window blind|window box|window screen|window unit|window fan|window ac
        window air conditioner|window trim|sash cord|sash weight|solvent free|fuel can|gasoline can
        breaker bar|circuit board|nail free|nail hole|screw hole|bolt hole""",
    ),
    (
        (_T.LUMBER,),
        """stud|lumber|timber|plank|floorboard|barn board|floor board|deck board|fence board
        pallet board|pine board|oak board|cedar board|fir board|sawn board|decking|sill plate
        top plate|header|ledger board|two by four|two by six|two by eight|two by ten
        two by twelve""",
    ),
    (
        (_T.LUMBER, _T.LOAD_BEARING),
        "joist|rafter|girder|purlin|truss|beam|glulam|roof timber|floor timber",
    ),
    ((_T.LOAD_BEARING,), "load bearing|loadbearing|structural"),
    (
        (_T.UNGRADED,),
        """ungraded|unstamped|no stamp|no grade stamp|no grade mark|without stamp
        without grade stamp|not graded|not stamped""",
    ),
    ((_T.LUMBER, _T.UNGRADED), "rough sawn|rough cut lumber|roughsawn"),
    (
        (_T.PAINTED,),
        "painted|repainted|lead paint|peeling paint|flaking paint|chipped paint"
        "|chipping paint|paint peeling|paint flaking|paint chipping",
    ),
    ((_T.WINDOW,), "window|sash"),
    (
        (_T.TREATED,),
        """treated|penta|pentachlorophenol|cca|acza|creosote|creosoted|arsenical|copper arsenate
        chromated copper arsenate|pressure treated|landscape timber|pt lumber|pt post""",
    ),
    (
        (_T.LUMBER, _T.TREATED),
        "pt #|# pt",
    ),
    (
        (_T.POLE_OR_TIE, _T.TREATED),
        """railroad tie|railway tie|rail tie|rr tie|crosstie|crossties|railway sleeper
        railroad sleeper|creosote tie|creosoted tie|treated tie|utility pole|telephone pole
        power pole|creosote pole|creosoted pole|treated pole|penta pole|cca pole""",
    ),
    (
        (_T.FOAM, _T.INSULATION),
        """foam board|foamboard|foam panel|foam sheet|foam sheathing|rigid foam|foam insulation
        insulation foam|rigid insulation|xps|eps|polyiso|polyisocyanurate|polystyrene
        extruded polystyrene|expanded polystyrene|styrofoam""",
    ),
    (
        (_T.FOAM, _T.SPRAY_FOAM, _T.INSULATION),
        "spray foam|sprayfoam|spray polyurethane foam|spray foam insulation",
    ),
    (
        (_T.INSULATION,),
        "insulation|batt|lagging|rock wool|rockwool|mineral wool|glass wool|vermiculite|pipe wrap",
    ),
    (
        (_T.FLOORING,),
        """vinyl tile|vinyl asbestos tile|vinyl composition tile|vct|vinyl flooring|vinyl floor
        sheet vinyl|vinyl sheet|vinyl plank|linoleum|lino|asphalt tile|floor tile|flooring
        resilient flooring|asbestos tile""",
    ),
    (
        (_T.MASONRY,),
        """cmu|cmus|block|brick|firebrick|cinderblock|cinder block|concrete block|concrete|paver
        masonry|mortar|cobblestone""",
    ),
    (
        (_T.ELECTRICAL,),
        """breaker|circuit breaker|panelboard|breaker panel|electrical panel|electric panel
        load center|breaker box|fuse box|gfci|afci|switchgear|receptacle|light switch
        transfer switch|disconnect switch|light fixture|meter base|transformer|inverter|romex
        nm cable|copper wire|electrical wire|wiring|electrical|conduit|electrical outlet""",
    ),
    (
        (_T.SOLAR,),
        "solar panel|solar module|solar array|pv panel|pv module|pv array|photovoltaic",
    ),
    ((_T.BATTERY,), "battery|battery bank|lifepo4"),
    (
        (_T.PLUMBING,),
        """valve|faucet|spigot|hose bib|hose bibb|copper pipe|copper tubing|copper fitting
        brass fitting|pipe fitting|galvanized pipe|water pipe|water line|supply line|pex|solder
        plumbing|lead pipe""",
    ),
    ((_T.DRINKING_WATER,), "drinking water|potable"),
    (
        (_T.SOLVENT,),
        """paint thinner|lacquer thinner|mineral spirit|white spirit|turpentine|turps|naphtha
        acetone|xylene|toluene|methyl ethyl ketone|mek|denatured alcohol|solvent""",
    ),
    (
        (_T.FUEL,),
        "gasoline|petrol|diesel|diesel fuel|kerosene|white gas|fuel oil|heating oil|camp fuel",
    ),
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
    for traits, text in _PHRASES:
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
_WORD: Final = re.compile(r"[,;:.()/\n&+!?]|\#|[^\W_]+")
_BREAKS: Final = frozenset(",;:.()/\n&+!?")


def _size_sign(match: re.Match[str]) -> str:
    """``#`` for the size of a stick, nothing for other measures."""
    thick, wide = match["thick"], int(match["wide"])
    in_feet = match["unit"] is not None and match["long"] is None
    if in_feet or thick not in _THICKNESSES or not 2 <= wide <= 16:
        return " "
    if "/" not in thick and (int(thick) > wide or (int(thick) == 8 and wide > 8)):
        return " "
    return " # "


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
        found |= traits if at < end else traits & _LASTING
    return frozenset(found)


def guess_traits(name: str, note: str = "") -> frozenset[Trait]:
    """Traits that the words of a name and a note suggest: guesses, for a builder to confirm."""
    found: set[Trait] = set()
    for text in (name, note):
        for words in _clauses(text):
            for part in _split_and(words):
                found |= _of_clause(part)
    return frozenset(found)


def _split_and(words: list[str]) -> list[list[str]]:
    """A clause cut at "and", unless the "and" is inside a phrase known as a whole."""
    parts: list[list[str]] = [[]]
    for at, word in enumerate(words):
        if word == "and" and tuple(words[max(at - 1, 0) : at + 2]) not in _TABLE:
            parts.append([])
        else:
            parts[-1].append(word)
    return parts
