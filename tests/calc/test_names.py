"""Names that mean one thing, and names that look alike."""

import pytest

from materials.calc.names import join_names, loose_key, near_names


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("2 X 4 Studs", "2x4 stud"),
        ("Stud, 2x4", "2x4 stud"),
        ("Stud 2×4s", "2x4 stud"),
        ("stud 2*4's", "2x4 stud"),
        ("Batteries", "battery"),
        ("Ties", "ty"),
        # Too short for a plural of this kind.
        ("ies", "ies"),
        ("Boxes", "box"),
        ("Sashes", "sash"),
        ("Latches", "latch"),
        ("Trusses", "truss"),
        ("Glass", "glass"),
        ("Slates", "slate"),
        ("Axes", "axe"),
        ("Xes", "xes"),
        ("Gas", "gas"),
        ("!?", ""),
        ("word " * 60, " ".join(["word"] * 60)[:200]),
    ],
)
def test_what_is_left_of_a_name(name: str, key: str) -> None:
    assert loose_key(name) == key


def test_the_nearest_come_first() -> None:
    known = {name: loose_key(name) for name in ("Roof tile", "Roof tiles", "Floor tile", "Lime")}
    assert near_names("Roof tile", known) == ["Roof tile", "Floor tile"]
    assert near_names("tile roofs", known, most=1) == ["Roof tile"]
    assert near_names("Window", known) == []


@pytest.mark.parametrize(
    ("names", "joined"),
    [
        ([], ""),
        (["Board"], "Board"),
        (["Board", "Stud"], "Board, Stud"),
        (["Board, oak", "Stud"], "Board, oak; Stud"),
    ],
)
def test_names_are_told_apart_where_they_hold_commas(names, joined):
    assert join_names(names) == joined
