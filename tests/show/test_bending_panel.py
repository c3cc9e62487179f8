"""The panel of a bar on two supports answers every setting and shows the classic results."""

import ipywidgets as widgets
import pytest

from simulate.bench.bending.bar_supports import AIMS
from simulate.bench.bending.uniform_bar import sag
from simulate.show.bars.bar_bending import CHOICES, OWN_BEST, SHAPES, BendingPanel
from simulate.surface.straightness import straightness


def ends_of(widget):
    if isinstance(widget, widgets.Checkbox):
        return True, False
    return widget._options_values if isinstance(widget, widgets.Dropdown) else (widget.min, widget.max)


def test_every_control_answers_at_both_ends_and_in_every_choice():
    panel = BendingPanel()
    moved = 0
    for widget in panel.controls.values():
        before = widget.value
        ends = ends_of(widget)
        pictures = set()
        for value in (*ends, before):
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 40
            pictures.add(panel.png)
        assert len(pictures) > 1, widget.description
        moved += 1
    assert moved == 9


def test_it_shows_what_the_closed_form_gives():
    """Derived, and published in handbooks: 2.24 µm for steel, 500 by 40 mm, between its ends."""
    hung = sag(500, 40, 500)
    panel = BendingPanel()
    assert panel.out_um == pytest.approx(float(straightness(hung.x_mm, hung.height_um).value_um), rel=1e-4)
    assert "out of straight by 2.2 µm" in panel.sentence


def test_the_classic_points_leave_a_small_part_and_only_for_an_even_bar():
    even = BendingPanel(supports=CHOICES[2])
    assert even.out_um < 0.03 * BendingPanel().out_um
    assert "not to this one" not in even.sentence
    assert "not to this one" in BendingPanel(supports=CHOICES[2], shape=SHAPES[2]).sentence


@pytest.mark.parametrize("shape", SHAPES)
def test_the_best_for_this_very_bar_is_no_worse_than_any_classic_point(shape):
    own = BendingPanel(supports=OWN_BEST, shape=shape)
    looked = 0
    for classic in AIMS:
        assert own.out_um <= 1.02 * BendingPanel(supports=classic, shape=shape).out_um
        looked += 1
    assert looked == 3 and "not to this one" not in own.sentence


def test_lengths_in_inches_give_the_same_bar():
    inch = BendingPanel(length_mm=508, depth_mm=50.8, units="inch")
    assert "20.0 in long and 2.0 in deep" in inch.sentence and "thou" in inch.sentence
    assert inch.out_um == pytest.approx(BendingPanel(length_mm=508, depth_mm=50.8).out_um, rel=1e-3)


def test_a_setting_out_of_its_range_is_refused_in_words():
    with pytest.raises(ValueError, match="left_pct is 60; it must be 0 to 45."):
        BendingPanel(left_pct=60)
