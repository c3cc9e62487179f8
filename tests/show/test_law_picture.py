"""The law of the split by rounds: figures on the picture are those of the run, the paper line is |2s - 1|."""

from itertools import count

import numpy as np
import pytest

from simulate.method.bars.floor_table import worst_bar
from simulate.show import ThreeBarsPanel
from simulate.show.bars import three_bars
from simulate.show.bars.law_picture import GHOSTS, along_rounds, on_paper, worst_by_round


@pytest.fixture
def panel(monkeypatch):
    """A panel whose every run counts as looked at."""
    monkeypatch.setattr(three_bars, "LOOKED_AT_S", 0.0)
    return ThreeBarsPanel(error_um=500, rounds=3)


def ghosts(panel):
    return [words._text for words in panel.curve._ghost_words if words._text]


def test_dots_and_ratios_are_those_of_the_run(panel):
    worst = panel.history.straightness_um.max(axis=1)
    assert panel.curve._worst.get_ydata() == pytest.approx(worst)
    written = [words._text for words in panel.curve._ratios if words._text]
    assert written == [f"×{after / before:.2f}" for before, after in zip(worst, worst[1:])] and len(written) == 3


@pytest.mark.parametrize("skill", ["an average hand", "a practised hand"])
def test_the_line_of_the_step_does_not_run_through_the_words_of_the_floor(skill):
    curve = ThreeBarsPanel(skill=skill).curve
    low, high = curve.axes.transAxes.inverted().transform(curve._zone_words.box().reshape(2, 2))[:, 1]
    ends = curve._cursor.get_ydata()
    assert (ends[0] >= high or ends[1] <= low) and 0 <= low < high <= 1 and ends[1] - ends[0] > 0.7


@pytest.mark.parametrize(("share", "left"), [(0.5, 0.0), (0.6, 0.2), (0.75, 0.5), (1.0, 1.0)])
def test_the_paper_line_is_the_law_without_a_floor(panel, share, left):
    """|2s - 1| of the error stays, round after round: derived in lesson 04."""
    panel.controls["share"].value = share
    assert on_paper(500.0, share, 3) == pytest.approx([500.0 * left**k for k in range(4)])
    assert panel.curve._paper_words._text == f"paper ×{left:.2f}"
    start = worst_by_round(panel.history)[0]
    assert panel.curve._paper.get_ydata()[1] == pytest.approx(max(start * left, 0.9))


def test_the_zone_is_where_nine_of_ten_workshops_end_and_its_line_where_half_do(panel):
    ends = worst_bar(removal_um=10, sight_um=2.5, tool="second-cut file", skill="an average hand")
    box = panel.curve._zone.get_bbox()
    assert box.y1 == pytest.approx(ends.most_um) and panel.curve._half.get_ydata()[0] == pytest.approx(ends.half_um)


def test_the_last_three_runs_stay_as_ghosts_named_by_what_sets_them_apart(panel):
    assert ghosts(panel) == []
    for share in (0.6, 0.75, 0.8, 1.0):
        panel.controls["share"].value = share
    assert ghosts(panel) == ["share 0.80", "share 0.75", "share 0.60"] and GHOSTS == 3
    before = [line.get_ydata().copy() for line in panel.curve._ghosts]
    panel.position.value = 5
    assert all((line.get_ydata() == old).all() for line, old in zip(panel.curve._ghosts, before)), (
        "a step is no new run"
    )


def test_a_run_that_was_only_passed_leaves_no_ghost(monkeypatch):
    clock = count(step=0.4)  # a second and a half pass in four looks, however slow the machine is
    monkeypatch.setattr(three_bars, "monotonic", lambda: next(clock))
    panel = ThreeBarsPanel(rounds=1)
    for share in (0.55, 0.6, 0.65):
        panel.controls["share"].value = share
    assert ghosts(panel) == []


def test_looks_lie_in_their_round():
    history = ThreeBarsPanel(rounds=2).history
    along = along_rounds(history)
    rounds = np.array([step.round for step in history.steps])
    assert (np.diff(along) > 0).all() and (np.floor(along) == rounds - 1).all()


def test_the_axis_stays_from_setting_to_setting(panel):
    held = panel.curve.axes.get_ylim()
    for error in (20, 1000):
        panel.controls["error_um"].value = error
        assert panel.curve.axes.get_ylim() == held
