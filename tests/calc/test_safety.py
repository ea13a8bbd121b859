"""The usual cautions: each rule fires and stays silent where it should, names its source, and
never says that anything may be used."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.safety.cautions import (
    DEFERRAL,
    TRAIT_LABELS,
    Caution,
    Item,
    Status,
    Trait,
    all_rules,
    carries_load,
    cautions_by_rule,
    cautions_for,
    guess_traits,
    is_reused,
    with_words,
)
from tests.ratios import grows_evenly
from tests.searches import TIMES

T = Trait
RULES = {rule.caution.code: rule for rule in all_rules()}


def salvage(*traits, **more):
    return Item("thing", source="salvage", traits=frozenset(traits), **more)


def seconds(*traits, how="factory seconds", **more):
    return Item("thing", source="seconds", obtained_by=how, traits=frozenset(traits), **more)


def new(*traits, **more):
    return Item("thing", source="retail", obtained_by="new", traits=frozenset(traits), **more)


def codes(item):
    return [caution.code for caution in cautions_for(item)]


PRIMARY, REPRINTED, MEMORY = Status.PRIMARY, Status.REPRINTED, Status.MEMORY
PENTA = "EPA-approved consumer information sheet, in USDA Forest Service 0677-2809P-MTDC"
CREOSOTE = "EPA registration review of creosote, case 0139, preliminary work plan"
CCA = "Synopsis of EPA-approved consumer information sheets, USDA Wood Handbook FPL-GTR-190"
FIRE = "Concrete masonry TEK 07-05A; report on fire-exposed concrete and masonry, August 1994"
RRP = "40 CFR 745.83, as explained by EPA"
LEAD = "42 USC 300g-6 on lead in drinking water, as explained by EPA"
TALKS = "Jobsite talks on handling gasoline, several publishers"
GAL = Fraction

# code, source, status, dated, items it comes up for, items it does not come up for
TABLE = [
    (
        "reused-material",
        "IRC R104.9.1 and IBC 104.9.1",
        REPRINTED,
        "2012 editions",
        [
            salvage(),
            salvage(is_unused=True),
            seconds(how="second-hand"),
            seconds(how="second-hand", is_unused=True),
            seconds(how=""),
            Item("source not known"),
        ],
        [
            new(),
            seconds(),
            seconds(how="mis-tint"),
            seconds(how="overstock"),
            seconds(how="", is_unused=True),
        ],
    ),
    (
        "ungraded-lumber",
        "IRC R602.1 and R502.1",
        REPRINTED,
        "",
        [
            salvage(T.LUMBER, element_code="B1010"),
            salvage(T.LUMBER, element_code="a10"),
            salvage(T.LUMBER, T.LOAD_BEARING, element_code="C1010"),
            salvage(T.LUMBER, element_code="W1", element_name="Wall framing"),
            seconds(T.LUMBER, element_code="B1020"),
            new(T.LUMBER, T.UNGRADED, element_code="B10"),
            Item("2x6", "B10", traits=frozenset({T.LUMBER})),
        ],
        [
            new(T.LUMBER, element_code="B1010"),
            salvage(T.LUMBER, element_code="C1010"),
            salvage(T.LUMBER),
            salvage(T.MASONRY, element_code="A1010"),
            salvage(T.LUMBER, element_code="B2010", element_name="Framing of no account"),
        ],
    ),
    (
        "foam-facing-room",
        "IRC R316.4",
        REPRINTED,
        "",
        [new(T.FOAM), salvage(T.FOAM, element_code="C3010"), seconds(T.FOAM)],
        [salvage(T.INSULATION), new(T.FOAM, element_code="G2040"), new()],
    ),
    (
        "foam-at-rim",
        "IRC R316.5.11",
        REPRINTED,
        "2018 edition",
        [new(T.SPRAY_FOAM), salvage(T.FOAM, T.SPRAY_FOAM)],
        [new(T.FOAM), salvage(T.INSULATION)],
    ),
    (
        "old-paint",
        RRP,
        PRIMARY,
        "EPA page as of 19 January 2021",
        [
            salvage(T.PAINTED),
            salvage(T.PAINTED, origin_year=1977),
            seconds(T.PAINTED, how="second-hand"),
            seconds(T.PAINTED, origin_year=1960),
        ],
        [
            salvage(T.PAINTED, origin_year=1978),
            salvage(T.LUMBER, origin_year=1950),
            new(T.PAINTED),
            new(T.PAINTED, origin_year=1950),
            seconds(T.PAINTED),
        ],
    ),
    (
        "paint-unknown",
        RRP,
        PRIMARY,
        "EPA page as of 19 January 2021",
        [
            salvage(T.FINISH),
            salvage(T.FINISH, T.LUMBER, origin_year=1940),
            seconds(T.FINISH, how="second-hand", origin_year=1977),
        ],
        [
            salvage(T.FINISH, T.PAINTED, origin_year=1940),
            salvage(T.FINISH, T.UNPAINTED, origin_year=1940),
            salvage(T.FINISH, origin_year=1978),
            salvage(T.LUMBER, origin_year=1940),
            new(T.FINISH),
        ],
    ),
    (
        "old-window",
        RRP,
        PRIMARY,
        "EPA page as of 19 January 2021",
        [salvage(T.WINDOW), salvage(T.WINDOW, origin_year=1925)],
        [salvage(T.WINDOW, origin_year=1978), new(T.WINDOW), salvage(T.PAINTED)],
    ),
    (
        "old-lagging-flooring",
        "29 CFR 1926.1101(k)(1)",
        REPRINTED,
        "",
        [
            salvage(T.INSULATION),
            salvage(T.FLOORING, origin_year=1980),
            seconds(T.FLOORING, origin_year=1965),
        ],
        [
            salvage(T.INSULATION, origin_year=1981),
            salvage(T.INSULATION, T.FOAM),
            new(T.FLOORING),
            seconds(T.FLOORING),
            salvage(T.LUMBER),
        ],
    ),
    (
        "old-cement-ceiling",
        "40 CFR 61.145 on the inspection; the list of goods is common practice, no published "
        "source",
        REPRINTED,
        "edition of 1 July 2002",
        [
            salvage(T.CEMENT_OR_CEILING),
            salvage(T.CEMENT_OR_CEILING, origin_year=1980),
            seconds(T.CEMENT_OR_CEILING, origin_year=1965),
        ],
        [
            salvage(T.CEMENT_OR_CEILING, origin_year=1981),
            new(T.CEMENT_OR_CEILING),
            seconds(T.CEMENT_OR_CEILING),
            salvage(T.FLOORING),
        ],
    ),
    (
        "taking-down",
        "40 CFR 61.141 and 61.145",
        REPRINTED,
        "edition of 1 July 2002",
        [salvage(obtained_by="dismantled"), salvage(element_code="F2010")],
        [salvage(obtained_by="given"), new(element_code="F2010"), salvage(element_code="F1010")],
    ),
    (
        "treated-pole",
        PENTA,
        PRIMARY,
        "2006",
        [salvage(T.POLE_OR_TIE), seconds(T.POLE_OR_TIE, how="auction lot")],
        [new(T.POLE_OR_TIE), salvage(T.TREATED), salvage(T.LUMBER)],
    ),
    (
        "creosote-tie",
        CREOSOTE,
        REPRINTED,
        "2015",
        [salvage(T.POLE_OR_TIE), salvage(T.POLE_OR_TIE, element_code="G2050")],
        [new(T.POLE_OR_TIE), salvage(T.TREATED)],
    ),
    (
        "treated-wood",
        CCA,
        REPRINTED,
        "2010",
        [salvage(T.TREATED), new(T.TREATED)],
        [salvage(T.LUMBER), salvage(T.PAINTED)],
    ),
    (
        "masonry-dust",
        "29 CFR 1926.1153",
        REPRINTED,
        "",
        [new(T.MASONRY), salvage(T.MASONRY), seconds(T.MASONRY)],
        [salvage(T.FLOORING), new()],
    ),
    (
        "masonry-after-fire",
        FIRE,
        REPRINTED,
        "2006 and 1994",
        [salvage(T.MASONRY, through_fire=True)],
        [
            salvage(T.MASONRY),
            salvage(T.LUMBER, through_fire=True),
            new(T.MASONRY, through_fire=True),
        ],
    ),
    (
        "material-after-fire",
        "Common practice, no published source",
        MEMORY,
        "",
        [salvage(through_fire=True), salvage(T.LUMBER, through_fire=True)],
        [
            salvage(T.MASONRY, through_fire=True),
            salvage(T.LUMBER),
            new(T.LUMBER, through_fire=True),
        ],
    ),
    (
        "used-electrical",
        "NEC 110.21(A)(2), 240.2 and 210.15",
        REPRINTED,
        "2020 and 2023 editions",
        [salvage(T.ELECTRICAL), seconds(T.ELECTRICAL, how="second-hand")],
        [new(T.ELECTRICAL), seconds(T.ELECTRICAL, how="overstock"), salvage(T.SOLAR)],
    ),
    (
        "used-solar",
        "NEC 690.4(B) and 690.12",
        REPRINTED,
        "2020 and 2023 editions",
        [salvage(T.SOLAR), seconds(T.SOLAR, how="auction lot")],
        [new(T.SOLAR), salvage(T.ELECTRICAL)],
    ),
    (
        "used-battery",
        "NEC 480.10",
        REPRINTED,
        "2020 edition",
        [salvage(T.BATTERY)],
        [new(T.BATTERY), salvage(T.SOLAR)],
    ),
    (
        "old-plumbing-lead",
        LEAD,
        REPRINTED,
        "EPA page as of 19 January 2017",
        [
            salvage(T.PLUMBING),
            salvage(T.DRINKING_WATER),
            salvage(T.PLUMBING, element_code="D2020"),
            salvage(T.PLUMBING, T.DRINKING_WATER, element_code="D2030"),
        ],
        [
            new(T.PLUMBING, T.DRINKING_WATER),
            new(T.PLUMBING),
            salvage(T.PLUMBING, element_code="D2030"),
            salvage(T.ELECTRICAL),
        ],
    ),
    (
        "lead-metal",
        "42 USC 300g-6 on lead in drinking water, as explained by EPA; handling is "
        "common practice, "
        "no published source",
        REPRINTED,
        "EPA page as of 19 January 2017",
        [new(T.LEAD), salvage(T.LEAD), seconds(T.LEAD, T.PLUMBING)],
        [salvage(T.PLUMBING), salvage(T.BATTERY), new()],
    ),
    (
        "flammable-liquid",
        "29 CFR 1926.152(b)(1)",
        REPRINTED,
        "",
        [
            new(T.SOLVENT),
            salvage(T.FUEL, quantity_gal=GAL(25)),
            seconds(T.SOLVENT, quantity_gal=GAL(0)),
        ],
        [new(T.SOLVENT, quantity_gal=GAL(101, 4)), salvage(T.PAINTED, quantity_gal=GAL(5))],
    ),
    (
        "flammable-over-25-gal",
        "29 CFR 1926.152(b)",
        REPRINTED,
        "",
        [new(T.SOLVENT, quantity_gal=GAL(101, 4)), salvage(T.FUEL, quantity_gal=GAL(55))],
        [new(T.SOLVENT, quantity_gal=GAL(25)), new(T.FUEL), salvage(quantity_gal=GAL(55))],
    ),
    (
        "gasoline-no-thinner",
        TALKS,
        REPRINTED,
        "",
        [new(T.FUEL), salvage(T.FUEL), salvage(T.SOLVENT)],
        [new(T.SOLVENT), salvage(T.PAINTED)],
    ),
]


def test_every_rule_has_its_row_in_order():
    assert [row[0] for row in TABLE] == [rule.caution.code for rule in all_rules()]
    assert all(row[4] and row[5] for row in TABLE)


@pytest.mark.parametrize("row", TABLE, ids=[row[0] for row in TABLE])
def test_rule_fires_and_stays_silent_and_names_its_source(row):
    code, source, status, dated, fires, silent = row
    caution = RULES[code].caution
    assert (caution.source, caution.status, caution.dated) == (source, status, dated)
    for item in fires:
        assert code in codes(item), item
    for item in silent:
        assert code not in codes(item), item


# Figures a text states, beside where they were read.
FIGURES = [
    ("reused-material", ["2012"], "IRC and IBC 2012, as reprinted"),
    ("foam-facing-room", ["1/2 inch gypsum", "23/32 inch wood", "15 minutes"], "IRC R316.4"),
    ("foam-at-rim", ["2018", "3-1/4 inches", "0.5 to 2.0 lb", "25", "450"], "IRC 2018 R316.5.11"),
    ("old-paint", ["before 1978", "6 square feet", "20 outside"], "40 CFR 745.83"),
    ("paint-unknown", ["before 1978"], "40 CFR 745.83"),
    ("lead-metal", ["0.25 percent"], "42 USC 300g-6, EPA page of 2017"),
    ("old-window", ["before 1978"], "40 CFR 745.83"),
    ("old-lagging-flooring", ["1980 or earlier"], "29 CFR 1926.1101(k)(1), as reprinted"),
    ("taking-down", ["10 working days", "260", "160", "35", "four units"], "40 CFR 61.145"),
    ("masonry-dust", ["50 micrograms", "8 hours", "25"], "29 CFR 1926.1153, as reprinted"),
    ("old-plumbing-lead", ["0.25 percent", "0.2 in solder"], "42 USC 300g-6, EPA page of 2017"),
    ("flammable-liquid", ["25 gallons"], "29 CFR 1926.152(b)(1), as reprinted"),
    ("flammable-over-25-gal", ["25 gallons", "60 gallons", "120", "three"], "29 CFR 1926.152(b)"),
]


@pytest.mark.parametrize(("code", "figures", "read_in"), FIGURES, ids=[f[0] for f in FIGURES])
def test_figures_are_those_of_the_source(code, figures, read_in):
    for figure in figures:
        assert figure in RULES[code].caution.text, read_in


def test_no_other_text_states_a_figure():
    stated = {code for code, _, _ in FIGURES}
    for code, rule in RULES.items():
        if code not in stated:
            assert not re.search(r"[0-9]", rule.caution.text), code


CLEARING = re.compile(
    r"\bsafe|\bsafety|harmless|\bno risk|risk.free|without risk|no danger|\bclear(ed|ance)\b"
    r"|\bfine to\b|\ball right\b|nothing to worry|guarantee|good to (go|use)|\bok\b|you may use"
    r"|can be used|poses no|suitable",
    re.IGNORECASE,
)


@pytest.mark.parametrize("code", RULES)
def test_nothing_is_ever_cleared(code):
    rule = RULES[code]
    words = rule.caution
    text = " ".join([words.title, words.text, words.source, words.status, words.dated, rule.when])
    assert not CLEARING.search(text.replace("\n", " ")), text


def test_labels_clear_nothing_and_the_pattern_would_see_it():
    assert not CLEARING.search(" ".join(TRAIT_LABELS.values()) + DEFERRAL)
    for phrase in ["This is safe.", "Harmless", "no risk", "safely", "It can be used indoors"]:
        assert CLEARING.search(phrase)


@pytest.mark.parametrize("code", RULES)
def test_text_is_a_few_sentences_and_sends_on(code):
    text = RULES[code].caution.text
    assert text.endswith(f". {DEFERRAL}")
    own = text.removesuffix(DEFERRAL).strip()
    assert len(re.findall(r"[.!?](?:\s|$)", own)) in range(1, 6), own
    assert DEFERRAL not in own
    assert "  " not in text
    assert len(own) < 420


def test_cautions_are_told_apart():
    cautions = [rule.caution for rule in all_rules()]
    for part in ("code", "title", "text"):
        values = [getattr(caution, part) for caution in cautions]
        assert len(set(values)) == len(values), part
    for caution in cautions:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", caution.code)
        assert caution.title
        assert caution.source
        assert caution.dated or caution.read
        assert caution.status in set(Status)


@pytest.mark.parametrize(
    "code",
    ["old-paint", "paint-unknown", "old-window", "old-lagging-flooring", "old-cement-ceiling"],
)
def test_unknown_age_counts_as_old_and_the_text_says_so(code):
    assert "unknown age" in RULES[code].caution.text
    old = {T.WINDOW, T.FLOORING, T.INSULATION, T.CEMENT_OR_CEILING}
    # Said to be painted, or not said.
    old.add(T.FINISH if code == "paint-unknown" else T.PAINTED)
    assert code in codes(salvage(*old))
    assert code not in codes(salvage(*old, origin_year=2015))


def test_gasoline_is_never_a_thinner():
    text = RULES["gasoline-no-thinner"].caution.text
    assert "never a thinner" in text
    for rule in all_rules():
        assert not re.search(r"thin(ned)? (it |paint )?with gasoline", rule.caution.text, re.I)


def test_new_retail_material_fires_nothing_about_age_or_reuse():
    everything = new(*Trait, element_code="B10", through_fire=True)
    of_age_or_reuse = {
        "reused-material",
        "old-paint",
        "paint-unknown",
        "old-window",
        "old-lagging-flooring",
        "old-cement-ceiling",
        "taking-down",
        "treated-pole",
        "creosote-tie",
        "masonry-after-fire",
        "material-after-fire",
        "used-electrical",
        "used-solar",
        "used-battery",
        "old-plumbing-lead",
    }
    for item in (
        everything,
        replace(everything, origin_year=1900, obtained_by="dismantled"),
        replace(everything, source=" Retail "),
    ):
        assert not of_age_or_reuse & set(codes(item))
    assert codes(new()) == []


def test_reused_material_is_cautioned_once():
    assert codes(salvage(*Trait)).count("reused-material") == 1
    assert codes(salvage()) == ["reused-material"]


def test_only_reuse_is_said_of_a_build_as_a_whole():
    assert [code for code, rule in RULES.items() if rule.caution.is_general] == ["reused-material"]


def test_every_trait_has_a_label_and_a_use():
    assert set(TRAIT_LABELS) == set(Trait)
    for trait in Trait:
        if trait not in {T.LOAD_BEARING, T.UNGRADED, T.LUMBER, T.UNPAINTED}:
            assert len(codes(salvage(trait, origin_year=1900))) > 1, trait
    assert T.LUMBER.value == "lumber"


def test_is_reused_and_carries_load():
    assert is_reused(salvage())
    assert is_reused(Item("x"))
    assert not is_reused(new())
    assert carries_load(Item("x", "A1030"))
    assert carries_load(Item("x", "", "Superstructure"))
    assert carries_load(Item("x", "W1", "Exterior walls"))
    assert carries_load(Item("x", "", "Bearing walls"))
    assert not carries_load(Item("x", "", "Non-bearing walls"))
    assert not carries_load(Item("x", "C10", "Interior construction"))
    assert not carries_load(Item("x"))


def test_order_is_that_of_the_rules_and_repeats():
    order = list(RULES)
    item = salvage(*Trait, obtained_by="dismantled", through_fire=True, element_code="B1010")
    found = codes(item)
    assert found == [code for code in order if code in found]
    assert found == codes(replace(item, traits=frozenset(sorted(Trait, reverse=True))))
    assert all(isinstance(caution, Caution) for caution in cautions_for(item))


def test_a_build_shows_each_caution_once_with_what_it_concerns():
    door = replace(salvage(T.PAINTED), name="Door")
    trim = replace(salvage(T.PAINTED), name="Trim")
    screws = replace(new(), name="Screws")
    found = cautions_by_rule(iter([door, screws, trim]))
    assert [(caution.code, [i.name for i in items]) for caution, items in found] == [
        ("reused-material", ["Door", "Trim"]),
        ("old-paint", ["Door", "Trim"]),
    ]
    assert cautions_by_rule([]) == ()


# What the words of a name suggest. Trade vocabulary: common practice, no published source.
L, LB, UG, PA, WI = T.LUMBER, T.LOAD_BEARING, T.UNGRADED, T.PAINTED, T.WINDOW
TR, PO, FO, SF, IN = T.TREATED, T.POLE_OR_TIE, T.FOAM, T.SPRAY_FOAM, T.INSULATION
FL, MA, EL, SO, BA = T.FLOORING, T.MASONRY, T.ELECTRICAL, T.SOLAR, T.BATTERY
PL, DW, SV, FU = T.PLUMBING, T.DRINKING_WATER, T.SOLVENT, T.FUEL
FI, UP, CE, LD = T.FINISH, T.UNPAINTED, T.CEMENT_OR_CEILING, T.LEAD
GUESSES = [
    ("2x6", {L, LB}),
    ("2x8x12", {L, LB}),
    ("2×4s", {L, LB}),
    ("2 x 10 boards, 14 ft", {L, LB, FI}),
    ('2" x 6" fir', {L, LB}),
    ("5/4x6 deck boards", {L, FI}),
    ("two loads of 2 by 8", {L, LB}),
    ("4X4 post", {L, LB}),
    ("Two-by-fours", {L, LB}),
    ("two by sixes", {L, LB}),
    ("Sawn boards, 1 in", {L, FI}),
    ("Studs", {L, LB}),
    ("STUD, 92-5/8", {L, LB}),
    ("Floor joists", {L, LB}),
    ("Rafter", {L, LB}),
    ("Glulam beam", {L, LB}),
    ("Rough-sawn timbers", {L, UG}),
    ("Ungraded 2x8", {L, LB, UG}),
    ("2x4 studs, no stamp", {L, LB, UG}),
    ("2x6 with nails", {L, LB}),
    ("2x6 full of nails", {L, LB}),
    ("2x6, nail holes", {L, LB}),
    ("Load-bearing 2x6", {L, LB}),
    ("Barn boards", {L, FI}),
    ("Painted 1x6 siding", {L, PA, FI}),
    ("Door, peeling paint", {PA, FI}),
    ("Sash windows", {WI}),
    ("Windows with lead paint", {WI, PA}),
    ("Pressure-treated 4x4", {L, LB, TR}),
    ("PT 2x6", {L, LB, TR}),
    ("penta poles", {TR, PO}),
    ("CCA posts", {L, LB, TR}),
    ("Creosote ties", {TR, PO}),
    ("railroad tie", {TR, PO}),
    ("Planks from railroad ties", {L, TR, PO}),
    ("Telephone poles", {TR, PO}),
    ("Foam board 2 in", {FO, IN}),
    ("XPS", {FO, IN}),
    ("EPS sheets 4x8", {FO, IN}),
    ("Polyiso panels", {FO, IN}),
    ("Rigid foam", {FO, IN}),
    ("Spray foam kit", {FO, SF, IN}),
    ("Fiberglass batts", {IN}),
    ("Pipe lagging", {IN}),
    ("Vermiculite", {IN}),
    ("Vinyl tile", {FL}),
    ("9x9 vinyl asbestos tiles", {FL}),
    ("Linoleum", {FL}),
    ("Flooring, sheet vinyl", {FL}),
    ("CMU", {MA}),
    ("CMUs 8x8x16", {MA}),
    ("Concrete blocks", {MA}),
    ("Block", {MA}),
    ("pallet of bricks", {MA}),
    ("Painted brick", {MA, PA}),
    ("Breaker 20 A", {EL}),
    ("Panelboard", {EL}),
    ("Electrical panel", {EL}),
    ("GFCI receptacles", {EL}),
    ("Solar panels 250 W", {SO}),
    ("PV modules", {SO}),
    ("Batteries, lead-acid", {BA}),
    ("LiFePO4 battery bank", {BA}),
    ("Ball valve", {PL}),
    ("Faucets", {PL}),
    ("Kitchen faucet for drinking water", {PL, DW}),
    ("Copper pipe", {PL}),
    ("Potable water line", {PL, DW}),
    ("Paint thinner", {SV}),
    ("Mineral spirits", {SV}),
    ("lacquer thinner, 5 gal", {SV}),
    ("Gasoline", {FU}),
    ("can of gasoline", {FU}),
    ("Brick & 2x4", {MA, L, LB}),
    ("faucets and valves", {PL}),
    ("Old 2x4 studs", {L, LB}),
    ("2x3 stud", {L, LB}),
    ("2x8, 10 ft", {L, LB}),
    ("Partition studs", {L, LB}),
    ("Non-bearing studs", {L}),
    ("1x6", {L}),
    ("Headers", {L, LB}),
    ("Sill plates", {L, LB}),
    ("Porch posts", {L, LB}),
    ("Transite siding", {CE, FI}),
    ("Asbestos shingles", {CE}),
    ("Popcorn ceiling tile", {CE}),
    ("Acoustic tiles", {CE}),
    ("9x9 asbestos tile", {FL}),
    ("Lead flashing", {LD}),
    ("Roll of sheet lead", {LD}),
    ("Lead pipe", {LD, PL}),
    ("Lead-acid batteries", {BA}),
    ("Barn siding", {FI}),
    ("Old boards", {FI}),
    ("Panel doors", {FI}),
    ("Window and door trim", {WI, FI}),
    ("Unpainted clapboards", {FI, UP}),
    ("XPS board", {FO, IN}),
    ("Asbestos-free siding", {FI}),
    ("gas for cleaning brushes", {FU}),
    ("Gas to thin paint", {FU}),
    ("2 gal of old gas", {FU}),
    ("can of gas", {FU}),
    ("Unleaded", {FU}),
]
# Names that must not be taken for what a word in them says.
QUIET = [
    "",
    "Blockout curtain",
    "Block-out curtain",
    "Block and tackle",
    "Paint brush",
    "Glass block",
    "Butcher block counter",
    "Engine block heater",
    "Stud finder",
    "Metal studs",
    "Wheel studs",
    "Joist hanger",
    "2x6 joist hangers",
    "Concrete screws",
    "Masonry bit 1/4 in",
    "Brick ties",
    "Brick hammer",
    "Brickmould",
    "Brick mold 7 ft",
    "Screws for 2x6 studs",
    "Window film",
    "Window screens",
    "Sash cord",
    "Battery charger",
    "AA batteries",
    "Breaker bar",
    "Cement board",
    "Circuit board",
    "Kerosene heater",
    "Gas range",
    "Gasoline-powered compactor",
    "Window trim",
    "Perforated drain pipe",
    "Steel drum, 55 gal",
    "Diesel generator",
    "Cable ties",
    "Zip ties",
    "Curtain pole",
    "Flag pole",
    "Oak flooring",
    "Porcelain floor tile",
    "12x12 tile",
    "2x4 troffer",
    "4x8 plywood",
    "8x10 ft tarp",
    "24x36 sign",
    "Vinyl siding",
    "Latex paint, blue",
    "Masonry paint",
    "Deck stain",
    "Thinner gauge tin",
    "Steel beam",
    "Composite decking",
    "Solvent-free adhesive",
    "Valve cover",
    "Foam mattress",
    "Drywall",
    "Metal roofing",
    "Gas pipe",
    "Gas pipe, cleaned",
    "Gas stove",
    "Stove, gas",
    "Natural gas",
    "Natural gas for the stove",
    "Gas line for heating",
    "Gas valve cleaning kit",
    "Gas: hookup",
    "Fence posts",
    "Post caps",
    "Steel posts",
    "Door knobs",
    "Steel door",
    "Vinyl trim",
    "Gypsum board",
    "Whiteboard",
    "Lead time allowance",
    "Lead-free flashing",
    "Posters",
    "Headerless kit",
    "Student desk",
]


@pytest.mark.parametrize(("name", "expected"), GUESSES, ids=[g[0] for g in GUESSES])
def test_guess(name, expected):
    assert guess_traits(name) == expected


@pytest.mark.parametrize("name", QUIET)
def test_no_guess(name):
    assert guess_traits(name) == frozenset()


@pytest.mark.parametrize(
    ("name", "note", "expected"),
    [
        ("Posts", "Creosoted, off the old pier", {L, LB, TR}),
        ("Planks", "never painted", {L, UP}),
        ("2x8", "untreated; not painted", {L, LB, UP}),
        ("Lumber", "non-treated", {L}),
        ("Doors", "came off a house with brick walls", {FI}),
        ("Doors", "from a barn painted red", {PA, FI}),
        ("Boxes", "Lagging on some.\nGasoline nearby? no", {IN, FU}),
        ("Trim", "signs of peeling paint", {PA, FI}),
        ("Studs", "for a partition, not load-bearing", {L}),
        ("Old siding", "bare, never painted", {FI, UP}),
        ("Gas", "for cleaning brushes", {FU}),
        ("Gas", "hookup of the range", set()),
        ("Shelf", "from behind old studs", set()),
        ("Pallets", "heat treated (HT)", set()),
    ],
)
def test_guess_from_the_note(name, note, expected):
    assert guess_traits(name, note) == expected


def test_guess_in_plural_and_any_case_is_the_same():
    for word in ("stud", "brick", "battery", "sash", "valve", "truss", "railroad tie"):
        plural = {"battery": "batteries", "sash": "sashes", "truss": "trusses"}.get(
            word, word + "s"
        )
        assert guess_traits(word) == guess_traits(plural) == guess_traits(plural.upper())
        assert guess_traits(word)


checked = settings(max_examples=150 * TIMES, deadline=None, derandomize=True, database=None)
WORDS = st.sampled_from(
    '2x6 stud of and no not painted tie brick block from for without , / # pt x " 8 by ft'.split()
)
TEXT = st.text(max_size=60) | st.lists(WORDS, max_size=12).map(" ".join)


@checked
@given(
    name=TEXT,
    note=TEXT,
    code=TEXT,
    element=TEXT,
    source=st.sampled_from(["salvage", "seconds", "retail", ""]) | TEXT,
    how=TEXT,
    traits=st.frozensets(st.sampled_from(Trait)),
    year=st.none() | st.integers(-(10**6), 10**6),
    fire=st.booleans(),
    gallons=st.none() | st.fractions(),
)
def test_any_text_is_taken_and_repeats(
    name, note, code, element, source, how, traits, year, fire, gallons
):
    guessed = guess_traits(name, note)
    assert guessed == guess_traits(name, note)
    item = Item(
        name, code, element, source, how, traits | guessed, year, fire, note, quantity_gal=gallons
    )
    found = cautions_for(item)
    assert found == cautions_for(item)
    order = [rule.caution for rule in all_rules()]
    places = [order.index(caution) for caution in found]
    assert places == sorted(set(places))
    assert dict(cautions_by_rule([item])) == {caution: (item,) for caution in found}


@pytest.mark.parametrize(
    "piece",
    [
        "1 ",
        " ",
        "2x",
        "2 by ",
        "brick ",
        "not ",
        "and ",
        "9" * 9,
        "of ",
        "after the ",
        "clean with ",
    ],
)
def test_time_grows_no_faster_than_the_text(piece):
    def read(length: int) -> object:
        text = piece * length
        return guess_traits(text, "2" + text), with_words(
            Item(text), "no " + text, places=["2" + text]
        )

    assert grows_evenly(read, 1_000)
