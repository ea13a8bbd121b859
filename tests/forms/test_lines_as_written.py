"""Lines as builders, yards, auction sheets and receipts write them, read by the short form.

Each row says what must be understood, in the component's base unit and in money, or what must be
asked, with the readings offered, the likelier first. Factors: 1 gal = 231 cu in, 1 yd = 3 ft,
1 board foot = 144 cu in, 1 in = 25.4 mm (NIST Handbook 44, appendix C); 1 kWh = 1000 Wh.
"""

import datetime

import pytest

from materials.forms.short_form import LogForm
from materials.queries.drafts import draft_purchase
from materials.queries.preview import preview_purchase
from materials.queries.price_book import get_price_book
from materials.queries.reports import get_cost_sheet
from tests.entries import Entries
from tests.views import test_messy_lines as messy

EACH, LINE, FREE = "each", "line", "free"
# What the build knows: name -> base unit, contents.
KNOWN = {
    "Old 2x8": ("piece", "1 piece = 2x8x12"),
    "Barn siding": ("sq ft", ""),
    "Limewash": ("gal", ""),
    "Gravel": ("cu yd", ""),
    "Roof sheets": ("sheet", "1 sheet = 3x8 ft"),
    "Lime": ("bag", "1 bag = 50 lb"),
    "Solar panels": ("piece", "1 piece = 300 W"),
    "Batteries": ("piece", "1 piece = 100 Ah"),
    "Screws": ("lb", ""),
    "Blocks": ("piece", ""),
    "Insulation board": ("piece", ""),
    "Door": ("piece", ""),
    "Rope": ("ft", ""),
}
# (what, how much, price, what the price is for) -> quantity in base units, price of the line.
UNDERSTOOD = [
    # Lumber.
    ("Old 2x8", "16 @ 2x8x12", "1.50", EACH, "16 piece", "24.00"),
    ("Old 2x8", "16 pieces of 2x8x12", "24 total", EACH, "16 piece", "24.00"),
    ("Old 2x8", "2 dozen boards", "30 for all", EACH, "24 piece", "30.00"),
    ("Old 2x8", "12 12' boards", "1.50 each", EACH, "12 piece", "18.00"),
    ("Old 2x8", "12 12-ft boards", "18", LINE, "12 piece", "18.00"),
    ("Old 2x8", "10 6 ft boards", "1", EACH, "5 piece", "10.00"),
    ("Old 2x8", "8 twelve foot planks", "3", EACH, "8 piece", "24.00"),
    ("Old 2x8", "180 ft", "9 cents per foot", EACH, "15 piece", "16.20"),
    ("Old 2x8", "180 lf", "6¢/ft", EACH, "15 piece", "10.80"),
    ("Old 2x8", "180 running feet", "$0.06 a foot", EACH, "15 piece", "10.80"),
    ("Old 2x8", "160 board feet", "65 cents per bf", EACH, "10 piece", "104.00"),
    ("Old 2x8", "160 bd ft", "$650/MBF", EACH, "10 piece", "104.00"),
    ("Old 2x8", "10 boards", "65 cents per board foot", EACH, "10 piece", "104.00"),
    ("Old 2x8", "9 old boards", "two bucks each", EACH, "9 piece", "18.00"),
    ("Old 2x8", "1 long plank", "a dollar", EACH, "1 piece", "1.00"),
    ("Old 2x8", "144 ft", "1.20 apiece", EACH, "12 piece", "14.40"),
    ("Old 2x8", "6 boards", "3 for $5", EACH, "6 piece", "10.00"),
    ("Old 2x8", "6 boards", "$5 for 3", EACH, "6 piece", "10.00"),
    ("Old 2x8", "6 boards", "5 per 3", EACH, "6 piece", "10.00"),
    ("Old 2x8", "7 boards", "about a dollar each", EACH, "7 piece", "~7.00"),
    ("Old 2x8", "7 boards", "~1", EACH, "7 piece", "~7.00"),
    ("Old 2x8", "7 boards", "10 or so", LINE, "7 piece", "~10.00"),
    ("Old 2x8", "7 boards", "$10ish", LINE, "7 piece", "~10.00"),
    ("Old 2x8", "7 boards", "ca. 10", LINE, "7 piece", "~10.00"),
    ("Old 2x8", "7 boards", "approx. 10 total", EACH, "7 piece", "~10.00"),
    ("Old 2x8", "7 boards", "10?", LINE, "7 piece", "~10.00"),
    ("Old 2x8", "7 boards", "roughly fifty cents each", EACH, "7 piece", "~3.50"),
    ("Rafters", "14 @ 2x6x16", "4.25", EACH, "14 piece", "59.50"),
    ("Rafters", "14 @ 2x6x16'", "4.25", EACH, "14 piece", "59.50"),
    ("Rafters", "14 rafters @ 16 ft", "$4.25 ea.", EACH, "14 piece", "59.50"),
    ("Barn beams", "3 @ 8x8x16", "60", EACH, "3 piece", "180.00"),
    ("Barn beams", "3 beams", "180 altogether", EACH, "3 piece", "180.00"),
    ("Ida's posts", "4 six foot posts", "2.5", EACH, "4 piece", "10.00"),
    ("Oak, rough", "140 bf", "1.10", EACH, "140 bf", "154.00"),
    ("Oak, rough", "0.14 MBF", "154 in all", EACH, "0.14 MBF", "154.00"),
    ("Lath", "3 bundles", "4/bundle", EACH, "3 bundle", "12.00"),
    ("Lath", "2 hundred", "8 per hundred", EACH, "2 hundred", "16.00"),
    ("Slats", "1 thousand slats", "40 per thousand", EACH, "1000 piece", "40.00"),
    # Sheets.
    ("Roof sheets", "10 sheets", "3.50", EACH, "10 sheet", "35.00"),
    ("Roof sheets", "10 sheets", "35 for the lot", EACH, "10 sheet", "35.00"),
    ("Roof sheets", "10 @ 3x8 sheets", "3.50 each", EACH, "10 sheet", "35.00"),
    ("Roof sheets", "240 sq ft", "15 cents/sq ft", EACH, "10 sheet", "36.00"),
    ("Roof sheets", "2.4 squares", "15/square", EACH, "10 sheet", "36.00"),
    ("Roof sheets", "10 rusty sheets", "2", EACH, "10 sheet", "20.00"),
    ("Roof sheets", "a sheet", "2", EACH, "1 sheet", "2.00"),
    ("Barn siding", "16 @ 4x8 sheets", "8/sheet", EACH, "512 sq ft", "128.00"),
    ("Barn siding", "60 sheets @ 2 in x 4 ft x 8 ft", "5", EACH, "1920 sq ft", "300.00"),
    ("Barn siding", "60 sheets @ 2x4x8", "5", EACH, "1920 sq ft", "300.00"),
    ("Barn siding", "2.5 sq", "60", EACH, "250 sq ft", "150.00"),
    ("Barn siding", "250 sqft", "60 per square", EACH, "250 sq ft", "150.00"),
    ("Barn siding", "30 sq yd", "1 a sq ft", EACH, "270 sq ft", "270.00"),
    ("Insulation board", "8 @ 2 in x 4 ft x 8 ft", "9", EACH, "8 piece", "72.00"),
    ("OSB", "5 sheets", "6", EACH, "5 sheet", "30.00"),
    ("Plywood", "5 @ 4x8 ft", "6", EACH, "5 piece", "30.00"),
    ("Plywood", "3/4 sheet", "9", LINE, "0.75 sheet", "9.00"),
    # Masonry.
    ("Blocks", "120 @ 8 in x 8 in x 16 in", "0.40", EACH, "120 piece", "48.00"),
    ("Blocks", "120 blocks", "40 cents each", EACH, "120 piece", "48.00"),
    ("Blocks", "120 blocks", "40¢", EACH, "120 piece", "48.00"),
    ("Blocks", "10 dozen blocks", "4.80 a dozen", EACH, "120 piece", "48.00"),
    ("Bricks", "1,250 bricks", "25 cents apiece", EACH, "1250 piece", "312.50"),
    ("Bricks", "1.5 thousand", "250 per thousand", EACH, "1.5 thousand", "375.00"),
    ("Bricks", "2 thousand old bricks", "500", LINE, "2000 piece", "500.00"),
    ("Bricks", "3 pallets", "60 a pallet", EACH, "3 pallet", "180.00"),
    ("Pavers", "80 pavers", "about 20", LINE, "80 piece", "~20.00"),
    ("Slate", "300 slates", "", FREE, "300 piece", "0.00"),
    # Loose.
    ("Gravel", "3 cu yd", "50/cu yd", EACH, "3 cu yd", "150.00"),
    ("Gravel", "3 cubic yards", "fifty dollars per cubic yard", EACH, "3 cu yd", "150.00"),
    ("Gravel", "54 cu ft", "100 total", EACH, "2 cu yd", "100.00"),
    ("Gravel", "81 cf", "100 all told", EACH, "3 cu yd", "100.00"),
    ("Earth", "6 cu yd", "", FREE, "6 cu yd", "0.00"),
    ("Earth", "1 truck load", "40", LINE, "1 load", "40.00"),
    ("Earth", "two trailer loads", "40 for everything", EACH, "2 load", "40.00"),
    ("Sand", "2 tons", "30/ton", EACH, "2 ton", "60.00"),
    ("Sand", "1.5 tons", "45", LINE, "1.5 ton", "45.00"),
    ("Concrete mix", "10 60 lb bags", "4.20 a bag", EACH, "10 bag", "42.00"),
    ("Concrete mix", "10 60-lb bags", "7 cents per lb", EACH, "10 bag", "42.00"),
    ("Lime", "12 bags", "5.50", EACH, "12 bag", "66.00"),
    ("Lime", "12 50 lb bags", "5.50 ea", EACH, "12 bag", "66.00"),
    ("Lime", "12 50# bags", "66 the lot", EACH, "12 bag", "66.00"),
    ("Lime", "600 lb", "11 cents a pound", EACH, "12 bag", "66.00"),
    ("Lime", "12 full bags", "5.50", EACH, "12 bag", "66.00"),
    ("Lime", "6 sacks", "5.50 per sack", EACH, "6 bag", "33.00"),
    ("Straw", "40 bales", "3", EACH, "40 piece", "120.00"),
    ("Straw", "40 bales", "$3 a bale", EACH, "40 piece", "120.00"),
    # Liquids.
    ("Limewash", "20 gal", "4 each", EACH, "20 gal", "80.00"),
    ("Limewash", "20 gal", "4 ea", EACH, "20 gal", "80.00"),
    ("Limewash", "20 gal", "4 apiece", EACH, "20 gal", "80.00"),
    ("Limewash", "9 five gallon buckets", "20 each", EACH, "45 gal", "180.00"),
    ("Limewash", "9 5-gallon buckets", "20", EACH, "45 gal", "180.00"),
    ("Limewash", "9 x 5 gal buckets", "180", LINE, "45 gal", "180.00"),
    ("Limewash", "9 5 gal pails", "4 per gal", EACH, "45 gal", "180.00"),
    ("Limewash", "two 5 gal cans", "20 a can", EACH, "10 gal", "40.00"),
    ("Limewash", "1 five gallon bucket", "about 20", LINE, "5 gal", "~20.00"),
    ("Limewash", "6 quarts", "3 a quart", EACH, "1.5 gal", "18.00"),
    ("Limewash", "6 1-qt cans", "3", EACH, "1.5 gal", "18.00"),
    ("Limewash", "4 @ 5 gal", "70 total", EACH, "20 gal", "70.00"),
    ("Limewash", "64 fl oz", "5", LINE, "0.5 gal", "5.00"),
    ("Oil paint, mis-tint", "5 gal", "8", EACH, "5 gal", "40.00"),
    ("Caulk", "12 10 oz tubes", "1.5", EACH, "12 tube", "18.00"),
    ("Caulk", "12 tubes", "18 for the lot", EACH, "12 tube", "18.00"),
    ("Turpentine", "2 drums", "25 a drum", EACH, "2 drum", "50.00"),
    # Electrical.
    ("Solar panels", "8 panels", "0.40/W", EACH, "8 piece", "960.00"),
    ("Solar panels", "8 panels", "40 cents per watt", EACH, "8 piece", "960.00"),
    ("Solar panels", "8 300W panels", "120", EACH, "8 piece", "960.00"),
    ("Solar panels", "8 300 watt panels", "960 total", EACH, "8 piece", "960.00"),
    ("Solar panels", "2.4 kW", "0.40 per W", EACH, "8 piece", "960.00"),
    ("Solar panels", "2400 W", "400/kW", EACH, "8 piece", "960.00"),
    ("Solar panels", "8 @ 300 W", "120 each", EACH, "8 piece", "960.00"),
    ("Batteries", "220 Ah", "1/Ah", EACH, "2.2 piece", "220.00"),
    ("Batteries", "4 100 Ah batteries", "45", EACH, "4 piece", "180.00"),
    ("Batteries", "4 batteries", "45 cents per Ah", EACH, "4 piece", "180.00"),
    ("Battery bank", "220 Ah", "180", LINE, "220 Ah", "180.00"),
    ("Battery bank", "5.12 kWh", "200/kWh", EACH, "5.12 kWh", "1024.00"),
    ("Panels off the farm", "2.4 kW", "960", LINE, "2.4 kW", "960.00"),
    ("Inverter", "1 inverter", "~150", LINE, "1 piece", "~150.00"),
    ("Wire", "2 100 ft rolls", "15 a roll", EACH, "2 roll", "30.00"),
    ("Wire", "2 rolls", "30", LINE, "2 roll", "30.00"),
    # Hardware, fittings and finds.
    ("Screws", "3 lb 8 oz", "9", LINE, "3.5 lb", "9.00"),
    ("Screws", "48 oz", "$1.80/lb", EACH, "3 lb", "5.40"),
    ("Screws", "5 lb", "2 each", EACH, "5 lb", "10.00"),
    ("Nails, square", "200 nails", "5 cents each", EACH, "200 piece", "10.00"),
    ("Nails, square", "2 coffee cans", "3", EACH, "2 can", "6.00"),
    ("Hinges", "6 pair", "4 a pair", EACH, "6 pair", "24.00"),
    ("Hinges", "1 dozen hinges", "12", LINE, "12 piece", "12.00"),
    ("Tarps", "3 tarps", "5", EACH, "3 piece", "15.00"),
    ("Tarps", "3 blue tarps", "15 for all of them", EACH, "3 piece", "15.00"),
    ("Shutters", "10 shutters", "2", EACH, "10 piece", "20.00"),
    ("Wood stove", "1 stove", "80 obo", LINE, "1 piece", "80.00"),
    ("Wood stove", "one wood stove", "80", LINE, "1 piece", "80.00"),
    ("Doors", "4 solid doors", "10", EACH, "4 piece", "40.00"),
    ("Door", "2 pcs", "20 bucks", LINE, "2 piece", "20.00"),
    ("Door", "2 pcs", "20 for both", EACH, "2 piece", "20.00"),
    ("Door", "2 pcs", "$ 20.- total", EACH, "2 piece", "20.00"),
    ("Door", "a door", "ten dollars", LINE, "1 piece", "10.00"),
    ("Door", "2 36 in doors", "10", EACH, "2 piece", "20.00"),
    ("Windows", "6 windows", "25 apiece", EACH, "6 piece", "150.00"),
    ("Windows", "6 windows", "maybe 25 each", EACH, "6 piece", "~150.00"),
    ("Sinks", "2 sinks", "est. 30", LINE, "2 piece", "~30.00"),
    ("Louvres", "5 louvres", "2.25/each", EACH, "5 piece", "11.25"),
    ("Elbows, stove pipe", "6 elbows", "75 cents", EACH, "6 piece", "4.50"),
    ("Tyres", "20 tyres", "", FREE, "20 piece", "0.00"),
    ("Bottles", "100 glass bottles", "", FREE, "100 piece", "0.00"),
    ("Cabinets", "a set", "90", LINE, "1 set", "90.00"),
    ("Racking", "2 racks", "15", EACH, "2 piece", "30.00"),
    ("Rope", "100 ft", "10 cents a foot", EACH, "100 ft", "10.00"),
    ("Rope", "100 ft", "0.10 each", EACH, "100 ft", "10.00"),
    ("Rope", "3 yards", "1", EACH, "9 ft", "3.00"),
    ("Rope", "2 50 ft rolls", "5 a roll", EACH, "100 ft", "10.00"),
    ("Fence wire", "2 rolls", "10/roll", EACH, "2 roll", "20.00"),
    ("Pipe", "10 20 ft pipes", "4", EACH, "10 piece", "40.00"),
    ("Shears, hire", "2 days", "8.64 a day", EACH, "2 day", "17.28"),
    ("Shears, hire", "3 days", "8 per day", EACH, "3 day", "24.00"),
    ("Crates", "7 crates", "1", EACH, "7 crate", "7.00"),
    # What is said of the bargain and not of the amount; short words of price lists.
    ("Door", "5 pieces", "20 firm", EACH, "5 piece", "100.00"),
    ("Door", "5 pieces", "$20 each, firm", EACH, "5 piece", "100.00"),
    ("Door", "5 pieces", "20 cash", LINE, "5 piece", "20.00"),
    ("Door", "5 pieces", "70 total cash", EACH, "5 piece", "70.00"),
    ("Barn siding", "1,200 sqft", "$0.85 psf", EACH, "1200 sq ft", "1020.00"),
    ("Barn siding", "300 sq ft", ".90 PSF", EACH, "300 sq ft", "270.00"),
    ("Rope", "40 ft", "0.75 plf", EACH, "40 ft", "30.00"),
    ("Old 2x8", "100 ft", "$1.10 plf", EACH, "8.333333 piece", "110.00"),
    # Numbers in words before a measure.
    ("Rope", "two hundred feet", "10", LINE, "200 ft", "10.00"),
    ("Rope", "a hundred ft", "0.10 each", EACH, "100 ft", "10.00"),
    ("Screws", "one hundred pounds", "1", EACH, "100 lb", "100.00"),
]
# (what, how much, price, what the price is for, box at fault, readings offered, words said).
ASKED = [
    # Three bare sides.
    ("Blocks", "120 8x8x16", "", EACH, "quantity_text",
     ("120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"), "Did you mean"),
    ("Blocks", "120 @ 8x8x16", "", EACH, "quantity_text",
     ("120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"), "could mean another quantity"),
    ("Concrete block", "120 of 8x8x16", "", EACH, "quantity_text",
     ("120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"), "Did you mean"),
    ("Concrete block", "40 - 4x8x16", "", EACH, "quantity_text",
     ("40 @ 4 in x 8 in x 16 in", "40 @ 4x8x16 ft"), "Did you mean"),
    ("Bricks", "500 @ 4x2x8", "", EACH, "quantity_text",
     ("500 @ 4 in x 2 in x 8 in",), "Did you mean"),
    ("From the mill", "120 @ 8x8x16", "", EACH, "quantity_text",
     ("120 @ 8 in x 8 in x 16 in", "120 @ 8x8x16 ft"), "Did you mean"),
    ("From the mill", "4 @ 6x6x10", "", EACH, "quantity_text",
     ("4 @ 6x6x10 ft", "4 @ 6 in x 6 in x 10 in"), "Did you mean"),
    ("Roof sheets", "60 sheets 4x8x2", "", EACH, "quantity_text",
     ("60 sheets @ 2 in x 4 ft x 8 ft", "60 sheets @ 4 in x 8 ft x 2 ft"), "Did you mean"),
    ("Roof sheets", "60 sheets @ 4x8x2", "", EACH, "quantity_text",
     ("60 sheets @ 2 in x 4 ft x 8 ft", "60 sheets @ 4 in x 8 ft x 2 ft"), "Did you mean"),
    ("Barn siding", "16 sheets 4x8x1/2", "", EACH, "quantity_text",
     ("16 sheets @ 1/2 in x 4 ft x 8 ft",), "Did you mean"),
    ("Insulation board", "8 @ 2x4x8", "", EACH, "quantity_text",
     ("8 @ 2 in x 4 ft x 8 ft", "8 @ 2x4x8 ft"), "Did you mean"),
    ("Insulation board", "8 pcs 4x8x2", "", EACH, "quantity_text",
     ("8 pcs @ 2 in x 4 ft x 8 ft", "8 pcs @ 4 in x 8 ft x 2 ft"), "Did you mean"),
    ("Plywood", "5 @ 3/4x4x8", "", EACH, "quantity_text",
     ("5 @ 3/4 in x 4 ft x 8 ft",), "Did you mean"),
    ("Plywood", "5 pcs 48x96x3/4", "", EACH, "quantity_text",
     ("5 pcs @ 3/4 in x 48 in x 96 in",), "Did you mean"),
    ("Drywall", "11 4x8x1/2", "", EACH, "quantity_text",
     ("11 @ 1/2 in x 4 ft x 8 ft",), "Did you mean"),
    # Yards, ounces, sides without a count.
    ("Gravel", "3 yards", "", EACH, "quantity_text", ("3 cu yd", "3 linear yards"), "Did you mean"),
    ("Gravel", "1½ yds", "", EACH, "quantity_text", ("1½ cu yd", "1½ linear yards"), "mean"),
    ("Earth", "3 yards", "", EACH, "quantity_text", ("3 cu yd", "3 linear yards"), "Did you mean"),
    ("Concrete", "3 yds of concrete", "", EACH, "quantity_text",
     ("3 cu yd", "3 linear yards"), "Did you mean"),
    ("Topsoil", "10 yd", "", EACH, "quantity_text", ("10 cu yd", "10 linear yards"), "mean"),
    ("Barn siding", "30 yards", "", EACH, "quantity_text", ("30 sq yd", "30 linear yards"), "mean"),
    ("Limewash", "64 oz", "", EACH, "quantity_text", ("64 fl oz",), "Did you mean"),
    ("Gravel", "96 ft x 12 in x 6 in", "", EACH, "quantity_text",
     ("48 cu ft", "1 @ 96 ft x 12 in x 6 in"), "Did you mean"),
    ("Concrete", "10 ft x 12 ft x 4 in", "", EACH, "quantity_text",
     ("40 cu ft", "1 @ 10 ft x 12 ft x 4 in"), "Did you mean"),
    ("Barn siding", "10 ft x 12 ft", "", EACH, "quantity_text",
     ("120 sq ft", "1 @ 10 ft x 12 ft"), "Did you mean"),
    ("Tarps", "10 ft x 12 ft", "", EACH, "quantity_text",
     ("1 @ 10 ft x 12 ft", "120 sq ft"), "Did you mean"),
    # Numbers alone.
    ("Flashings", "120", "", EACH, "quantity_text", ("120 pieces",), "has no unit"),
    ("Flashings", "1", "", EACH, "quantity_text", ("1 piece",), "has no unit"),
    ("Sheathing", "12", "", EACH, "quantity_text", ("12 sheets", "12 pieces"), "has no unit"),
    ("Earth", "6", "", EACH, "quantity_text", ("6 cu yd", "6 tons"), "has no unit"),
    ("Barn paint", "5", "", EACH, "quantity_text", ("5 gal", "5 qt"), "has no unit"),
    ("Joists", "40", "", EACH, "quantity_text", ("40 pieces", "40 ft"), "has no unit"),
    ("Old 2x8", "40", "", EACH, "quantity_text", ("40 pieces",), "has no unit"),
    ("Limewash", "2 1/2", "", EACH, "quantity_text", ("2 1/2 gal",), "has no unit"),
    ("Blocks", "1,250", "", EACH, "quantity_text", ("1,250 pieces",), "has no unit"),
    # A count beside a size.
    ("Old 2x8", "12 2x8x12", "", EACH, "quantity_text", ("12 @ 2x8x12",), "Did you mean"),
    ("Old 2x8", "16 - 2x8x12s", "", EACH, "quantity_text", ("16 @ 2x8x12",), "Did you mean"),
    ("Old 2x8", "6x8x12 x 3", "", EACH, "quantity_text", ("3 @ 6x8x12",), "Did you mean"),
    ("Old 2x8", "2x8x12 x 40", "", EACH, "quantity_text", ("40 @ 2x8x12",), "Did you mean"),
    ("Old 2x8", "40 x 8ft", "", EACH, "quantity_text", ("40 @ 8 ft", "1 @ 40 x 8 ft"), "mean"),
    ("Old 2x8", "25 pc 16'", "", EACH, "quantity_text", ("25 pc @ 16'",), "Did you mean"),
    ("Old 2x8", "5 2x8s", "", EACH, "quantity_text", ("5 pieces",), "Did you mean"),
    ("Old 2x8", "2x8x12", "", EACH, "quantity_text", ("1 @ 2x8x12",), "has no count"),
    ("Barn siding", "12 sheets 4x8", "", EACH, "quantity_text", ("12 sheets @ 4x8",), "mean"),
    ("Barn siding", "11 4x8", "", EACH, "quantity_text", ("11 @ 4x8 ft",), "Did you mean"),
    ("Limewash", "2 x 5 gal", "", EACH, "quantity_text", ("2 @ 5 gal",), "Did you mean"),
    ("Limewash", "5 gal bucket", "", EACH, "quantity_text", ("1 @ 5 gal bucket", "5 gal"), "mean"),
    ("Limewash", "1 1/2 gal buckets", "", EACH, "quantity_text",
     ("1 @ 1/2 gal buckets", "1 1/2 gal"), "Did you mean"),
    # Words that only name the thing.
    ("Lime", "10 bags of lime", "", EACH, "quantity_text", ("10 bags",), "Did you mean"),
    ("Screws", "3 boxes of screws", "", EACH, "quantity_text", ("3 boxes",), "Did you mean"),
    ("Roof sheets", "16 sheets galvanised", "", EACH, "quantity_text", ("16 sheets",), "mean"),
    ("Limewash", "20 gal white", "", EACH, "quantity_text", ("20 gal",), "Did you mean"),
    ("Windows", "12 windows double hung", "", EACH, "quantity_text", ("12 windows",), "mean"),
    ("Limewash", "6 5-gal pails limewash", "", EACH, "quantity_text", ("6 5-gal pails",), "mean"),
    # Spelling.
    ("Limewash", "20 galons", "", EACH, "quantity_text", ("20 gal",), "did you mean 'gal'?"),
    ("Screws", "3 bxs", "", EACH, "quantity_text", ("3 box",), "did you mean 'box'?"),
    ("Solar panels", "7 kilowats", "", EACH, "quantity_text", ("7 kW",), "did you mean 'kW'?"),
    ("Blocks", "1 250 pcs", "", EACH, "quantity_text", ("1250 pcs",), "Did you mean"),
    # Nothing to offer: the sentence says what to write.
    ("Old 2x8", "10-12 boards", "", EACH, "quantity_text", (), "is a range: enter one number"),
    ("Old 2x8", "~12 boards", "", EACH, "quantity_text", (), "holds '~'"),
    ("Old 2x8", "12 @ 2x8x12 and 4 @ 2x8x6", "", EACH, "quantity_text", (), "'and' is not a unit"),
    ("Blocks", "lots", "", EACH, "quantity_text", (), "has no number where one belongs"),
    ("Blocks", "0 blocks", "", EACH, "quantity_text", (), "is zero"),
    ("Blocks", "-20 blocks", "", EACH, "quantity_text", (), "is negative"),
    ("Blocks", "1e3 blocks", "", EACH, "quantity_text", (), "has an exponent"),
    ("Gravel", "2 tons", "", EACH, "quantity_text", (), "how many tons one cubic yard weighs"),
    ("Gravel", "2 bushels", "", EACH, "quantity_text", (), "'bushels' is not a unit"),
    ("Gravel", "6 wheelbarrows", "", EACH, "quantity_text", (), "'wheelbarrows' is not a unit"),
    ("Gravel", "2 trucks", "", EACH, "quantity_text", (), "'trucks' is not a unit"),
    ("Gravel", "2 truck loads", "", EACH, "quantity_text", (), "how many cubic yards one load"),
    ("Limewash", "2 buckets", "", EACH, "quantity_text", (), "how many gallons one bucket"),
    ("Batteries", "2 kWh", "", EACH, "quantity_text", (), "kilowatt hours one piece holds"),
    ("Solar panels", "24 V", "", EACH, "quantity_text", (), "how many volts one piece has"),
    ("Lime", "3 weeks", "", EACH, "quantity_text", (), "'weeks' is not a unit"),
    ("Door", "400 lf", "", EACH, "quantity_text", (), "how many feet one piece measures"),
    # Prices.
    ("Gravel", "3 cu yd", "50/yd", EACH, "price", ("50/cu yd",), "Did you mean"),
    ("Door", "4 pcs", "2 for 5", EACH, "price", ("5 per 2", "2 total"), "Did you mean"),
    ("Door", "2 pcs", "5 each", "lot", "price", (), "a lot is ticked"),
    ("Door", "2 pcs", "5", FREE, "price", (), "It has a price and is ticked as free"),
    ("Door", "2 pcs", "4O", LINE, "price", (), "is understood as 4, but not 'O'"),
    ("Door", "2 pcs", "12..5", LINE, "price", (), "is not a number"),
    ("Door", "2 pcs", "-40", LINE, "price", (), "cannot be below zero"),
    ("Door", "2 pcs", "40 more", LINE, "price", (), "but not 'more'"),
    ("Door", "2 pcs", "8/sheep", EACH, "price", (), "but not what it is for, 'sheep'"),
    ("Door", "2 pcs", "about a lot", LINE, "price", (), "“about a lot” is not a number"),
    ("Old 2x8", "12 boards", "8/sheet", EACH, "price", (), "how many pieces one sheet holds"),
    ("Old 2x8", "12 boards", "4 a pound", EACH, "price", (), "how many pounds one piece weighs"),
    ("Door", "2 pcs", "5/W", EACH, "price", (), "how many watts one piece gives"),
    # Doors, windows and tiles are named by their inches.
    ("Door", "3 doors 36x80", "30", EACH, "quantity_text", ("3 doors @ 36 in x 80 in",), "Did you"),
    ("Window", "4 - 36x48", "25", EACH, "quantity_text", ("4 @ 36 in x 48 in",), "Did you mean"),
    ("Window", "4 @ 36x48", "25", EACH, "quantity_text", ("4 @ 36 in x 48 in",), "Did you mean"),
    ("Window", "2 windows @ 24x36", "25", EACH, "quantity_text",
     ("2 windows @ 24 in x 36 in",), "Did you mean"),
    ("Tiles", "10 12x12", "1", EACH, "quantity_text",
     ("10 @ 12 in x 12 in", "10 @ 12x12 ft"), "Did you mean"),
    ("Pavers", "40 - 16x16", "2", EACH, "quantity_text",
     ("40 @ 16 in x 16 in", "40 @ 16x16 ft"), "Did you mean"),
    ("Barn siding", "12 sheets 4x8", "9", EACH, "quantity_text",
     ("12 sheets @ 4x8",), "Did you mean"),
    ("Door", "5 pieces", "20 plus tax", LINE, "price", (), "but not 'plus tax'"),
    ("Door", "5 pieces", "1.2k", LINE, "price", (), "but not 'k'"),
]  # fmt: skip
OTHERS = {"source": "salvage", "state": "received", "bought_on": "2026-05-04"}
DAY = datetime.date(2026, 5, 4)


@pytest.fixture
def known(cast, build):
    """A build that knows a few components."""
    entries = Entries(cast["owner"], build)
    for name, (unit, contents) in KNOWN.items():
        entries.component(name, unit, contents=contents)
    return build


def read(build, line) -> LogForm:
    """The short form with a line of the tables in it."""
    names = ("what", "quantity_text", "price", "price_for")
    form = LogForm(OTHERS | dict(zip(names, line[:4], strict=True)), build=build)
    form.is_valid()
    return form


def come_to(build, form, book, sheet) -> tuple[str, str]:
    """Quantity in base units, and the price of the line, marked where it is an estimate."""
    draft = draft_purchase(build, form.values(), None)
    (line,) = preview_purchase(draft.purchase, draft.lines, draft.charges, book, sheet).lines
    quantity = f"{line.base_qty.normalize():f} {line.component.unit}"
    if line.price is None:
        return quantity, ""
    mark = "~" if "Price is an estimate." in draft.lines[0].note else ""
    return quantity, f"{mark}{line.price:.2f}"


def test_there_are_lines_enough():
    lines = {line[:4] for line in (*UNDERSTOOD, *ASKED)}
    assert len(lines) == len(UNDERSTOOD) + len(ASKED) >= 250
    earlier = {line[:4] for line in (*messy.UNDERSTOOD, *messy.REFUSED)}
    assert len(lines | earlier) >= 350


def test_what_is_plain_is_understood(known):
    book, sheet = get_price_book(known), get_cost_sheet(known, DAY)
    wrong = []
    for line in UNDERSTOOD:
        form = read(known, line)
        got = form.errors.as_text() or come_to(known, form, book, sheet)
        if got != line[4:]:
            wrong.append((line, got))
    assert wrong == []


def test_what_is_not_plain_is_asked_at_its_box(known):
    wrong = []
    for line in ASKED:
        *_, box, offers, words = line
        form = read(known, line)
        faults = form.errors.as_data()
        got = [offer for error in faults.get(box, []) for offer in getattr(error, "offers", ())]
        said = " ".join(form.errors.get(box, []))
        if list(faults) != [box] or tuple(got) != offers or words not in said:
            wrong.append((line[:4], {name: list(map(str, e)) for name, e in faults.items()}, got))
    assert wrong == []


def test_what_is_offered_is_not_asked_about_again(known):
    wrong = []
    for line in ASKED:
        for offer in line[5]:
            change = {line[4]: offer}
            names = ("what", "quantity_text", "price", "price_for")
            data = OTHERS | dict(zip(names, line[:4], strict=True)) | change
            form = LogForm(data, build=known)
            form.is_valid()
            again = [e for e in form.errors.as_data().get(line[4], []) if getattr(e, "offers", ())]
            wrong += [(line[:4], offer, again)] if again else []
    assert wrong == []
