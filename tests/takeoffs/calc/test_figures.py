"""Every figure of every shape, in order, worked out by hand."""

from fractions import Fraction as F

import pytest

from materials.takeoffs.calc.roofs import slope_factor
from materials.takeoffs.calc.roots import PI
from materials.takeoffs.calc.takeoff import SHAPES
from materials.takeoffs.calc.types import TakeoffError
from tests.takeoffs.calc.test_takeoff import figures, worked

HALF = slope_factor(F(1, 2))

# shape, what is typed -> key, value, unit; "+" after the unit: with the allowance for waste
FIGURES = [
    # 192 sq ft, less 21 + 24 + 5 of openings.
    ("wall", {"length": "24 ft", "height": "8 ft", "waste": "10",
              "openings": "3 ft x 7 ft\n2 @ 3 ft x 4 ft\n5 sq ft"},
     [("net", 142, "sq ft"), ("gross", 192, "sq ft"), ("openings", 50, "sq ft"),
      ("with-waste", "156.2", "sq ft+")]),
    ("wall", {"length": "24 ft", "height": "8 ft", "waste": ""}, [("net", 192, "sq ft")]),
    # 24 x 8, and a triangle 24 wide and 6 high.
    ("gable-wall", {"width": "24 ft", "height": "8 ft", "slope": "6/12"},
     [("net", 264, "sq ft"), ("peak", 14, "ft")]),
    # 18 bays; 19 studs, 4 at corners, 6 at openings: 29, and a tenth more is 31.9.
    ("framed-wall", {"length": "24 ft", "height": "8 ft", "waste": "10",
                     "openings": "3 ft x 7 ft\n2 @ 3 ft x 4 ft"},
     [("studs", 29, "piece"), ("plates", 72, "ft"), ("sheathing", 147, "sq ft"),
      ("headers", "9.75", "ft"), ("studs-waste", 32, "piece+")]),
    ("framed-wall", {"length": "24 ft", "height": "8 ft", "waste": ""},
     [("studs", 23, "piece"), ("plates", 72, "ft"), ("sheathing", 192, "sq ft")]),
    # 41 x 26 level, 5/4 of that along a slope of 9/12.
    ("gable-roof", {"length": "40 ft", "width": "24 ft", "slope": "9/12", "eaves": "1 ft",
                    "rakes": "6 in", "waste": "10", "bundles": "3"},
     [("area", "1332.5", "sq ft"), ("squares", "14.6575", "square+"), ("bundles", 44, "bundle+"),
      ("rafter", "16.25", "ft"), ("ridge", 41, "ft"), ("eaves-edge", 82, "ft"),
      ("rake-edge", 65, "ft"), ("rise", 9, "ft")]),
    ("gable-roof", {"length": "40 ft", "width": "24 ft", "slope": "9/12", "waste": ""},
     [("area", 1200, "sq ft"), ("squares", 12, "square"), ("rafter", 15, "ft"),
      ("ridge", 40, "ft"), ("eaves-edge", 80, "ft"), ("rake-edge", 60, "ft"), ("rise", 9, "ft")]),
    # 42 x 26 level, whichever side is named first; a hip is 3/2 of its run at 6/12.
    ("hip-roof", {"length": "24 ft", "width": "40 ft", "slope": "6/12", "eaves": "1 ft",
                  "valleys": "10 ft\n2 @ 4 ft"},
     [("area", 42 * 26 * HALF, "sq ft"), ("squares", 42 * 26 * HALF / 100, "square"),
      ("ridge", 16, "ft"), ("hips", 78, "ft"), ("rafter", 13 * HALF, "ft"),
      ("eaves-edge", 136, "ft"), ("valleys", 27, "ft")]),
    ("hip-roof", {"length": "40 ft", "width": "24 ft", "slope": "6/12"},
     [("area", 960 * HALF, "sq ft"), ("squares", 960 * HALF / 100, "square"),
      ("ridge", 16, "ft"), ("hips", 72, "ft"), ("rafter", 12 * HALF, "ft"),
      ("eaves-edge", 128, "ft")]),
    # 22 x 13 level, 13/12 of that along a slope of 5/12.
    ("shed-roof", {"length": "20 ft", "width": "12 ft", "slope": "5/12", "eaves": "6 in",
                   "rakes": "1 ft"},
     [("area", 22 * 13 * F(13, 12), "sq ft"), ("squares", 22 * 13 * F(13, 1200), "square"),
      ("rafter", F(169, 12), "ft"), ("rise", 5, "ft"), ("edges", F(433, 6), "ft")]),
    ("roof-surfaces", {"slopes": "2 @ 30 ft x 20 ft\n450 sq ft", "waste": "10", "bundles": "4"},
     [("area", 1650, "sq ft"), ("squares", "18.15", "square+"), ("bundles", 73, "bundle+")]),
    # 2.5 cu yd and a tenth more: 74.25 cu ft in bags of 0.6.
    ("concrete", {"volumes": "2 @ 1 cu yd\n13.5 cu ft", "waste": "10", "bag": "0.6 cu ft"},
     [("volume", "2.5", "cu yd"), ("with-waste", "2.75", "cu yd+"), ("order", 3, "cu yd+"),
      ("bags", 124, "bag+")]),
    ("concrete", {"volumes": "1 cu m", "waste": "11"},
     [("volume", 1, "cu m"), ("with-waste", "1.11", "cu m+"), ("order", "1.2", "cu m+")]),
    # 8 and 3 parts of 12.1 cu yd, which are 326.7 cu ft.
    ("soil-cement", {"volumes": "11 cu yd", "earth": "8", "cement": "3", "waste": "10"},
     [("volume", 11, "cu yd"), ("with-waste", "12.1", "cu yd+"), ("earth", "8.8", "cu yd+"),
      ("cement", "89.1", "cu ft+"), ("bags", 90, "bag+")]),
    # 38 / 7 x 2 sacks in each of 7 cu yd, and 5/2 of that in sand.
    ("mortar", {"volumes": "7 cu yd", "sand": "5", "cement": "2"},
     [("volume", 7, "cu yd"), ("bags", 76, "bag"), ("sand", 190, "cu ft")]),
    ("mortar", {"volumes": "4 cu yd", "sand": "3", "cement": "1", "waste": "25"},
     [("volume", 4, "cu yd"), ("with-waste", 5, "cu yd+"), ("bags", 48, "bag+"),
      ("sand", "142.5", "cu ft+")]),
    ("earth-blocks", {"count": "1000", "weight": "8 kg", "stabiliser": "12.5", "bag": "40 kg"},
     [("bags", 25, "bag"), ("cement", 1000, "kg"), ("soil", 7000, "kg"), ("blocks", 40, "piece"),
      ("count", 1000, "piece")]),
    # 106 / 5.5 / 0.85 = 22.67 boards of 12 ft; 276 ft in 16s.
    ("boards", {"across": "106 in", "along": "12 ft", "face": "5-1/2 in", "waste": "15",
                "stock": "16 ft"},
     [("boards", 23, "piece+"), ("length", 276, "ft+"), ("area", 106, "sq ft"),
      ("stock", 18, "piece+")]),
    ("boards", {"across": "110 in", "along": "6 ft", "face": "5-1/2 in", "waste": ""},
     [("boards", 20, "piece"), ("length", 120, "ft"), ("area", 55, "sq ft")]),
    # 171 x 1.1 / 32 = 5.9 sheets; nails for 171 sq ft.
    ("sheathing", {"areas": "24 ft x 8 ft", "openings": "3 ft x 7 ft", "waste": "10",
                   "nails": "20"},
     [("area", 171, "sq ft"), ("sheets", 6, "sheet+"), ("nails", "3.42", "lb")]),
    ("sheathing", {"areas": "2 @ 8 ft x 8 ft", "waste": ""},
     [("area", 128, "sq ft"), ("sheets", 4, "sheet")]),
    ("paint", {"areas": "20 ft x 10 ft", "openings": "25 sq ft", "coats": "3",
               "coverage": "350 sq ft", "can": "1 gal"},
     [("area", 175, "sq ft"), ("painted", 525, "sq ft"), ("paint", "1.5", "gal"),
      ("cans", 2, "can")]),
    ("paint", {"areas": "18 sq m", "coats": "2", "coverage": "9 sq m", "per": "L", "can": "1 L"},
     [("area", 18, "sq m"), ("painted", 36, "sq m"), ("paint", 4, "L"), ("cans", 4, "can")]),
    # 15 x 12 blocks less 18 in the opening, and 5 % of 162 more.
    ("masonry", {"length": "20 ft", "height": "8 ft", "openings": "4 ft x 4 ft", "waste": "5"},
     [("units", 162, "piece"), ("with-waste", 171, "piece+"), ("course", 15, "piece"),
      ("courses", 12, "piece"), ("area", 144, "sq ft")]),
    # 90 sq ft at 6.75 are 607.5.
    ("masonry", {"unit": "brick", "length": "20 ft", "height": "5 ft", "openings": "10 sq ft",
                 "waste": ""},
     [("units", 608, "piece"), ("area", 90, "sq ft")]),
    ("masonry", {"unit": "own", "per_sq_ft": "4.5", "length": "20 ft", "height": "5 ft"},
     [("units", 450, "piece"), ("area", 100, "sq ft")]),
    ("lumber", {"pieces": "33 @ 2x6x10\n11 @ 2x4x12", "waste": "10"},
     [("board-feet", 418, "bf"), ("pieces", 44, "piece"), ("with-waste", "459.8", "bf+"),
      ("pieces-waste-1", 37, "piece+"), ("pieces-waste-2", 13, "piece+"),
      ("pieces-waste", 50, "piece+")]),
    ("lumber", {"pieces": "33 @ 2x6x10\n11 @ 2x4x12", "waste": "10", "rounding": "nearest"},
     [("board-feet", 418, "bf"), ("pieces", 44, "piece"), ("with-waste", "459.8", "bf+"),
      ("pieces-waste-1", 36, "piece+"), ("pieces-waste-2", 12, "piece+"),
      ("pieces-waste", 48, "piece+")]),
    ("lumber", {"pieces": "33 @ 2x6x10\n11 @ 2x4x12", "waste": ""},
     [("board-feet", 418, "bf"), ("pieces", 44, "piece")]),
    # 18 x 12 x 1/3 ft.
    ("slab", {"length": "18 ft", "width": "12 ft", "thickness": "4 in", "waste": "10"},
     [("volume", F(8, 3), "cu yd"), ("with-waste", F(44, 15), "cu yd+"), ("area", 216, "sq ft"),
      ("forms", 60, "ft")]),
    ("slab", {"length": "18 ft", "width": "12 ft", "thickness": "4 in", "waste": ""},
     [("volume", F(8, 3), "cu yd"), ("area", 216, "sq ft"), ("forms", 60, "ft")]),
    ("pads", {"count": "3", "length": "2 ft", "width": "3 ft", "depth": "18 in", "waste": "10"},
     [("volume", 1, "cu yd"), ("with-waste", "1.1", "cu yd+"), ("area", 18, "sq ft"),
      ("pads", 3, "piece")]),
    ("pads", {"form": "round", "count": "4", "length": "3 ft", "depth": "3 ft", "waste": ""},
     [("volume", PI, "cu yd"), ("area", 9 * PI, "sq ft"), ("pads", 4, "piece")]),
    # Two beds of two courses of 24 ft; sides of 8 ft and two of 4 ft each out of 10 ft: 12 boards,
    # and a tenth more.
    ("raised-bed", {"length": "8 ft", "width": "4 ft", "height": "11 in", "count": "2",
                    "board": "5-1/2 in", "board_thickness": "1-1/2 in", "stock": "10 ft",
                    "waste": "10", "fill": "80"},
     [("boards", 96, "ft"), ("stock", 14, "piece+"),
      ("soil", 2 * F("7.75") * F("3.75") * F(11, 12) * F(4, 5) / 27, "cu yd"),
      ("growing", 2 * F("7.75") * F("3.75"), "sq ft")]),
    # A side longer than the boards: 2 x 44 ft joined out of 10s.
    ("raised-bed", {"length": "16 ft", "width": "6 ft", "height": "11 in", "board": "5-1/2 in",
                    "board_thickness": "", "stock": "10 ft", "waste": ""},
     [("boards", 88, "ft"), ("stock", 9, "piece"), ("soil", 88 / F(27), "cu yd"),
      ("growing", 96, "sq ft")]),
    ("tank", {"diameter": "4 ft", "height": "3 ft", "count": "2"},
     [("volume", 24 * PI * 1728 / 231, "gal"), ("space", 24 * PI, "cu ft"),
      ("floor", 8 * PI, "sq ft"), ("wall", 24 * PI, "sq ft"), ("around", 8 * PI, "ft")]),
    ("pipe", {"runs": "35 ft\n2 @ 12' 6\"", "fittings": "4 elbows\n1 tee", "stock": "20 ft",
              "waste": "5"},
     [("pipe", 60, "ft"), ("with-waste", 63, "ft+"), ("pieces", 4, "piece+"),
      ("fitting-1", 4, "piece"), ("fitting-2", 1, "piece")]),
    ("pipe", {"runs": "60 ft", "stock": "20 ft", "waste": ""},
     [("pipe", 60, "ft"), ("pieces", 3, "piece")]),
    # Inside boards of 1 1/2 in: 6.75 x 2.75 and 4.75 x 3.75 ft; 3 and 5 courses of 5 1/2 in.
    ("beds", {"beds": "3 @ 7 ft x 3 ft x 14 in\n2 @ 5 ft x 4 ft x 2 ft", "layer": "3 in",
              "lining": "all", "waste": "10"},
     [("soil", (3 * F("6.75") * F("2.75") * F(11, 12) + 2 * F("4.75") * F("3.75") * F(7, 4)) / 27,
       "cu yd"), ("layer", F("91.3125") / 4 / 27, "cu yd"), ("growing", "91.3125", "sq ft"),
      ("lining", "225.8125", "sq ft"), ("with-waste", "248.39375", "sq ft+"),
      ("boards", 360, "ft")]),
    # Walls of 6 in: 6 x 2 and 4 x 3 ft inside. Two of five stand in forms at once, the larger.
    ("beds", {"beds": "3 @ 7 ft x 3 ft x 14 in\n2 @ 5 ft x 4 ft x 2 ft", "walls": "poured",
              "thickness": "6 in", "uses": "3", "fill": "50"},
     [("soil", F(45, 27), "cu yd"), ("growing", 60, "sq ft"), ("walls", F("63.5") / 27, "cu yd"),
      ("formed", 254, "sq ft"), ("forms", 128, "sq ft")]),
    ("beds", {"beds": "2 m x 1 m x 50 cm", "walls": "there", "lining": "sides"},
     [("soil", 1, "cu m"), ("growing", 2, "sq m"), ("lining", 3, "sq m")]),
    # 6 cu ft and a tenth more are 6.6; over 80 % they are 8.25 of loose parts.
    ("parts", {"volumes": "18 ft x 8 ft x 1/2 in", "parts": "1 lime\n3 sand", "yield": "80",
               "bags": "Lime 1 cu ft", "waste": "10"},
     [("volume", F(6, 27), "cu yd"), ("with-waste", F(66, 270), "cu yd+"),
      ("part-1", "2.0625", "cu ft+"), ("part-2", "6.1875", "cu ft+"), ("bag-1", 3, "bag+")]),
    ("parts", {"volumes": "60 L", "parts": "clay 1 : 2 1/2 parts of sand : straw 0.5"},
     [("volume", "0.06", "cu m"), ("part-1", 15, "L"), ("part-2", "37.5", "L"),
      ("part-3", "7.5", "L")]),
    # 4 ft down from 8 x 5 to 2 x 5 ft: sides of 5 ft along their slope; 1 ft over the rim.
    ("frustum", {"form": "rectangular", "top": "8 ft", "top_width": "5 ft", "bottom": "2 ft",
                 "bottom_width": "5 ft", "height": "4 ft", "depths": "2 ft", "lap": "1 ft",
                 "waste": "10", "count": "2"},
     [("volume", F(200 * 1728, 231), "gal"), ("space", 200, "cu ft"),
      ("depth-1", F(70 * 1728, 231), "gal"), ("lining", 252, "sq ft"),
      ("with-waste", "277.2", "sq ft+"), ("sides", 180, "sq ft"), ("bottom", 20, "sq ft"),
      ("lid", 80, "sq ft"), ("rim", 52, "ft")]),
    # A cone 6 ft across and 4 ft deep: 12 pi cu ft, and 5 ft along its side.
    ("frustum", {"top": "6 ft", "height": "4 ft", "depths": "2 ft"},
     [("volume", 12 * PI * 1728 / 231, "gal"), ("space", 12 * PI, "cu ft"),
      ("depth-1", F(3, 2) * PI * 1728 / 231, "gal"), ("lining", 15 * PI, "sq ft"),
      ("sides", 15 * PI, "sq ft"), ("lid", 9 * PI, "sq ft"), ("rim", 6 * PI, "ft")]),
    # A ceiling of 3/4 from 5 ft: 7 ft are 2 2/3 ft in from each wall.
    ("headroom", {"length": "10 ft", "width": "16 ft", "low": "5 ft", "slope": "9/12",
                  "flat": "8 ft"},
     [("usable", 160, "sq ft"), ("high", F(320, 3), "sq ft"), ("whole", 160, "sq ft"),
      ("width-5", 16, "ft"), ("width-7", F(32, 3), "ft"), ("peak", 8, "ft"),
      ("sloping", 100, "sq ft")]),
    ("headroom", {"length": "10 ft", "width": "12 ft", "low": "", "slope": "9/12",
                  "sides": "one", "rule": "measured"},
     [("usable", F(160, 3), "sq ft"), ("high", F(80, 3), "sq ft"), ("whole", 120, "sq ft"),
      ("width-5", F(16, 3), "ft"), ("width-7", F(8, 3), "ft"), ("peak", 9, "ft"),
      ("sloping", 150, "sq ft")]),
    # A dressed 2x4 is 10 in around: 20/3 sq ft along 8 ft, and 10.5 sq in at its ends.
    ("lumber-faces", {"pieces": "24 @ 2x4x8", "coats": "1", "coverage": "350 sq ft"},
     [("area", F("161.75"), "sq ft"), ("painted", F("161.75"), "sq ft"),
      ("paint", F("161.75") / 350, "gal"), ("cans", 1, "can"), ("pieces", 24, "piece")]),
    ("lumber-faces", {"pieces": "6 @ 3x12x10\n1 in x 5 in x 6 ft", "surface": "full",
                      "faces": "front", "coats": "2", "coverage": "93.5 sq ft"},
     [("area", "93.5", "sq ft"), ("painted", 187, "sq ft"), ("paint", 2, "gal"),
      ("cans", 2, "can"), ("pieces", 7, "piece")]),
    ("lumber-faces", {"pieces": "2 @ 2x4x6", "faces": "along", "coats": "1",
                      "coverage": "10 sq ft"},
     [("area", 10, "sq ft"), ("painted", 10, "sq ft"), ("paint", 1, "gal"), ("cans", 1, "can"),
      ("pieces", 2, "piece")]),
    # Windows 14 ft around and 8 widths of 3 in at the mitres, on both sides of the wall: 64 ft.
    ("trims", {"openings": "2 @ 3 ft x 4 ft", "sides": "four", "both": "both",
               "corners": "mitred", "runs": "6 ft\n2 @ 5 ft", "gaps": "30 in", "width": "3 in",
               "stock": "8 ft", "board": "10 in", "kerf": "1/4 in", "waste": "10"},
     [("length", "77.5", "ft"), ("around", 64, "ft"), ("runs", 16, "ft"),
      ("with-waste", "85.25", "ft+"), ("strips", 11, "piece+"), ("rips", 3, "piece"),
      ("boards", 4, "piece+"), ("face", "19.375", "sq ft")]),
    ("trims", {"runs": "50 ft", "width": "2 in", "board": "6 in", "kerf": ""},
     [("length", 50, "ft"), ("runs", 50, "ft"), ("rips", 3, "piece"), ("boards", F(50, 3), "ft"),
      ("face", F(25, 3), "sq ft")]),
    ("lumber", {"pieces": "33 @ 2x6x10", "waste": "10"},
     [("board-feet", 330, "bf"), ("pieces", 33, "piece"), ("with-waste", 363, "bf+"),
      ("pieces-waste", 37, "piece+")]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("shape", "typed", "expected"), FIGURES, ids=[f"{n}-{row[0]}" for n, row in enumerate(FIGURES)]
)
def test_all_figures_of_a_shape(shape, typed, expected):
    made = [
        (each.key, each.value, each.unit + "+" * each.has_waste)
        for each in worked(shape, **typed).figures
    ]
    assert made == [(key, F(value), unit) for key, value, unit in expected]


def test_every_shape_but_domes_stands_above():
    assert {code for code in SHAPES if "dome" not in code} == {shape for shape, *_ in FIGURES}


# shape, what is typed, figure -> how it came about
FORMULAS = [
    ("wall", FIGURES[0][1], "openings", "3 ft × 7 ft + 2 × 3 ft × 4 ft + 5 sq ft"),
    ("wall", FIGURES[0][1], "net", "192 sq ft − 50 sq ft"),
    ("framed-wall", FIGURES[3][1], "sheathing", "24 ft × 8 ft − 45 sq ft"),
    ("framed-wall", FIGURES[4][1], "sheathing", "24 ft × 8 ft"),
    ("gable-roof", FIGURES[5][1], "area",
     "(40 ft + 2 × 6 in) × (24 ft + 2 × 1 ft) × √(1 + (9/12)²)"),
    ("gable-roof", FIGURES[5][1], "squares", "1332.5 sq ft × 1.1 ÷ 100 sq ft"),
    ("gable-roof", FIGURES[6][1], "ridge", "40 ft"),
    ("roof-surfaces", FIGURES[10][1], "area", "2 × 30 ft × 20 ft + 450 sq ft"),
    ("concrete", FIGURES[11][1], "volume", "2 × 27 cu ft + 13.5 cu ft"),
    ("boards", FIGURES[17][1], "boards",
     "8' 10\" ÷ 5 1/2 in ÷ 0.85 = 22.674, up to whole ones"),
    ("boards", FIGURES[18][1], "boards", "9' 2\" ÷ 5 1/2 in = 20, up to whole ones"),
    ("sheathing", FIGURES[19][1], "area", "24 ft × 8 ft − (3 ft × 7 ft)"),
    ("sheathing", FIGURES[20][1], "area", "2 × 8 ft × 8 ft"),
    ("masonry", FIGURES[23][1], "units", "15 a course × 12 courses − 16 sq ft × 1.125"),
    ("masonry", FIGURES[23][1], "area", "20 ft × 8 ft − (4 ft × 4 ft)"),
    ("masonry", FIGURES[25][1], "area", "20 ft × 5 ft"),
    ("raised-bed", FIGURES[33][1], "boards", "2 × 2 courses × 2 × (8 ft + 4 ft)"),
    ("raised-bed", FIGURES[33][1], "soil", "2 × 7' 9\" × 3' 9\" × 11 in × 80%"),
    ("raised-bed", FIGURES[34][1], "soil", "16 ft × 6 ft × 11 in"),
    ("tank", FIGURES[35][1], "volume", "2 × π ÷ 4 × (4 ft)² × 3 ft"),
    ("tank", FIGURES[35][1] | {"count": "1"}, "around", "π × 4 ft"),
    ("pipe", FIGURES[36][1], "pipe", "35 ft + 2 × 12' 6\""),
]  # fmt: skip


@pytest.mark.parametrize(("shape", "typed", "key", "formula"), FORMULAS)
def test_how_a_figure_came_about(shape, typed, key, formula):
    (found,) = [each for each in worked(shape, **typed).figures if each.key == key]
    assert found.formula == formula


# shape, what is typed -> how each figure came about, in order: each was read and worked again
ALL_FORMULAS = [
    ("beds", FIGURES[38][1], [
         '3 × 6\' 9" × 2\' 9" × (14 in − 3 in) + 2 × 4\' 9" × 3\' 9" × (2 ft − 3 in)',
         "91.313 sq ft × 3 in",
         '3 × 6\' 9" × 2\' 9" + 2 × 4\' 9" × 3\' 9"',
         '3 × (2 × (6\' 9" + 2\' 9") × 14 in + 6\' 9" × 2\' 9") + 2 × (2 × (4\' 9" '
         '+ 3\' 9") × 2 ft + 4\' 9" × 3\' 9")',
         "225.813 sq ft × 1.1",
         "3 × 3 × 2 × (7 ft + 3 ft) + 2 × 5 × 2 × (5 ft + 4 ft)",
     ]),
    ("beds", FIGURES[39][1], [
         "3 × 6 ft × 2 ft × 14 in × 50% + 2 × 4 ft × 3 ft × 2 ft × 50%",
         "3 × 6 ft × 2 ft + 2 × 4 ft × 3 ft",
         "3 × (7 ft × 3 ft − 6 ft × 2 ft) × 14 in + 2 × (5 ft × 4 ft − 4 ft × 3 ft) × 2 ft",
         "3 × 42 sq ft + 2 × 64 sq ft",
         "5 ÷ 3 → 2 at once, the largest: 2 × 64 sq ft",
     ]),
    ("beds", FIGURES[40][1], [
         "2 m × 1 m × 0.5 m",
         "2 m × 1 m",
         "2 × (2 m + 1 m) × 0.5 m",
     ]),
    ("parts", FIGURES[41][1], [
         "6 cu ft",
         "6 cu ft × 1.1",
         "6 cu ft × 1.1 ÷ 80% × 1/4",
         "6 cu ft × 1.1 ÷ 80% × 3/4",
         "2.063 cu ft ÷ 1 cu ft, up to whole ones",
     ]),
    ("parts", FIGURES[42][1], [
         "0.06 cu m",
         "0.06 cu m × 1/4",
         "0.06 cu m × 2.5/4",
         "0.06 cu m × 0.5/4",
     ]),
    ("frustum", FIGURES[43][1], [
         "2 × 4 ft ÷ 6 × (10 sq ft + 4 × 25 sq ft + 40 sq ft)",
         "2 × 4 ft ÷ 6 × (10 sq ft + 4 × 25 sq ft + 40 sq ft)",
         "2 × 2 ft ÷ 6 × (10 sq ft + 4 × 17.5 sq ft + 25 sq ft)",
         "20 sq ft + 180 sq ft + 2 × 26 ft × 1 ft",
         "252 sq ft × 1.1",
         "2 × ((2 ft + 8 ft) × 4 ft + (5 ft + 5 ft) × 5 ft)",
         "2 × 2 ft × 5 ft",
         "2 × 8 ft × 5 ft",
         "2 × around the top",
     ]),
    ("frustum", FIGURES[44][1], [
         "4 ft ÷ 6 × (0 sq ft + 4 × 7.069 sq ft + 28.274 sq ft)",
         "4 ft ÷ 6 × (0 sq ft + 4 × 7.069 sq ft + 28.274 sq ft)",
         "2 ft ÷ 6 × (0 sq ft + 4 × 1.767 sq ft + 7.069 sq ft)",
         "0 sq ft + 47.124 sq ft",
         "π ÷ 2 × (0 ft + 6 ft) × 5 ft",
         "π ÷ 4 × (6 ft)²",
         "around the top",
     ]),
    ("headroom", FIGURES[45][1], [
         "10 ft × 16 ft",
         '10 ft × 10\' 8"',
         "10 ft × 16 ft",
         "the whole width",
         "16 ft − 2 × (7 ft − 5 ft) ÷ 9/12",
         "as stated",
         "2 × 10 ft × 4 ft × √(1 + (9/12)²)",
     ]),
    ("headroom", FIGURES[46][1], [
         '10 ft × 5\' 4"',
         '10 ft × 2\' 8"',
         "10 ft × 12 ft",
         "12 ft − (5 ft − 0 ft) ÷ 9/12",
         "12 ft − (7 ft − 0 ft) ÷ 9/12",
         "0 ft + 12 ft × 9/12",
         "10 ft × 12 ft × √(1 + (9/12)²)",
     ]),
    ("lumber-faces", FIGURES[47][1], [
         "24 × (2 × (1 1/2 in + 3 1/2 in) × 8 ft + 2 × 1 1/2 in × 3 1/2 in)",
         "1 × 161.75 sq ft",
         "161.75 sq ft ÷ 350 sq ft to the gal",
         "0.462 gal ÷ 1 gal, up to whole ones",
         "24",
     ]),
    ("lumber-faces", FIGURES[48][1], [
         "6 × (1 ft + 2 × 3 in) × 10 ft + (5 in + 2 × 1 in) × 6 ft",
         "2 × 93.5 sq ft",
         "187 sq ft ÷ 93.5 sq ft to the gal",
         "2 gal ÷ 1 gal, up to whole ones",
         "6 + 1",
     ]),
    ("lumber-faces", FIGURES[49][1], [
         "2 × 2 × (1 1/2 in + 3 1/2 in) × 6 ft",
         "1 × 10 sq ft",
         "10 sq ft ÷ 10 sq ft to the gal",
         "1 gal ÷ 1 gal, up to whole ones",
         "2",
     ]),
    ("trims", FIGURES[50][1], [
         '64 ft + 16 ft − (2\' 6")',
         "2 × (2 × (2 × 4 ft + 2 × 3 ft + 8 × 3 in))",
         "6 ft + 2 × 5 ft",
         '77\' 6" × 1.1',
         '77\' 6" × 1.1 ÷ 8 ft, up to whole ones',
         "(10 in + 1/4 in) ÷ (3 in + 1/4 in), down to whole ones",
         "11 ÷ 3, up to whole ones",
         '77\' 6" × 3 in',
     ]),
    ("trims", FIGURES[51][1], [
         "50 ft",
         "50 ft",
         "(6 in) ÷ (2 in), down to whole ones",
         "50 ft ÷ 3",
         "50 ft × 2 in",
     ]),
]  # fmt: skip


@pytest.mark.parametrize(("shape", "typed", "formulas"), ALL_FORMULAS)
def test_how_all_figures_came_about(shape, typed, formulas):
    assert [each.formula for each in worked(shape, **typed).figures] == formulas


@pytest.mark.parametrize(
    ("shape", "typed", "key", "size", "unit"),
    [
        # 8 ft less three plates of 1 1/2 in.
        ("framed-wall", FIGURES[3][1], "studs", "7.625", "ft"),
        ("framed-wall", FIGURES[3][1], "studs-waste", "7.625", "ft"),
        ("boards", FIGURES[17][1], "boards", "12", "ft"),
        ("boards", FIGURES[17][1], "stock", "16", "ft"),
        ("raised-bed", FIGURES[33][1], "stock", "10", "ft"),
        ("pipe", FIGURES[36][1], "pieces", "20", "ft"),
    ],
)
def test_the_length_of_one(shape, typed, key, size, unit):
    (found,) = [each for each in worked(shape, **typed).figures if each.key == key]
    assert (found.each, found.each_unit) == (F(size), unit)


def test_joints_in_the_sides_of_a_bed_may_save_boards_and_that_is_said():
    notes = worked("raised-bed", **FIGURES[33][1]).notes
    # 96 ft and a tenth more out of 10s.
    assert "With joints in the sides, 11 boards would do" in notes[0]
    even = worked("raised-bed", length="10 ft", width="5 ft", height="5 in", stock="10 ft").notes
    assert even[0].startswith("No side is joined of two boards. Saw cuts")


def test_paint_in_cans_that_tell_a_thousandth_apart():
    """A gallon is 231 of 1,728 cu in to the cubic foot; a litre 1,000 of 28,316.846592."""
    gallon = {"coats": "1", "coverage": "350 sq ft", "can": "1 cu in"}
    # 350.1 sq ft take 231.07 cu in.
    assert figures("paint", areas="350.1 sq ft", **gallon)["cans"] == 232
    litre = {"coats": "1", "coverage": "9 sq m", "per": "L", "can": "10 mL"}
    assert figures("paint", areas="9 sq m", **litre)["cans"] == 100
    # 1.00056 L.
    assert figures("paint", areas="9.005 sq m", **litre)["cans"] == 101


@pytest.mark.parametrize(
    ("shape", "typed", "question"),
    [
        ("wall", {"length": "10 ft", "height": "8 ft", "openings": "80 sq ft"}, "openings"),
        ("framed-wall", {"length": "10 ft", "height": "4.5 in"}, "height"),
        ("framed-wall", {"length": "10 ft", "height": "8 ft", "openings": "10 ft x 8 ft"},
         "openings"),
        ("framed-wall", {"length": "10 ft", "height": "8 ft", "openings": "21 sq ft"}, "openings"),
        ("framed-wall", {"length": "1250.1 ft", "height": "8 ft", "spacing": "3 in"}, "spacing"),
        ("sheathing", {"areas": "64 sq ft", "openings": "64 sq ft"}, "openings"),
        ("sheathing", {"areas": "64 sq ft", "sheet": "2 @ 4 ft x 8 ft"}, "sheet"),
        ("sheathing", {"areas": "64 sq ft", "sheet": "4 ft x 8 ft\n4 ft x 4 ft"}, "sheet"),
        ("sheathing", {"areas": "1000001 sq ft", "sheet": "1 ft x 1 ft"}, "sheet"),
        ("boards", {"across": "10 ft", "along": "8 ft", "waste": "100"}, "waste"),
        ("masonry", {"length": "10 ft", "height": "8 ft", "openings": "80 sq ft"}, "openings"),
        ("masonry", {"length": "1 ft", "height": "8 in", "openings": "96 sq in",
                     "unit": "block"}, "openings"),
        ("masonry", {"unit": "own", "per_sq_ft": "100", "length": "5000 ft",
                     "height": "20.001 ft"}, "per_sq_ft"),
        ("raised-bed", {"length": "8 ft", "width": "6 in", "height": "1 ft",
                        "board_thickness": "3 in"}, "board_thickness"),
        ("raised-bed", {"length": "8 ft", "width": "4 ft", "height": "16.75 ft",
                        "board": "1 in"}, "board"),
        ("beds", {"beds": "8 ft x 1 ft x 1 ft", "thickness": "6 in"}, "thickness"),
        ("beds", {"beds": "8 ft x 4 ft x 1 ft", "layer": "1 ft"}, "layer"),
        ("beds", {"beds": "8 ft x 4 ft x 1 ft", "board": ""}, "board"),
        ("beds", {"beds": "8 ft x 4 ft x 16.75 ft", "board": "1 in"}, "board"),
        ("beds", {"beds": "8 ft x 4 ft x 1 ft", "walls": "poured", "thickness": ""},
         "thickness"),
        ("parts", {"volumes": "1 cu yd", "parts": "1 lime\n3 Lime"}, "parts"),
        ("parts", {"volumes": "1 cu yd", "bags": "cement 1 cu ft"}, "bags"),
        ("parts", {"volumes": "1 cu yd", "bags": "lime 1 cu ft\nLime 2 cu ft"}, "bags"),
        ("frustum", {"top": "6 ft", "height": "4 ft", "depths": "4.1 ft"}, "depths"),
        ("headroom", {"length": "9 ft", "width": "9 ft", "low": "8 ft", "flat": "8 ft"}, "flat"),
        ("headroom", {"length": "9 ft", "width": "9 ft", "low": "", "slope": "0/12"}, "slope"),
        ("trims", {}, "runs"),
        ("trims", {"runs": "9 ft", "gaps": "9 ft"}, "gaps"),
        ("trims", {"openings": "21 sq ft"}, "openings"),
        ("trims", {"runs": "9 ft", "board": "2 in"}, "board"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_at_its_question(shape, typed, question):
    with pytest.raises(TakeoffError) as error:
        worked(shape, **typed)
    assert error.value.ask == question


@pytest.mark.parametrize(
    ("shape", "typed", "key", "value"),
    [
        ("framed-wall", {"length": "1250 ft", "height": "8 ft", "spacing": "3 in"}, "studs", 5005),
        ("sheathing", {"areas": "1000000 sq ft", "sheet": "1 ft x 1 ft"}, "sheets", 10**6),
        # Small ones are walls and beds too.
        ("framed-wall", {"length": "1 ft", "height": "8 in"}, "sheathing", F(2, 3)),
        ("raised-bed", {"length": "2 ft", "width": "1 ft", "height": "1 ft"}, "growing",
         F(7, 4) * F(3, 4)),
        ("masonry", {"unit": "own", "per_sq_ft": "100", "length": "5000 ft", "height": "20 ft"},
         "units", 10**7),
        ("masonry", {"unit": "own", "per_sq_ft": "1", "length": "1 ft", "height": "1 ft"},
         "units", 1),
        ("raised-bed", {"length": "8 ft", "width": "4 ft", "height": "200 in", "board": "1 in"},
         "boards", 200 * 24),
        ("beds", {"beds": "8 ft x 4 ft x 200 in", "board": "1 in"}, "boards", 200 * 24),
    ],
)  # fmt: skip
def test_the_most_that_can_be(shape, typed, key, value):
    assert figures(shape, **typed)[key] == value
