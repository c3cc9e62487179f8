"""Lessons on plates hold to the order of the first ones, and say what their panels show."""

import re

import pytest
from lesson_parts import holds_its_parts
from test_lessons import LESSONS, code, read, words

from simulate import hidden_families
from simulate.show import HiddenPlatesPanel, PlateTurnsPanel
from simulate.show.plates.hidden_plates import PLACEMENTS

PANELS = {
    "10": ["PlatesPanel()"],
    "11": ["PlateTurnsPanel()", "HiddenPlatesPanel()"],
    "12": ["EdgeSurveyPanel()"],
    "13": ["SurveyPanel()", 'SurveyPanel(demo_path("demo_surveys.csv"))'],
}
MINE = [p for p in LESSONS if p.name[:2] in PANELS]
each = pytest.mark.parametrize("path", MINE, ids=lambda p: p.stem)


def test_they_are_there():
    assert len(MINE) == len(PANELS)


@each
def test_parts_panel_and_exercises_stand_in_order(path):
    holds_its_parts(path, *PANELS[path.name[:2]])


def printed(number):
    notebook = read(next(p for p in MINE if p.name[:2] == number))
    return "".join(o.text for c in code(notebook) for o in c.outputs if o.output_type == "stream")


def test_lesson_10_shows_a_run_from_200_um_to_its_floor_with_and_without_quarter_turns():
    runs = re.findall(
        r"^(.+): worst plate from (\d+) to (\d+) µm; (\d+) % bears, with (\d+) points in a square inch; "
        r"hidden (\d+) µm$",
        printed("10"),
        re.M,
    )
    assert [r[0] for r in runs] == ["face to face", "half turns", "quarter turns"]
    floors = []
    for _, start, end, bears, points, hidden in runs:
        assert int(start) > 200 and 0 <= int(end) - int(hidden) <= 2
        assert 20 <= int(bears) <= 50 and 15 <= int(points) <= 25, "a good print, however flat the plate is"
        floors.append(int(end))
    assert floors[0] > 2 * floors[1] > 4 * floors[2] / 1.1


def test_lesson_11_shows_the_table_of_hidden_families_against_placements():
    rows = re.findall(r"^three plain fits and (.+): (.+)$", printed("11"), re.M)
    assert dict(rows) == {
        "nothing": "twist 10, pinwheel 6, lopsided 19",
        "2 on 1, half turn": "twist 10, pinwheel 6",
        "2 on 1, quarter turn": "pinwheel 6",
        "2 on 1, slid along": "twist 1",
        "2 on 1, slid slanting": "twist 1",
    }
    # derived: odd waves that repeat with the slide meet themselves again, so a slide of three steps leaves more than
    # one of one
    assert re.findall(r"slid by (.+): (\d+) hidden", printed("11")) == [("1", "1"), ("3", "14"), ("3 and by 2", "1")]


def test_the_lesson_on_turns_says_what_its_panels_show_and_counts_as_they_do():
    said = words(read(next(p for p in MINE if p.stem.endswith("turns_and_what_hides"))))
    twist, wheel = re.search(r"by a quarter opens (\d+) µm, a pinwheel of 20 µm slid only (\d+) µm", said).groups()
    assert f"up to {twist} µm" in PlateTurnsPanel("twist", place="quarter turn").sentence
    assert f"up to {wheel} µm" in PlateTurnsPanel("pinwheel", place="slid along").sentence
    plain = list(PLACEMENTS)[:3]
    weakest = re.search(r"a quarter turn and a slide the faintest error has (\S+):", said)[1]
    both = HiddenPlatesPanel([*plain, (0, 1, 90, 0, 0), (0, 1, 0, 1, 0)])
    assert f"amplified {weakest} times" in both.sentence
    counts = [sum(f.hidden for f in hidden_families(5, [*plain, *more])) for more in ((), [(0, 1, 180)], [(0, 1, 90)])]
    assert counts == [9, 4, 1] and all(f"{how} {n}" in said for how, n in (("and", 9), ("2 × 2 =", 4), ("so", 1)))


def test_lessons_12_and_13_survey_one_plate_by_lines_of_an_edge_and_by_slopes():
    left = [int(um) for um in re.findall(r"unseen, \d+ passes, plate from 200 to (\d+) µm", printed("12"))]
    assert (
        len(left) == 5 and left[2] < 10 and 30 < left[3] < left[4]
    )  # a dial, blades from 0.03 mm, blades from 0.05 mm
    assert re.search(r"usual way: .*\nleast squares: .*\nclosures ", printed("13"))
    told = re.search(
        (
            r"straightedge and dial: 121 stations.*\neight lines of slopes: 73 stations.*\nthe two differ by (\S+) "
            r"µm at most"
        ),
        printed("13"),
    )
    assert 0 < float(told[1]) < 10
