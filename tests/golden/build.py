"""The golden build as workbook sheets: a tool shed put up mostly from salvage.

``SHEETS`` maps a sheet's title to its rows. The first row holds the headings,
except on the Build sheet, which is a list of names and values. A cell is a str,
an int, a Decimal or None (blank), never a float.

What every figure of the report must be is worked out by hand in ``worked.py``.
"""

from decimal import Decimal as D

from tests.golden.rows import charge, component, labour, left, line, purchase, sheet

NAME = "Orchard tool shed"

BUILD: list[list[object]] = [
    ["Name", NAME],
    ["Currency", "USD"],
    ["Floor area", "160 sq ft"],
    ["Envelope area", "480 sq ft"],
    ["Budget", D("3000.00")],
    ["Contingency %", 10],
    ["Retail tax %", 8],
    ["Own labour rate", D("15.00")],
    ["Distance rate", D("0.50")],
]

ELEMENTS = sheet(
    "Code | Name | Budget",
    {"Code": "A10", "Name": "Footings and floor", "Budget": D("150.00")},
    {"Code": "B10", "Name": "Frame", "Budget": D("400.00")},
    {"Code": "B20", "Name": "Walls and openings", "Budget": D("500.00")},
    {"Code": "B30", "Name": "Roof", "Budget": None},
    {"Code": "C30", "Name": "Inside finish", "Budget": D("600.00")},
)

COMPONENTS = sheet(
    "Component | Element | Unit | Required | Waste % | Contents | New price"
    " | New price per | Priced on | Priced at | New quantity per one"
    " | Would buy new | Life years",
    component(
        "Barn board", "B20", "ft", "220 ft", Waste_pct=10, New_price=D("2.00"), Life_years=25
    ),
    component(
        "Batten", "B10", "ft", "130 ft", Waste_pct=5, New_price=D("0.75"), New_price_per="ft"
    ),
    component("Brace", "B10", "piece", "16 piece", New_price=D("2.50")),
    # Would not have been bought new: its retail equivalent is 0. Its price still
    # weighs where a lot is split by retail value.
    component("Carved panel", "C30", "piece", "1 piece", New_price=D("90.00"), Would_buy_new="no"),
    # No element. New price per box of 5 lb: 5.00 for 1 lb.
    component(
        "Coarse screw",
        None,
        "lb",
        "14 lb",
        Waste_pct=5,
        Contents="1 box = 5 lb",
        New_price=D("25.00"),
        New_price_per="box",
    ),
    component(
        "Lime wash",
        "C30",
        "gal",
        "12 gal",
        Waste_pct=10,
        New_price=D("24.00"),
        Would_buy_new="yes",
        Life_years=6,
    ),
    # No required quantity: what is still needed of it is not known.
    component("Long joist", "B10", "ft", None, New_price=D("1.80")),
    # No new price: unpriced.
    component("Old hinge", "B20", "piece", "20 piece"),
    component("Paving brick", "A10", "piece", "600 piece", Waste_pct=5, New_price=D("0.60")),
    component("Roof sheet", "B30", "piece", "16 piece", New_price=D("22.00"), Life_years=40),
    component("Stud", "B10", "piece", "20 piece", Waste_pct=5, New_price=D("5.00")),
    # Two new ones do the work of one; priced after it was bought (purchase 1).
    component(
        "Window sash",
        "B20",
        "piece",
        "6 piece",
        New_price=D("45.00"),
        New_quantity_per_one=2,
        Priced_on="2026-05-20",
        Priced_at="Joiner's quote",
    ),
    # Never bought. New price per bag of 40 sq ft: 0.75 for 1 sq ft.
    component(
        "Wool batt",
        "C30",
        "sq ft",
        "200 sq ft",
        Waste_pct=8,
        Contents="1 bag = 40 sq ft",
        New_price=D("30.00"),
        New_price_per="bag",
    ),
)

PURCHASES = sheet(
    "Purchase | Date | Supplier | State | Paid by | Lot price | Lot split"
    " | Component | Quantity | Source | Obtained by | Usable % | Unit price"
    " | Price per | Line price | Lot weight | Note",
    # One lot, split by retail value because nothing else is said.
    *purchase(
        1,
        "2026-03-14",
        "Farm auction",
        line("Barn board", "300 ft", "salvage", "auction lot", Usable_pct=80),
        line("Window sash", "4 piece", "salvage", "auction lot"),
        line("Carved panel", "1 piece", "salvage", "auction lot", Note="From a loft"),
        State="received",
        Paid_by="Ada",
        Lot_price=D("435.00"),
    ),
    # One lot, split by weight. 10 boards of 12 ft are 120 ft.
    *purchase(
        2,
        "2026-03-21",
        "Mill yard",
        line("Long joist", "10 @ 2x6x12", "salvage", "second-hand", Usable_pct=75, Lot_weight=300),
        line("Stud", "10 piece", "salvage", "second-hand", Usable_pct=90, Lot_weight=150),
        line("Old hinge", "20 piece", "salvage", "second-hand", Usable_pct=90, Lot_weight=50),
        State="received",
        Paid_by="Ben",
        Lot_price=D("150.00"),
        Lot_split="weight",
    ),
    # Free, and fetched over 44 miles.
    *purchase(
        3,
        "2026-03-28",
        "Old wash house",
        line(
            "Paving brick",
            "400 piece",
            "salvage",
            "dismantled",
            Usable_pct=85,
            Line_price=D("0.00"),
        ),
        line("Barn board", "60 ft", "salvage", "dismantled", Usable_pct=80, Unit_price=0),
        State="received",
        Paid_by="Ada",
    ),
    # Bought new, the screws by the box. A blank state is received.
    *purchase(
        4,
        "2026-04-04",
        "Timber merchant",
        line("Lime wash", "5 gal", "retail", "new", Unit_price=D("24.00"), Price_per="gal"),
        line("Coarse screw", "2 box", "retail", "new", Unit_price=D("25.50")),
        Paid_by="Ben",
    ),
    # An offer, a declined one, and one on order.
    *purchase(
        5,
        "2026-04-11",
        "Window fitter",
        line("Window sash", "3 piece", "salvage", None, Unit_price=D("30.00")),
        State="offer",
    ),
    *purchase(
        6,
        "2026-04-18",
        "Road mender",
        line("Paving brick", "500 piece", "salvage", None, Unit_price=D("0.20")),
        State="declined",
    ),
    *purchase(
        7,
        "2026-04-25",
        "Brick cleaner",
        line(
            "Paving brick",
            "150 piece",
            "salvage",
            "second-hand",
            Usable_pct=90,
            Unit_price=D("0.40"),
        ),
        State="ordered",
        Paid_by="Ben",
    ),
    *purchase(
        8,
        "2026-05-02",
        "Paint mixer",
        line("Lime wash", "10 gal", "seconds", "mis-tint", Usable_pct=95, Unit_price=D("8.00")),
        State="received",
        Paid_by="Ada",
    ),
    # Nobody is named as payer.
    *purchase(
        9,
        "2026-05-09",
        "Demolition yard",
        line("Roof sheet", "14 piece", "salvage", "dismantled", Line_price=98),
        line("Paving brick", "70 piece", "salvage", "dismantled", Unit_price=D("0.3035")),
        State="received",
    ),
    *purchase(
        10,
        "2026-05-16",
        "Timber merchant",
        line("Stud", "6 piece", "retail", "new", Unit_price=D("5.40")),
        State="received",
        Paid_by="Ada",
    ),
    # A lot of two lines split equally; the third line has its own price.
    *purchase(
        11,
        "2026-06-06",
        "Clearance yard",
        line("Roof sheet", "6 piece", "seconds", "overstock"),
        line("Coarse screw", "5 lb", "seconds", "overstock"),
        line("Lime wash", "2 gal", "retail", "new", Line_price=D("9.00")),
        State="received",
        Paid_by="Ben",
        Lot_price=D("75.25"),
        Lot_split="equal",
    ),
)

CHARGES = sheet(
    "Purchase | Kind | Amount | Percent | On | Distance | Spread by",
    charge(1, "buyer's premium", Percent=10, On="price"),
    charge(1, "sales tax", Percent=8, On="price and charges"),
    charge(2, "hire", Amount=D("25.00"), Spread_by="equal"),
    charge(2, "disposal", Amount=D("10.00"), Spread_by="weight"),
    charge(3, "haulage", Distance="44 mi"),
    charge(4, "discount", Percent=10, On="price"),
    charge(4, "sales tax", Percent=8, On="price and charges"),
    charge(5, "deposit", Amount=D("20.00")),
    charge(6, "haulage", Distance="60 mi"),
    charge(7, "haulage", Amount=D("15.00"), Spread_by="price"),
    charge(8, "discount", Amount=D("-5.00")),
    charge(8, "sales tax", Percent=8, On="price"),
    charge(9, "haulage", Amount=D("12.00"), Spread_by="quantity"),
    charge(10, "sales tax", Percent=8, On="price"),
    charge(11, "other", Amount=D("14.00"), Spread_by="retail value"),
)

CONVERSIONS = sheet(
    "Conversion | Date | From | Quantity used | To | Quantity made | Extra cost | Hours",
    # 1: six joists of 12 ft; 8 ft of each is ripped into two studs, the 4 ft that
    # remain into two battens. One input, two outputs.
    {"Conversion": 1, "Date": "2026-05-23", "From": "Long joist"}
    | {"Quantity used": "72 ft", "To": "Stud", "Quantity made": "12 piece"}
    | {"Extra cost": D("9.00"), "Hours": D("3.5")},
    {"Conversion": 1, "Date": "2026-05-23", "To": "Batten", "Quantity made": "48 ft"},
    # 2: the second step of the chain joist - stud - brace.
    {"Conversion": 2, "Date": "2026-06-13", "From": "Stud"}
    | {"Quantity used": "6 piece", "To": "Brace", "Quantity made": "18 piece"}
    | {"Extra cost": D("2.70"), "Hours": D("1.25")},
    # 3: no extra cost.
    {"Conversion": 3, "Date": "2026-06-20", "From": "Barn board"}
    | {"Quantity used": "60 ft", "To": "Batten", "Quantity made": "100 ft"}
    | {"Hours": 2},
)

LEFT_OVER = sheet(
    "Date | Component | Quantity | Fate | Proceeds",
    left("2026-07-18", "Barn board", "12 ft", "on hand"),
    left("2026-07-18", "Barn board", "8 ft", "on hand"),
    left("2026-07-18", "Barn board", "15 ft", "scrapped"),
    left("2026-07-18", "Batten", "10 ft", "on hand"),
    left("2026-07-18", "Brace", "2 piece", "given away"),
    left("2026-07-18", "Coarse screw", "1.5 lb", "on hand"),
    left("2026-07-25", "Lime wash", "3 gal", "moved"),
    left("2026-07-25", "Long joist", "18 ft", "on hand"),
    left("2026-07-25", "Old hinge", "2 piece", "scrapped"),
    left("2026-07-25", "Paving brick", "25 piece", "on hand"),
    left("2026-07-25", "Paving brick", "40 piece", "given away"),
    left("2026-08-01", "Roof sheet", "4 piece", "sold", D("40.00")),
)

TASKS = sheet(
    "Task | Element | Planned hours | Done %",
    {"Task": "Fetch material", "Planned hours": 12, "Done %": 100},
    {"Task": "Clean bricks", "Element": "A10", "Planned hours": 8, "Done %": 100},
    {"Task": "Raise frame", "Element": "B10", "Planned hours": 20, "Done %": 60},
    {"Task": "Clear site", "Planned hours": 4, "Done %": 0},
)

LABOUR = sheet(
    "Date | Person | Task | Kind | Hours | Paid",
    labour("2026-03-14", "Ada", "Fetch material", "sourcing", 5, None),
    labour("2026-03-21", "Ben", "Fetch material", "sourcing", D("3.5"), None),
    labour("2026-03-28", "Cleo", "Clean bricks", "preparing", 6, D("90.00")),
    # Paid 0 is nothing paid: own hours.
    labour("2026-04-05", "Ada", "Clean bricks", "preparing", D("4.25"), 0),
    labour("2026-04-12", "Cleo", "Fetch material", "sourcing", 2, None),
    labour("2026-05-24", "Ben", "Raise frame", "installing", 8, None),
    labour("2026-06-14", "Cleo", "Raise frame", "installing", 5, D("100.00")),
    labour("2026-06-21", "Ada", "Raise frame", "reworking", D("1.5"), None),
    # A task that is not on the Tasks sheet, and an entry without a task.
    labour("2026-07-05", "Ben", "Coat walls", "upkeep", 2, None),
    labour("2026-07-12", "Ada", None, "installing", D("0.75"), None),
)

SHEETS: dict[str, list[list[object]]] = {
    "Build": BUILD,
    "Elements": ELEMENTS,
    "Components": COMPONENTS,
    "Purchases": PURCHASES,
    "Charges": CHARGES,
    "Conversions": CONVERSIONS,
    "Left over": LEFT_OVER,
    "Tasks": TASKS,
    "Labour": LABOUR,
}
