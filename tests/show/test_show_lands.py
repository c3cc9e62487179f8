"""Panels of lands: every setting answers, points turn from unknown to straight, and refusals are sentences."""

import io
import re

import ipywidgets as widgets
import numpy as np
import pytest
from PIL import Image

from simulate.bench.looking.sight import Sight
from simulate.method.lands.gauge_making import fit_of_two
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.stepping import step_lands
from simulate.show.lands.land_gauges import LandGaugesPanel, pair_readings
from simulate.show.lands.land_stepping import LandsPanel
from simulate.show.lands.lands_picture import packed, spaces
from simulate.show.lands.laying import POINTS, WAYS, known, layings
from simulate.show.lands.one_gauge import OneGaugePanel


@pytest.fixture(scope="module", params=[LandsPanel, LandGaugesPanel], ids=lambda p: p.__name__)
def panel(request):
    return request.param()


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def test_every_slider_answers_at_both_ends(panel):
    moved = 0
    for widget in [*panel.controls.values(), panel.position]:
        if isinstance(widget, (widgets.FloatSlider, widgets.IntSlider)):
            before, pictures = widget.value, set()
            for value in (widget.min, widget.max, before):
                widget.value = value
                assert panel.message.value == "", f"{widget.description} at {value} was refused"
                assert len(panel.sentence) > 40
                pictures.add(panel.png)
            assert len(pictures) > 1, f"{widget.description} changes nothing"
            moved += 1
    assert moved >= 6


def test_every_choice_answers_and_every_control_has_a_label(panel):
    for widget in panel.controls.values():
        assert widget.description
        if isinstance(widget, (widgets.Dropdown, widgets.Checkbox)):
            before = widget.value
            for value in (True, False) if isinstance(widget, widgets.Checkbox) else widget._options_values:
                widget.value = value
                assert panel.message.value == "" and panel.sentence
            widget.value = before


def test_the_picture_carries_its_sentence(panel):
    alt = re.search(r'alt="([^"]*)"', panel.picture.value).group(1)
    assert len(alt) > 40
    assert panel._repr_mimebundle_()[0]["text/plain"] == panel.sentence
    assert pixels(panel.png).shape[1] == 1280


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_both_units_and_a_projector_are_served(units):
    for make in (LandsPanel, LandGaugesPanel):
        found = make(units=units)
        assert ("thou" in found.sentence) == (units == "inch")
    assert pixels(LandGaugesPanel(dpi=160).png).shape[1] == 2048


@pytest.mark.parametrize("way", WAYS[:3])
@pytest.mark.parametrize("points", POINTS)
def test_every_way_reaches_every_point_with_one_fit_for_each_or_more(way, points):
    fits = layings(way, points, 600, 1.0)
    found = known(fits, np.linspace(0, 600, points))
    assert found.reached.all() and len(found.x_mm) == points
    assert len(fits) - (points - 2) == pytest.approx(found.checks, abs=1e-6)


def test_playing_turns_points_from_unknown_to_straight_level_by_level():
    panel = LandsPanel("anchored", 7)
    panel._go(0)
    assert panel.sentence.startswith("None of 5 fits is made. Fixed so far: 0, 600 mm.")
    assert "Not touched: 100, 200, 300, 400, 500 mm." in panel.sentence
    panel.move(1)
    assert "Fixed so far: 0, 300, 600 mm. Not touched: 100, 200, 400, 500 mm." in panel.sentence
    panel.move(1)
    assert "Touched, but not yet fixed relative to the two ends: 100, 200 mm." in panel.sentence
    panel.move(1)
    assert "Fixed so far: 0, 100, 200, 300, 600 mm." in panel.sentence
    panel._go(0)
    panel.jump()
    assert panel.position.value == 1
    panel.jump()
    assert panel.position.value == 5
    assert "The least certain is 200 mm: ± 1.6 µm" in panel.sentence


def test_a_chain_ties_nothing_before_it_arrives():
    panel = LandsPanel("chained", 7)
    panel.move(-1)
    assert (
        "Fixed so far: 0, 600 mm. Touched, but not yet fixed relative to the two ends: 100, 200, 300, 400, 500 mm."
        in panel.sentence
    )
    panel.move(1)
    assert "The least certain is 300 mm: ± 4.4 µm" in panel.sentence


def test_short_gauges_alone_leave_a_hinge_that_the_long_one_locks():
    """Derived: four fits that step over the middle leave two straight halves, free at 300 mm and nowhere else."""
    panel = LandsPanel("my own", 7, units="mm")
    panel.controls["left"].value = panel.controls["right"].value = 100
    for at in (0, 100, 300, 400):
        panel.controls["at"].value = at
        panel.lay()
    (hinge,) = known(panel.fits, np.linspace(0, 600, 7)).swings
    np.testing.assert_allclose(hinge, np.array([0, 1, 2, 3, 2, 1, 0]) / 3, atol=1e-12)
    drawn = np.array(panel.picture_of._swings.get_segments())
    assert (
        len(drawn) == 12
        and drawn[:6, 1, 1].argmax() == 2
        and "They may still swing together: dotted." in panel.sentence
    )
    panel.controls["left"].value = panel.controls["right"].value = 300
    panel.controls["at"].value = 0
    panel.lay()
    assert "swing" not in panel.sentence and not len(panel.picture_of._swings.get_segments())


@pytest.mark.parametrize("way", WAYS[:3])
def test_no_fit_sees_a_swing_and_points_that_stay_are_fixed(way):
    fits, wanted = layings(way, 13, 600, 1.0), np.linspace(0, 600, 13)
    seen = 0
    for laid in range(1, len(fits) + 1):
        found = known(fits[:laid], wanted)
        moves = np.abs(found.swings).max(axis=0, initial=0)
        assert (moves[found.reached] < 1e-9).all() and (moves[found.touched & ~found.reached] > 1e-9).all()
        for fit in fits[:laid]:
            a, b, c = found.swings[:, np.searchsorted(found.x_mm, np.array(fit.lands_mm) - 1e-6)].T
            part = (fit.lands_mm[1] - fit.lands_mm[0]) / (fit.lands_mm[2] - fit.lands_mm[0])
            np.testing.assert_allclose(b, (1 - part) * a + part * c, atol=1e-9)
        seen += len(found.swings)
    assert seen and not len(found.swings)


@pytest.mark.parametrize(
    ("hill", "middle", "where", "sum_um"),
    [
        (150, 0, "under the middle land", 20),
        (75, 0, "between two lands", None),
        (75, 12, "between two lands", 12),
        (0, 0, "under the left land", -10),
        (300, -6, "under the right land", -16),
        (150, -20, "under the middle land", None),
    ],
)
def test_one_gauge_shows_the_sum_of_its_middle_and_of_the_edge_under_its_three_lands(hill, middle, where, sum_um):
    """Derived: a hill counts whole under the middle land, by half and with the other sign under an outer one."""
    panel = OneGaugePanel(hill, middle, units="mm")
    assert f"The hill of 20 µm lies {where}" in panel.sentence
    said = "nothing that shows" if sum_um is None else f"{sum_um} µm"
    assert panel.sentence.endswith(f"The middles of gauge and bar add up to {said}.")
    dark = "All three lands are dark" in panel.sentence
    assert dark == (sum_um is None) == (not len(panel._light.get_paths()))


def test_a_shared_error_of_all_gauges_comes_out_as_the_closed_form():
    """Derived: k (n - k) of the error of one gauge, hollow where the gauge stands proud."""
    found = known(layings("chained", 13, 600, 1.0), np.linspace(0, 600, 13), 1.5)
    np.testing.assert_allclose(found.height_um, -step_lands(12, zero_um=1.5).bias_um, atol=1e-9)
    assert "a bar worked to them is 54 µm hollow at 300 mm" in LandsPanel("chained", 13, proud_um=1.5).sentence


def test_a_learner_lays_gauges_of_their_own_by_button():
    panel = LandsPanel("my own", 5)
    panel.controls["left"].value = panel.controls["right"].value = 300
    panel.lay_it.click()
    assert panel.sentence.startswith("The only fit is made. Fixed so far: 0, 300, 600 mm. Not touched: 150, 450 mm.")
    panel.controls["left"].value = panel.controls["right"].value = 150
    for at in (0, 300):
        panel.controls["at"].value = at
        panel.lay_it.click()
    assert panel.sentence.startswith("All 3 fits are made. Fixed so far: 0, 150, 300, 450, 600 mm.")
    panel.take_off.click()
    assert "Not touched: 450 mm." in panel.sentence
    panel.clear.click()
    assert panel.sentence.startswith("No gauge is laid yet.")


def test_an_uneven_gauge_turned_reaches_the_other_third():
    panel = LandsPanel("my own", 7)
    for name, value in (("left", 200), ("right", 100), ("at", 0)):
        panel.controls[name].value = value
    fit = panel.in_hand()
    panel.controls["turned"].value = True
    assert (fit.lands_mm, panel.in_hand().lands_mm) == ((0, 200, 300), (0, 100, 300))
    assert fit.gauge == panel.in_hand().gauge


def test_lands_may_stand_at_any_distance_and_fall_onto_the_marks_that_are_there():
    panel = LandsPanel("my own", 7, length_mm=500, units="mm")
    for name, value in (("left", 83.3), ("right", 166.7), ("at", 0)):
        panel.controls[name].value = value
    assert panel.in_hand().lands_mm == pytest.approx((0, 500 / 6, 250))
    panel.controls["left"].value = 37.0
    panel.lay_it.click()
    assert panel.fits[0].lands_mm == pytest.approx((0, 37, 203.7))
    assert "Touched, but not yet fixed relative to the two ends: 37, 203.7 mm." in panel.sentence
    panel.controls["at"].value = 36.6  # a scribed line is there already
    assert panel.in_hand().lands_mm[0] == 37.0


def test_a_gauge_walks_along_by_its_own_first_space():
    panel = LandsPanel("my own", 7, units="mm")
    panel.controls["left"].value = 150
    for places in (150, 300):
        panel.after.click()
        assert panel.controls["at"].value == places
    panel.before.click()
    assert panel.controls["at"].value == 150
    for _ in range(9):
        panel.before.click()
    assert panel.controls["at"].value == 0


def test_an_uneven_gauge_is_stepped_to_the_end_of_the_bar():
    panel = LandsPanel("my own", 7, units="mm")
    panel.controls["left"].value, panel.controls["right"].value = 100, 200
    panel.out.click()
    assert [f.lands_mm for f in panel.fits] == [(a, a + 100, a + 300) for a in (0, 100, 200, 300)]
    assert panel.position.value == 4 and "All 4 fits are made." in panel.sentence
    assert (
        "not yet fixed relative to the two ends: 100, 200, 300, 400, 500 mm." in panel.sentence
    )  # five points, four readings
    panel.controls["turned"].value = True
    panel.lay_it.click()
    assert "Fixed so far: 0, 100, 200, 300, 400, 500, 600 mm." in panel.sentence
    panel.controls["at"].value = 400
    panel.out.click()
    assert (
        "the gauge is over 400 to 700 mm; it must be over the bar, 0 to 600 mm." in panel.message.value
        and len(panel.fits) == 5
    )


def test_each_fit_may_have_an_error_of_its_own_and_the_bars_grow_with_it():
    """Derived: two thirds of the middle's spread come in at the next point, beside 20/9 of the small gauge's."""
    panel = LandsPanel("anchored", 7, units="mm")
    panel._go(1)
    panel.controls["own_um"].value = 4
    assert "The least certain is 300 mm: ± 4.0 µm" in panel.sentence
    panel.give.click()
    assert (panel.controls["way"].value, panel.position.value, panel.values()["own_um"]) == ("my own", 1, None)
    panel._go(5)
    assert [f.sd_um for f in panel.fits] == [4, 1, 1, 1, 1]
    assert (
        "The repeatability of the fits ranges from 1.0 µm to 4.0 µm." in panel.sentence
        and "The least certain is 300 mm: ± 4.0 µm" in panel.sentence
    )
    panel.give.click()
    assert "the repeatability of the yellow gauge is that of all gauges; it must be its own." in panel.message.value
    panel.clear.click()
    panel.give.click()
    assert "the bar holds no gauge; it must hold one at least. Lay one first." in panel.message.value


def test_error_bars_grow_and_shrink_on_one_scale():
    panel = LandsPanel("anchored", 7, units="mm")
    before = panel.canvas.full_draws
    highs = []
    for sd in (1.0, 1.2, 0.5, 1.0):
        panel.controls["sd_um"].value = sd
        shown = pixels(panel.png).astype(int)
        highs.append(int((shown[:, :, 2] > shown[:, :, 0] + 60).sum()))
    assert panel.canvas.full_draws == before
    assert highs[1] > highs[0] > highs[2] and highs[3] == highs[0]


def test_words_say_what_checks_what_and_how_straight_such_bars_come_out():
    """Derived: the middle alone is normal, so half of such bars lie within 0.67 of its spread, 19 in 20 within 1.96."""
    panel = LandsPanel("my own", 5, sd_um=2, units="mm")
    panel.controls["left"].value = panel.controls["right"].value = 300
    panel.lay_it.click()
    panel.lay_it.click()
    assert "All 2 fits are made." in panel.sentence and "1 of the readings is left over for checking." in panel.sentence
    panel.controls["left"].value = panel.controls["right"].value = 150
    panel.lay_it.click()
    assert "1 of the readings is left over for checking; nothing checks fit 3." in panel.sentence
    assert "To expect" not in panel.sentence  # 450 is not straight yet
    alone = LandsPanel("anchored", 3, sd_um=2, units="mm").sentence
    half, most = (
        float(v) for v in re.search(r"straight within ([\d.]+) µm, 19 in 20 within ([\d.]+) µm", alone).groups()
    )
    assert half == pytest.approx(2 * 0.674, rel=0.12) and most == pytest.approx(2 * 1.96, rel=0.12)


def test_many_points_are_told_as_rows_of_even_steps():
    panel = LandsPanel("anchored", 25, units="mm")
    assert "Fixed so far: 0 to 600 every 25 mm." in panel.sentence
    panel._go(10)
    assert "Not touched: 25 to 525 every 50, 550, 575 mm." in panel.sentence


def test_in_inches_every_place_is_in_inches():
    panel = LandsPanel("my own", 7, units="inch")
    for name in ("left", "right", "at"):
        assert panel.controls[name].description.endswith("(in)")
    panel.controls["left"].value, panel.controls["right"].value = 8, 4
    panel.lay_it.click()
    assert "Touched, but not yet fixed relative to the two ends: 8, 12 in." in panel.sentence
    panel.controls["at"].value = 20
    panel.lay_it.click()
    assert "the gauge is over 20 to 32 in; it must be over the bar, 0 to 24 in." in panel.message.value


def test_own_gauges_keep_the_spread_they_were_laid_with():
    panel = LandsPanel("my own", 3, sd_um=2)
    panel.controls["left"].value = panel.controls["right"].value = 300
    panel.lay_it.click()
    panel.controls["sd_um"].value = 7
    assert "± 2.0 µm" in panel.sentence


def test_going_on_from_a_progression_keeps_what_was_laid():
    panel = LandsPanel("anchored", 7)
    panel._go(1)
    panel.lay_it.click()
    assert panel.controls["way"].value == "my own"
    assert panel.sentence.startswith("All 2 fits are made. Fixed so far: 0, 300, 600 mm.")


def test_a_gauge_that_hangs_over_is_refused_and_the_picture_stays():
    panel = LandsPanel()
    panel.controls["at"].value = 500
    before = panel.png
    panel.lay_it.click()
    assert "the gauge is over 500 to 700 mm; it must be over the bar, 0 to 600 mm." in panel.message.value
    assert panel.png == before and len(panel.fits) == 5


def test_playing_redraws_only_what_moves():
    panel = LandsPanel("chained", 13)
    draws = panel.canvas.full_draws
    for _ in range(5):
        panel.move(-1)
    assert panel.canvas.full_draws == draws


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: LandsPanel(way="thrown"), "way is 'thrown'; it must be 'anchored'"),
        (lambda: LandsPanel(points=4), "points is 4; it must be 3, 5, 7, 9, 13 or 25."),
        (lambda: LandsPanel(sd_um=0), "sd_um is 0 µm; it must be 0.5 to 10 µm."),
        (lambda: LandsPanel(length_mm=5), "length_mm is 5; it must be 60 to 6000."),
        (lambda: LandGaugesPanel(a_um=99), "a_um is 99 µm; it must be -30 to 30 µm."),
        (lambda: LandGaugesPanel(share=2), "share is 2; it must be 0 to 1."),
    ],
)
def test_impossible_settings_are_refused_in_a_sentence(make, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        make()


def test_gauges_of_one_row_never_overlap_and_gauges_never_share_a_row():
    looked = 0
    for points in POINTS:
        fits = layings("anchored and bridged", points, 600, 1.0)
        rows = packed(fits)
        for i, (a, row) in enumerate(zip(fits, rows)):
            for b, other in zip(fits[:i], rows[:i]):
                if row == other:
                    assert a.gauge == b.gauge
                    assert a.lands_mm[0] >= b.lands_mm[-1] - 1e-6 or b.lands_mm[0] >= a.lands_mm[-1] - 1e-6
                    looked += 1
    assert looked > 100


def test_a_gauge_is_named_by_its_spaces_in_the_learners_unit():
    assert spaces(Fit((0, 25.4, 76.2), 1.0), "inch") == "lands 1 + 2 in apart"


def really(panel):
    told = re.search(r"Their true middles are A ([-+.\d]+), B ([-+.\d]+), C ([-+.\d]+) µm", panel.sentence)
    return np.array([float(v) for v in told.groups()])


@pytest.mark.parametrize("sight", [1.0, 2.5, 6.0])
def test_three_gauges_come_down_to_the_floor_that_sight_sets(sight):
    panel = LandGaugesPanel(sd_um=0, sight_um=sight, units="mm")
    np.testing.assert_array_equal(really(panel), [12, -20, 5])
    panel._go(panel.position.max)
    assert np.abs(really(panel)).max() < 1.3 * panel.made.history.floor_um
    assert "A round leaves |2 × 0.50 − 1| = 0 % of the error, until the floor of about" in panel.sentence
    assert panel.made.history.floor_um == pytest.approx(sight + 4 * (2 * 0.08))


def test_a_look_says_what_is_seen_and_which_lands_are_filed_and_a_stage_is_the_next_pair():
    panel = LandGaugesPanel(sd_um=0, units="mm")
    assert panel.sentence.startswith("Check 1 of ")
    assert (
        "round 1, fitting B to A: light in the middle, 8.0 µm open; a pass is taken from the outer lands of B."
        in panel.sentence
    )
    stages = panel.starts()
    assert len(stages) < panel.position.max / 2
    panel.jump()
    assert panel.position.value == stages[1] > 1
    assert (
        "round 1, fitting C to A: it rocks on the middle, 17 µm open at both ends when level; a pass is taken from the "
        "middle land of C."
    ) in panel.sentence
    panel.jump()
    assert "splitting what B and C show" in panel.sentence
    assert "outer lands of B and C" in panel.sentence


@pytest.mark.parametrize("share", [0.5, 0.75])
def test_what_each_round_leaves_is_written_at_its_end_and_no_zero_has_a_sign(share):
    panel = LandGaugesPanel(sd_um=0, share=share, units="mm")
    rounds = np.array([step.round for step in panel.made.history.steps])
    after = [*(np.flatnonzero(np.diff(rounds)) + 1), len(rounds) - 1]
    worst = np.abs(panel.middles[after]).max(axis=1)
    left = [text.get_text() for text in panel.picture_of._left if text.get_text()]
    assert left == [f"{um:.1f} µm left" for um in worst] and len(left) == 4
    panel.picture_of.show(0, panel.made.history.steps[0], panel.middles[0], panel_fits(panel), np.array([-0.01, 0, 1]))
    assert [pair._words[2].said.split("read as ")[1] for pair in panel.picture_of._pairs] == [
        "+0.0 µm",
        "+0.0 µm",
        "+1.0 µm",
    ]


def panel_fits(panel):
    """The fits of the three pairs at the first look."""
    made = panel.made.history
    heights = made.steps[0].height_um
    return [fit_of_two(made.x_mm, heights[a], heights[b], Sight("light")) for a, b in ((0, 1), (0, 2), (1, 2))]


def test_what_lays_a_gauge_is_in_sight_and_the_heights_keep_their_scale_from_the_start():
    panel = LandsPanel("my own", 7, units="mm")
    folded = panel.view.children[1].children[0].children[1].children
    words = [row.description for row in folded]
    assert not [name for name in ("Gauge: ", "Place of its left land", "Turned") if name in " ".join(words)]
    first = panel.picture_of.low.get_ylim()
    for at in (0, 100, 300, 400):
        panel.controls["at"].value = at
        panel.lay()
    assert panel.picture_of.low.get_ylim() == first and first[1] >= 8
    panel.controls["way"].value = "chained"
    assert not panel.picture_of._top.leaves, "the middle of a chain of seven has room"


def test_stepping_through_the_looks_redraws_only_what_moves():
    panel = LandGaugesPanel()
    for _ in range(4):
        panel.move(1)
    assert panel.canvas.full_draws == 1


def test_the_readings_shown_are_sums_of_two_middles():
    assert pair_readings(np.array([12.0, -20, 5])).tolist() == [-8, 17, -15]
    shown = LandGaugesPanel(12, -20, 5, sd_um=0, units="mm").sentence
    assert "AB -8.0, AC +17.0, BC -15.0 µm, so A = (-8.0 + 17.0 - (-15.0)) / 2 = +12.0 µm, B -20.0, C +5.0" in shown
