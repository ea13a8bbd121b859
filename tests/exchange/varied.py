"""Small builds of every sort, the same for the same seed, as sheets of a workbook."""

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from materials.calc.types import Basis
from materials.choices import ChargeKind, Fate, LabourKind, Source, State
from materials.queries.quantities import base_quantity

from .small import DAY, Sheets

FIRST_DAY = DAY - timedelta(days=300)
SPLITS = [None, *Basis]

# Unit, contents, ways to write a quantity, and units a price may be for.
KINDS: tuple[tuple[str, str, tuple[str, ...], tuple[str | None, ...]], ...] = (
    (
        "piece",
        "1 piece = 12 ft; 1 piece = 9 lb",
        ("{n} pieces", "{n} pcs", "{n} dozen", "{n} @ 6 ft", "{n} @ 2x4x12", "{n} piece"),
        (None, "piece", "ft", "dozen"),
    ),
    (
        "ft",
        "1 piece = 16 ft",
        ("{n} ft", "{n} pieces", "{n} @ 2x6x14", "{n} ft 6 in", "{n}.25 ft", "{n} yd", "{n}' 3\""),
        (None, "ft", "piece", "100 ft"),
    ),
    (
        "gal",
        "1 gal = 350 sq ft; 1 can = 0.75 gal",
        ("{n} gal", "{n} cans", "{n}.5 gal", "{n} @ 5 gal", "{n} qt", "{n} 1/2 gal", "{n} L"),
        (None, "gal", "can"),
    ),
    (
        "sq ft",
        "1 bundle = 33.3 sq ft",
        ("{n} sq ft", "{n}.5 squares", "{n} bundles", "{n} sq m", "{n} @ 4 ft x 8 ft"),
        (None, "sq ft", "square", "bundle"),
    ),
    ("lb", "1 box = 5 lb", ("{n} lb", "{n} boxes", "{n} lb 8 oz", "{n} kg"), (None, "lb", "box")),
    ("bf", "", ("{n} bf", "{n} @ 2x8x12", "1,{n:03} bf", "{n} @ 1x8x10"), (None, "bf", "MBF")),
)


@dataclass
class Thing:
    """A component while the build is made up; ``at_hand`` is what could still be used."""

    name: str
    unit: str
    contents: str
    texts: tuple[str, ...]
    pers: tuple[str | None, ...]
    at_hand: Decimal = Decimal(0)

    def base(self, text: str) -> Decimal:
        """A typed quantity in the base unit."""
        return base_quantity(text, self)  # type: ignore[arg-type]


@dataclass
class Maker:
    """Makes one build up."""

    rng: random.Random
    things: list[Thing] = field(default_factory=list)

    def chance(self, share: float) -> bool:
        """True so often."""
        return self.rng.random() < share

    def money(self, most: int = 200, places: int = 2) -> Decimal:
        """An amount in ``places`` decimals, now and then nothing."""
        if self.chance(0.08):
            return Decimal(0)
        return Decimal(self.rng.randint(1, most * 10**places)).scaleb(-places)

    def day(self) -> date:
        """A day before the day of the report."""
        return FIRST_DAY + timedelta(days=self.rng.randint(0, 290))

    def text(self, thing: Thing, most: int = 40) -> str:
        """A quantity as somebody might write it."""
        return self.rng.choice(thing.texts).format(n=self.rng.randint(1, most))

    def part(self, thing: Thing) -> str | None:
        """A quantity of what is at hand, which is taken away; None when there is hardly any."""
        whole = int(thing.at_hand / 3)
        if whole < 1:
            return None
        amount = Decimal(self.rng.randint(1, whole))
        if self.chance(0.3):
            amount += Decimal("0.75")
        text = f"{amount} {thing.unit}"
        thing.at_hand -= amount
        return text


HEADINGS = {
    "Elements": "Code|Name|Budget",
    "Components": "Component|Element|Unit|Required|Waste %|Contents|New price|New price per"
    "|Priced on|New quantity per one|Would buy new",
    "Prices": "Component|New price|New price per|Priced on",
    "Purchases": "Purchase|Date|State|Paid by|Lot price|Lot split|Component|Quantity|Source"
    "|Usable %|Unit price|Price per|Line price|Lot weight",
    "Charges": "Purchase|Kind|Amount|Percent|On|Distance|Spread by",
    "Conversions": "Conversion|Date|From|Quantity used|To|Quantity made|Extra cost|Hours",
    "Left over": "Date|Component|Quantity|Fate|Proceeds|Value",
    "Moved in": "Date|Component|Quantity|Cost",
    "Labour": "Date|Person|Task|Kind|Hours|Paid",
}


def varied_sheets(seed: int) -> Sheets:
    """The sheets of build number ``seed``."""
    maker = Maker(random.Random(seed))
    rng = maker.rng
    currency, places = rng.choice([("USD", 2), ("USD", 2), ("EUR", 2), ("JPY", 0), ("KWD", 3)])
    build: list[list[Any]] = [["Name", f"Build {seed}"], ["Currency", currency]]
    if maker.chance(0.8):
        build.append(["Floor area", rng.choice(["240 sq ft", "31.5 sq m"])])
    build += [
        ["Distance rate", Decimal("0.615")],
        ["Distance rate from 2026-04-01", Decimal("0.7")],
    ]
    for name, value in (("Budget", 5000), ("Contingency %", 8), ("Retail tax %", Decimal("7.25")),
                        ("Own labour rate", Decimal("18.5"))):  # fmt: skip
        if maker.chance(0.8):
            build.append([name, value])
    sheets: Sheets = {title: [headings.split("|")] for title, headings in HEADINGS.items()}
    _components(maker, sheets)
    numbers = [str(n) if maker.chance(0.5) else f"P-{n}" for n in range(rng.randint(2, 5))]
    for number in numbers:
        _purchase(maker, sheets, number, places)
    _moved_in(maker, sheets, places)
    _conversions(maker, sheets, places)
    for thing in maker.things:
        for _ in range(rng.choice([0, 0, 1, 2])):
            text = maker.part(thing)
            if text is not None:
                fate = rng.choice(Fate.values)
                proceeds = maker.money(20, places) if fate == Fate.SOLD else None
                transfers = fate == Fate.MOVED and maker.chance(0.5)
                value = maker.money(40, places) if transfers else None
                sheets["Left over"].append([maker.day(), thing.name, text, fate, proceeds, value])
    for _ in range(rng.randint(0, 6)):
        paid = maker.money(90, places) if maker.chance(0.4) else None
        sheets["Labour"].append(
            [maker.day(), rng.choice(["Ann", "Ben"]), rng.choice([None, "Walls"]),
             rng.choice(LabourKind.values), Decimal(rng.randint(1, 40)) / 4, paid]
        )  # fmt: skip
    return {"Build": build, **sheets}


def _components(maker: Maker, sheets: Sheets) -> None:
    rng = maker.rng
    sheets["Elements"] += [["B10", "Frame", 900], ["C30", "Inside", None], ["X1", "Odd * one?", 0]]
    for index in range(rng.randint(2, 6)):
        unit, contents, texts, pers = rng.choice(KINDS)
        name = rng.choice(["Board {}", "+Sheet {}", "<{} in> pipe*", "Paint {}"]).format(index)
        thing = Thing(name, unit, contents, texts, pers)
        maker.things.append(thing)
        required = maker.text(thing, 90) if maker.chance(0.7) else None
        days = sorted({maker.day() for _ in range(rng.choice([0, 1, 1, 2, 3]))})
        if days and maker.chance(0.1):
            days[-1] = DAY + timedelta(days=9)  # known only later
        prices = [(Decimal(rng.randint(1, 90_000)).scaleb(-3), rng.choice(pers), d) for d in days]
        newest = prices.pop() if prices else (None, None, None)
        sheets["Components"].append(
            [name, rng.choice([None, "B10", "B10", "C30", "X1"]), unit, required,
             rng.choice([None, 5, Decimal("7.5")]), contents or None, *newest,
             rng.choice([None, None, 2, Decimal("1.15")]), rng.choice([None, "yes", "yes", "no"])]
        )  # fmt: skip
        sheets["Prices"] += [[name, *price] for price in prices]


def _purchase(maker: Maker, sheets: Sheets, number: str, places: int) -> None:
    rng = maker.rng
    state = rng.choice([State.RECEIVED] * 6 + [State.ORDERED, State.OFFER, State.DECLINED, None])
    has_lot, is_weighed = maker.chance(0.45), maker.chance(0.6)
    split = rng.choice(SPLITS) if has_lot else None
    if split == Basis.WEIGHT and not is_weighed:
        split = None
    count = rng.randint(1, 5)
    own_price = [maker.chance(0.25 if has_lot else 0.85) for _ in range(count)]
    if has_lot:
        own_price[rng.randrange(count)] = False
    priced = Decimal(0)
    for index in range(count):
        thing = rng.choice(maker.things)
        text = maker.text(thing)
        usable = rng.choice([None, 100, 90, Decimal("72.5")])
        by_unit = own_price[index] and maker.chance(0.6)
        price = maker.money(30, 3) if by_unit else None
        line = maker.money(150, places) if own_price[index] and not by_unit else None
        priced += line or 0
        if state in (State.RECEIVED, None):
            thing.at_hand += thing.base(text) * Decimal(usable or 100) / 100
        first = index == 0
        sheets["Purchases"].append(
            [number, maker.day() if first else None, state if first else None,
             rng.choice([None, "Ann"]) if first else None,
             maker.money(700, places) if first and has_lot else None, split if first else None,
             thing.name, text, rng.choice(Source.values), usable, price,
             rng.choice(thing.pers) if by_unit else None, line,
             rng.choice([0, 3, Decimal("12.5")]) if is_weighed else None]
        )  # fmt: skip
    # The first row's day and the like belong to the whole purchase.
    for _ in range(rng.choice([0, 1, 1, 2, 3])):
        _charge(maker, sheets, number, places, priced, is_weighed)


def _charge(
    maker: Maker, sheets: Sheets, number: str, places: int, priced: Decimal, is_weighed: bool
) -> None:
    rng = maker.rng
    kind = rng.choice(ChargeKind.values)
    spread = rng.choice(SPLITS)
    if spread == Basis.WEIGHT and not is_weighed:
        spread = None
    amount = percent = on = distance = None
    if kind == ChargeKind.DISCOUNT:
        percent = rng.choice([5, -10, Decimal("3.35")])
        on = rng.choice([None, "price"])
        if priced > 20 and maker.chance(0.3):
            percent, on, amount = None, None, rng.choice([3, -2])
    elif kind == ChargeKind.HAULAGE and maker.chance(0.7):
        distance = rng.choice(["36 mi", "17.5 mi", "30 km", "3 mi"])
    elif maker.chance(0.5):
        percent = rng.choice([10, Decimal("6.75"), Decimal("8.125")])
        on = rng.choice([None, "price", "price and charges"])
    else:
        amount = maker.money(60, places)
    sheets["Charges"].append([number, kind, amount, percent, on, distance, spread])


def _moved_in(maker: Maker, sheets: Sheets, places: int) -> None:
    """From builds that are kept elsewhere, now and then at a cost nobody remembers."""
    for thing in maker.things:
        if maker.chance(0.25):
            text = f"{maker.rng.randint(1, 30)} {thing.unit}"
            thing.at_hand += thing.base(text)
            cost = maker.money(60, places) if maker.chance(0.85) else None
            sheets["Moved in"].append([maker.day(), thing.name, text, cost])


def _conversions(maker: Maker, sheets: Sheets, places: int) -> None:
    """From earlier components to later ones, so that there is no circle."""
    rng = maker.rng
    for index, source in enumerate(maker.things[:-1]):
        if not maker.chance(0.6):
            continue
        used = maker.part(source)
        if used is None:
            continue
        number = f"K{index}"
        later = maker.things[index + 1 :]
        made = rng.sample(later, k=min(rng.choice([1, 1, 2, 3]), len(later)))
        for place, thing in enumerate(made):
            # Little enough that no yield can look like more than was put in.
            text = f"{Decimal(rng.randint(1, 9)) / 10_000} {thing.unit}"
            thing.at_hand += thing.base(text)
            first = place == 0
            sheets["Conversions"].append(
                [number, maker.day() if first else None, source.name if first else None,
                 used if first else None, thing.name, text,
                 rng.choice([None, maker.money(20, places)]) if first else None,
                 rng.choice([None, Decimal("1.5")]) if first else None]
            )  # fmt: skip
