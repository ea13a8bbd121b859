"""The element codes against the published table (UNIFORMAT II, NISTIR 6389, 1999)."""

from collections import Counter

import pytest

from materials.calc.uniformat import NAMES, groups, level, name_of
from tests.calc.builders import ARITHMETIC, MEMORY, PRIMARY, REPRINTED

SOURCE = "NISTIR 6389 (1999), table for ASTM E1557-97"
LEVEL_1 = [code for code in NAMES if level(code) == 1]
LEVEL_2 = [code for code in NAMES if level(code) == 2]
LEVEL_3 = [code for code in NAMES if level(code) == 3]

# id, level 1 group, elements of level 3, status
COUNTS = [
    ("E03", "A", 5, PRIMARY),
    ("E03", "B", 7, PRIMARY),
    ("E03", "C", 8, PRIMARY),
    ("E03", "D", 24, PRIMARY),
    ("E03", "E", 6, PRIMARY),
    ("E03", "F", 7, PRIMARY),
    ("E03", "G", 22, MEMORY),
]

# code, the word its name begins with, status
FIRST_WORDS = [
    ("A1010", "Standard foundations", PRIMARY),
    ("A1030", "Slab on grade", PRIMARY),
    ("A2020", "Basement walls", PRIMARY),
    ("B1020", "Roof construction", PRIMARY),
    ("B2010", "Exterior walls", PRIMARY),
    ("B2020", "Exterior windows", PRIMARY),
    ("B3010", "Roof coverings", PRIMARY),
    ("C1010", "Partitions", PRIMARY),
    ("C2010", "Stair construction", PRIMARY),
    ("C3020", "Floor", PRIMARY),
    ("D1010", "Elevators", PRIMARY),
    ("D2020", "Domestic water distribution", PRIMARY),
    ("D3040", "Distribution", PRIMARY),
    ("D4020", "Standpipes", PRIMARY),
    ("D5020", "Lighting", PRIMARY),
    ("E1010", "Commercial", PRIMARY),
    ("E2020", "Movable", MEMORY),
    ("F1010", "Special structures", MEMORY),
    ("F2020", "Hazardous components abatement", MEMORY),
    ("G10", "Site preparation", REPRINTED),
    ("G1030", "Site earthwork", REPRINTED),
    ("G2010", "Roadways", MEMORY),
    ("G4020", "Site lighting", MEMORY),
    ("G9010", "Service and pedestrian tunnels", MEMORY),
]


def test_seven_major_groups() -> None:
    """E01: six for the building and one for sitework; read in the primary text, G from memory."""
    assert "".join(LEVEL_1) == "ABCDEFG"


def test_every_code_hangs_under_a_group() -> None:
    """E02, arithmetic."""
    assert {code[:1] for code in LEVEL_2} == set(LEVEL_1), ARITHMETIC
    assert {code[:3] for code in LEVEL_3} == set(LEVEL_2), ARITHMETIC


@pytest.mark.parametrize(("check", "group", "count", "status"), COUNTS)
def test_elements_of_a_group(check: str, group: str, count: int, status: str) -> None:
    counts = Counter(code[0] for code in LEVEL_3)
    assert counts[group] == count, f"{check}: {SOURCE}, {status}"


def test_elements_in_all() -> None:
    """E03: 57 for the building, read in the primary text; 79 with sitework, from memory."""
    assert sum(not code.startswith("G") for code in LEVEL_3) == 57
    assert len(LEVEL_3) == 79


@pytest.mark.parametrize(("code", "words", "status"), FIRST_WORDS)
def test_names(code: str, words: str, status: str) -> None:
    assert NAMES[code].startswith(words), f"{SOURCE}, {status}"


@pytest.mark.parametrize("word", ["Staircases", "Exterior Closure"])
def test_no_names_of_the_older_edition(word: str) -> None:
    """E04: NIST SP 841 (1992) had other names and no letters; as reprinted."""
    assert word.lower() not in " ".join(NAMES.values()).lower()


def test_every_code_has_a_letter_and_a_name() -> None:
    """E04: the older edition's codes were numbers only."""
    assert all(code[0].isalpha() and (code[1:].isdigit() or len(code) == 1) for code in NAMES)
    assert all(name == name.strip() and name for name in NAMES.values())


def test_codes_stand_in_order() -> None:
    assert list(NAMES) == sorted(NAMES)


def test_levels() -> None:
    assert [level(code) for code in ("A", "A10", "A1010")] == [1, 2, 3]


def test_a_new_build_starts_with_the_groups_of_level_2() -> None:
    found = groups()
    assert [code for code, _ in found] == LEVEL_2
    assert found[0] == ("A10", "Foundations")
    assert len(found) == 22


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("B2010", "Exterior walls"),
        (" b2010 ", "Exterior walls"),
        ("A", "Substructure"),
        ("Earthbags", None),
        ("", None),
    ],
)
def test_name_of_a_code_as_typed(typed: str, name: str | None) -> None:
    assert name_of(typed) == name
