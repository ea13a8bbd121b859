"""Price breaks, “at most” and “sold by” go out with a workbook and come in again."""

import pytest

from materials.models import PurchaseLine
from tests.exchange.small import small_sheets
from tests.exchange.test_round_trip import bring_in, export, facts

pytestmark = pytest.mark.django_db

TITLES = ("Price breaks", "At most", "Sold by")
GIVEN = ("10 pieces: 12.50; 20 pieces: 11", "30 pieces", "2 pieces")


def sheets_with(*values: str):
    """The small sheets, with terms on the planks of 14.00 a piece."""
    sheets = small_sheets()
    rows = sheets["Purchases"]
    rows[0] += TITLES
    for row in rows[1:]:
        row += values if row[0] == "P4" else [None] * len(TITLES)
    return sheets


def test_terms_go_out_and_in_again():
    first = bring_in(sheets_with(*GIVEN))
    line = PurchaseLine.objects.get(purchase__number="P4")
    assert (line.price_breaks, line.most_text, line.step_text) == GIVEN
    assert facts(bring_in(export(first), name="Again")) == facts(first)


def test_terms_change_no_figure():
    plain, termed = bring_in(small_sheets()), bring_in(sheets_with(*GIVEN), name="Termed")
    landed = [[row[-1] for row in facts(build)["lines"]] for build in (plain, termed)]
    assert landed[0] == landed[1]


@pytest.mark.parametrize(
    ("values", "column"),
    [
        (("5 pieces: 12", "30 pieces", None), "Price breaks"),
        ((None, "2 pieces", None), "At most"),
        ((None, None, "armful"), "Sold by"),
    ],
)
def test_a_fault_names_the_column(values, column):
    with pytest.raises(AssertionError) as error:
        bring_in(sheets_with(*values))
    assert f"Purchases row 6, {column}:" in str(error.value)
