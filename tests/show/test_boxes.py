"""No value of a slider has another meaning: a box says what is not known; and every step is a round figure."""

import re

import ipywidgets as widgets
import pytest
from test_turning import PANELS


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def sliders_of(panel):
    return {n: c for n, c in panel.controls.items() if isinstance(c, widgets.FloatSlider)}


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_every_step_of_every_slider_is_a_round_figure_and_no_value_means_something_else(units):
    """From one end to the other in whole steps, nought among them where it is within; a box says what is unknown."""
    swept = 0
    for name, made in PANELS.items():
        panel = made(units=units)
        for key, slider in sliders_of(panel).items():
            if name == "PracticePanel" and key in ("place", "length"):
                continue  # ends are those of the bar
            ends = [round(end / slider.step, 6) for end in (slider.min, slider.max)]
            assert all(end == round(end) for end in ends) and slider.min <= slider.value <= slider.max, (name, key)
            swept += 1
        assert not any(re.search(r"\b0( is|:| =)", one.description) for one in panel.controls.values()), name
    assert swept > 80


def test_a_figure_counts_only_where_its_box_is_ticked_and_moving_it_ticks_the_box():
    found = []
    for name, made in PANELS.items():
        panel = made(units="mm")
        for key, given in panel._figure_boxes.items():
            box, figure = panel.controls[given], panel.controls[key]
            box.value = False
            assert panel.values()[key] is None and box.description, (name, key)
            figure.value += 1
            assert box.value and panel.values()[key] is not None and panel.message.value == "", (name, key)
            found.append(f"{name} {key}")
    assert len(found) >= 14 and "LandsPanel own_um" in found
