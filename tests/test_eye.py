"""A wedge test becomes a curve, the curve a threshold for the simulation."""

import ipywidgets as widgets
import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from simulate.bench.eye import EYES, Eye, chance_seen, fit_eye, gap_seen_um, wedge_test
from simulate.bench.sight import Sight
from simulate.bench.tools import TOOLS, Hands
from simulate.method.bars import three_bars
from simulate.method.fitting import Shop, eye_of_the_moment
from simulate.show.eye import EyePanel
from simulate.surface.bars import starting_bars

GAPS = np.arange(0.5, 8.1, 0.5)


def test_single_looks_agree_with_the_logit_of_statsmodels():
    """statsmodels Logit, threshold and spread and their standard errors by its own delta method."""
    gap = np.tile(GAPS, 6)
    seen = wedge_test(Eye("light", 3.3, 0.8), gap, 1, seed=2)
    oracle = sm.Logit(seen, sm.add_constant(gap)).fit(disp=0, method="newton", tol=1e-12)
    eye = fit_eye(gap, seen)
    a, b = oracle.params
    assert eye.threshold_um == pytest.approx(-a / b, rel=1e-6)
    assert eye.spread_um == pytest.approx(1 / b, rel=1e-6)
    slopes = np.array([[-1 / b, a / b**2], [0, -1 / b**2]])
    sd = np.sqrt(np.diag(slopes @ oracle.cov_params() @ slopes.T))
    assert [eye.threshold_sd_um, eye.spread_sd_um] == pytest.approx(sd, rel=1e-5)


def test_counts_agree_with_the_binomial_family_of_statsmodels():
    seen = wedge_test(Eye("light", 2.5, 0.5), GAPS, 12, seed=5)
    oracle = sm.GLM(np.column_stack([seen, 12 - seen]), sm.add_constant(GAPS), family=sm.families.Binomial()).fit(tol=1e-12)
    a, b = oracle.params
    eye = fit_eye(GAPS, seen, 12)
    assert [eye.threshold_um, eye.spread_um] == pytest.approx([-a / b, 1 / b], rel=1e-6)


@settings(deadline=None, max_examples=25)
@given(st.floats(2, 6), st.floats(0.4, 1.2), st.integers(0, 10**6), st.floats(0.1, 20))
def test_another_unit_gives_the_same_eye(threshold, spread, seed, unit):
    seen = wedge_test(Eye("light", threshold, spread), GAPS, 8, seed=seed)
    try:
        one = fit_eye(GAPS, seen, 8)
    except ValueError:
        assume(False)
    two = fit_eye(unit * GAPS, seen, 8)
    assert [two.threshold_um, two.spread_um, two.threshold_sd_um] == pytest.approx(
        [unit * one.threshold_um, unit * one.spread_um, unit * one.threshold_sd_um], rel=1e-4)


def test_the_band_holds_the_true_threshold_in_about_19_of_20_tests():
    """Derived: a 95 % range; 200 tests, five standard errors of a count either way."""
    true, inside, looked = Eye("light", 3.0, 0.7), 0, 0
    for seed in range(200):
        eye = fit_eye(GAPS, wedge_test(true, GAPS, 10, seed=seed), 10)
        inside += abs(eye.threshold_um - 3.0) < 1.96 * eye.threshold_sd_um
        looked += 1
    assert looked == 200
    assert 175 <= inside <= 199


def test_a_chance_and_its_gap_belong_together():
    looked = 0
    for eye in EYES.values():
        for chance in (0.1, 0.5, 0.95):
            assert float(chance_seen(gap_seen_um(eye, chance), eye)) == pytest.approx(chance)
            looked += 1
        assert "practice" in eye.source or "memory" in eye.source
    assert looked == 15


def test_light_at_a_knife_edge_is_seen_from_2_to_2_5_um():
    """Published: an encyclopaedia entry and course slides."""
    assert 2.0 <= EYES["light, knife edge"].threshold_um <= 2.5
    assert EYES["light, land 10 mm wide"].threshold_um > 2.5


@pytest.mark.parametrize("gap_um", [1.5, 3.0, 4.2])
def test_a_look_along_a_fit_sees_a_gap_as_often_as_the_curve_says(gap_um):
    """Derived: a threshold drawn from a logistic of that spread lies under the gap so often; five standard errors of a count."""
    eye, looks = Eye("light", 3.0, 0.7), 20_000
    shop = Shop(np.zeros(3), eye.sight(), TOOLS["stone"], Hands(), np.random.default_rng(4))
    drawn = eye.sight().threshold_um + eye_of_the_moment(shop, looks)[:, 0]
    chance = float(chance_seen(gap_um, eye))
    assert np.mean(gap_um > drawn) == pytest.approx(chance, abs=5 * np.sqrt(chance * (1 - chance) / looks))


def test_an_eye_without_doubt_files_as_one_that_always_sees_alike():
    x, h = starting_bars(500, 60, points=41, workshops=5, seed=1)
    alike, none, doubt = (three_bars(x, h, rounds=1, removal_um=5, sight=Sight("light", 3.0, spread), seed=1).height_um
                          for spread in (0.0, 0, 0.7))
    np.testing.assert_array_equal(alike, none)
    assert abs(doubt - alike).max() > 0.1
    with pytest.raises(ValueError, match="spread_um is -1; allowed is 0 or more."):
        Sight("light", 3.0, -1)


def test_a_sharper_eye_makes_straighter_bars():
    x, h = starting_bars(500, 60, points=41, workshops=30, seed=1)
    ends, looked = [], 0
    for eye in (EYES["light, knife edge"], EYES["light, land 10 mm wide"]):
        run = three_bars(x, h, rounds=2, removal_um=5, sight=eye.sight(), seed=1)
        ends.append(np.median(run.straightness_um[:, -1].max(axis=-1)))
        looked += 1
    assert looked == 2 and ends[0] < ends[1]


@pytest.mark.parametrize("change, words", [
    ({"seen": [0, 0, 0, 0]}, "seen says that nothing was seen; marks on both sides"),
    ({"seen": [5, 5, 5, 5]}, "seen says that everything was seen; marks on both sides"),
    ({"seen": [0, 0, 5, 5]}, "seen jumps from never to always between 2 and 3 µm"),
    ({"seen": [0, 0, 2, 5]}, "seen is doubtful only at 3 µm: that tells a threshold but no spread"),
    ({"seen": [4, 3, 2, 1]}, "wider gaps were seen less often"),
    ({"seen": [0, 1, 2, 6]}, "seen must be 0 to looks at every mark"),
    ({"seen": [0, 1]}, "seen must have 4 heights along its last axis"),
])
def test_a_test_that_tells_nothing_is_refused(change, words):
    with pytest.raises(ValueError) as refusal:
        fit_eye(**{"gap_um": [1, 2, 3, 4], "looks": 5, **change})
    assert words in str(refusal.value)


def test_every_slider_answers_at_both_ends():
    panel, moved = EyePanel(), 0
    for widget in panel.controls.values():
        assert isinstance(widget, (widgets.FloatSlider, widgets.IntSlider))
        before, pictures = widget.value, set()
        for value in (widget.min, widget.max, before):
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 40
            pictures.add(panel.png)
        assert len(pictures) > 1, widget.description
        moved += 1
    assert moved == 4


def test_too_few_looks_say_so_and_many_narrow_the_band():
    assert EyePanel(spread_um=0.1, looks=1).sentence.count("No curve can be fitted") == 1
    few, many = EyePanel(looks=5).eye, EyePanel(looks=30).eye
    assert many.threshold_sd_um < few.threshold_sd_um
    assert "thou" in EyePanel(units="inch").sentence
