"""Units of the bench: levels, divisions, tenths and prints read as what they are worth."""

import math
import re

import numpy as np
import pytest

from simulate import read_readings
from simulate.readings.findings import findings
from simulate.readings.table.columns import KNOWN, UNITS_OF
from simulate.readings.table.readings import ReadingsError
from simulate.readings.table.units import LONG, SLOPE, SMALL, unit_named

LINE = "line,station,x_mm,y_mm,{}\nfront,0,0,0,\nfront,1,100,0,{}\n"
GAPS = "lower,upper,position_mm,{}\nA,B,0,{}\nA,B,50,3\n"
HELD = {  # rise over length of one unit, from what its name says and 1 in = 25.4 mm, 1 ft = 304.8 mm
    "arcsec": math.tan(math.pi / 648000),
    "urad": 1e-6,
    "um_m": 1e-6,
    "mm_m": 1e-3,
    "thou_ft": 0.0254 / 304.8,
    "in_ft": 25.4 / 304.8,
    "tenths_10in": 0.00254 / 254,
}


def level(unit: str, cell: str, above: str = "") -> float:
    return float(read_readings((above + LINE.format(f"reading_{unit}", cell)).encode()).reading_arcsec[1])


@pytest.mark.parametrize("unit", [u.name for u in SLOPE if u.name != "div"])
def test_a_level_reading_is_the_angle_that_its_unit_says(unit):
    """Closed form: arc tangent of rise over length, within the small angle that a level holds."""
    assert level(unit, "0.1") == pytest.approx(math.degrees(math.atan(0.1 * HELD[unit])) * 3600, rel=3e-5, abs=1e-6)


def test_levels_of_the_trade_come_out_in_seconds_as_they_are_sold():
    """0.02 mm/m is about 4 seconds, 0.0005 in per ft about 8.6 (makers' tables; from memory)."""
    assert level("div", "1", "# division: 0.02 mm/m\n") == pytest.approx(4.125, abs=0.001)
    assert level("div", "1", "# division: 0.0005 in/ft\n") == pytest.approx(8.594, abs=0.001)
    assert level("div", "2.5", "# one division: mine\n# Division: 5 tenths in 10 in\n") == pytest.approx(
        25.78, abs=0.01
    )


def test_another_way_to_write_a_unit_is_the_same_column():
    looked = 0
    for columns, units in ((("reading",), SLOPE), (("gap", "proud", "film"), SMALL), (("position", "left"), LONG)):
        for unit in units:
            assert all(unit_named(word, units) == unit for word in (unit.name, unit.said, *unit.also))
            for column in columns:
                assert UNITS_OF[column] is units and f"{column}_{unit.name}" in KNOWN
                looked += 1
    assert looked == len(SLOPE) + 3 * len(SMALL) + 2 * len(LONG)
    assert level("mm_per_m", "0.02") == level("mm_m", "0.02")


@pytest.mark.parametrize(
    "column, cell, um",
    [
        ("gap_tenths", "3", 7.62),
        ("gap_in", "1/64", 396.875),
        ("gap_in", "0.002-0.003", (50.8, 76.2)),
        ("gap_thou", "1.5", 38.1),
    ],
)
def test_gaps_in_tenths_thou_and_fractions(column, cell, um):
    table = read_readings(GAPS.format(column, cell).encode())
    low, high = um if isinstance(um, tuple) else (um, um)
    assert (table.low_um[0], table.high_um[0]) == (pytest.approx(low), pytest.approx(high))


@pytest.mark.parametrize(
    "column, cell, told",
    [
        ("gap_thou", "1/64", "a fraction is inches, and this column is gap_thou: call it gap_in, or write decimals"),
        ("gap_thou", "2.1 thou", "without a unit, because the heading gives it: gap_thou"),
        ("gap_in", '0.002"', "without a unit, because the heading gives it: gap_in"),
    ],
)
def test_a_fraction_or_a_unit_in_a_cell_is_told_as_what_it_is(column, cell, told):
    with pytest.raises(ReadingsError, match=re.escape(told)):
        read_readings(GAPS.format(column, cell).encode())


def test_divisions_of_a_dial_need_to_know_what_one_is_worth():
    table = read_readings(("# division: 0.01 mm\n" + GAPS.format("gap_div", "2-4")).encode())
    assert (table.low_um[0], table.high_um[0], table.gap_um[1]) == (20.0, 40.0, 30.0)
    with pytest.raises(
        ReadingsError,
        match=r"no line says how much one division is worth; there must be a line such as '# division: 0\.01 mm'",
    ):
        read_readings(GAPS.format("gap_div", "2").encode())
    with pytest.raises(ReadingsError, match=r"'# division: 0\.02 mm/m'"):  # a dial's is not a level's
        level("div", "1", "# division: 0.01 mm\n")


PRINTS = "lower,upper,turned,x_mm,y_mm,{}\nA,B,0,0,0,{}\nA,B,0,50,0,{}\n"


@pytest.mark.parametrize(
    "head, here, there",
    [
        ("printed,film_um", "yes,3", "no,3"),
        ("printed,film_thou", "x,.1181102", ".,.1181102"),
        ("gap_um,printed,film_um", ",x,3", ",.,3"),
    ],
)
def test_what_printed_is_open_by_at_most_the_film_and_what_did_not_by_at_least_that(head, here, there):
    table = read_readings(PRINTS.format(head, here, there).encode())
    assert table.low_um == pytest.approx([0, 3], abs=1e-4) and table.high_um == pytest.approx([3, math.inf], abs=1e-4)
    assert table.is_interval.all()


def test_a_print_may_stand_in_the_column_of_gaps_or_under_one_film_for_all():
    for text in (PRINTS.format("printed", "x", "no"), PRINTS.format("gap_um", "x", ".")):
        table = read_readings(("# film: 3 um\n" + text).encode())
        assert table.high_um.tolist() == [3, math.inf] and table.low_um.tolist() == [0, 3]
    (slip,) = table.slips
    assert slip.sentence == (
        "Rows 3 and 4: a print is taken as a gap of at most 3 um where it shows, and of at least that elsewhere."
    )


@pytest.mark.parametrize(
    "head, cell, words",
    [
        ("printed", "x", "how thick the film"),
        ("printed,film_um", "x,", "how thick the film"),
        ("printed,film_um", "x,0", "how thick the film"),
        ("printed,film_um", "perhaps,3", "yes or no"),
        ("printed,film_um", ",3", "yes or no"),
        ("gap_um,printed,film_um", "4,x,3", "a gap is given beside the print"),
        ("gap_um,film_um", "4,3", "printed"),
        ("gap_um", "x", "a number from 0"),
    ],
)
def test_a_print_that_says_too_little_or_too_much_is_refused(head, cell, words):
    with pytest.raises(ReadingsError, match=words):
        read_readings(PRINTS.format(head, cell, cell).encode())


def test_prints_of_three_plates_give_findings():
    """Invented: plates flat to less than the film print all over, and are told to be as flat as that."""
    rng = np.random.default_rng(4)
    height = {name: 0.5 * rng.normal(size=(4, 4)) for name in "ABC"}
    rows = ["# film: 4 um", "lower,upper,turned,slide_x_mm,x_mm,y_mm,gap_um"]
    for lower, upper, turned, slide in (
        ("A", "B", 0, 0),
        ("A", "C", 0, 0),
        ("B", "C", 0, 0),
        ("B", "C", 90, 0),
        ("A", "B", 0, 50),
    ):
        for i in range(4):
            for j in range(slide // 50, 4):
                apart = height[lower][i, j] + height[upper][i, 3 - j] < 1.2
                rows.append(f"{lower},{upper},{turned},{slide},{50 * j - 75},{50 * i - 75},{'x' if apart else '.'}")
    told = findings(read_readings("\n".join(rows).encode()))
    assert told.kind == "plates" and told.sentences
