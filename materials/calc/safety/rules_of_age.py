"""Cautions about paint and fibres of old buildings: what each says, on whose word, and when.

Of the age at which a thing stops being old, the sources speak; unknown age counts as old.
"""

from typing import Final

from materials.calc.safety.conditions import (
    LAST_YEAR_OF_ASBESTOS,
    LAST_YEAR_OF_LEAD,
    is_old_lagging,
    is_paint_unknown,
    may_be_from,
)
from materials.calc.safety.types import Rule, Status, rule
from materials.calc.safety.types import Trait as T

RULES_OF_AGE: Final[tuple[Rule, ...]] = (
    rule(
        "old-paint",
        "Paint that may hold lead",
        "Paint from before 1978, or of unknown age, may hold lead: keep its dust down and have it "
        "tested before you sand, cut or strip it. In housing that old, paid work that disturbs "
        "more than 6 square feet in a room or 20 outside falls under the federal rule on "
        "renovation.",
        source="40 CFR 745.83, as explained by EPA",
        status=Status.PRIMARY,
        dated="EPA page as of 19 January 2021",
        when="Painted material, not new, from before 1978 or of unknown age.",
        applies=lambda item: T.PAINTED in item.traits and may_be_from(item, LAST_YEAR_OF_LEAD),
    ),
    rule(
        "paint-unknown",
        "Is there old paint on it?",
        "Whether this was ever painted is not stated. Paint from before 1978, or of unknown age, "
        "may hold lead: look for it under later coats, tick Painted where there is any, and have "
        "it tested before you sand, cut or strip it.",
        source="40 CFR 745.83, as explained by EPA",
        status=Status.PRIMARY,
        dated="EPA page as of 19 January 2021",
        when="Boards, siding, doors and trim, not new, from before 1978 or of unknown age, where "
        "neither the ticks nor the words say painted or bare.",
        applies=is_paint_unknown,
    ),
    rule(
        "old-window",
        "Window from an old house",
        "A window from before 1978, or of unknown age, may carry lead paint. Where such housing is "
        "worked on for pay, replacing a window never counts as a minor repair, however small it "
        "is.",
        source="40 CFR 745.83, as explained by EPA",
        status=Status.PRIMARY,
        dated="EPA page as of 19 January 2021",
        when="Windows and sashes, not new, from before 1978 or of unknown age.",
        applies=lambda item: T.WINDOW in item.traits and may_be_from(item, LAST_YEAR_OF_LEAD),
    ),
    rule(
        "old-lagging-flooring",
        "Insulation, lagging or flooring that may hold asbestos",
        "Federal work rules presume asbestos in heat insulation and in vinyl or asphalt flooring "
        "from 1980 or earlier until shown otherwise; unknown age counts as that old. Leave it "
        "alone, whole and undisturbed, until a laboratory has looked at a sample.",
        source="29 CFR 1926.1101(k)(1)",
        status=Status.REPRINTED,
        dated="copy without a date",
        when="Insulation other than plastic foam, pipe lagging, and vinyl, linoleum or asphalt "
        "flooring, not new, from 1980 or earlier or of unknown age.",
        applies=is_old_lagging,
    ),
    rule(
        "old-cement-ceiling",
        "Cement siding, ceiling tile or texture that may hold asbestos",
        "Asbestos cannot be told by eye, and federal rules ask for an inspection for it before a "
        "building comes down. Leave old cement siding, ceiling tile and sprayed texture, and any "
        "of unknown age, alone, whole and undisturbed, until a laboratory has looked at a sample.",
        source="40 CFR 61.145 on the inspection; which goods are asked about is common practice, "
        "without a published source",
        status=Status.REPRINTED,
        dated="61.145 read in the edition of 1 July 2002",
        when="Cement (transite) siding, board and pipe, ceiling tile, popcorn and other sprayed "
        "texture, and whatever is named asbestos, not new, from 1980 or earlier or of unknown age.",
        applies=lambda item: (
            T.CEMENT_OR_CEILING in item.traits and may_be_from(item, LAST_YEAR_OF_ASBESTOS)
        ),
    ),
)
