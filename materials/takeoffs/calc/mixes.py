"""Mixes by volume: concrete, soil-cement, mortar, and cement for earth blocks."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.calc.waste import suggested
from materials.takeoffs.calc.concrete_order import CUBIC_FEET_A_YARD, order_unit, to_order
from materials.takeoffs.calc.drawing import Board, Drawing
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, Sized, Worked
from materials.takeoffs.calc.wording import Say, allowed, counted, number, round_up

F = Fraction
# A bag of 94 lb is taken as one cubic foot. Sacks of cement in a cubic yard of mortar are 38
# over the parts in the mix.
BAG_CUBIC_FEET, RULE = F(1), 38
# Signs that fit below a drawing.
_ROOM = 40


def _volume(say: Say, parts: Sequence[Sized]) -> tuple[Fraction, str]:
    whole = sum((each.whole for each in parts), F(0))
    texts = [
        (f"{each.count} × " if each.count > 1 else "") + say.volume(each.each) for each in parts
    ]
    return whole, " + ".join(texts)


def measured(say: Say, given: Mapping[str, Any], label: str) -> tuple[Fraction, list[Figure], str]:
    """The volume with its allowance, its figures, and how a formula names it."""
    whole, parts = _volume(say, given["volumes"])
    waste = given["waste"] or F(0)
    figures = [say.volumes("volume", label, whole, parts)]
    if waste:
        figures.append(
            say.volumes(
                "with-waste",
                f"{label} with the allowance",
                whole * (1 + waste),
                f"{say.volume(whole)}{allowed(waste)}",
                waste=True,
            )
        )
    return whole * (1 + waste), figures, f"{say.volume(whole)}{allowed(waste)}"


def drawn_parts(title: str, words: str, parts: Sequence[tuple[str, Fraction]]) -> Drawing:
    """Parts of a mix, side by side."""
    whole = sum((part for _, part in parts), F(0))
    board = Board(whole, whole * 2 / 5)
    marks, x = [], F(0)
    for n, (_, part) in enumerate(parts):
        marks.append(board.box(("whole", "open", "bare")[n % 3], x, 0, part, board.tall))
        x += part
    named = " : ".join(f"{number(part)} {name}" for name, part in parts)
    short = " : ".join(number(part) for _, part in parts)
    # As far as there is room below: the sentence beside the drawing says them all.
    if text := next((each for each in (named, short) if len(each) <= _ROOM), ""):
        marks.append(board.below(text))
    kinds = ("whole", "open", "bare")
    key = tuple((kinds[n % 3], name) for n, (name, _) in enumerate(parts))
    return Drawing(title, words, tuple(marks), key)


def _concrete(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    needed, figures, text = measured(say, given, "Concrete")
    waste = bool(given["waste"])
    figures.append(to_order(say, needed, waste))
    if given["bag"]:
        figures.append(
            counted(
                "bags",
                "Bags of mix instead",
                round_up(needed / given["bag"]),
                f"{text} ÷ {number(given['bag'])} cu ft, up to whole ones",
                "bag",
                waste,
            )
        )
    allowance = needed - needed / (1 + (given["waste"] or F(0)))
    parts = [("as measured", needed - allowance)] + (
        [("allowance", allowance)] if allowance else []
    )
    unit, words = order_unit(say)
    parts = [(name, part / unit) for name, part in parts]
    listed = ", ".join(f"{number(part)} {name}" for name, part in parts)
    drawing = drawn_parts(f"The concrete, in {words}", f"{words.capitalize()}: {listed}.", parts)
    return Worked(tuple(figures), drawing)


def _soil_cement(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    needed, figures, text = measured(say, given, "Mixed and rammed")
    waste = bool(given["waste"])
    earth, cement = given["earth"], given["cement"]
    parts = earth + cement
    bags = needed * cement / parts / BAG_CUBIC_FEET
    figures += [
        say.volumes(
            "earth",
            "Earth",
            needed * earth / parts,
            f"{text} × {number(earth)}/{number(parts)}",
            waste=waste,
        ),
        say.volumes(
            "cement",
            "Cement",
            needed * cement / parts,
            f"{text} × {number(cement)}/{number(parts)}",
            "cu ft",
            waste=waste,
        ),
        counted(
            "bags",
            "Bags of cement, 94 lb",
            round_up(bags),
            f"{number(bags)} cu ft at one cubic foot a bag, up to whole ones",
            "bag",
            waste,
        ),
    ]
    words = f"{number(earth)} parts of earth to {number(cement)} of cement by volume."
    notes = (
        "Ten parts of earth to one of cement is common practice for raised walls, without a"
        " published source. Earth is bulkier loose than rammed: measure yours.",
    )
    drawing = drawn_parts("Parts of the mix", words, [("earth", earth), ("cement", cement)])
    return Worked(tuple(figures), drawing, notes)


def _mortar(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    needed, figures, text = measured(say, given, "Mortar")
    waste = bool(given["waste"])
    sand, cement = given["sand"], given["cement"]
    sacks = F(RULE) / (sand + cement) * cement
    bags = needed / CUBIC_FEET_A_YARD * sacks
    figures += [
        counted(
            "bags",
            "Sacks of cement, 94 lb",
            round_up(bags),
            f"{text} = {number(needed / CUBIC_FEET_A_YARD)} cu yd × {RULE} ÷"
            f" {number(sand + cement)}{f' × {number(cement)}' if cement != 1 else ''}, up to whole"
            " ones",
            "bag",
            waste,
        ),
        say.volumes(
            "sand",
            "Sand, loose",
            bags * sand / cement * BAG_CUBIC_FEET,
            f"{number(bags)} × {number(sand / cement)} cu ft",
            "cu ft",
            waste=waste,
        ),
    ]
    words = f"{number(cement)} part of cement to {number(sand)} of sand by volume."
    notes = (f"By the rule of {RULE}: {number(sacks)} sacks in a cubic yard of this mix.",)
    drawing = drawn_parts("Parts of the mix", words, [("sand", sand), ("cement", cement)])
    return Worked(tuple(figures), drawing, notes)


def _earth_blocks(given: Mapping[str, Any]) -> Worked:
    count, share, bag = given["count"], given["stabiliser"], given["bag"]
    weight = given["weight"]
    # Pounds throughout; what is said is in the kilograms such presses are described in.
    kilos = F(45359237, 10**8)
    cement = weight * share
    in_bag = bag / cement
    bags = round_up(count * cement / bag)
    figures = (
        counted(
            "bags",
            "Bags of cement",
            bags,
            f"{count} × {number(weight * kilos)} kg × {number(share * 100)}% ÷"
            f" {number(bag * kilos)} kg, up to whole ones",
            "bag",
        ),
        Figure(
            "cement",
            "Cement",
            count * cement * kilos,
            "kg",
            f"{count} × {number(weight * kilos)} kg × {number(share * 100)}%",
        ),
        Figure(
            "soil",
            "Soil",
            count * (weight - cement) * kilos,
            "kg",
            f"{count} × {number(weight * kilos)} kg × {number(100 - share * 100)}%",
        ),
        counted(
            "blocks",
            "Blocks from one bag",
            int(in_bag.__floor__()),
            f"{number(bag * kilos)} kg ÷ {number(cement * kilos)} kg, down to whole ones",
        ),
        counted("count", "Blocks", count, "as stated"),
    )
    words = f"Of each block {number(share * 100)}% is cement by weight, the rest soil."
    parts = [("soil", 100 - share * 100), ("cement", share * 100)]
    return Worked(figures, drawn_parts("One block by weight, in per cent", words, parts))


def _part(name: str, label: str, start: str) -> Question:
    return Question(name, label, Kind.NUMBER, start, most=100)


VOLUMES = Question(
    "volumes", "Volumes", Kind.VOLUMES, help="One a line: 2 cu yd, 85.76 cu ft or 1.5 cu m."
)


def allowance_ask(name: str, start: str = "0") -> Question:
    """A question for what is lost or added; ``name`` of a suggestion, or an empty text."""
    text = suggested(name) if name else "Your own allowance."
    return Question("waste", "Allowance, %", Kind.PERCENT, start, text, needed=False)


SHAPES = (
    Shape(
        "concrete",
        "Concrete by volume",
        "Cubic yards or metres to order, or bags of mix.",
        "Mixes",
        (
            VOLUMES,
            allowance_ask("concrete", "10"),
            Question(
                "bag",
                "One bag makes",
                Kind.VOLUME,
                help="As the bag says, like 0.6 cu ft; empty for none.",
                needed=False,
                least=F(1, 1000),
            ),
        ),
        _concrete,
    ),
    Shape(
        "soil-cement",
        "Soil-cement",
        "Earth and bags of cement by parts.",
        "Mixes",
        (
            VOLUMES,
            _part("earth", "Parts of earth", "10"),
            _part("cement", "Parts of cement", "1"),
            allowance_ask(""),
        ),
        _soil_cement,
    ),
    Shape(
        "mortar",
        "Mortar",
        "Sacks of cement and sand by the rule of 38.",
        "Mixes",
        (
            VOLUMES,
            _part("sand", "Parts of sand", "3"),
            _part("cement", "Parts of cement", "1"),
            allowance_ask("mortar"),
        ),
        _mortar,
    ),
    Shape(
        "earth-blocks",
        "Earth blocks",
        "Cement for pressed or poured blocks of earth.",
        "Mixes",
        (
            Question("count", "How many blocks", Kind.WHOLE, least=1),
            Question(
                "weight", "Weight of one block", Kind.MASS, "8 kg", most=F(1000), least=F(1, 10)
            ),
            Question(
                "stabiliser",
                "Cement in it, % of its weight",
                Kind.PERCENT,
                "8",
                suggested("stabiliser"),
                least=F(1, 10),
                most=50,
            ),
            Question(
                "bag", "Weight of one bag of cement", Kind.MASS, "94 lb", most=F(1000), least=F(1)
            ),
        ),
        _earth_blocks,
    ),
)
