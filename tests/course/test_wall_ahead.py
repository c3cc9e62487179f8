"""The wall shows no future, its axes are read from the last row, and its pages lead to each other."""

import re

import numpy as np
import pytest
from matplotlib.text import Text

from simulate.__main__ import main
from simulate.course.notebook.positions import _walk, moves
from simulate.course.notebook.wall_plan import plan_of
from simulate.course.wall.wall_index import KEYS, ways
from simulate.method.bars.three_bar_loop import three_bars
from simulate.show.bars.three_bars import ThreeBarsPanel
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.convergence import Convergence
from simulate.show.drawing.rounds_curve import RoundsCurve
from simulate.show.machine.bed_panel import BedPanel
from simulate.show.squares.square_panel import SquaresPanel
from simulate.surface.starting_bars import starting_bars


@pytest.fixture(scope="module")
def history():
    x_mm, height_um = starting_bars(300, 60, points=51, seed=2)
    return three_bars(x_mm, height_um, rounds=1, removal_um=20, seed=2)


def test_curves_end_at_the_look_that_is_shown_until_they_may_look_ahead(history):
    canvas = Canvas(1280, 560)
    curve = Convergence(canvas, canvas.figure.add_axes((0.6, 0.1, 0.3, 0.8)))
    curve.frame(history, 7.0)
    whole = [line.get_xdata().copy() for line in curve._curves.values()]
    canvas.ahead, looked = False, 0
    for place in range(0, len(history.steps), 3):
        curve.show(history, place)
        now = history.steps[place]
        for k, line in enumerate(curve._curves.values()):
            assert line.get_xdata().max() == now.passes
            last = max(j for j, step in enumerate(history.steps) if step.passes <= now.passes)
            assert line.get_ydata()[-1] == pytest.approx(history.steps[last].straightness_um[k])
        if now.passes < history.steps[-1].passes:
            assert not curve._levels["floor"].get_visible(), "where it will end is the future too"
            looked += 1
    assert looked > 3
    canvas.ahead = True
    curve.show(history, 0)
    assert all(np.array_equal(line.get_xdata(), x) for line, x in zip(curve._curves.values(), whole, strict=True))
    assert curve._levels["floor"].get_visible()


def test_curves_over_rounds_end_at_the_round_that_is_shown():
    canvas = Canvas(600, 400)
    curve = RoundsCurve(canvas, canvas.figure.add_axes((0.2, 0.2, 0.6, 0.6)), 4, (1, 1000), ("a", "b"), "out by")
    values = np.geomspace(900, 9, 5)[:, None] * [1, 0.5]
    canvas.ahead = False
    for now in range(5):
        curve.show(values, now)
        assert all(len(line.get_ydata()) == now + 1 for line in curve._curves)
    canvas.ahead = True
    curve.show(values, 0)
    assert all(len(line.get_ydata()) == 5 for line in curve._curves)


@pytest.mark.parametrize(
    ("lesson", "panel"), [("04", lambda: ThreeBarsPanel(rounds=1)), ("14", SquaresPanel), ("16", BedPanel)]
)
def test_a_panel_on_the_wall_looks_ahead_only_once_its_run_was_asked_about(lesson, panel):
    panel = panel()
    asks = plan_of(lesson, type(panel).__name__).asks[:1]
    assert asks[0].before in ("position", "look")
    seen = []
    for _, _, name in _walk(panel, 2, 3, asks):
        seen.append((name, panel.canvas.ahead))
        if name not in ("", asks[0].before):
            break
    run = [ahead for name, ahead in seen if name in ("", asks[0].before)]
    assert len(run) > 2 and not any(run) and seen[-1][1]
    assert moves(type(panel)(), 2)[2][0] == "" and panel.canvas.ahead


@pytest.mark.parametrize("make", [ThreeBarsPanel, SquaresPanel, BedPanel])
def test_figures_on_axes_are_a_forty_fifth_of_a_full_screen_and_no_name_leaves_the_picture(make):
    """A figure of this face is 0.729 of its size high (the face's own measure, as matplotlib gives it)."""
    small, wall = make(), make(dpi=150)
    figure, looked = wall.canvas.figure, 0
    for axes in figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            for label in axis.get_ticklabels():
                if label.get_text() and label.get_visible() and axes.axison:
                    assert 0.729 * label.get_fontsize() * 150 / 72 >= 1080 / 45, label
                    looked += 1
            name = axis.label.get_window_extent()
            assert not axis.label.get_text() or name.x0 >= 0 and name.y0 >= 0, axis.label
    assert looked > 8
    sizes = {text.get_fontsize() for text in small.canvas.figure.findobj(Text) if text.get_text()}
    assert max(sizes) < 16, "a screen keeps its letters"


def test_pages_lead_to_each_other_and_stand_in_an_index_with_a_sheet_for_the_presenter(tmp_path, capsys):
    assert main(["projector", str(tmp_path / "wall"), "01", "02"]) == 0
    said = capsys.readouterr()
    names = ["01_what_straight_means_1.html", "02_seeing_a_gap_1.html"]
    assert [line.split(":")[0] for line in said.err.splitlines()] == ["1 of 2", "2 of 2"]
    assert {path.name for path in (tmp_path / "wall").iterdir()} == {*names, "index.html", "presenter.html"}
    pages = [(tmp_path / "wall" / name).read_text(encoding="utf-8") for name in names]
    for k, page in enumerate(pages):
        found = dict(re.findall(r'<a class="way" href="([^"]+)" data-key="(\w)">', page))
        assert found == {file: words[0] for words, file in ways(names, k).items()}
    index = (tmp_path / "wall" / "index.html").read_text(encoding="utf-8")
    assert re.findall(r'<li><a href="([^"]+)">', index) == names and all(key in index for key in KEYS)
    sheet = (tmp_path / "wall" / "presenter.html").read_text(encoding="utf-8")
    asks = [
        ask for lesson, shows in (("01", "StraightPanel"), ("02", "GapPanel")) for ask in plan_of(lesson, shows).asks
    ]
    assert len(asks) == 5
    for ask in asks:
        assert all(words in sheet for words in (ask.question, ask.likely, ask.say))
        assert not any(ask.say in page for page in pages), "what to say is not on the wall"


def test_a_first_and_a_last_page_have_one_way_less():
    files = ["a", "b", "c"]
    assert [sorted(ways(files, k)) for k in range(3)] == [
        ["index", "next page"],
        ["index", "next page", "previous page"],
        ["index", "previous page"],
    ]
    assert len({words[0] for k in range(3) for words in ways(files, k)}) == 3, "each has a key of its own"
