"""The usual cautions: what each says, on whose word, and when it comes up.

Every figure and date was read in the source named or in a copy of it, or is marked as remembered.
A caution never says that something may be used; where none comes up, nothing was looked into.
"""

from typing import Final

from materials.calc.safety.conditions import (
    feeds_taps,
    is_flammable,
    is_over_limit,
    is_reused,
    is_taken_down,
    needs_grade,
)
from materials.calc.safety.rules_of_age import RULES_OF_AGE
from materials.calc.safety.types import Rule, Status, rule
from materials.calc.safety.types import Trait as T

RULES: Final[tuple[Rule, ...]] = (
    rule(
        "reused-material",
        "Reused material in permitted work",
        "The 2012 model residential code asks for approval before anything used goes in, where "
        "the work needs a permit. The model building code of that year asks the same of reused "
        "materials as of new ones.",
        source="IRC R104.9.1 and IBC 104.9.1",
        status=Status.REPRINTED,
        dated="2012 editions",
        when="Anything that may have been in use before.",
        applies=is_reused,
        is_general=True,
    ),
    rule(
        "ungraded-lumber",
        "Lumber without a grade in a part that carries load",
        "Studs and joists that carry load need a grade mark, or a certificate of inspection "
        "instead. Old boards rarely show a mark. Ask the inspector how to grade them before "
        "they go in.",
        source="IRC R602.1 and R502.1",
        status=Status.REPRINTED,
        dated="",
        read="edition not stated",
        when="Lumber from salvage or seconds, or without a grade stamp, that carries load. That "
        "is known by a tick, a framing size, a framing name or the element.",
        applies=needs_grade,
    ),
    rule(
        "foam-facing-room",
        "Plastic foam that would face a room",
        "The model residential code puts a thermal barrier between foam and a living space. "
        "That is 1/2 inch gypsum board, 23/32 inch wood panel, or a covering that passed a "
        "test of 15 minutes.",
        source="IRC R316.4",
        status=Status.REPRINTED,
        dated="",
        read="edition not stated",
        when="Plastic foam anywhere but in sitework.",
        applies=lambda item: (
            T.FOAM in item.traits and not item.element_code.strip().upper().startswith("G")
        ),
    ),
    rule(
        "foam-at-rim",
        "Spray foam at sill plates and rim joists",
        "The 2018 model residential code limits spray foam without a thermal barrier at "
        "sills and rim joists. It takes up to 3-1/4 inches at 0.5 to 2.0 lb per cubic foot. "
        "Its flame spread is at most 25 and its smoke index at most 450.",
        source="IRC R316.5.11",
        status=Status.REPRINTED,
        dated="2018 edition",
        when="Spray foam.",
        applies=lambda item: T.SPRAY_FOAM in item.traits,
    ),
    *RULES_OF_AGE,
    rule(
        "taking-down",
        "Taking a building down",
        "Before a building comes down, federal rules ask for a check for asbestos. They "
        "ask for notice about 10 working days ahead. More rules follow from 260 linear "
        "feet on "
        "pipes, 160 square feet, or 35 cubic feet of it. Homes of four units or fewer are "
        "mostly exempt unless part of a bigger project. The fibres are the same.",
        source="40 CFR 61.141 and 61.145",
        status=Status.REPRINTED,
        dated="edition of 1 July 2002",
        read="61.145 in that edition",
        when="Anything dismantled, or used to take a building down.",
        applies=is_taken_down,
    ),
    rule(
        "treated-pole",
        "Old pole or timber, perhaps with penta",
        "Old poles and timbers may be treated with pentachlorophenol. The federal sheet "
        "keeps such wood out of log homes and rooms and away from bare skin. Each of its "
        "few exceptions asks for a sealer.",
        source="EPA-approved consumer information sheet, in USDA Forest Service 0677-2809P-MTDC",
        status=Status.PRIMARY,
        dated="2006",
        when="Poles and ties that may have been in use before.",
        applies=lambda item: T.POLE_OR_TIE in item.traits and is_reused(item),
    ),
    rule(
        "creosote-tie",
        "Old tie or pole in garden or wall",
        "Creosote is usual in railroad ties and has no approved use on wood for homes. "
        "Federal pesticide law does not cover the reuse of a tie, which is no consent. Keep "
        "old ties out of growing beds and away from bare skin.",
        source="EPA registration review of creosote, case 0139, preliminary work plan",
        status=Status.REPRINTED,
        dated="2015",
        when="Poles and ties that may have been in use before.",
        applies=lambda item: T.POLE_OR_TIE in item.traits and is_reused(item),
    ),
    rule(
        "treated-wood",
        "Treated wood: cutting, burning, food",
        "Treated wood may hold arsenic (CCA). Wear a dust mask to cut it. Take all the "
        "sawdust away if you used it indoors. Never burn it. Keep it from food, animal feed "
        "and what they grow in.",
        source="Synopsis of EPA-approved consumer information sheets, USDA Wood Handbook "
        "FPL-GTR-190",
        status=Status.REPRINTED,
        dated="2010",
        when="Treated wood, new wood too.",
        applies=lambda item: T.TREATED in item.traits,
    ),
    rule(
        "masonry-dust",
        "Dust of block, brick and concrete",
        "Cutting or grinding block, brick or concrete throws fine silica dust. At work the "
        "federal limit is 50 micrograms per cubic metre of air over 8 hours, and duties "
        "begin at 25. Keep the dust out of the air and out of your lungs.",
        source="29 CFR 1926.1153",
        status=Status.REPRINTED,
        dated="",
        read="copy without a date",
        when="Block, brick and concrete, new or not.",
        applies=lambda item: T.MASONRY in item.traits,
    ),
    rule(
        "masonry-after-fire",
        "Block or concrete that went through a fire",
        "Have masonry from a burnt building inspected before you build with it again. A "
        "pink tint marks concrete that was heated through, but do not judge by colour "
        "alone.",
        source="Concrete masonry TEK 07-05A; report on fire-exposed concrete and masonry, "
        "August 1994",
        status=Status.REPRINTED,
        dated="2006 and 1994",
        when="Block, brick and concrete, not new, that went through a fire. That is known by a "
        "tick, a name, a note or a place.",
        applies=lambda item: T.MASONRY in item.traits and item.through_fire and is_reused(item),
    ),
    rule(
        "material-after-fire",
        "Wood, metal or gear that went through a fire",
        "Charring takes sound wood away. Heat weakens metal, wiring and plastics where "
        "nothing shows. Have what carries load or current inspected before it goes in. Keep "
        "soot off skin and out of your lungs.",
        source="Common practice, no published source",
        status=Status.MEMORY,
        dated="",
        read="undated",
        when="Anything else, not new, that went through a fire. That is known by a tick, a name, "
        "a note or a place.",
        applies=lambda item: T.MASONRY not in item.traits and item.through_fire and is_reused(item),
    ),
    rule(
        "used-electrical",
        "Used electrical gear",
        "Rebuilt electrical gear must show who rebuilt it, the date and the word "
        "reconditioned. Its first listing alone is not enough for approval. Molded-case "
        "breakers, GFCI and AFCI devices may not be reconditioned at all.",
        source="NEC 110.21(A)(2), 240.2 and 210.15",
        status=Status.REPRINTED,
        dated="2020 and 2023 editions",
        when="Electrical gear that may have been in use before.",
        applies=lambda item: T.ELECTRICAL in item.traits and is_reused(item),
    ),
    rule(
        "used-solar",
        "Second-hand solar modules",
        "Expect to be asked for modules and inverters that are listed or tested for "
        "solar use. Expect the same of a rapid shutdown where solar circuits are on or "
        "in a building.",
        source="NEC 690.4(B) and 690.12",
        status=Status.REPRINTED,
        dated="2020 and 2023 editions",
        when="Solar modules that may have been in use before.",
        applies=lambda item: T.SOLAR in item.traits and is_reused(item),
    ),
    rule(
        "used-battery",
        "Second-hand batteries",
        "Batteries that give off explosive gas need enough ventilation that none builds up. "
        "All batteries need working space around them.",
        source="NEC 480.10",
        status=Status.REPRINTED,
        dated="2020 edition",
        when="Batteries that may have been in use before.",
        applies=lambda item: T.BATTERY in item.traits and is_reused(item),
    ),
    rule(
        "old-plumbing-lead",
        "Used plumbing and drinking water",
        "Used valves, faucets and soldered joints may hold more lead than the law now "
        "allows. It allows a weighted average of 0.25 percent over wetted surfaces, and 0.2 "
        "in solder and flux. Keep them off any line that people drink or cook from.",
        source="42 USC 300g-6 on lead in drinking water, as explained by EPA",
        status=Status.REPRINTED,
        dated="EPA page as of 19 January 2017",
        when="Plumbing, other than waste and rain water lines, that may have been in use before.",
        applies=feeds_taps,
    ),
    rule(
        "lead-metal",
        "Lead sheet, pipe or flashing",
        "The name says lead. Federal law limits the lead in drinking water parts. The "
        "limit is a weighted average of 0.25 percent over wetted surfaces. Keep it off "
        "any line or roof whose water people or animals drink. Handle it with gloves, wash "
        "before you eat, and keep its dust and scraps from children.",
        source="42 USC 300g-6 on lead in drinking water, as explained by EPA; handling is common "
        "practice, no published source",
        status=Status.REPRINTED,
        dated="EPA page as of 19 January 2017",
        when="Lead as sheet, flashing, pipe or came, new or not.",
        applies=lambda item: T.LEAD in item.traits,
    ),
    rule(
        "flammable-liquid",
        "Thinner, solvent and fuel in a room",
        "On building sites no more than 25 gallons of flammable liquid may be in a room "
        "outside an approved cabinet. All cans in the room count together.",
        source="29 CFR 1926.152(b)(1)",
        status=Status.REPRINTED,
        dated="",
        read="copy without a date",
        when="Solvents and fuels, up to 25 gallons or of unknown quantity.",
        applies=lambda item: is_flammable(item) and not is_over_limit(item),
    ),
    rule(
        "flammable-over-25-gal",
        "More than 25 gallons of flammable liquid",
        "This is more than the 25 gallons allowed in a room of a building site outside an "
        "approved cabinet. A cabinet takes 60 gallons (120 of the least flammable class), "
        "and an area three cabinets.",
        source="29 CFR 1926.152(b)",
        status=Status.REPRINTED,
        dated="",
        read="copy without a date",
        when="Solvents and fuels, more than 25 gallons.",
        applies=is_over_limit,
    ),
    rule(
        "gasoline-no-thinner",
        "Gasoline is never a thinner",
        "Gasoline is a fuel, and never a thinner or a cleaner. Its vapour is heavier than "
        "air and lights at a distant spark. Thin and clean only with what the paint's label "
        "names. Never use a can of unknown contents.",
        source="Jobsite talks on handling gasoline, several publishers",
        status=Status.REPRINTED,
        dated="",
        read="undated",
        when="Fuels, and solvents that may have been in use before.",
        applies=lambda item: (
            T.FUEL in item.traits or (T.SOLVENT in item.traits and is_reused(item))
        ),
    ),
)
