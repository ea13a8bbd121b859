"""A mix of anything by parts: lime plaster, cob, concrete, potting soil."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.mixes import VOLUMES, allowance_ask, drawn_parts, measured
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, Sized, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say, counted, number, round_up

F = Fraction


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    parts: Sequence[Sized] = given["parts"]
    names = [part.name.casefold() for part in parts]
    if len(set(names)) < len(names):
        raise TakeoffError("A part stands there twice: give each one line.", "parts")
    needed, figures, text = measured(say, given, "Mix")
    whole = sum((part.each for part in parts), F(0))
    share = given["yield"]
    short = f" ÷ {number(share * 100)}%" if share != 1 else ""
    has_waste = bool(given["waste"])
    loose = {part.name: needed / share * part.each / whole for part in parts}
    for n, part in enumerate(parts, 1):
        how = f"{text}{short} × {number(part.each)}/{number(whole)}"
        label = part.name[:1].upper() + part.name[1:]
        amount = loose[part.name]
        figures.append(say.volumes(f"part-{n}", label, amount, how, "cu ft", "L", waste=has_waste))
    figures += _bags(say, given, loose)
    words = " to ".join(f"{number(part.each)} of {part.name}" for part in parts)
    drawing = drawn_parts(
        "Parts of the mix",
        f"By volume, loose: {words}.",
        [(part.name, part.each) for part in parts],
    )
    notes = [
        "Parts are loose volumes. Mixed, the fine ones fill the gaps of the coarse ones: measure a"
        " trial batch.",
        "Lime and cement burn skin and eyes, and their dust harms lungs: wear gloves, goggles and"
        " a mask.",
    ]
    return Worked(tuple(figures), drawing, tuple(notes))


def _bags(say: Say, given: Mapping[str, Any], loose: Mapping[str, Fraction]) -> list[Figure]:
    """Whole bags of the parts that come in bags."""
    amounts = {name.casefold(): (name, amount) for name, amount in loose.items()}
    figures, seen = [], set()
    for n, bag in enumerate(given["bags"], 1):
        key = bag.name.casefold()
        if key not in amounts or key in seen:
            listed = "; ".join(loose)
            raise TakeoffError(
                f"Name one of the parts on each line, and each only once: {listed}.", "bags"
            )
        seen.add(key)
        name, amount = amounts[key]
        figures.append(
            counted(
                f"bag-{n}",
                f"Bags of {name}",
                round_up(amount / bag.each),
                f"{say.volume(amount)} ÷ {say.volume(bag.each)}, up to whole ones",
                "bag",
                bool(given["waste"]),
            )
        )
    return figures


SHAPES = (
    Shape(
        "parts",
        "Mix by parts",
        "Each part of any mix, like 1 lime to 3 sand, for any volume.",
        "Mixes",
        (
            Question(
                "volumes",
                VOLUMES.label,
                Kind.VOLUMES,
                help="One a line: 2 cu yd, 60 L, or area by thickness like 18 ft x 8 ft x 1/2 in.",
            ),
            Question(
                "parts",
                "Parts, by volume",
                Kind.PARTS,
                "1 lime\n3 sand",
                "One a line, or like 1 lime : 3 sand.",
            ),
            Question(
                "yield",
                "Mixed volume, % of the loose parts",
                Kind.PERCENT,
                "100",
                (
                    "Below 100 where fine parts fill gaps. Sand and cement give about 71 by the"
                    " rule of 38 (Navy NAVEDTRA 14043, chapter 8)."
                ),
                least=10,
                most=200,
            ),
            Question(
                "bags",
                "What one bag holds, loose",
                Kind.BAGS,
                help="One a line: lime 1 cu ft. Empty for none.",
                needed=False,
            ),
            allowance_ask(""),
        ),
        _work,
    ),
)
