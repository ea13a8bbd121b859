"""Lists of beds, mixes by parts, faces of lumber and trims: what must hold for any of them."""

from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.lumber import NominalSize
from tests.searches import TIMES
from tests.takeoffs.calc.test_takeoff import figures, worked

BEDS = st.lists(
    st.tuples(st.integers(1, 6), st.integers(3, 20), st.integers(3, 9), st.integers(1, 4)),
    min_size=1,
    max_size=5,
)


def typed(beds) -> str:
    return "\n".join(f"{n} @ {a} ft x {b} ft x {c} ft" for n, a, b, c in beds)


class TestBeds:
    @settings(max_examples=30 * TIMES, deadline=None)
    @given(beds=BEDS)
    def test_a_list_comes_to_its_beds_one_by_one(self, beds):
        asked = {"lining": "all", "layer": "3 in"}
        whole = figures("beds", beds=typed(beds), **asked)
        ones = [
            (count, figures("beds", beds=typed([(1, *rest)]), **asked)) for count, *rest in beds
        ]
        for key, value in whole.items():
            assert value == sum(count * one[key] for count, one in ones), key

    @settings(max_examples=30 * TIMES, deadline=None)
    @given(beds=BEDS, uses=st.integers(1, 12))
    def test_forms_used_again_are_enough_for_each_bed_and_never_more_than_all(self, beds, uses):
        made = figures("beds", beds=typed(beds), walls="poured", thickness="6 in", uses=str(uses))
        largest = max(
            figures("beds", beds=typed([(1, *rest)]), walls="poured", thickness="6 in")["forms"]
            for _, *rest in beds
        )
        assert largest <= made["forms"] <= made["formed"]
        # So many sets, used so many times, form all of it.
        assert made["forms"] * uses >= made["formed"]
        if uses == 1:
            assert made["forms"] == made["formed"]

    def test_walls_and_soil_fill_what_the_beds_measure_outside(self):
        made = figures("beds", beds="2 @ 8 ft x 4 ft x 3 ft", walls="poured", thickness="9 in")
        assert (made["walls"] + made["soil"]) * 27 == 2 * 8 * 4 * 3

    def test_formulas_of_one_bed_and_of_two_unlike(self):
        """Walls of 6 in: 7 x 3 ft inside, 44 ft of faces around; and 5 x 1 ft, 28 ft."""
        poured = {"walls": "poured", "thickness": "6 in", "lining": "all"}

        def formulas(beds):
            made = worked("beds", beds=beds, **poured).figures
            return {each.key: (each.label, each.formula) for each in made}

        one = formulas("8 ft x 4 ft x 3 ft")
        assert one["walls"][1] == "(8 ft × 4 ft − 7 ft × 3 ft) × 3 ft"
        assert one["formed"][1] == "132 sq ft"
        assert one["forms"][1] == "1 ÷ 1 → 1 at once, 132 sq ft"
        assert one["lining"] == (
            "Lining, sides and bottom", "(2 × (7 ft + 3 ft) × 3 ft + 7 ft × 3 ft)"
        )  # fmt: skip
        two = formulas("8 ft x 4 ft x 3 ft\n2 @ 6 ft x 2 ft x 1 ft")
        assert two["walls"][1] == (
            "(8 ft × 4 ft − 7 ft × 3 ft) × 3 ft + 2 × (6 ft × 2 ft − 5 ft × 1 ft) × 1 ft"
        )
        assert two["formed"][1] == "132 sq ft + 2 × 28 sq ft"
        assert two["forms"][1] == "3 ÷ 1 → 3 at once, 132 sq ft + 2 × 28 sq ft"

    def test_fresh_walls_and_drain_holes_are_warned_of_where_there_are_any(self):
        def notes(**asked):
            return " ".join(worked("beds", beds="8 ft x 4 ft x 3 ft", **asked).notes)

        assert "brace the forms" in notes(walls="poured", thickness="6 in")
        assert "brace the forms" not in notes(walls="boards")
        assert "drain holes" in notes(lining="sides")
        assert "drain holes" not in notes(lining="none")
        assert notes().startswith("Soil settles")

    def test_one_bed_is_what_the_other_shape_says(self):
        one = {"length": "8 ft", "width": "4 ft", "height": "11 in"}
        single = figures("raised-bed", **one)
        listed = figures("beds", beds="8 ft x 4 ft x 11 in")
        for key in ("soil", "growing", "boards"):
            assert listed[key] == single[key], key


class TestParts:
    @settings(max_examples=40 * TIMES, deadline=None)
    @given(
        parts=st.lists(st.integers(1, 40), min_size=1, max_size=6),
        share=st.integers(10, 200),
        waste=st.integers(0, 50),
    )
    def test_the_parts_make_the_mix(self, parts, share, waste):
        lines = "\n".join(f"{F(n, 2)} {'abcdef'[k]}" for k, n in enumerate(parts))
        made = figures(
            "parts", volumes="27 cu ft", parts=lines, **{"yield": str(share), "waste": str(waste)}
        )
        loose = [made[f"part-{n}"] for n in range(1, len(parts) + 1)]
        assert sum(loose) * share / 100 == 27 * (1 + F(waste, 100))
        for part, amount in zip(parts, loose, strict=True):
            assert amount * parts[0] == loose[0] * part

    def test_parts_by_name_and_whole_bags_of_them(self):
        """8 cu ft of 1 to 3 are 2 and 6: bags of 0.6 cu ft, 10 of the sand and 3 1/3 of the lime"""
        made = worked("parts", volumes="8 cu ft", bags="sand 0.6 cu ft\nlime 0.6 cu ft").figures
        assert [(each.label, each.value) for each in made[1:]] == [
            ("Lime", 2), ("Sand", 6), ("Bags of sand", 10), ("Bags of lime", 4),
        ]  # fmt: skip

    def test_more_volume_takes_more_of_each(self):
        once = figures("parts", volumes="1 cu ft")
        thrice = figures("parts", volumes="1 cu ft\n2 @ 1 cu ft")
        assert all(thrice[key] == 3 * once[key] for key in once)

    @pytest.mark.parametrize(
        ("parts", "below"),
        [
            ("2 clay : 5 sharp sand", "2 clay : 5 sharp sand"),
            ("2 clay of the river bank\n5 sharp sand of the pit\n1 chaff", "2 : 5 : 1"),
            ("\n".join(f"{n} part{chr(97 + n)}" for n in range(1, 20)), None),
        ],
    )
    def test_what_is_written_below_the_drawing_fits(self, parts, below):
        drawing = worked("parts", volumes="1 cu ft", parts=parts).drawing
        texts = [mark.text for mark in drawing.marks if mark.what == "text"]
        assert texts == ([below] if below else [])

    def test_lime_is_warned_of(self):
        assert "burn skin and eyes" in " ".join(worked("parts", volumes="1 cu ft").notes)


class TestFaces:
    @pytest.mark.parametrize(
        ("size", "around"),
        [
            # L01, L02, L03, L04: PS 20 table 3 as reprinted; twice thickness and width, arithmetic.
            ("1x4", "8.5"), ("2x4", 10), ("2x6", 14), ("2x8", "17.5"), ("2x10", "21.5"),
            ("2x12", "25.5"), ("4x4", 14),
        ],
    )  # fmt: skip
    def test_around_a_dressed_board(self, size, around):
        made = figures("lumber-faces", pieces=f"1 @ {size}x12", faces="along")
        assert made["area"] == F(around)

    @settings(max_examples=40 * TIMES, deadline=None)
    @given(
        count=st.integers(1, 99),
        size=st.sampled_from([(1, 4), (2, 4), (2, 8), (4, 4), (6, 6)]),
        long=st.integers(1, 20),
    )
    def test_all_faces_unfold_the_box(self, count, size, long):
        thick, wide = NominalSize(F(size[0]), F(size[1])).dressed()
        made = figures("lumber-faces", pieces=f"{count} @ {size[0]}x{size[1]}x{long}")
        inches = 2 * (thick * wide + thick * long * 12 + wide * long * 12)
        assert made["area"] == count * inches / 144
        full = figures(
            "lumber-faces", pieces=f"{count} @ {size[0]}x{size[1]}x{long}", surface="full"
        )
        assert full["area"] > made["area"]

    @pytest.mark.parametrize(
        ("pieces", "surface", "is_said"),
        [
            ("2x4x8", "dressed", True),
            ("2x4x8\n1 in x 5 in x 6 ft", "dressed", True),
            ("1 in x 5 in x 6 ft", "dressed", False),
            ("2x4x8", "full", False),
        ],
    )
    def test_what_a_nominal_size_counts_as_is_said_first(self, pieces, surface, is_said):
        notes = worked("lumber-faces", pieces=pieces, surface=surface).notes
        assert notes[0].startswith("Nominal sizes") == is_said
        assert len(notes) == 1 + is_said

    def test_cut_in_two_it_gains_two_ends(self):
        long = figures("lumber-faces", pieces="1 @ 2x4x8")
        halves = figures("lumber-faces", pieces="2 @ 2x4x4")
        assert halves["area"] - long["area"] == 2 * F(3, 2) * F(7, 2) / 144


class TestTrims:
    def test_two_strips_out_of_a_dressed_board(self):
        """Common practice, no published source: two rips of 2 1/2 in fit in a 2x6."""
        made = figures("trims", runs="8 ft", width="2 1/2 in", board="5 1/2 in", kerf="1/8 in")
        assert made["rips"] == 2

    @pytest.mark.parametrize(
        ("sides", "corners", "length"),
        [
            ("three", "plain", 17),
            ("four", "plain", 20),
            # Two mitred corners: 3 in on each of their four legs.
            ("three", "mitred", 18),
            ("four", "mitred", 22),
        ],
    )
    def test_around_an_opening(self, sides, corners, length):
        typed = {"sides": sides, "corners": corners, "width": "3 in"}
        assert figures("trims", openings="3 ft x 7 ft", **typed)["length"] == length
        both = figures("trims", openings="2 @ 3 ft x 7 ft", both="both", **typed)
        assert both["length"] == 4 * length

    def test_formulas_around_openings(self):
        typed = {"openings": "3 ft x 7 ft\n2 @ 2 ft x 3 ft", "width": "3 in"}
        (plain, *_), (mitred, *_) = (
            [each.formula for each in worked("trims", corners=one, **typed).figures[1:]]
            for one in ("plain", "mitred")
        )
        assert plain == "(2 × 7 ft + 3 ft) + 2 × (2 × 3 ft + 2 ft)"
        assert mitred == "(2 × 7 ft + 3 ft + 4 × 3 in) + 2 × (2 × 3 ft + 2 ft + 4 × 3 in)"

    @settings(max_examples=40 * TIMES, deadline=None)
    @given(width=st.integers(1, 40), board=st.integers(1, 99), kerf=st.integers(1, 4))
    def test_strips_and_their_cuts_fit_into_the_board_and_one_more_would_not(
        self, width, board, kerf
    ):
        if board < width:
            return
        inches = {"width": width, "board": board, "kerf": kerf}
        sizes = {name: f"{F(n, 8)} in" for name, n in inches.items()}
        rips = figures("trims", runs="8 ft", **sizes)["rips"]
        assert rips * width + (rips - 1) * kerf <= board
        assert (rips + 1) * width + rips * kerf > board
