"""Fields that a checked workbook hands on as they are."""

BUILD_FIELDS = (
    "name", "currency", "budget_amount", "contingency_percent", "retail_tax_percent",
    "own_labour_rate", "own_hours_count", "distance_unit",
)  # fmt: skip
COMPONENT_FIELDS = (
    "name", "unit", "contents", "required_text", "required_qty", "waste_percent",
    "new_qty_per_one", "would_buy_new", "life_years", "traits", "load_kind", "note",
)  # fmt: skip
PRICE_FIELDS = ("price", "per_text", "per_qty", "priced_on", "priced_at")
PURCHASE_FIELDS = (
    "number", "bought_on", "state", "lot_price_amount", "lot_split", "expected_hours", "note",
)  # fmt: skip
LINE_FIELDS = (
    "quantity_text", "source", "obtained_by", "usable_percent", "unit_price", "price_per_text",
    "line_price_amount", "lot_weight", "price_breaks", "most_text", "step_text",
    "origin_year", "through_fire", "note",
)  # fmt: skip
CHARGE_FIELDS = ("kind", "amount", "percent", "percent_on", "distance_text", "spread_by")
CONVERSION_FIELDS = (
    "number", "converted_on", "used_text", "used_qty", "extra_cost_amount", "hours", "note",
)  # fmt: skip
LEFT_FIELDS = ("noted_on", "quantity_text", "base_qty", "fate", "proceeds_amount", "note")
LABOUR_FIELDS = ("worked_on", "kind", "hours", "paid_amount", "note")
