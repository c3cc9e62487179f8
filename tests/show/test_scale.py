"""The scale stays while a panel is open: ten times the height is drawn ten times as high, or it says that it zoomed."""

import re
from inspect import signature

import numpy as np
import pytest
from test_turning import PANELS

from simulate.show import (
    BedPanel,
    BendingPanel,
    GapPanel,
    HeatPanel,
    LandGaugesPanel,
    LandsPanel,
    SquaresPanel,
    ThreeBarsPanel,
    TwoBarsPanel,
)
from simulate.show.drawing.scale import HAIR_UM, known_height


def high(vertices, column=1):
    return float(np.ptp(np.asarray(vertices)[:, column]))


def face_of(bodies):
    """Rows over which the face of a body drawn in pixels rises."""
    tops = (bodies._pixels[::-1, :, 3] > 0).argmax(axis=0)
    return float(np.ptp(tops))


def gap_drawn(panel):
    face = panel._upper.get_paths()[0].vertices[:, 1]
    return float(face[face < 112].max() - face.min())


CASES = {
    GapPanel: ({"widest_um": 20}, {"widest_um": 200}, gap_drawn, lambda p: p.controls["widest_um"].value),
    ThreeBarsPanel: (
        {"error_um": 100},
        {"error_um": 1000},
        lambda p: face_of(p.bench._single),
        lambda p: np.ptp(p.history.steps[0].height_um[2]),
    ),
    BendingPanel: (
        {"length_mm": 500},
        {"length_mm": 890},
        lambda p: high(p._light.get_xy()),
        lambda p: p.out_um,
    ),
    HeatPanel: (
        {"difference_k": 0.5},
        {"difference_k": 5},
        lambda p: high(p._warm.get_xy()) - p._frame.deep(40) * 0.3,
        lambda p: p.bow_um[1],
    ),
    SquaresPanel: (
        {"lean_urad": 300},
        {"lean_urad": 3000},
        lambda p: high(p._light.get_paths()[0].vertices, 0),
        lambda p: 1.45 * p.controls["lean_urad"].value,
    ),
}


def set_to(panel, values):
    for name, value in values.items():
        panel.controls[name].value = value


@pytest.mark.parametrize("panel_class", CASES, ids=lambda c: c.__name__)
def test_ten_times_the_height_is_drawn_ten_times_as_high(panel_class):
    small, large, drawn, height = CASES[panel_class]
    panel = panel_class()
    found = []
    for values in (small, large):
        set_to(panel, values)
        found.append((drawn(panel), height(panel)))
        assert not panel.scale.zoomed and "Zoomed" not in panel.scale.words()
    (low, low_um), (top, top_um) = found
    assert 8 < top_um / low_um < 12
    assert top / low == pytest.approx(top_um / low_um, rel=0.12), "as many times as high, to the rounding of dots"


@pytest.mark.parametrize("panel_class", [*CASES, TwoBarsPanel], ids=lambda c: c.__name__)
def test_only_the_box_changes_the_scale_and_the_picture_says_so(panel_class):
    panel = panel_class()
    held = panel.scale.factor
    for control in panel.controls.values():
        before = control.value
        for end in ("min", "max"):
            if hasattr(control, end):
                control.value = getattr(control, end)
                assert panel.scale.factor == held and "Zoomed" not in panel.scale.words()
        control.value = before
    panel.controls["zoom"].value = True
    if hasattr(panel, "position"):
        panel.position.value = panel.position.max
    assert panel.scale.words().startswith("Zoomed")
    panel.controls["zoom"].value = False
    assert panel.scale.factor == held


def test_a_bar_of_two_metres_leaves_the_frame_and_the_picture_says_so():
    panel = BendingPanel()
    panel.controls["length_mm"].value = 2000
    assert "leaves the frame" in panel.scale.words()
    assert panel._bar.get_xy()[:, 1].min() < 0 and np.abs(panel._bar.get_xy()[:, 0]).max() > 1


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("dots_per_um", [0.001, 0.05, 0.1, 1.0, 30.0, 2000.0])
def test_something_known_lies_beside_every_scale_and_has_room(units, dots_per_um):
    um, words = known_height(dots_per_um, units)
    assert 4 <= um * dots_per_um <= 70 and "hair" in words
    assert um == HAIR_UM or "/" in words or "hairs" in words


def test_the_scale_goes_over_to_the_other_unit():
    panel = GapPanel()
    panel.turn_units("inch")
    assert panel.units == "inch" and panel.scale.held == GapPanel().scale.held


AXES = {
    LandsPanel: (lambda p: [p.picture_of.low], lambda p: p.picture_of._top),
    LandGaugesPanel: (lambda p: [p.picture_of.curve], lambda p: p.picture_of._top),
    BedPanel: (lambda p: p._picture._ways, lambda p: p._picture._top),
}


def heights(axes):
    return [float(np.ptp(one.get_ylim())) for one in axes]


@pytest.mark.parametrize("panel_class", AXES, ids=lambda c: c.__name__)
def test_an_axis_of_heights_keeps_its_reach_until_the_box_is_ticked(panel_class):
    axes_of, top_of = AXES[panel_class]
    panel = panel_class()
    held, sliders = heights(axes_of(panel)), [n for n in panel.controls if n.endswith("_um") or n == "look"]
    for name in sliders:
        before = panel.controls[name].value
        for end in ("min", "max"):
            panel.controls[name].value = getattr(panel.controls[name], end)
            assert heights(axes_of(panel)) == pytest.approx(held), name
        panel.controls[name].value = before
    assert len(sliders) >= 3
    panel.controls["zoom"].value = True
    assert top_of(panel).words() == "Zoomed"
    assert heights(axes_of(panel)) != pytest.approx(held)
    panel.controls["zoom"].value = False
    assert heights(axes_of(panel)) == pytest.approx(held), "back where it was, whatever was done meanwhile"


NOT_DRAWN = re.compile(r"(sight|light|film|removal|pass|target|wanted|spread|threshold|base|own)_um|(.*_)?sd_um")
"""What is seen, taken off or asked for, and how readings scatter: no such slider has a height in a picture."""
BESIDE = {
    "FacesPanel": {"square_urad", "look_urad", "micrometer_urad", "stand_urad"},  # spreads
    "BedPanel": {"lean_urad"},  # across a way, where the picture looks along it
    "EdgeSurveyPanel": {"step_um"},  # what a dial is read to
}


@pytest.fixture
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def artists(panel):
    return [*panel.canvas._moving, *panel.canvas._slow]


def written(panel):
    return " ".join(
        str(getattr(one, "_text", ""))
        for one in (*artists(panel), *(t for a in panel.canvas.figure.axes for t in a.texts))
    )


def corners(artist):
    """Where an artist lies, in the data of its axes; shades as they are in their range."""
    if hasattr(artist, "get_xydata"):
        return np.array(artist.get_xydata(), float)
    if hasattr(artist, "get_clim"):
        values = artist.get_array()
        if values is not None and artist.get_clim()[1]:
            return np.ma.filled(values.astype(float), 0.0) / artist.get_clim()[1]
    if hasattr(artist, "get_paths"):
        return np.concatenate([path.vertices for path in artist.get_paths()] or [np.zeros((0, 2))])
    if hasattr(artist, "get_bbox"):
        return np.array(artist.get_bbox())
    return np.array(artist.get_xy(), float) if hasattr(artist, "get_xy") else np.zeros(0)


def moved(before, after):
    if before.shape != after.shape or not before.size:
        return np.nan
    return float(np.nanmax(np.abs(after - before), initial=0.0, where=np.isfinite(after - before)))


def zooms_in_words(panel):
    """A box lets go of the scale, and then the picture says so; logarithmic axes are named."""
    if "zoom" in panel.controls:
        assert "oomed" not in written(panel)
        panel.controls["zoom"].value = True
        assert "oomed" in written(panel)
        panel.controls["zoom"].value = False
    assert "oomed" not in written(panel)
    for axes in panel.canvas.figure.axes:
        for scale, label in ((axes.get_yscale(), axes.get_ylabel()), (axes.get_xscale(), axes.get_xlabel())):
            said = " ".join([label, axes.get_title("left"), axes.get_title("right"), axes.get_title()])
            assert scale != "log" or "log scale" in said, said


def is_drawn(name, key):
    return key.endswith(("_um", "_urad")) and not NOT_DRAWN.fullmatch(key) and key not in BESIDE.get(name, ())


@pytest.mark.parametrize("name", sorted(PANELS))
def test_on_every_panel_ten_times_the_height_is_drawn_ten_times_as_high_or_it_says_that_it_zoomed(name, _folder):
    """From where a slider begins, or from nought, something in the picture goes ten times as far, on any panel."""
    panel = PANELS[name]()
    zooms_in_words(panel)
    for key, slider in panel.controls.items():
        if not is_drawn(name, key) or not hasattr(slider, "min"):
            continue
        before, looks, held = slider.value, [], None
        start = max(slider.min, min(0.0, slider.max))
        slider.value = slider.max / 4 if key == "error_um" else slider.max  # the longest runs take seconds
        while "leaves the frame" in written(panel):
            slider.value = start + (slider.value - start) / 2
        most = slider.value
        for value in (start, start + (most - start) / 10, most):
            slider.value = value
            looks.append([corners(one) for one in artists(panel)])
            limits = [np.ptp(axes.get_ylim()) for axes in panel.canvas.figure.axes if axes.get_yscale() == "linear"]
            held = held or limits
            assert limits == pytest.approx(held) and "oomed" not in written(panel), (key, value)
        slider.value = before
        pairs = [(moved(a, b), moved(a, c)) for a, b, c in zip(*looks)]
        ratios = [far / near for near, far in pairs if near > 1e-9 and np.isfinite(far)]
        assert any(9 < ratio < 11 for ratio in ratios), (key, sorted(ratios))


def test_sliders_of_heights_are_found_and_not_listed():
    found = {(name, key) for name, made in PANELS.items() for key in signature(made).parameters if is_drawn(name, key)}
    assert len(found) >= 20 and {("ShimPanel", "far_um"), ("PlanPanel", "start_um")} <= found
