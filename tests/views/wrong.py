"""What makes each form right, and what makes it wrong."""

LONG = "x" * 10_000
NUL, CONTROL = "a\x00b", "a\x07b"
# The fields' own tests try more of each; here it is seen that every form asks its fields.
NO_NUMBERS = ["NaN", "inf", "9" * 400, "-1"]
NO_DATES = ["", "2026-02-30", "yesterday", "0001-01-01", "99999-01-01"]
NO_QUANTITIES = ["35", "35 wibble", "-3 pieces", "0 pieces", "NaN", "9" * 400, LONG]
NO_TEXTS = ["", " ", LONG, NUL, CONTROL, "a\ufffeb"]
NO_HOURS = ["", "0", "-1", "NaN", "25:61", "9" * 400, "10000.1", "1234567 min"]


def each(field: str, *values: str, words: str = "") -> list[tuple[dict, str]]:
    """One case for each value of one field."""
    return [({field: value}, words) for value in values]


# Form -> what makes it right, and what makes it wrong: (typed over it, words of the answer).
FORMS = {
    "life_choice_add": (
        {
            "name": "North wall",
            "noted_on": "2026-05-04",
            "study_years": "30",
            "rate_percent": "3",
            "rate_kind": "real",
            "alternatives-0-name": "Painted",
            "alternatives-0-first_amount": "900",
            "alternatives-0-life_years": "12",
            "alternatives-1-name": "Steel",
        },
        [
            *each("name", *NO_TEXTS),
            *each("quantity_text", LONG, NUL, CONTROL),
            *each("noted_on", *NO_DATES),
            *each("study_years", "", "0", "101", "2.5", "many", "9" * 400, "-1"),
            *each("rate_percent", "", "NaN", "inf", "60.1", "-20.1", "9" * 400),
            *each("rate_kind", ""),
            *each("rate_kind", "nominal", words="Enter the inflation"),
            *each("inflation_percent", "NaN", "60.1", "much"),
            *each("hours_rate", *NO_NUMBERS),
            *each("alternatives-0-name", "", words="Name this way"),
            *each("alternatives-0-name", LONG, NUL, CONTROL),
            *each("alternatives-1-name", "", words="Add another way"),
            *each("alternatives-0-first_amount", *NO_NUMBERS),
            *each("alternatives-0-first_low_amount", "901", words="above the likely one"),
            *each("alternatives-0-first_high_amount", "899", words="below the likely one"),
            *each("alternatives-1-first_low_amount", "5", words="State the likely first cost"),
            *each("alternatives-0-life_years", "0", "201", "12.5", "long", "9" * 400, "-1"),
            *each("alternatives-0-life_years", "12.5", words="counted whole"),
            *each("alternatives-0-life_low_years", "13", words="above the likely one"),
            *each("alternatives-1-life_high_years", "13", words="State the likely life"),
            *each("alternatives-0-upkeep_every", "0", "101", "often"),
            *each("alternatives-0-upkeep_amount", "60", words="Enter the years between upkeep"),
            *each("alternatives-0-upkeep_hours", "60", words="Enter the years between upkeep"),
            *each("alternatives-0-upkeep_change_percent", "NaN", "60.1"),
            *each("alternatives-0-again_amount", *NO_NUMBERS),
            *each("alternatives-0-drags_along", LONG, NUL, CONTROL),
            *each("alternatives-0-drag_amount", *NO_NUMBERS),
            *each("alternatives-0-drag_amount", "70", words="Name what a replacement drags along"),
            *each("alternatives-0-drag_hours", "7", words="Name what a replacement drags along"),
            *each("alternatives-0-residual_amount", "NaN", "much", "9" * 400),
            *each("alternatives-0-basis", LONG, NUL),
        ],
    ),
    "cost_index_add": (
        {"name": "Softwood", "months_text": "2026-04 118.5"},
        [
            *each("name", *NO_TEXTS),
            *each("name", "lumber", words="of another cost index already"),
            *each("source", LONG, NUL, CONTROL),
            *each("months_text", "", "118.5", "2026-13 5", "0001-01 5", "2026-04 much", NUL),
            *each("months_text", "2026-04 0", "2026-04 -3", words="above zero"),
            *each("months_text", "2026-04 1.2345678", words="decimal places"),
            *each("months_text", "2026-04 1\nApr 2026 2", words="is there twice"),
            *each("months_text", "2026-01 1\n" * 1300, words="leave the oldest out"),
        ],
    ),
    "build_add": (
        {"name": "Barn"},
        [
            *each("name", *NO_TEXTS),
            *each("floor_area", "744", "744 ft", "NaN sq ft", "-3 sq ft", "0 sq ft", LONG),
            *each("budget_amount", *NO_NUMBERS),
            *each("contingency_percent", *NO_NUMBERS, "100.01"),
            *each("own_labour_rate", *NO_NUMBERS),
            *each("other_areas", "Wall", "Wall = 5 ft", f"Wall{NUL} = 5 sq ft", words=""),
            *each("later_rates", "soon = 5", "2026-02-30 = 5", "2026-05-01 = NaN"),
        ],
    ),
    "element_add": (
        {"code": "Q1"},
        [
            *each("code", *NO_TEXTS),
            *each("code", "a10", "A10", words="of another element already"),
            *each("name", LONG, NUL, CONTROL),
            *each("budget_amount", *NO_NUMBERS),
        ],
    ),
    "component_add": (
        {"name": "Sash", "unit": "piece"},
        [
            *each("name", *NO_TEXTS),
            *each("name", "board", "BOARD", " Board ", words="of another component already"),
            *each("unit", "", "bananas", "meter; 1", LONG, NUL),
            *each("required_text", *NO_QUANTITIES),
            *each("required_text", "20 gal", words="say in the component's contents"),
            *each("contents", "1 piece", "1 piece = 0 ft", "nonsense", LONG, NUL),
            *each("waste_percent", *NO_NUMBERS, "1000.1"),
            *each("new_qty_per_one", *NO_NUMBERS, "0"),
            *each("life_years", *NO_NUMBERS),
            *each("element", "0", "999999", "9" * 30, "abc", NUL),
        ],
    ),
    "price_add": (
        {"component": "Board", "price": "3"},
        [
            *each("price", "", *NO_NUMBERS),
            *each("per_text", "lb", words="say in the component's contents"),
            *each("per_text", "0 pieces", "3 wibble", "-1 piece", LONG, NUL, CONTROL),
            *each("priced_on", *NO_DATES),
            *each("component", "", "0", "999999", "9" * 30, "abc"),
        ],
    ),
    "supplier_add": (
        {"name": "Mill"},
        [
            *each("name", *NO_TEXTS),
            *each("name", "yard", "YARD", words="of another supplier already"),
            *each("place", LONG, NUL, CONTROL),
        ],
    ),
    "purchase_add": (
        {
            "number": "P9",
            "lines-0-component": "Board",
            "lines-0-quantity_text": "2 pieces",
            "lines-0-source": "salvage",
        },
        [
            *each("number", *NO_TEXTS),
            *each("number", "p1", "P1", words="of another purchase already"),
            *each("bought_on", *NO_DATES),
            *each("supplier", LONG, NUL, CONTROL),
            *each("paid_by", LONG, NUL, CONTROL),
            *each("lot_price_amount", *NO_NUMBERS),
            *each("state", "", "gone", NUL),
            *each("lot_split", "price", "nonsense"),
            *each("lines-0-quantity_text", "", *NO_QUANTITIES),
            *each("lines-0-quantity_text", "35", words="has no unit. Did you mean 35 pieces?"),
            *each("lines-0-quantity_text", "35 lb", words="say in the component's contents"),
            *each("lines-0-component", "", "0", "9" * 30, "abc"),
            *each("lines-0-source", "", "nonsense"),
            *each("lines-0-unit_price", *NO_NUMBERS),
            *each("lines-0-line_price_amount", *NO_NUMBERS),
            *each("lines-0-usable_percent", *NO_NUMBERS, "100.0001", "101"),
            *each("lines-0-lot_weight", *NO_NUMBERS),
            *each("lines-0-price_per_text", CONTROL, NUL, LONG),
            *each("lines-0-note", LONG, NUL, CONTROL),
            (
                {"lines-0-unit_price": "2", "lines-0-line_price_amount": "4"},
                "Enter the unit price or the line price, not both.",
            ),
            (
                {"lines-0-unit_price": "2", "lines-0-price_per_text": "lb"},
                "say in the component's contents",
            ),
            (
                {"lines-0-quantity_text": "", "lines-0-component": ""},
                "Choose what you got, or name",
            ),
            (
                {"lot_price_amount": "50", "lines-0-unit_price": "2"},
                "every line has a price of its own",
            ),
            ({"lot_price_amount": "50", "lot_split": "weight"}, "a line has no weight"),
            (
                {"lines-0-quantity_text": "9999999 pieces", "lines-0-unit_price": "999999999"},
                "The cost is too large",
            ),
            ({"charges-0-kind": "haulage"}, "Enter one of amount, per cent or distance"),
            ({"charges-0-amount": "5"}, "Choose a kind of charge."),
            (
                {"charges-0-kind": "haulage", "charges-0-amount": "5", "charges-0-percent": "5"},
                "Enter one of amount, per cent or distance",
            ),
            (
                {
                    "charges-0-kind": "haulage",
                    "charges-0-percent": "5",
                    "charges-0-distance_text": "5 mi",
                },
                "Enter one of amount, per cent or distance",
            ),
            *(
                ({"charges-0-kind": "haulage", f"charges-0-{name}": value}, "")
                for name, values in {
                    "amount": NO_NUMBERS,
                    "percent": [*NO_NUMBERS, "101", "-101"],
                    "distance_text": ["far", "-5 mi", "5 gal", NUL, CONTROL, LONG],
                }.items()
                for value in values
            ),
        ],
    ),
    "lesson_add": (
        {
            "kind": "regret",
            "text": "Stacked the boards in the rain",
            "noted_on": "2026-05-04",
            "amount": "30",
            "hours": "4",
        },
        [
            *each("text", *NO_TEXTS),
            *each("kind", ""),
            *each("about", "component-0", "component-x", "person-1", "-", LONG),
            *each("noted_on", *NO_DATES),
            *each("amount", *NO_NUMBERS),
            *each("hours", "-1", "NaN", "25:61", "9" * 400, "10000.1"),
            *each("author", LONG, NUL, CONTROL),
        ],
    ),
    "conversion_add": (
        {
            "number": "C9",
            "source": "Board",
            "used_text": "1 piece",
            "outputs-0-component": "Shelf",
            "outputs-0-made_text": "1 piece",
        },
        [
            *each("number", *NO_TEXTS),
            *each("number", "c1", words="of another conversion already"),
            *each("converted_on", *NO_DATES),
            *each("source", "", "0", "9" * 30, "abc"),
            *each("used_text", "", *NO_QUANTITIES),
            *each("used_text", "3 lb", words="say in the component's contents"),
            *each("used_text", "9 pieces", words="more Board than there is"),
            *each("extra_cost_amount", *NO_NUMBERS),
            *each("hours", *NO_HOURS[2:]),
            *each("outputs-0-component", "", "0", "abc"),
            *each("outputs-0-made_text", "", *NO_QUANTITIES),
            *each("outputs-0-made_text", "5 pieces", words="More Shelf is made than Board used"),
            (
                {"outputs-0-component": "", "outputs-0-made_text": ""},
                "Add at least one thing you made",
            ),
            ({"outputs-0-component": "Board"}, "cannot be made from itself"),
            (
                {"source": "Shelf", "used_text": "8 pieces", "outputs-0-component": "Board"},
                "go in a circle",
            ),
        ],
    ),
    "left_over_add": (
        {"component": "Board", "quantity_text": "1 piece", "fate": "sold"},
        [
            *each("noted_on", *NO_DATES),
            *each("component", "", "0", "9" * 30, "abc"),
            *each("quantity_text", "", *NO_QUANTITIES),
            *each("quantity_text", "3", words="has no unit. Did you mean 3 pieces?"),
            *each("quantity_text", "3 lb", words="say in the component's contents"),
            *each("quantity_text", "8.000001 pieces", words="more Board than there is"),
            *each("fate", "", "eaten"),
            *each("proceeds_amount", *NO_NUMBERS),
            ({"fate": "scrapped", "proceeds_amount": "5"}, "Only sold material brings proceeds"),
            *each("note", LONG, NUL, CONTROL),
        ],
    ),
    "task_add": (
        {"name": "Roof"},
        [
            *each("name", *NO_TEXTS),
            *each("name", "FRAME", words="of another task already"),
            *each("planned_hours", *NO_HOURS[2:6]),
            *each("done_percent", *NO_NUMBERS, "100.01"),
            *each("element", "0", "abc"),
        ],
    ),
    "labour_add": (
        {"person": "Ann", "hours": "3"},
        [
            *each("worked_on", *NO_DATES),
            *each("person", *NO_TEXTS),
            *each("task", "0", "9" * 30, "abc"),
            *each("kind", "", "resting"),
            *each("hours", *NO_HOURS),
            *each("paid_amount", *NO_NUMBERS),
        ],
    ),
    "hand_over_add": (
        {"giver": "Ann", "receiver": "Ben", "amount": "30"},
        [
            *each("handed_on", *NO_DATES),
            *each("giver", *NO_TEXTS),
            *each("receiver", *NO_TEXTS),
            *each("receiver", "ann", " Ann ", words="Nobody pays themselves"),
            *each("amount", "", "0", "free", "0.001", "1000000000", *NO_NUMBERS),
            *each("note", LONG, NUL, CONTROL),
        ],
    ),
}
