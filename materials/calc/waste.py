"""Allowances for waste that have a source, as suggestions: the builder states the own one."""

from dataclasses import dataclass
from typing import Final

from .kinds import Kind


@dataclass(frozen=True, slots=True)
class Suggestion:
    """An allowance in per cent, from ``least`` to ``most``, and who suggests it for what."""

    least: int
    most: int
    text: str


SUGGESTIONS: Final = {
    "lumber": Suggestion(
        10, 10, "For example 10% for lumber of 2 in and more (Army EN0069A, table 4-1)"
    ),
    "concrete": Suggestion(
        10, 10, "For example 10% for concrete (Navy NAVEDTRA 14070, after P-405)"
    ),
    "boards": Suggestion(15, 15, "For example 15% for boards on a floor (Army EN01136, lesson 5)"),
    "mortar": Suggestion(
        10, 10, "Tables of block mortar include 10% already (Navy NAVEDTRA 14045)"
    ),
    "stabiliser": Suggestion(5, 10, "For example 5 to 10% of compressed earth (trade page)"),
}


def suggested(name: str) -> str:
    """The help below a box for an allowance."""
    return f"Your own figure. {SUGGESTIONS[name].text}."


def usual_waste(kind: Kind | None, name: str) -> str:
    """What a source suggests for a component of a kind; empty where none says anything of it."""
    words = name.casefold()
    if kind is Kind.LUMBER:
        is_floor = "floor" in words
        return suggested("boards" if is_floor else "lumber")
    return suggested("concrete") if kind is Kind.LOOSE and "concrete" in words else ""
