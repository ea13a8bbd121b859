"""What builders write of a thing, and the caution that must come up, or must not.

Trade vocabulary: common practice, no published source.
"""

from decimal import Decimal

import pytest

from materials.choices import ObtainedBy, Source
from materials.models import PurchaseLine
from materials.queries.safety import cautions_of, list_cautions
from tests.entries import line
from tests.world import once

pytestmark = once("build")

BLOCK = "masonry-after-fire"
OTHER = "material-after-fire"
GAS = "gasoline-no-thinner"
REUSED = "reused-material"
SALVAGE, SECONDS, RETAIL = Source.SALVAGE, Source.SECONDS, Source.RETAIL

# Name, where the words stand, the words, source, the caution.
RAISE = [
    ("Burned brick from the barn", "", "", SALVAGE, BLOCK),
    ("Charred bricks", "", "", SALVAGE, BLOCK),
    ("Burnt cinder block", "", "", SALVAGE, BLOCK),
    ("Chimney brick, smoke damage", "", "", SALVAGE, BLOCK),
    ("Smoke-stained brick", "", "", SALVAGE, BLOCK),
    ("Foundation block after the fire", "", "", SALVAGE, BLOCK),
    ("Brick, fire-damaged", "", "", SALVAGE, BLOCK),
    ("Brick", "line", "came through the barn fire", SALVAGE, BLOCK),
    ("Brick", "line", "Scorched on one face", SALVAGE, BLOCK),
    ("Brick", "line", "not badly charred", SALVAGE, BLOCK),
    ("Brick", "line", "sooty but sound", SALVAGE, BLOCK),
    ("Brick", "component", "All of it survived a house fire", SALVAGE, BLOCK),
    ("Brick", "component", "no nails. smells of smoke", SALVAGE, BLOCK),
    ("Brick", "purchase", "Marten's lot, gutted by fire in March", SALVAGE, BLOCK),
    ("Brick", "purchase", "burned down last winter; take all", SALVAGE, BLOCK),
    ("Brick", "place", "Burnt-out barn on the hill", SALVAGE, BLOCK),
    ("Brick", "place", "Mill, after the fire", SALVAGE, BLOCK),
    ("Brick", "supplier", "Farm sale after the barn fire", SALVAGE, BLOCK),
    ("Concrete pavers", "line", "from the wildfire", SALVAGE, BLOCK),
    ("Barn beams, charred", "", "", SALVAGE, OTHER),
    ("Roof sheets", "line", "after the fire, a few warped", SALVAGE, OTHER),
    ("Breakers", "line", "smoke damaged", SALVAGE, OTHER),
    ("Joists", "line", "singed ends, cut off a foot", SALVAGE, OTHER),
    ("Barn paint, thinned with gas", "", "", RETAIL, GAS),
    ("Gas-thinned barn paint", "", "", SECONDS, GAS),
    ("Red paint", "line", "Thin with gasoline before spraying", RETAIL, GAS),
    ("Red paint", "line", "cut 10 to 1 with gas", SECONDS, GAS),
    ("Red paint", "component", "brushes cleaned in gasoline", RETAIL, GAS),
    ("Brushes", "component", "wash in old gas", RETAIL, GAS),
    ("Red paint", "component", "use gas to thin it", RETAIL, GAS),
    ("Red paint", "line", "gas as a thinner, Ida says", RETAIL, GAS),
    ("Red paint", "line", "thinner is just gasoline", RETAIL, GAS),
    ("Roof sheets", "line", "wiped down with gasoline", SALVAGE, GAS),
    ("Gasoline for thinning", "", "", RETAIL, GAS),
    ("Trim", "line", "second-hand, still in the box", SECONDS, REUSED),
]
QUIET = [
    ("Fireplace brick, new", "", "", SALVAGE, BLOCK),
    ("Firebrick", "", "", SALVAGE, BLOCK),
    ("Fire brick from the kiln", "", "", SALVAGE, BLOCK),
    ("Hard-burned brick", "", "", SALVAGE, BLOCK),
    ("Kiln burnt brick", "", "", SALVAGE, BLOCK),
    ("Brick from the fire station", "", "", SALVAGE, BLOCK),
    ("Brick", "line", "from a fire pit", SALVAGE, BLOCK),
    ("Brick", "line", "no smoke damage", SALVAGE, BLOCK),
    ("Brick", "line", "never in a fire", SALVAGE, BLOCK),
    ("Brick", "line", "not burned or charred", SALVAGE, BLOCK),
    ("Brick", "line", "taken down before the fire", SALVAGE, BLOCK),
    ("Brick", "purchase", "got it at a fire sale", SALVAGE, BLOCK),
    ("Brick", "place", "Burnt Mill Road", SALVAGE, BLOCK),
    ("Brick", "supplier", "Old Firehouse Salvage", SALVAGE, BLOCK),
    ("Charred brick slips", "", "", RETAIL, BLOCK),
    ("Charred cedar siding", "", "", RETAIL, OTHER),
    ("Burnt sienna paint", "", "", SALVAGE, OTHER),
    ("Burnt lime, 1 bag", "", "", SALVAGE, OTHER),
    ("Charcoal shingles", "", "", SALVAGE, OTHER),
    ("Smoke detector", "", "", SALVAGE, OTHER),
    ("Wood-burning stove", "", "", SALVAGE, OTHER),
    ("Fire-rated door", "", "", SALVAGE, OTHER),
    ("Fire door from the school", "", "", SALVAGE, OTHER),
    ("Siding", "line", "paint burned off by hand", SALVAGE, OTHER),
    ("Gas stove", "", "", SALVAGE, GAS),
    ("Gas stove, cleaned with vinegar", "", "", SALVAGE, GAS),
    ("Roof sheets", "line", "cut with gas torch", SALVAGE, GAS),
    ("Beams", "line", "cut with a gas saw", SALVAGE, GAS),
    ("Red paint", "line", "never thin with gasoline", RETAIL, GAS),
    ("Red paint", "line", "thin with water; gas for the trip 12.00", RETAIL, GAS),
    ("Pipe", "line", "gas pipe, cleaned in the shop", SALVAGE, GAS),
    ("Mis-tint paint", "", "", SECONDS, REUSED),
    ("Trim", "line", "factory seconds, never used", SECONDS, REUSED),
    ("Tiles", "line", "unused, end of line", SECONDS, REUSED),
    ("Tiles", "component", "never opened", SECONDS, REUSED),
    ("Windows", "purchase", "overstock, still in the wrap", SECONDS, REUSED),
]


def log(entries, name, where, words, source):
    part = entries.component(name, note=words if where == "component" else "")
    about = {"note": words} if where == "purchase" else {}
    if where in ("place", "supplier"):
        shop = "Yard" if where == "place" else words
        entries.supplier(shop, place=words if where == "place" else "")
        about["supplier"] = shop
    note = words if where == "line" else ""
    entries.purchase("P1", line(part, "2 pieces", source=source, note=note), **about)
    return part


def test_thirty_and_more_each_way():
    assert len(RAISE) > 30
    assert len(QUIET) > 30


@pytest.mark.parametrize(
    ("row", "comes_up"), [(row, True) for row in RAISE] + [(row, False) for row in QUIET]
)
def test_words_raise_their_caution_or_none(row, comes_up, entries, build):
    *told, code = row
    log(entries, *told)
    listed = {row.caution.code for row in list_cautions(build)}
    assert (code in listed) is comes_up
    if not comes_up:
        assert not listed & {BLOCK, OTHER, GAS} - {code}
    of_purchase = cautions_of(PurchaseLine.objects.select_related("component__element"))
    assert {caution.code for caution in of_purchase} == listed


def made(entries, source_name, *steps, source=SALVAGE, **values):
    """Stock worked on through conversions, each from what the one before made."""
    stock = entries.component(source_name, traits=values.pop("traits", []))
    entries.purchase("P1", line(stock, "10 pieces", source=source, **values))
    for n, name in enumerate(steps):
        part = entries.component(name)
        entries.conversion(f"C{n}", stock, "4 pieces", (part, "8 pieces"))
        stock = part
    return stock


def open_for(build, code):
    return {
        part.name for row in list_cautions(build) if row.caution.code == code for part in row.open
    }


@pytest.mark.parametrize(
    ("stock", "code", "values"),
    [
        ("Rough-sawn planks", "ungraded-lumber", {"source": RETAIL}),
        ("Railroad ties", "treated-wood", {}),
        ("Painted siding", "old-paint", {"origin_year": 1950}),
        ("Transite siding", "old-cement-ceiling", {}),
        ("Brick", BLOCK, {"through_fire": True}),
        ("Roof sheets", OTHER, {"note": "after the fire"}),
        ("Red paint", GAS, {"note": "thinned with gas", "source": RETAIL}),
        ("Roof sheets", REUSED, {}),
    ],
)
def test_what_is_made_has_the_traits_of_its_stock(stock, code, values, entries, build):
    last = made(entries, stock, "First work", "Wall studs", "Last work", **values)
    wanted = {stock, "First work", "Wall studs", "Last work"}
    if code == "ungraded-lumber":
        # Only what carries load needs a grade, whatever it was made of.
        wanted = {"Wall studs"}
    assert open_for(build, code) == wanted
    assert last.lines.count() == 0


def test_what_is_made_carries_neither_the_load_nor_the_taking_down_of_its_stock(entries, build):
    made(entries, "2x8, 10 ft", "Shelf", obtained_by=ObtainedBy.DISMANTLED)
    assert open_for(build, "ungraded-lumber") == {"2x8, 10 ft"}
    assert open_for(build, "taking-down") == {"2x8, 10 ft"}
    assert open_for(build, REUSED) == {"2x8, 10 ft", "Shelf"}


def test_one_work_of_good_and_bad_stock_has_the_caution_of_the_bad(entries, build):
    bench = entries.component("Bench")
    for n, name in enumerate(("Treated plank", "Fresh plank")):
        plank = entries.component(name)
        entries.purchase(f"P{n}", line(plank, "2 pieces", source=RETAIL, unit_price=Decimal(1)))
        entries.conversion(f"C{n}", plank, "1 piece", (bench, "1 piece"))
    assert open_for(build, "treated-wood") == {"Treated plank", "Bench"}


def test_an_offer_hands_nothing_on(entries, build):
    stock = entries.component("Railroad ties")
    entries.purchase("P1", line(stock, "2 pieces"), state="offer")
    assert list_cautions(build) == []
