"""The panel of a learner's own land readings: solved, held against a prediction, and said in words."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from simulate.readings.findings import findings
from simulate.readings.lands.solve_lands import solve_lands
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.lands.own_lands import WORKED, OwnLandsPanel
from simulate.show.own.pictures.finding_pictures import finding_picture, reach_95

HEAD = b"gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um\n"
LOOSE = (
    "gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um\nl,0,300,600,-2.5,2.5\n"
    "s,0,100,200,-2.5,2.5\ns,100,200,300,2.5,8\ns,300,400,500,-2.5,2.5\n"
)
UNEVEN = "gauge,left_mm,middle_mm,right_mm,proud_um\nl,0,250,600,1\ns,0,100,250,2\n"


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def typed(text, **more):
    panel = OwnLandsPanel(units="mm", **more)
    panel.typed.value = text
    panel.read_typed.click()
    return panel


def test_what_is_certain_of_points_without_an_upper_end_is_said_once():
    panel = typed(HEAD.decode() + "l,0,300,600,40,\ns,0,150,300,-2.5,2.5\ns,300,450,600,-2.5,2.5\n")
    assert panel.sentence.count("Certain: proud") == panel.sentence.count("Bounded on one side only") == 1


def test_the_demo_is_said_to_be_invented_and_its_figures_are_those_of_the_solver():
    panel = OwnLandsPanel(units="mm")
    found = solve_lands(read_readings(demo_path("demo_lands.csv")), 1.0)
    assert panel.sentence.startswith("Demo file, invented readings. Round 2. ")
    for x, h, low, high in zip(found.network.x_mm, found.network.height_um, found.low_95_um, found.high_95_um):
        if 0 < x < 600:
            assert f"{h.round(1) + 0.0:+.1f} µm ({low:+.1f} to {high:+.1f}) at {x:g} mm" in panel.sentence
    assert "95 % for each point by itself" in panel.sentence and "A band for all points at once is" in panel.sentence
    assert (
        panel.foretold.verdict == "as predicted"
        and "as predicted. A good bar would come out no better in" in panel.sentence
    )
    assert pixels(panel.png).shape == (480, 1280, 3)


@pytest.mark.parametrize("worked", WORKED)
def test_every_prediction_and_both_ends_of_the_sliders_answer(worked):
    panel = OwnLandsPanel(units="mm")
    panel.controls["worked"].value = worked
    pictures, moved = {panel.png}, 0
    for name in ("fit_sd_um", "reading_sd_um"):
        widget = panel.controls[name]
        before = widget.value
        for value in (widget.min, widget.max, before):
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 100
            pictures.add(panel.png)
            moved += 1
    assert moved == 6 and len(pictures) >= 4


def test_a_bar_that_is_far_out_for_its_prediction_is_told():
    panel = OwnLandsPanel(units="mm")
    first = panel._text.replace("\n2,", "\n# 2,")
    panel.typed.value = first
    panel.read_typed.click()
    assert "so far out that something else was at work" in panel.sentence
    assert "of feel allowed: 300 mm between" in panel.sentence
    panel.controls["feel_um"].value = 0.0
    assert "For certain, by the intervals alone: 300 mm between -100 µm and -50 µm." in panel.sentence


def test_points_that_are_not_tied_are_named_and_bounds_are_said():
    panel = typed(LOOSE, feel_um=0.0)
    assert panel.message.value == ""
    assert "Not fixed to the ends: 400 mm, 500 mm." in panel.sentence
    assert "200 mm between 0.0 µm and 14 µm" in panel.sentence and "-0.0" not in panel.sentence
    assert not panel.sentence.startswith("Demo")


def test_inches_are_spoken_where_they_were_asked_for():
    panel = OwnLandsPanel(units="inch")
    assert " at 11.81 in" in panel.sentence and "thou (" in panel.sentence
    assert panel.controls["fit_sd_um"].description.endswith("(thou)")


def test_what_is_refused_leaves_the_picture_that_was_there():
    panel = OwnLandsPanel(units="mm")
    before, words = panel.png, panel.sentence
    for text, sentence in (
        ("gauge,left_mm,middle_mm,right_mm,proud_um\nl,0,300,200,1\n", "row 2, column right_mm is &#x27;200&#x27;"),
        ("lower,upper,height_mm,gap_um\nA,B,0,1\n", "holds readings of squares; there must be readings of lands"),
        (
            "gauge,left_mm,middle_mm,right_mm,proud_um\nl,0,100,200,1\nl,300,400,500,1\n",
            "no point between the ends is fixed",
        ),
    ):
        panel.typed.value = text
        panel.read_typed.click()
        assert sentence in panel.message.value
        assert (panel.png, panel.sentence) == (before, words)


def test_a_prediction_for_even_spaces_is_refused_for_uneven_ones():
    panel = typed(UNEVEN)
    panel.controls["worked"].value = "anchored"
    assert "between 4 points; it must be evenly spaced, with an odd number of points" in panel.message.value
    panel.controls["worked"].value = WORKED[0]
    assert panel.message.value == ""


def test_a_file_is_taken_by_its_path_and_a_missing_one_is_refused(tmp_path):
    panel = OwnLandsPanel(units="mm")
    (tmp_path / "mine.csv").write_text(UNEVEN)
    panel.path.value = str(tmp_path / "mine.csv")
    panel.read_path.click()
    assert "+1.0 ± 2.0 µm at 250 mm" in panel.sentence
    panel.path.value = str(tmp_path / "none.csv")
    panel.read_path.click()
    assert "is not a file; it must be the path of a readings file." in panel.message.value


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: OwnLandsPanel(worked="guessed"), "worked is 'guessed'; it must be 'fits of this file'"),
        (lambda: OwnLandsPanel(fit_sd_um=0, units="mm"), "fit_sd_um is 0 µm; it must be 0.5 to 20 µm."),
        (
            lambda: OwnLandsPanel(demo_path("demo_bars.csv")),
            "demo_bars.csv: it holds readings of bars; there must be readings of lands.",
        ),
    ],
)
def test_impossible_settings_are_refused_in_a_sentence(make, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        make()


def test_the_picture_of_findings_draws_the_range_that_was_worked_out():
    """Intervals leave lopsided ranges: what is drawn is the range itself, and nothing where none is given."""
    told = findings(read_readings(HEAD + b"long,0,300,600,0,30\nshort,0,100,300,-40,0\n"))
    found, low, high = told.solution, told.solution.low_95_um, told.solution.high_95_um
    below, above = reach_95(found)
    np.testing.assert_allclose(found.network.height_um - below, low)
    np.testing.assert_allclose(found.network.height_um + above, high)
    assert (np.abs(below - above) > 0.2).any()
    axes = finding_picture(told).figure.axes[0]
    drawn = np.concatenate([bar[0].get_segments() for bar in (c[2] for c in axes.containers)])
    np.testing.assert_allclose(sorted(drawn[:, 0, 1]), sorted(low), atol=1e-6)
    assert "with 95 %" in axes.get_title(loc="left") and "feel allowed for" in axes.get_title(loc="left")
    nothing = replace(found, low_95_um=None, high_95_um=None)
    assert not reach_95(nothing).any() and "95" not in finding_picture(replace(told, solution=nothing)).figure.axes[
        0
    ].get_title(loc="left")
