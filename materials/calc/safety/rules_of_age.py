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
        "Paint from before 1978, or of unknown age, may hold lead. Keep its dust down, and "
        "have it tested before you sand, cut or strip it. In housing that old, the "
        "federal rule covers paid work on more than 6 square feet in a room or 20 "
        "outside.",
        source="40 CFR 745.83, as explained by EPA",
        status=Status.PRIMARY,
        dated="EPA page as of 19 January 2021",
        when="Painted material, not new, from before 1978 or of unknown age.",
        applies=lambda item: T.PAINTED in item.traits and may_be_from(item, LAST_YEAR_OF_LEAD),
    ),
    rule(
        "paint-unknown",
        "Is there old paint on it?",
        "Nobody has stated whether this was ever painted. Paint from before 1978, or of "
        "unknown age, may hold lead. Look for it under later coats, and tick Painted if "
        "there is any. Have it tested before you sand, cut or strip it.",
        source="40 CFR 745.83, as explained by EPA",
        status=Status.PRIMARY,
        dated="EPA page as of 19 January 2021",
        when="Boards, siding, doors and trim, not new, from before 1978 or of unknown age, not "
        "stated as painted or bare.",
        applies=is_paint_unknown,
    ),
    rule(
        "old-window",
        "Window from an old house",
        "A window from before 1978, or of unknown age, may carry lead paint. In paid work "
        "on such housing, replacing a window never counts as a minor repair, however small "
        "it is.",
        source="40 CFR 745.83, as explained by EPA",
        status=Status.PRIMARY,
        dated="EPA page as of 19 January 2021",
        when="Windows and sashes, not new, from before 1978 or of unknown age.",
        applies=lambda item: T.WINDOW in item.traits and may_be_from(item, LAST_YEAR_OF_LEAD),
    ),
    rule(
        "old-lagging-flooring",
        "Insulation, lagging or flooring that may hold asbestos",
        "Heat insulation and vinyl or asphalt flooring from 1980 or earlier may hold "
        "asbestos. Federal work rules presume it until shown otherwise. Material of "
        "unknown age counts as old. Leave it whole and undisturbed until a laboratory "
        "has looked "
        "at a sample.",
        source="29 CFR 1926.1101(k)(1)",
        status=Status.REPRINTED,
        dated="",
        read="copy without a date",
        when=(
            "Insulation, pipe lagging, and vinyl, linoleum or asphalt flooring that is not "
            "new. It dates from 1980 or earlier, or its age is not known. Plastic foam is "
            "left out."
        ),
        applies=is_old_lagging,
    ),
    rule(
        "old-cement-ceiling",
        "Cement siding, ceiling tile or texture that may hold asbestos",
        "Nobody can tell asbestos by eye, and federal rules ask for an inspection before a "
        "building comes down. Old cement siding, ceiling tile and sprayed texture may hold "
        "it, as may any of unknown age. Leave it whole and undisturbed until a laboratory "
        "has looked at a sample.",
        source="40 CFR 61.145 on the inspection; the list of goods is common practice, no "
        "published source",
        status=Status.REPRINTED,
        dated="edition of 1 July 2002",
        read="61.145 in that edition",
        when="Cement siding, board and pipe, ceiling tile and sprayed texture, not new, from "
        "1980 or earlier or of unknown age. Whatever is named asbestos counts too.",
        applies=lambda item: (
            T.CEMENT_OR_CEILING in item.traits and may_be_from(item, LAST_YEAR_OF_ASBESTOS)
        ),
    ),
)
