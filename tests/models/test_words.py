"""Lists of words and the figures that go by them."""

from dataclasses import fields

from materials.calc.types import FATES, Basis, ComponentInput, PercentOn
from materials.choices import PERCENT_ON, SPLITS, Fate
from materials.exchange.live.splits import WEIGHED_BY


def test_what_becomes_of_material_is_a_figure_of_its_component():
    assert tuple(fate.name.lower() for fate in Fate) == FATES
    assert set(FATES) <= {field.name for field in fields(ComponentInput)}


def test_every_basis_has_a_label_and_a_way_in_the_workbook():
    assert list(SPLITS) == list(Basis)
    assert list(PERCENT_ON) == list(PercentOn)
    assert set(WEIGHED_BY) == set(Basis) - {Basis.EQUAL}
