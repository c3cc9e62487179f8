"""Panels of plates answer every setting, and what they call hidden is hidden."""

import numpy as np
import pytest
import ipywidgets as widgets

from simulate.bench.lay import face_plate
from simulate.method.families import beyond_plane
from simulate.method.hidden_plates import hidden_plate_errors
from simulate.method.unseen import ORDERS, unseen_part
from simulate.show.plate_map import corner_place
from simulate.show.plates import PlatesPanel, run


def sweep(panel):
    """Every slider to both ends and every list through its choices; how many controls moved."""
    moved = 0
    for widget in [*panel.controls.values(), getattr(panel, "position", None)]:
        if isinstance(widget, (widgets.FloatSlider, widgets.IntSlider)):
            values = (widget.min, widget.max)
        elif isinstance(widget, widgets.Dropdown):
            values = widget._options_values
        elif isinstance(widget, widgets.Checkbox):
            values = (not widget.value,)
        else:
            continue
        before, pictures = widget.value, {panel.png}
        for value in (*values, before):
            widget.value = min(value, widget.max) if hasattr(widget, "max") else value
            assert panel.message.value == "", f"{widget.description} at {value} was refused: {panel.message.value}"
            assert len(panel.sentence) > 40 and widget.description
            pictures.add(panel.png)
        assert len(pictures) > 1, f"{widget.description} changes nothing"
        moved += 1
    return moved


@pytest.fixture(scope="module")
def plates():
    return PlatesPanel(passes=8)


def test_every_control_of_the_plates_answers_at_both_ends(plates):
    assert sweep(plates) == 6


def test_moving_along_a_run_of_plates_neither_simulates_nor_redraws_the_axes(plates):
    plates.position.value = 0
    asked, drawn = run.cache_info(), plates.canvas.full_draws
    pictures = set()
    for place in range(1, 7):
        plates.position.value = place
        pictures.add(plates.png)
    assert len(pictures) == 6
    assert (run.cache_info(), plates.canvas.full_draws) == (asked, drawn)


def test_the_next_stage_of_quarter_turns_is_seven_markings_on(plates):
    plates.position.value = 0
    plates.jump()
    assert plates.position.value == 6
    assert plates.sentence.startswith("Marking 7 of 8: plate 2 face down on plate 1, as it comes")
    assert "DIN 876" in plates.sentence and "can never show" in plates.sentence


def test_plates_speak_in_inches_and_simulate_in_micrometres():
    thou = PlatesPanel(passes=6, units="inch")
    assert " thou out of flat" in thou.sentence and "µm" not in thou.sentence
    assert thou.values()["error_um"] == pytest.approx(200, rel=0.01)


@pytest.mark.parametrize("wrong, words", [
    ({"error_um": 5}, "error_um is 5 µm; allowed is 20 to 500 µm."),
    ({"order": "thirds"}, "order is 'thirds'; allowed are 'face to face', 'half turns', 'quarter turns'."),
    ({"passes": 2}, "passes is 2; allowed is 6 to 200.")])
def test_an_impossible_setting_of_plates_is_refused_in_one_sentence(wrong, words):
    with pytest.raises(ValueError) as refusal:
        PlatesPanel(**wrong)
    assert str(refusal.value) == words


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("points", [5, 6])
def test_the_part_called_unseen_is_the_whole_of_what_the_order_hides(order, points):
    # The basis of hidden errors is found by solving for all that makes no gap; the unseen part by symmetry alone.
    h = beyond_plane(np.random.default_rng(points).normal(size=(3, points, points)))
    basis = hidden_plate_errors(points, ORDERS[order])
    projected = np.tensordot(np.tensordot(basis, h, axes=3), basis, axes=1) if len(basis) else 0 * h
    np.testing.assert_allclose(projected, np.stack([unseen_part(h, order)] * 3), atol=1e-9)


def test_scraping_leaves_the_unseen_part_nearly_as_it_was():
    # Derived: both plates give up mirrored metal. Uneven scrape marks are all that moves it.
    history, unseen = run(1, 200.0, 80.0, 2.0, "quarter turns", 60)
    assert history.flatness_um[-1].max() < 0.3 * history.flatness_um[0].max()
    assert np.ptp(unseen) < 0.1 * unseen[0] + 0.5


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_letters_lie_where_the_corner_of_the_turned_plate_lies(turned):
    h = np.zeros((3, 3))
    h[0, 0] = 1
    row, column = np.argwhere(face_plate(h, turned) == 1)[0]
    assert corner_place((-1, -1), turned) == (column - 1, row - 1)
