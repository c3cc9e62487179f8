"""The panel of a plate on three points answers every setting and holds it against corners and a bar."""

import ipywidgets as widgets
import pytest

from simulate.bench.bending.uniform_bar import sag
from simulate.show.plates.plate_bending import CHOICES, PlateBendingPanel
from simulate.surface.straightness import straightness


def ends(widget):
    return (False, True) if isinstance(widget, widgets.Checkbox) else (widget.min, widget.max)


def test_every_control_answers_at_both_ends_and_in_every_choice():
    panel, moved = PlateBendingPanel(points=CHOICES[0], width_mm=500), 0
    for widget in panel.controls.values():
        before, pictures = widget.value, set()
        for value in (
            *(widget._options_values if isinstance(widget, widgets.Dropdown) else ends(widget)),
            before,
        ):
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 40
            pictures.add(panel.png)
        assert len(pictures) > 1, widget.description
        moved += 1
    assert moved == 9


def test_the_best_three_lie_flatter_than_corners_and_the_bar_is_that_of_the_closed_form():
    """The bar: published in handbooks, 5 w L^4 / (384 E I)."""
    panel = PlateBendingPanel(points=CHOICES[2])
    assert panel.out_um < 0.2 * panel.corners_um
    assert f"{panel.corners_um / panel.out_um:.1f} times as much" in panel.sentence
    hung = sag(600, 50, 600, "grey iron")
    assert panel.bar_um[0] == pytest.approx(float(straightness(hung.x_mm, hung.height_um).value_um), rel=1e-4)
    corners = PlateBendingPanel()
    assert corners.out_um == corners.corners_um and "times" not in corners.sentence


def test_a_plate_as_narrow_as_a_bar_gets_no_three_points_and_the_picture_stays():
    panel = PlateBendingPanel(points=CHOICES[2], width_mm=1000, depth_mm=200)
    before = panel.png
    panel.controls["width_mm"].value = 1500
    assert (
        "it must be such that one side is at most five times the other. Treat a longer one as a bar."
        in panel.message.value
    )
    assert panel.png == before and "1000 mm wide" in panel.sentence


def test_inches_give_the_same_plate():
    inch, mm = (PlateBendingPanel(width_mm=508, depth_mm=508, units=units) for units in ("inch", "mm"))
    assert "20.0 in wide" in inch.sentence and "thou" in inch.sentence and "µm" not in inch.sentence
    assert inch.out_um == pytest.approx(mm.out_um, rel=5e-3)
