"""Every control of every panel that a lesson can show: a noun phrase and its unit, round steps, and no value of a
slider with another meaning, since a box says what is not known. The panels are made once."""

import contextlib
import re

import ipywidgets as widgets
import pytest
from test_turning import PANELS

from simulate.show.panel.rows import MORE
from simulate.show.units import turning

LEADS_ON = re.compile("^(or |Enter |Readings of)")
"""Lines that lead into a field or a list and read on there."""
UNIT = re.compile(r" \([^()]*\)")


@pytest.fixture(scope="module")
def metric(tmp_path_factory):
    """Every panel in millimetres, made in a folder without drafts; each test leaves what the others hold."""
    folder = tmp_path_factory.mktemp("panels")
    with pytest.MonkeyPatch.context() as patch, contextlib.chdir(folder):
        patch.setattr("simulate.show.own.draft_keeper.FOLDER", folder)
        patch.setattr(turning, "_SHOWN", [])
        return {name: made(units="mm") for name, made in PANELS.items()}


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(turning, "_SHOWN", [])


def controls_of(part):
    """Everything below a widget that may carry a label."""
    yield part
    for child in getattr(part, "children", ()):
        yield from controls_of(child)


def sliders_of(panel):
    return {n: c for n, c in panel.controls.items() if isinstance(c, widgets.FloatSlider)}


@pytest.mark.parametrize("name", sorted(PANELS))
def test_a_panel_says_of_each_control_in_five_words_what_it_is(name, metric):
    panel = metric[name]
    shown = [w for w in controls_of(panel.view) if not isinstance(w, widgets.Box) and MORE not in w._dom_classes]
    said = [UNIT.sub("", w.description) for w in shown if getattr(w, "description", "")]
    assert len(said) >= (2 if name == "OneGaugePanel" else 3)
    own = [words for words in said if not LEADS_ON.match(words) and not words.startswith("Tried: ")]
    assert not [words for words in own if sum(bool(re.search(r"\w", w)) for w in words.split()) > 5]
    assert not [words for words in own if re.search(r"\b(by|to|of|at|with|from|is|are)$", words)]
    assert set(panel.labels) >= set(panel.controls)


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_every_step_of_every_slider_is_a_round_figure_and_no_value_means_something_else(units, metric):
    """From one end to the other in whole steps, nought among them where it is within; a box says what is unknown."""
    swept = 0
    for name, made in PANELS.items():
        panel = metric[name] if units == "mm" else made(units=units)
        for key, slider in sliders_of(panel).items():
            if name == "PracticePanel" and key in ("place", "length"):
                continue  # ends are those of the bar
            ends = [round(end / slider.step, 6) for end in (slider.min, slider.max)]
            assert all(end == round(end) for end in ends) and slider.min <= slider.value <= slider.max, (name, key)
            swept += 1
        assert not any(re.search(r"\b0( is|:| =)", one.description) for one in panel.controls.values()), name
    assert swept > 80


def test_a_figure_counts_only_where_its_box_is_ticked_and_moving_it_ticks_the_box(metric):
    found = []
    for name, panel in metric.items():
        for key, given in panel._figure_boxes.items():
            box, figure = panel.controls[given], panel.controls[key]
            box.value = False
            assert panel.values()[key] is None and box.description, (name, key)
            figure.value += 1
            assert box.value and panel.values()[key] is not None and panel.message.value == "", (name, key)
            found.append(f"{name} {key}")
    assert len(found) >= 14 and "LandsPanel own_um" in found
