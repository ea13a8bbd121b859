"""The index: five groups that can be taken in at a glance."""

from materials.templatetags.index import GROUPS


def test_no_group_holds_more_than_six():
    assert len(GROUPS) == 5
    assert max(len(entries) for _, entries in GROUPS) == 6
