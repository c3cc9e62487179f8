"""Words on a picture stand apart from each other, within the picture, and beside the curves of the law."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from matplotlib.text import Text
from test_turning import PANELS

from simulate.show import ThreeBarsPanel
from simulate.show.bars import three_bars
from simulate.show.drawing.canvas import Canvas, Room, Words

SLOW = {"PlanPanel", "OwnPlatesPanel"}
"""Looked at only as they open: a slider of theirs takes seconds."""


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def written(panel):
    """Every text but the figures of the axes, with its box of dots."""
    figure = panel.canvas.figure
    axles = [axis for axes in figure.axes for axis in (axes.xaxis, axes.yaxis)]
    figures = {
        id(one) for axle in axles for tick in (*axle.majorTicks, *axle.minorTicks) for one in tick.get_children()
    }
    found = []
    for artist in figure.findobj(lambda a: isinstance(a, (Text, Words)) and a.get_visible() and id(a) not in figures):
        if isinstance(artist, Words):
            found += [(artist.said, artist.box())] if artist.said else []
        elif artist.get_text().strip():
            found.append((artist.get_text(), artist.get_window_extent(panel.canvas._agg.get_renderer()).extents))
    return found


def at_fault(panel):
    """What stands on other words, or leaves the picture."""
    words, frame = written(panel), np.array([*panel.canvas.figure.bbox.size] * 2)
    said = [text for text, (left, low, *far) in words if min(left, low) < -1 or (np.array(far) > frame[:2] + 1).any()]
    for (one, a), (other, b) in combinations(words, 2):
        wide, high = np.minimum(a, b)[2:] - np.maximum(a, b)[:2]
        said += [f"{one} / {other}"] if wide > 1 and high > 3 else []  # a line's box has room above its letters
    return said


@pytest.mark.parametrize("name", PANELS)
def test_no_words_stand_on_others_at_either_end_of_any_slider(name):
    panel = PANELS[name]()
    assert len(written(panel)) > 1 and at_fault(panel) == []
    for key, control in panel.controls.items() if name not in SLOW else ():
        before = control.value
        for end in ("min", "max"):
            if hasattr(control, end):
                control.value = getattr(control, end)
                assert at_fault(panel) == [], (key, end)
        control.value = before
    if hasattr(panel, "position"):
        panel.position.value = panel.position.max
        assert at_fault(panel) == []


def covers(box, line):
    """Whether a line of matplotlib goes through a box of dots."""
    way = line.axes.transData.transform(line.get_xydata())
    return any(
        ((dots >= box[:2]) & (dots <= box[2:])).all(axis=1).any()
        for start, end in pairwise(way)
        for dots in [start + np.linspace(0, 1, 400)[:, None] * (end - start)]
    )


def test_the_figures_of_the_law_stand_beside_its_curves(monkeypatch):
    monkeypatch.setattr(three_bars, "LOOKED_AT_S", 0.0)  # every run leaves a ghost
    panel, looked = ThreeBarsPanel(error_um=500, rounds=3), 0
    for error in (500, 120):
        for share in (0.5, 0.6, 0.75, 1.0):
            panel.controls["error_um"].value, panel.controls["share"].value = error, share
            curve = panel.curve
            for words in (*curve._ratios[:3], curve._zone_words):
                looked += 1
                for line in (curve._worst, curve._paper, curve._half, *curve._ghosts):
                    assert words.said and not covers(words.box(), line), (error, share, words.said)
                assert panel.curve.axes.bbox.fully_containsx(words.box()[0] + 1), words.said
    assert looked == 32


def test_words_go_to_the_first_free_place_and_take_it():
    canvas = Canvas(400, 300)
    axes = canvas.figure.add_axes((0, 0, 1, 1))
    room = Room(axes, axes.plot([0, 1], [0.5, 0.5]), np.zeros((0, 2)))
    places = np.array([(10.0, 145.0), (380.0, 200.0), (10.0, 200.0), (10.0, 250.0)])
    stood = []
    for _ in range(2):
        words = Words(axes, 12)
        words.set_text("on the line")
        words.put_clear(places, room)
        stood.append(tuple(axes.transData.transform(words._at).round()))
    assert stood == [(10.0, 200.0), (10.0, 250.0)], "neither on the line, nor out of the picture, nor on each other"


def test_a_run_that_had_more_rounds_does_not_strike_its_name_through(monkeypatch):
    monkeypatch.setattr(three_bars, "LOOKED_AT_S", 0.0)
    panel = ThreeBarsPanel(rounds=8)
    panel.controls["rounds"].value = 3
    named = [words for words in panel.curve._ghost_words if words.said]
    assert len(named) == 1
    assert not any(covers(named[0].box(), lead) for lead in panel.curve._leads if len(lead.get_xdata()))
