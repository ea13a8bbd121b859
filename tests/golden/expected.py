"""The whole report of the golden build as it must be printed.

The working of purchases, conversions and components stands in ``worked.py``; the totals are
worked out here, beside each figure.
"""

from typing import Any

Figures = dict[str, Any]

FATES = ("on_hand", "scrapped", "given_away", "sold", "moved")


def _component(
    name: str,
    unit: str,
    required: str | None,
    still_needed: str | None,
    *,
    in_building: str,
    average: str | None,
    cost: str,
    retail: str | None,
    savings: str | None,
    **quantities: str,
) -> Figures:
    """One component; a quantity that is not named is 0."""
    keys = ("received", "converted_in", "converted_out", *FATES)
    assert set(quantities) <= set(keys), quantities
    return {
        "component": name,
        "unit": unit,
        "required": required,
        **{key: quantities.get(key, "0") for key in keys},
        "in_building": in_building,
        "still_needed": still_needed,
        "average_landed_cost": average,
        "cost": cost,
        "retail_equivalent": retail,
        "savings": savings,
    }


COMPONENTS: list[Figures] = [
    _component(
        "Barn board",
        "ft",
        "220",
        "29",
        received="288",
        converted_out="60",
        on_hand="20",
        scrapped="15",
        in_building="193",
        average="0.950556",  # 273.76 / 288 = 0.9505555..
        cost="197.72",
        retail="416.88",
        savings="219.16",
    ),
    _component(
        "Batten",
        "ft",
        "130",
        "0",
        converted_in="148",
        on_hand="10",
        in_building="138",
        average="0.619664",  # 91.7103333.. / 148 = 0.6196644..
        cost="85.51",
        retail="111.78",
        savings="26.27",
    ),
    _component(
        "Brace",
        "piece",
        "16",
        "0",
        converted_in="18",
        given_away="2",
        in_building="16",
        average="1.990926",  # 35.8366666.. / 18 = 1.9909259..
        cost="35.84",
        retail="43.20",
        savings="7.36",
    ),
    _component(
        "Carved panel",
        "piece",
        "1",
        "0",
        received="1",
        in_building="1",
        average="50.010000",
        cost="50.01",
        retail="0.00",  # would not have been bought new
        savings="-50.01",
    ),
    _component(
        "Coarse screw",
        "lb",
        "14",
        "0",
        received="15",
        on_hand="1.5",
        in_building="13.5",
        average="5.926667",  # 88.90 / 15 = 5.9266666..
        cost="80.01",
        retail="72.90",
        savings="-7.11",
    ),
    _component(
        "Lime wash",
        "gal",
        "12",
        "0",
        received="16.5",
        moved="3",
        in_building="13.5",
        average="12.746667",  # 210.32 / 16.5 = 12.7466666..
        cost="172.08",
        retail="349.92",
        savings="177.84",
    ),
    _component(
        "Long joist",
        "ft",
        None,
        None,
        received="90",
        converted_out="72",
        on_hand="18",
        in_building="0",
        average="1.159333",  # 104.34 / 90 = 1.1593333..
        cost="0.00",
        retail="0.00",
        savings="0.00",
    ),
    _component(
        "Old hinge",
        "piece",
        "20",
        "4",
        received="18",
        scrapped="2",
        in_building="16",
        average="1.351667",  # 24.33 / 18 = 1.3516666..
        cost="24.33",
        retail=None,
        savings=None,
    ),
    _component(
        "Paving brick",
        "piece",
        "600",
        "125",
        received="410",
        on_hand="25",
        given_away="40",
        in_building="345",
        average="0.112707",  # 46.21 / 410 = 0.1127073..
        cost="43.39",
        retail="223.56",
        savings="180.17",
    ),
    _component(
        "Roof sheet",
        "piece",
        "16",
        "0",
        received="20",
        sold="4",
        in_building="16",
        average="7.332000",
        cost="106.64",
        retail="380.16",
        savings="273.52",
    ),
    _component(
        "Stud",
        "piece",
        "20",
        "0",
        received="15",
        converted_in="12",
        converted_out="6",
        in_building="21",
        average="5.522778",  # 149.115 / 27 = 5.5227777..
        cost="115.98",
        retail="113.40",
        savings="-2.58",
    ),
    _component(
        "Window sash",
        "piece",
        "6",
        "2",
        received="4",
        in_building="4",
        average="50.012500",
        cost="200.05",
        retail="388.80",
        savings="188.75",
    ),
    _component(
        "Wool batt",
        "sq ft",
        "200",
        "216",
        in_building="0",
        average=None,
        cost="0.00",
        retail="0.00",
        savings="0.00",
    ),
]


def _element(
    code: str, name: str, cost: str, retail: str, savings: str, budget: str | None
) -> Figures:
    return {
        "code": code,
        "name": name,
        "cost": cost,
        "retail_equivalent": retail,
        "savings": savings,
        "budget": budget,
    }


BY_ELEMENT: list[Figures] = [
    # Brick.
    _element("A10", "Footings and floor", "43.39", "223.56", "180.17", "150.00"),
    # Batten, brace, joist, stud: 85.51368 + 35.83666 + 0 + 115.97833 = 237.32868..
    # 111.78 + 43.20 + 0 + 113.40 = 268.38; savings 31.05131..
    _element("B10", "Frame", "237.33", "268.38", "31.05", "400.00"),
    # Board, hinge, sash: 197.71555 + 24.33 + 200.05 = 422.09555..
    # 416.88 + 388.80 = 805.68; savings without the hinge 805.68 - 397.76555 = 407.91444..
    _element("B20", "Walls and openings", "422.10", "805.68", "407.91", "500.00"),
    # Roof sheet; no budget stated.
    _element("B30", "Roof", "106.64", "380.16", "273.52", None),
    # Panel, lime, wool: 50.01 + 172.08 + 0 = 222.09; 0 + 349.92 + 0; savings 127.83
    _element("C30", "Inside finish", "222.09", "349.92", "127.83", "600.00"),
    # Screws.
    _element("", "No element", "80.01", "72.90", "-7.11", None),
]

# Landed cost received by source, and usable quantity x new price x 1.08.
BY_SOURCE: Figures = {
    # 516.78 + 185.00 + 22.00 + 131.25 = 855.03
    # board 288 x 2.00 = 576, sash 4 x 2 x 45 = 360, panel 0, joist 90 x 1.80 = 162,
    # stud 9 x 5 = 45, hinge none, brick 410 x 0.60 = 246, sheet 14 x 22 = 308:
    # 1697 x 1.08 = 1832.76
    "salvage": {"cost": "855.03", "retail_equivalent": "1832.76"},
    # 81.40 + 46.64 + 39.33 = 167.37
    # lime 9.5 x 24 = 228, sheet 6 x 22 = 132, screws 5 x 5 = 25: 385 x 1.08 = 415.80
    "seconds": {"cost": "167.37", "retail_equivalent": "415.80"},
    # 166.21 + 34.99 + 12.28 = 213.48
    # lime 7 x 24 = 168, screws 10 x 5 = 50, stud 6 x 5 = 30: 248 x 1.08 = 267.84
    "retail": {"cost": "213.48", "retail_equivalent": "267.84"},
}

BY_TASK: list[Figures] = [
    {"task": "Clean bricks", "hours": "10.25", "planned": "8"},  # 6 + 4.25
    {"task": "Clear site", "hours": "0", "planned": "4"},
    {"task": "Coat walls", "hours": "2", "planned": None},
    {"task": "Fetch material", "hours": "10.5", "planned": "12"},  # 5 + 3.5 + 2
    {"task": "Raise frame", "hours": "14.5", "planned": "20"},  # 8 + 5 + 1.5
    # One entry 0.75, conversions 3.5 + 1.25 + 2 = 6.75.
    {"task": None, "hours": "7.5", "planned": None},
]

# Paid out: Ada 516.78 + 22.00 + 81.40 + 34.99 = 655.17, Ben 185.00 + 166.21 + 98.25 = 449.46;
# together 1104.63, half 552.315: the odd cent to the first. Cleo paid for nothing.
# (Purchase 9 has no payer, purchase 7 is only ordered.)
BY_PERSON: list[Figures] = [
    # Hours 5 + 4.25 + 1.5 + 0.75.
    {
        "person": "Ada",
        "paid_out": "655.17",
        "hours": "11.5",
        "share": "552.32",
        "balance": "102.85",
    },
    # Hours 3.5 + 8 + 2.
    {
        "person": "Ben",
        "paid_out": "449.46",
        "hours": "13.5",
        "share": "552.31",
        "balance": "-102.85",
    },
    # Hours 6 + 2 + 5.
    {"person": "Cleo", "paid_out": "0.00", "hours": "13", "share": "0.00", "balance": "0.00"},
]

EXPECTED: Figures = {
    "build": "Orchard tool shed",
    "currency": "USD",
    "areas": {
        "floor": {
            "area": "160",
            "unit": "sq ft",
            # (1111.55656.. + 190.00) / 160 = 1301.55656.. / 160
            "cost": "8.134729",
            # (1301.55656.. + 506.25) / 160 = 1807.80656.. / 160
            "cost_with_own_labour": "11.298791",
            # 2100.60 / 160 = 13.12875
            "retail_equivalent": "13.128750",
        },
        "envelope": {
            "area": "480",
            "unit": "sq ft",
            "cost": "2.711576",  # 1301.55656.. / 480
            "cost_with_own_labour": "3.766264",  # 1807.80656.. / 480
            "retail_equivalent": "4.376250",  # 2100.60 / 480
        },
    },
    # 1111.55656..
    "material_cost": "1111.56",
    # 90.00 + 100.00
    "paid_labour": "190.00",
    # All hours 44.75 less the paid 6 + 5 = 33.75 own hours x 15.00
    "own_labour_value": "506.25",
    # Landed 1235.88 + paid labour 190.00 + extra cost 11.70 - proceeds 40.00
    "spent": "1397.58",
    # Purchase 7.
    "committed": "75.00",
    "budget": "3000.00",
    # 10 % of 3000.00, on top of the budget.
    "contingency": "300.00",
    # 3000.00 - 1397.58 - 75.00
    "remaining": "1527.42",
    # Spent + committed = 1472.58, and for what is still needed:
    #                 at the average so far          at new retail, x 1.08
    # board   29      29 x 0.95055.. = 27.56611..    29 x 2.16 = 62.64
    # hinge    4      4 x 1.35166.. = 5.40666..      no retail price: 5.40666..
    # brick  125      125 x 0.11270.. = 14.08841..   125 x 0.648 = 81.00
    # sash     2      2 x 50.0125 = 100.025          2 x 2 x 48.60 = 194.40
    # wool   216      none: retail 174.96            216 x 0.81 = 174.96
    #                 together 322.04619..           together 518.40666..
    "forecast": {"low": "1794.63", "high": "1990.99"},
    # 416.88 + 111.78 + 43.20 + 0 + 72.90 + 349.92 + 0 + 223.56 + 380.16 + 113.40 + 388.80 + 0
    "retail_equivalent": "2100.60",
    # Cost of priced components 1111.55656.. - 24.33 (hinge) = 1087.22656..
    # 2100.60 - 1087.22656.. = 1013.37343..
    "savings": "1013.37",
    # 1013.37343.. / 2100.60 x 100 = 48.2420945..
    "savings_percent": "48.242095",
    # Own extra hours 27.5 - 6 paid = 21.5 x 15.00 = 322.50; paid extra labour 90.00
    # 1013.37343.. - 322.50 - 90.00 = 600.87343..
    "savings_after_own_labour": "600.87",
    # 1013.37343.. / 27.5 = 36.8499432..
    "saved_per_extra_hour": "36.849943",
    "hours": {
        "total": "44.75",  # 10.5 + 17 + 13.75 + 1.5 + 2
        "sourcing": "10.5",  # 5 + 3.5 + 2
        "preparing": "17",  # 6 + 4.25, conversions 6.75
        "installing": "13.75",  # 8 + 5 + 0.75
        "reworking": "1.5",
        "upkeep": "2",
        "extra": "27.5",  # 10.5 + 17
    },
    # The hinge.
    "unpriced": {"components": 1, "cost": "24.33"},
    "by_source": BY_SOURCE,
    "by_element": BY_ELEMENT,
    "by_task": BY_TASK,
    "by_person": BY_PERSON,
    "components": COMPONENTS,
}
