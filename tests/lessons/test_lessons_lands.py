"""Lessons 07 to 09 hold to the order of the first ones, and their figures are those of the package."""

import re

import numpy as np
import pytest
from test_lessons import LESSONS, PARTS, code, read, words

from simulate.course.exercise.exercise import names, question
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import chained_level, progression_table
from simulate.method.lands.stepping import gauges_from_pairs, step_lands
from simulate.show.lands.land_tables import gauges_text, progression_text, stepping_text
from simulate.show.lands.laying import known, layings

PANELS = {
    "07": ["OneGaugePanel()", "LandGaugesPanel()"],
    "08": ['LandsPanel("my own", 7)'],
    "09": ['LandsPanel("chained", 13)', "OwnLandsPanel()"],
}
MINE = [p for p in LESSONS if p.name[:2] in PANELS]
each = pytest.mark.parametrize("path", MINE, ids=lambda p: p.stem)


def printed(notebook):
    return "".join(o.text for c in code(notebook) for o in c.outputs if o.output_type == "stream")


def test_the_three_lessons_are_there():
    assert [p.stem for p in MINE] == ["07_three_small_gauges", "08_three_points_to_seven", "09_how_far_lands_go"]


@each
def test_parts_predictions_panels_and_exercises_stand_in_order(path):
    notebook = read(path)
    cells = [c.source for c in notebook.cells]
    assert (
        re.findall(r"^## (.+)$", "\n\n".join(c.source for c in notebook.cells if c.cell_type == "markdown"), re.M)
        == PARTS
    )
    predict = next(i for i, s in enumerate(cells) if s.startswith("## Predict first"))
    assert cells[predict].count("?") >= 3
    for panel in PANELS[path.name[:2]]:
        place = cells.index(panel)
        assert predict < place
        data = notebook.cells[place].outputs[0].data
        assert len(data["image/png"]) > 1000 and len(data["text/plain"].split()) >= 5
    asked = re.findall(r'^Exercise\("([^"]+)", student\)$', "\n".join(cells), re.M)
    assert len(asked) >= 4 and tuple(asked) == names(path.name[:2])


def test_lesson_08_says_which_points_each_set_of_gauges_ties():
    said = printed(read(MINE[1]))
    assert "long alone: Determined: 0, 300, 600 mm; not touched: 100, 200, 400, 500 mm." in said
    assert "short alone: Determined: 0, 600 mm; touched, but not yet fixed relative to the known points: 100, 200, 300, 400, 500 mm." in said
    assert "both: Determined: 0, 100, 200, 300, 400, 500, 600 mm." in said


def test_lesson_07_solves_its_example_and_says_how_certain_it_is_as_the_package_does():
    notebook = read(MINE[0])
    assert [float(v) for v in gauges_from_pairs(-8, 17, -15)] == [12, -20, 5]
    assert "A +12.0 µm, B -20.0 µm, C +5.0 µm" in printed(notebook)
    fits = 2 * np.random.default_rng(1).standard_normal((3, 40_000))
    assert np.std(gauges_from_pairs(*fits)[..., 0]) == pytest.approx(np.sqrt(3), rel=0.02)
    assert "√3 σ / 2 = 0.87 σ" in words(notebook) and "± 2 µm a fit" in words(notebook)


def test_the_figures_of_lesson_09_are_those_that_are_computed():
    said = words(read(MINE[2]))
    assert step_lands(12, zero_um=1.0).bias_um.max() == 36 and "6 × 6 = 36 µm" in said
    assert step_lands(24, zero_um=0.5).bias_um.max() == 72 and "0.5 × 144 = 72 µm" in said
    hollow = -known(layings("anchored", 25, 600, 1.0), np.linspace(0, 600, 25), 1.0).height_um.min()
    assert f"{hollow:.1f} µm hollow, the chained one 144" in said
    last = progression_table((25,))[0]
    assert f"{last.chained_um:.0f} µm against {last.anchored_um:.1f}" in said


def test_the_tables_print_every_progression_once_and_the_lesson_holds_them():
    table = progression_text()
    assert re.findall(r"^ *(\d+) points by (3.*?):", table, re.M) == [
        ("7", "3, 7"),
        ("9", "3, 5, 9"),
        ("13", "3, 7, 13"),
        ("25", "3, 7, 13, 25"),
    ]
    assert "25 points by 3, 7, 13, 25: 23 fits, chained 34.0 µm, anchored 1.9 µm" in re.sub(" +", " ", table)
    said = printed(read(MINE[2]))
    assert table in said and stepping_text((6, 12, 24)) in said


def test_the_table_of_gauges_comes_down_to_the_floor_of_each_eye_and_the_lesson_holds_it():
    """Derived: a round at an even split leaves nothing but what sight and hands leave."""
    table = gauges_text()
    assert table in printed(read(MINE[0]))
    rows = [[float(v) for v in re.findall(r"\d+\.\d", line)] for line in table.splitlines()[1:]]
    assert [row[0] for row in rows] == [1, 2.5, 5]
    for sight, floor, start, *rounds in rows:
        assert start > 20 and all(r < floor for r in rounds) and rounds[0] >= rounds[-1]
        assert floor == pytest.approx(sight + 2 * (2 * 0.08), abs=0.05)  # a cut of 2 µm, uneven by 8 % either way


@pytest.mark.parametrize("seed", range(8))
def test_the_synthesis_questions_are_answered_as_the_solver_answers_them(seed):
    """The general solver counts what is left over, and follows a shared error through two levels."""
    spare = question("lands-spare", seed)
    n = int(re.search(r"to have (\d+) points", spare.text).group(1)) - 1
    fits = chained_level(n + 1, float(n), 1.0).fits
    assert spare.answer == pytest.approx(solve_network([*fits, *fits, Fit((0, n / 2, n), 1.0)]).redundancy.sum())
    levels = question("far-levels", seed)
    z = float(re.search(r"proud by (\d+) µm", levels.text).group(1))
    assert levels.answer == pytest.approx(
        -known(layings("anchored", 7, 600, 1.0), np.linspace(0, 600, 7), z).height_um[2]
    )
