"""Feel and bend, as the learner states them in a panel or leaves them to the readings."""

import re
from pathlib import Path

import numpy as np
import pytest
import workshops_read as made

from simulate.core.refusal import Refusal
from simulate.readings.lands.solve_lands import solve_lands
from simulate.readings.squares.solve_squares import solve_squares
from simulate.show.drawing import style
from simulate.show.drawing.focus import FOCUS as FOCUS_STYLE
from simulate.show.drawing.focus import PAGE_FOCUS
from simulate.show.own.bars.own_bars import OwnBarsPanel
from simulate.show.own.lands.own_lands import OwnLandsPanel
from simulate.show.own.plates.own_plates import OwnPlatesPanel
from simulate.show.own.squares.own_squares import OwnSquaresPanel
from simulate.show.own.stated import FOUND

ROOT = Path(__file__).resolve().parents[2]
SQUARES = [
    "A,B,0,30,40",
    "A,B,75,40,50",
    "A,B,150,60,70",
    "A,C,0,30,40",
    "A,C,75,30,40",
    "A,C,150,40,50",
    "B,C,0,40,50",
    "B,C,75,40,50",
    "B,C,150,30,40",
]
LANDS = ["l,0,200,400,0,20", "s,0,100,200,-10,0", "s,100,200,300,0,10", "s,200,300,400,0,10"]


def reading(panel, header, rows):
    panel.typed.value = "\n".join([header, *rows])
    panel.read_typed.click()
    assert panel.message.value == ""
    return panel


def squares(**more):
    return reading(OwnSquaresPanel(units="mm", **more), "lower,upper,height_mm,gap_at_least_um,gap_at_most_um", SQUARES)


def lands(**more):
    return reading(
        OwnLandsPanel(units="mm", **more), "gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um", LANDS
    )


@pytest.mark.parametrize("name", ["feel_um", "bend_um"])
def test_squares_are_solved_with_what_is_stated_and_wider_the_more_it_is(name):
    panel, wide = squares(), []
    assert panel.controls[name].value == FOUND
    other = {"feel_um": "bend_um", "bend_um": "feel_um"}[name]
    panel.controls[other].value = 0.0
    for um in (0.0, 5.0, 50.0):
        panel.controls[name].value = um
        direct = solve_squares(panel._table, **{name: um, other: 0.0})
        np.testing.assert_allclose(panel.solution.low_95_urad, direct.low_95_urad, rtol=1e-9)
        wide.append(panel.solution.sd_urad.mean())
    assert wide[0] < min(wide[1:])


def test_lands_are_solved_with_the_feel_that_is_stated():
    panel = lands(feel_um=4.0)
    assert panel.controls["feel_um"].label == "4.0 µm"
    np.testing.assert_allclose(
        panel.solution.low_95_um, solve_lands(panel._table, 1.0, feel_um=4.0).low_95_um, rtol=1e-9
    )
    sharp = lands(feel_um=0.0).solution
    assert (sharp.network.sd_um[1:-1] < panel.solution.network.sd_um[1:-1]).all()


@pytest.mark.parametrize(
    "make",
    [
        lambda: OwnSquaresPanel(feel_um=-1.0),
        lambda: OwnSquaresPanel(bend_um=2000.0),
        lambda: OwnLandsPanel(feel_um=-0.1),
    ],
)
def test_no_impossible_feel_is_taken(make):
    with pytest.raises(Refusal) as refused:
        make()
    assert refused.value.code == "range" and "0 to 1000" in refused.value.must_be


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_list_keeps_what_was_stated_in_either_unit(units):
    panel = OwnSquaresPanel(units=units, feel_um=3.0)
    assert panel.controls["feel_um"].value == 3.0 and panel.values()["feel_um"] == 3.0


def test_squares_say_how_much_wider_ranges_for_all_at_once_are():
    panel = squares()
    found = panel.solution
    whole, alone = (
        high - low
        for low, high in ((found.whole_low_95_urad, found.whole_high_95_urad), (found.low_95_urad, found.high_95_urad))
    )
    assert (whole >= alone - 1e-9).all() and (whole > alone).any()
    assert f"all squares at once are {(whole / alone).max():.1f} times as wide" in panel.sentence


GAPS = {"bars": OwnBarsPanel, "plates": OwnPlatesPanel}


@pytest.mark.parametrize("kind", GAPS)
def test_an_exact_feel_of_nought_and_an_unknown_one_can_both_be_stated(kind, tmp_path):
    make = made.bars if kind == "bars" else made.plates
    truth, table = make(np.random.default_rng(6), step_um=10.0)
    place = ["position_mm"] if kind == "bars" else ["x_mm", "y_mm"]
    turned = (lambda t: "yes" if t else "no") if kind == "bars" else int
    rows = [",".join(["lower", "upper", "turned", *place, "gap_at_least_um", "gap_at_most_um"])]
    for k in range(len(table)):
        at = [table.position_mm[k]] if kind == "bars" else [table.position_mm[k], table.y_mm[k]]
        ends = table.low_um[k], table.high_um[k]
        names = table.names[table.lower[k]], table.names[table.upper[k]], turned(table.turned[k])
        rows.append(",".join(map(str, [*names, *at, *ends])))
    path = tmp_path / "mine.csv"
    path.write_text("\n".join(rows))
    panel, told = GAPS[kind](path, units="mm"), {}
    for choice in (FOUND, 0.0, 5.0):
        panel.controls["feel_um"].value = choice
        assert panel.message.value == ""
        told[choice] = panel.found.solution.feel_um
    assert told[0.0] == 0.0 < told[FOUND] < told[5.0] == pytest.approx(5)


@pytest.mark.parametrize("kind", ["bars", "plates", "squares", "lands"])
def test_where_the_figures_show_no_step_the_panel_asks_for_it_and_takes_it(kind, tmp_path):
    text = {
        "bars": ["lower,upper,turned,position_mm,gap_um"]
        + [f"{p},{t},{x},4" for p in ("A,B", "A,C", "B,C") for t in ("no", "yes") for x in (0, 50, 100)],
        "plates": ["lower,upper,turned,x_mm,y_mm,gap_um"]
        + [
            f"{p},{t},{x},{y},4"
            for p in ("A,B", "A,C", "B,C")
            for t in (0, 90)
            for x in (-100, 0, 100)
            for y in (-100, 0, 100)
        ],
        "squares": ["lower,upper,height_mm,gap_um"]
        + [f"{p},{h},4" for p in ("A,B", "A,C", "B,C") for h in (0, 50, 100)],
        "lands": ["gauge,left_mm,middle_mm,right_mm,proud_um", "a,0,100,200,4", "a,0,100,200,4"],
    }[kind]
    path = tmp_path / "mine.csv"
    path.write_text("\n".join(text))
    maker = {"squares": OwnSquaresPanel, "lands": OwnLandsPanel, **GAPS}[kind]
    panel = maker(path, units="mm", **({"reading_sd_um": None} if kind == "lands" else {}))
    assert "The readings do not show their smallest step, so the last digit written, 1 µm, is used" in panel.sentence
    assert 0.0 not in dict(panel.controls["resolution_um"].options).values()
    panel.controls["resolution_um"].value = 5.0
    assert panel.message.value == "" and "no smallest step" not in panel.sentence
    solution = panel.solution if hasattr(panel, "solution") else panel.found.solution
    assert solution.sd_from == "resolution" and solution.reading_sd_um == pytest.approx(5 / np.sqrt(12))


def test_lines_break_between_words_and_menus_have_a_light_arrow_in_the_dark():
    assert "word-break: normal" in FOCUS_STYLE and '[data-jp-theme-light="false"]' in FOCUS_STYLE
    assert "fill='%23fff'" in FOCUS_STYLE and "word-break" not in PAGE_FOCUS


def test_a_figure_of_an_angle_is_made_of_the_number():
    assert style.spell_angle(-203.4, "inch", "+") == f"{style.angle_figure(-203.4, 'inch', '+')} thou in a foot"
    cut = re.compile(r"spell_angle\([^\n]*split\(\)\[0\]")
    shown = [path for path in (ROOT / "simulate" / "show").rglob("*.py") if cut.search(path.read_text("utf-8"))]
    assert not shown


def test_the_panel_of_bars_says_once_how_straight_the_best_one_is():
    panel = OwnBarsPanel(units="mm")
    assert panel.sentence.count("within 180 µm") == 1 and "North looks straightest now. How certain" in panel.sentence
    panel.controls["reading_sd_um"].value = 5.0
    assert panel.sentence.count("within 180 µm") == 1
    assert "By these readings North is the straightest now" in panel.sentence
