"""Shades of plates keep their heights while a panel is open, and a plate is the sum of what shows and what hides."""

import numpy as np
import pytest

from simulate.method.plates.unseen import unseen_part
from simulate.show import EdgeSurveyPanel, PlatesPanel


def strength(panel):
    """How much of its range of shades the first map uses."""
    image = panel._maps[0]._image
    return float(np.abs(image.get_array()).max()) / float(image.get_clim()[1])


@pytest.mark.parametrize(("panel_class", "more"), [(PlatesPanel, {"passes": 12}), (EdgeSurveyPanel, {})])
def test_a_flatter_plate_looks_flatter(panel_class, more):
    """Shades stand for the same heights from the first look on: a tenth of them is a tenth as strong."""
    panel = panel_class(error_um=200, **more)
    rough = strength(panel)
    panel.controls["error_um"].value = 20
    assert strength(panel) == pytest.approx(rough / 10, rel=0.35)
    assert not panel._tops[0].zoomed
    panel.controls["zoom"].value = True
    assert strength(panel) == pytest.approx(rough, rel=0.35) and panel._tops[0].words() == "Zoomed"


def test_a_plate_is_split_into_what_shows_and_what_hides_and_only_the_hidden_stays():
    panel = PlatesPanel(passes=30)
    panel.controls["split"].value = True
    order = panel.controls["order"].value
    parts = []
    for place in (0, 29):
        panel.position.value = place
        step = panel.history.steps[place]
        whole, shown, hidden = (np.asarray(plate._image.get_array(), float) for plate in panel._maps[:3])
        assert whole == pytest.approx(shown + hidden, abs=1.0), "to the bands that a map is drawn in"
        parts.append((unseen_part(step.height_um, order), step.flatness_um.max()))
    assert np.ptp(parts[1][0]) == pytest.approx(np.ptp(parts[0][0]), rel=0.05), "no scraping takes what hides"
    assert parts[1][1] < 0.7 * parts[0][1], "while the rest melts away"
