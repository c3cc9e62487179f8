"""Tolerance grades, held against the published tables."""

import re

import pytest

from simulate.surface.tolerances import plate_grades as grades


@pytest.mark.parametrize(("longer_mm", "limits_um"), [(1000, [4, 8, 20, 40, 80]), (2500, [7, 14, 35, 70, 140])])
def test_din_876_gives_the_limits_of_its_table(longer_mm, limits_um):
    """Published: DIN 876, table of surface plates, 200 to 6500 mm; grade 00, 2 (1 + L/1000), from memory."""
    found = grades.plate_limits_um(longer_mm, 600)
    assert list(found) == ["00", "0", "1", "2", "3"]
    assert list(found.values()) == pytest.approx(limits_um)
    assert grades.plate_limits_um(600, longer_mm) == found


def test_iso_8512_goes_by_the_diagonal():
    """From memory: ISO 8512, 630 x 400 mm."""
    assert list(grades.plate_limits_um(630, 400, "ISO 8512").values()) == [5, 10, 20, 39]


def test_a_diagonal_of_whole_hundreds_is_not_rounded_up():
    """Derived: 600 x 800 mm has a diagonal of 1000 mm, and 0.003 * 1000 + 2.5 = 5.5 stays, for grade 0 goes in
    halves."""
    assert list(grades.plate_limits_um(600, 800, "ISO 8512").values()) == [5.5, 11, 22, 44]


def test_din_874_2_gives_the_limits_of_its_table():
    """Published: DIN 874-2, knife-edge straightedges."""
    table = {75: 2, 100: 2, 150: 3, 200: 3, 300: 3, 400: 4, 500: 4, 600: 4, 700: 5, 800: 5, 900: 6, 1000: 6}
    assert {length: grades.straightedge_limit_um(length) for length in table} == table


def test_iso_1708_allows_a_bed_to_be_convex_only():
    """From memory: ISO 1708, bed in the vertical plane, 10 um to 500 mm and 20 um to 1000 mm between centres."""
    assert [grades.lathe_bed_limit_um(length) for length in (300, 500, 501, 1000)] == [10, 10, 20, 20]
    assert grades.lathe_bed_sentence(10, 500).startswith("inside the 10 µm for 500 mm between centres")
    assert grades.lathe_bed_sentence(11, 500).startswith("outside the 10 µm")
    assert grades.lathe_bed_sentence(-1, 500).startswith("hollow by 1 µm: the bed may only be convex")


def test_din_875_gives_the_limits_of_its_table():
    """Published: an extract of DIN 875 (steel squares) in a lexicon of measurement; formulas from memory.

    Its row for 750 mm gives 43 and 85 um in grades 1 and 2, out of line with the rows about it, and is left out.
    """
    table = {
        75: (3, 7, 14, 28),
        100: (3, 7, 15, 30),
        150: (4, 8, 18, 35),
        200: (4, 9, 20, 40),
        250: (5, 10, 23, 45),
        300: (5, 11, 25, 50),
        500: (7, 15, 35, 70),
        1000: (12, 25, 60, 120),
    }
    assert {blade: tuple(grades.square_limits_um(blade).values()) for blade in table} == table
    assert list(grades.square_limits_um(50)) == ["00", "0", "1", "2"] and grades.square_limits_um(50)["00"] == 3
    assert grades.square_grade_sentence(-15, 200) == "inside grade 1 for a blade of 200 mm (DIN 875)"
    assert grades.square_grade_sentence(41, 200).startswith("outside grade 2, the coarsest")


def test_a_plate_is_told_the_finest_grade_that_it_is_inside():
    """Derived from the published formulas: 400 mm gives 2.8, 5.6, 14, 28 and 56 um."""
    said = {value: grades.plate_grade_sentence(value, 400, 250) for value in (0, 2.8, 2.9, 5.6, 5.7, 28, 56, 57)}
    assert said[0] == said[2.8] == "inside grade 00 for 400 × 250 mm (DIN 876)"
    assert said[2.9] == said[5.6] == "inside grade 0 for 400 × 250 mm (DIN 876)"
    assert said[5.7] == "inside grade 1 for 400 × 250 mm (DIN 876)"
    assert said[28] == "inside grade 2 for 400 × 250 mm (DIN 876)"
    assert said[56] == "inside grade 3 for 400 × 250 mm (DIN 876)"
    assert said[57] == "outside grade 3, the coarsest, for 400 × 250 mm (DIN 876)"


def test_a_straightedge_is_told_its_limit():
    assert grades.straightedge_grade_sentence(4, 500).startswith("inside the 4 µm")
    assert grades.straightedge_grade_sentence(4.1, 500).startswith("outside the 4 µm")


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: grades.plate_limits_um(150, 100), "the longer side in mm is 150; it must be 200 to 6500."),
        (
            lambda: grades.plate_limits_um(400, 250, "DIN 1"),
            "standard is 'DIN 1'; it must be 'DIN 876', 'ISO 8512' or 'GGG-P-463c'.",
        ),
        (lambda: grades.plate_grade_sentence(-1, 400, 250), "flatness_um is -1; it must be 0 or more."),
        (lambda: grades.straightedge_limit_um(1500), "length_mm is 1500; it must be 75 to 1000."),
        (lambda: grades.straightedge_grade_sentence(-1, 500), "straightness_um is -1; it must be 0 or more."),
        (lambda: grades.square_limits_um(0), "height_mm is 0; it must be more than 0."),
        (lambda: grades.lathe_bed_limit_um(2000), "between_centres_mm is 2000; it must be above 0 and at most 1000."),
    ],
)
def test_what_no_table_holds_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        call()
