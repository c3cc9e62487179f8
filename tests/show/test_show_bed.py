"""Panels for squares, chain and bed answer every setting, and their pictures carry their sentences."""

import re

import ipywidgets as widgets
import pytest

from simulate.method.machine.bed_gauges import ALONG
from simulate.method.planning.workshop_budget import Workshop
from simulate.method.uncertainty_budget import Link
from simulate.show.machine.bed_panel import BedPanel
from simulate.show.machine.cross_panel import CrossSlidePanel
from simulate.show.machine.shims import ShimPanel
from simulate.show.planning.budget_panel import ChainPanel
from simulate.show.squares.faces_panel import FacesPanel
from simulate.show.squares.square_panel import SquaresPanel

PANELS = [SquaresPanel, ChainPanel, BedPanel, ShimPanel, FacesPanel, CrossSlidePanel]
REFUSALS = [
    (lambda: SquaresPanel(share=2), "share is 2; it must be 0 to 1."),
    (lambda: ChainPanel(Workshop(heat_k=9)), "heat_k is 9; it must be 0 to 3."),
    (lambda: BedPanel(twist_urad=5000), "twist_urad is 5000; it must be -1500 to 1500."),
    (lambda: FacesPanel("upside down"), "order is 'upside down'; it must be 'parallel pairs'"),
    (lambda: ShimPanel(near_um=500), "near_um is 500 µm; it must be -200 to 200 µm."),
    (
        lambda: ChainPanel(own=(Link("a", 1.0), Link("b", 1.0))),
        "own holds 2 links; it must hold one at most, because the picture has room for one beside the slider's.",
    ),
]


@pytest.fixture(scope="module", params=PANELS, ids=lambda p: p.__name__)
def panel(request):
    # the micrometer has no part in the order that the panel of faces opens with, nor land gauges at the first look
    special = {FacesPanel: lambda: FacesPanel("parallel pairs"), BedPanel: lambda: BedPanel(ALONG[1], look=5)}
    return special.get(request.param, request.param)()


def test_every_slider_answers_at_both_ends(panel):
    moved = 0
    for widget in panel.controls.values():
        if isinstance(widget, (widgets.FloatSlider, widgets.IntSlider)):
            before, pictures = widget.value, set()
            for value in (widget.min, widget.max, before):
                widget.value = value
                assert panel.message.value == "" and len(panel.sentence) > 40, f"{widget.description} at {value}"
                pictures.add((panel.png, panel.sentence))
            assert len(pictures) > 1, f"{widget.description} changes nothing"
            moved += 1
    assert moved >= 2


def test_every_choice_answers(panel):
    for widget in panel.controls.values():
        if isinstance(widget, (widgets.Dropdown, widgets.Checkbox)):
            before = widget.value
            for value in (True, False) if isinstance(widget, widgets.Checkbox) else widget._options_values:
                widget.value = value
                assert panel.message.value == "" and panel.sentence
            widget.value = before


def test_the_picture_carries_its_sentence(panel):
    alt = re.search(r'alt="([^"]*)"', panel.picture.value).group(1)
    assert len(alt) > 40
    data, metadata = panel._repr_mimebundle_()
    assert data["text/plain"] == panel.sentence == metadata["image/png"]["alt"]


def test_labels_show_their_steps(panel):
    for widget in panel.controls.values():
        assert widget.description
        if isinstance(widget, widgets.FloatSlider):
            shown = int(re.match(r"\.(\d)f", widget.readout_format).group(1))
            assert round(widget.step, shown) == widget.step


@pytest.mark.parametrize("make, words", REFUSALS)
def test_impossible_settings_are_refused(make, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        make()


def test_inches_are_shown(panel):
    assert "thou" in type(panel)(units="inch").sentence


def test_squares_say_double_in_the_split_and_a_grade_at_the_end():
    panel = SquaresPanel(look=3)
    assert "twice that" in panel.sentence
    panel.controls["look"].value = 17
    assert "DIN 875" in panel.sentence


def test_the_chain_says_which_link_to_improve_and_takes_an_own_link():
    panel = ChainPanel()
    assert "Improve lands first" in panel.sentence
    panel.controls["own_um"].value = 20
    assert "Improve your own link first" in panel.sentence
    assert panel.chain.names[-1] == "your own link"
    panel.controls["own_um"].value = 0
    panel.controls["supports"].value = 1.0
    assert panel.chain.contribution_um[2] > 1


def test_a_hollow_straightedge_leaves_a_convex_bed_and_the_panel_says_so():
    panel = BedPanel(edge_um=-15, look=13)
    assert "inside the 20 µm for 600 mm between centres (ISO 1708†)" in panel.sentence
    panel.controls["edge_um"].value = 15
    assert "the bed may only be convex" in panel.sentence


def test_land_gauges_take_out_a_bent_straightedge_and_the_panel_says_how_sure():
    panel = BedPanel(edge_um=30, look=13)
    bent = panel.history.straightness_um[-1].max()
    assert "without the uncertainty of the straightedge itself" in panel.sentence
    panel.controls["along"].value = ALONG[1]
    assert panel.history.straightness_um[-1].max() < 2 / 3 * bent
    assert (
        "as the land gauges determine them. From the gauges used, a way has an uncertainty of ± 4.0 µm and "
        "the twist of ± 8.0 µm" in panel.sentence
    )


def test_a_bed_of_any_length_is_filed_and_beyond_the_table_nothing_is_claimed():
    panel = BedPanel(length_mm=1400, apart_mm=300, look=13)
    assert "no figure here for a bed above 1000 mm" in panel.sentence and panel.history.x_mm[-1] == 700


def test_high_blades_and_short_bases_lean_more_for_the_same_grain_of_dust():
    one, two = (SquaresPanel(base_um=10, base_mm=base, look=17).history for base in (50, 200))
    assert abs(one.angle_urad[-1]).max() > abs(two.angle_urad[-1]).max()
    assert SquaresPanel(blade_mm=300, look=17).history.z_mm[-1] == 300


def test_shims_are_named_for_both_feet_and_a_straight_axis_wants_none():
    panel = ShimPanel(near_um=0, far_um=0, near_turned_um=0, far_turned_um=0, sag=False)
    assert panel.found[1].thickness_um.tolist() == [0, 0]
    panel.controls["far_um"].value = -40
    assert panel.found[1].thickness_um.max() > 5


def test_in_the_level_plane_the_head_is_swung_and_the_bar_is_to_be_read_again():
    panel = ShimPanel(plane="level", near_um=10, far_um=60, near_turned_um=10, far_turned_um=60)
    # derived: 50 um over 250 mm is 200 um in a metre; 160 mm from the bolt that is 32 um, away from the tool
    assert "swing the nose, 160 mm from it, by 32 µm away from the tool" in panel.sentence
    assert "axis in the horizontal plane: +60 µm over 300 mm, outside 0 to 15 µm" in panel.sentence
    # the axis at the bolt, 180 mm behind the datum: 10 - 200 x (50 + 180) / 1000 = -36
    assert (
        "The tailstock is set over by -36 µm." in panel.sentence
        and "should be -36 µm at 50 mm and -36 µm at 300 mm, ± 3.0 µm" in panel.sentence
    )
    panel.controls["plane"].value = "upright"
    assert "under the back foot" in panel.sentence


def test_a_cross_slide_is_told_from_its_square_and_a_proud_face_is_refused_by_the_table():
    panel = CrossSlidePanel(first_um=18, turned_um=-6, travel_mm=150)
    # derived: (18 - 6) / 2 over 150 mm is 40, (18 + 6) / 2 over 150 mm is 80 um in a metre; 40 x 150 mm is 6 um
    assert "slide, +40 µm in a metre" in panel.sentence and "square, +80 µm in a metre" in panel.sentence
    assert "comes out 6.0 µm hollow in its middle" in panel.sentence and "inside: leave it alone" in panel.sentence
    panel.controls["first_um"].value = -18
    assert "proud in its middle" in panel.sentence and "outside" in panel.sentence
