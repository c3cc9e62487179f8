"""A wedge test becomes a curve, the curve a threshold for the simulation."""

import ipywidgets as widgets
import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from simulate.bench.cutting.tools import TOOLS, Hands
from simulate.bench.looking.eye import EYES, Eye, chance_seen, fit_eye, gap_seen_um, wedge_test
from simulate.bench.looking.sight import Sight
from simulate.method.bars.fitting import Shop, eye_of_the_moment
from simulate.method.bars.three_bar_loop import three_bars
from simulate.show.bars.eye_panel import EyePanel
from simulate.surface.starting_bars import starting_bars

GAPS = np.arange(0.5, 8.1, 0.5)


def test_single_looks_agree_with_the_logit_of_statsmodels():
    """statsmodels Logit, threshold and spread and their standard errors by its own delta method."""
    gap = np.tile(GAPS, 6)
    seen = wedge_test(Eye("light", 3.3, 0.8), gap, 1, seed=2)
    oracle = sm.Logit(seen, sm.add_constant(gap)).fit(disp=0, method="newton", tol=1e-12)
    eye = fit_eye(gap, seen, false_open=0, missed=0)
    a, b = oracle.params
    assert eye.threshold_um == pytest.approx(-a / b, rel=1e-6)
    assert eye.spread_um == pytest.approx(1 / b, rel=1e-6)
    slopes = np.array([[-1 / b, a / b**2], [0, -1 / b**2]])
    sd = np.sqrt(np.diag(slopes @ oracle.cov_params() @ slopes.T))
    assert [eye.threshold_sd_um, eye.spread_sd_um] == pytest.approx(sd, rel=1e-5)


def test_counts_agree_with_the_binomial_family_of_statsmodels():
    seen = wedge_test(Eye("light", 2.5, 0.5), GAPS, 12, seed=5)
    oracle = sm.GLM(np.column_stack([seen, 12 - seen]), sm.add_constant(GAPS), family=sm.families.Binomial()).fit(
        tol=1e-12
    )
    a, b = oracle.params
    eye = fit_eye(GAPS, seen, 12, false_open=0, missed=0)
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
        [unit * one.threshold_um, unit * one.spread_um, unit * one.threshold_sd_um], rel=1e-4
    )


def test_the_band_holds_the_true_threshold_in_about_19_of_20_tests():
    """Derived: a 95 % range with both rates held at what they are; 200 tests, five standard errors of a count either
    way."""
    true, inside, looked = Eye("light", 3.0, 0.7), 0, 0
    for seed in range(200):
        eye = fit_eye(GAPS, wedge_test(true, GAPS, 10, seed=seed), 10, false_open=0, missed=0)
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
    """Derived: a threshold drawn from a logistic of that spread lies under the gap so often; five standard errors of a
    count."""
    eye, looks = Eye("light", 3.0, 0.7), 20_000
    shop = Shop(np.zeros(3), eye.sight(), TOOLS["stone"], Hands(), np.random.default_rng(4))
    drawn = eye.sight().threshold_um + eye_of_the_moment(shop, looks)[:, 0]
    chance = float(chance_seen(gap_um, eye))
    assert np.mean(gap_um > drawn) == pytest.approx(chance, abs=5 * np.sqrt(chance * (1 - chance) / looks))


def test_an_eye_without_doubt_files_as_one_that_always_sees_alike():
    x, h = starting_bars(500, 60, points=41, workshops=5, seed=1)
    alike, none, doubt = (
        three_bars(x, h, rounds=1, removal_um=5, sight=Sight("light", 3.0, spread), seed=1).height_um
        for spread in (0.0, 0, 0.7)
    )
    np.testing.assert_array_equal(alike, none)
    assert abs(doubt - alike).max() > 0.1
    with pytest.raises(ValueError, match="spread_um is -1; it must be 0 or more."):
        Sight("light", 3.0, -1)


def test_a_sharper_eye_makes_straighter_bars():
    x, h = starting_bars(500, 60, points=41, workshops=30, seed=1)
    ends, looked = [], 0
    for eye in (EYES["light, knife edge"], EYES["light, land 10 mm wide"]):
        run = three_bars(x, h, rounds=2, removal_um=5, sight=eye.sight(), seed=1)
        ends.append(np.median(run.straightness_um[:, -1].max(axis=-1)))
        looked += 1
    assert looked == 2 and ends[0] < ends[1]


@pytest.mark.parametrize(
    "change, words",
    [
        ({"seen": [0, 0, 0, 0]}, "seen: nothing was seen"),
        ({"seen": [5, 5, 5, 5]}, "seen: everything was seen"),
        ({"seen": [0, 0, 5, 5]}, "seen: it jumps from never to always between 2 and 3 µm"),
        (
            {"seen": [0, 0, 2, 5]},
            "seen: only the mark at 3 µm was seen some of the time, which gives a threshold but no slope",
        ),
        ({"seen": [4, 3, 2, 1]}, "wider gaps were seen less often"),
        (
            {"seen": [0, 1, 2, 6]},
            "seen is below 0, or more than looks, at one mark or more; it must be from 0 to looks, "
            "and looks 1 or more.",
        ),
        ({"seen": [0, 1]}, "seen is a row of 2; it must be 4 figures in each row, one for each position."),
    ],
)
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
    assert moved == 6


def test_too_few_looks_say_so_and_many_narrow_the_band():
    assert EyePanel(spread_um=0.1, false_open=0, missed=0, looks=1).sentence.count("No curve can be fitted") == 1
    few, many = EyePanel(looks=5).eye, EyePanel(looks=30).eye
    assert many.threshold_sd_um < few.threshold_sd_um
    assert "thou" in EyePanel(units="inch").sentence


def test_the_beetles_of_bliss_come_out_where_both_rates_are_held_at_nothing():
    """C. Bliss, The calculation of the dosage-mortality curve, Annals of Applied Biology 22 (1935): beetles under
    carbon disulphide, the logistic fit of A. Dobson, An introduction to generalized linear models: 34.27 and -60.72;
    from memory."""
    dose = [1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839]
    fell, of = [6, 13, 18, 28, 52, 53, 61, 60], [59, 60, 62, 56, 63, 59, 62, 60]
    eye = fit_eye(dose, fell, of, false_open=0, missed=0)
    assert eye.threshold_um == pytest.approx(1.7717, abs=1e-4)
    assert 1 / eye.spread_um == pytest.approx(34.27, abs=0.01)
    assert eye.threshold_um / eye.spread_um == pytest.approx(60.72, abs=0.01)
    assert eye.low_95_um == pytest.approx(eye.threshold_um - 1.96 * eye.threshold_sd_um, abs=4e-4)
    assert (eye.false_open, eye.missed, eye.unsettled) == (0, 0, ())


def test_held_rates_agree_with_a_fit_by_another_search():
    """The same likelihood by scipy's Nelder and Mead, without gradients; P = g + (1 - g - m) F (Wichmann and Hill,
    2001)."""
    seen = wedge_test(Eye("light", 3.0, 0.7, false_open=0.08, missed=0.02), GAPS, 40, seed=3)

    def misfit(b):
        p = 0.08 + 0.9 / (1 + np.exp(-(GAPS - b[0]) / np.exp(b[1])))
        return -(seen * np.log(p) + (40 - seen) * np.log1p(-p)).sum()

    best = minimize(misfit, [3.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-10}).x
    eye = fit_eye(GAPS, seen, 40, false_open=0.08, missed=0.02)
    assert [eye.threshold_um, eye.spread_um] == pytest.approx([best[0], np.exp(best[1])], rel=1e-5)


def test_the_posterior_is_that_of_a_random_walk_over_all_four():
    """A Metropolis walk over the same prior and likelihood, 200 000 steps: quantiles of the threshold, means of the
    rates."""
    true = Eye("light", 3.0, 0.7, false_open=0.08, missed=0.02)
    seen, rng = wedge_test(true, GAPS, 5, seed=4), np.random.default_rng(1)
    eye = fit_eye(GAPS, seen, 5)

    def log_posterior(t, s, g, m):
        if not (0 < t < GAPS[-1] + 3.75 and 0.05 < s < 7.5 and 0 < g < 0.5 and 0 < m < 0.5):
            return -np.inf
        p = g + (1 - g - m) / (1 + np.exp(-(GAPS - t) / s))
        return (seen * np.log(p) + (5 - seen) * np.log1p(-p)).sum() + 9 * np.log1p(-g) + 9 * np.log1p(-m)

    at, kept = np.array([3.0, 0.7, 0.05, 0.05]), []
    now = log_posterior(*at)
    for step in rng.normal(size=(60_000, 4)) * [0.4, 0.3, 0.04, 0.03]:
        then = log_posterior(*(at + step))
        if np.log(rng.random()) < then - now:
            at, now = at + step, then
        kept.append(at)
    threshold, spread, guess, miss = np.array(kept[3000:]).T
    assert [eye.low_95_um, eye.threshold_um, eye.high_95_um] == pytest.approx(
        np.quantile(threshold, (0.025, 0.5, 0.975)), abs=0.1
    )
    assert [eye.false_open, eye.missed] == pytest.approx([guess.mean(), miss.mean()], abs=0.01)
    assert eye.spread_um == pytest.approx(np.median(spread), rel=0.1)


def test_a_guess_and_a_miss_do_not_draw_the_threshold():
    """One look in twenty goes wrong at wide marks and at dark ones: without the rates the curve flattens."""
    gaps = np.arange(0.5, 10.01, 0.5)
    exact = 200 * chance_seen(gaps, Eye("light", 3.0, 0.5, false_open=0.08, missed=0.05))
    found, flat = fit_eye(gaps, exact.round(), 200), fit_eye(gaps, exact.round(), 200, false_open=0, missed=0)
    assert found.threshold_um == pytest.approx(3.0, abs=0.05) and found.spread_um == pytest.approx(0.5, abs=0.06)
    assert [found.false_open, found.missed] == pytest.approx([0.08, 0.05], abs=0.012)
    assert flat.spread_um > 2 * 0.5 and found.unsettled == ()


def test_covered_marks_settle_the_rate_of_false_open():
    gaps = np.arange(0.5, 10.01, 0.5)
    seen = wedge_test(Eye("light", 2.2, 0.4), gaps, 5, seed=1)
    assert "false open" in fit_eye(gaps, seen, 5).unsettled
    with_covered = fit_eye(np.append(gaps, 0.0), np.append(seen, 0), np.append(np.full(20, 5), 25))
    assert with_covered.unsettled == () and with_covered.false_open_95[1] < 0.1


def test_the_range_is_wider_than_where_the_rates_are_known():
    eye = fit_eye(GAPS, wedge_test(Eye("light", 3.0, 0.7, false_open=0.08, missed=0.02), GAPS, 5, seed=6), 5)
    assert eye.known_95_um[1] - eye.known_95_um[0] < eye.high_95_um - eye.low_95_um


def coverage(threshold, spread, false_open, missed, looks, gaps, tests):
    """Part of tests whose 95 % range holds the true threshold, refused ones aside."""
    rng, inside, fitted = np.random.default_rng(11), 0, 0
    true = Eye("light", threshold, spread, false_open=false_open, missed=missed)
    while fitted < tests:
        try:
            eye = fit_eye(gaps, wedge_test(true, gaps, looks, rng), looks)
        except ValueError:
            continue
        fitted += 1
        inside += eye.low_95_um <= threshold <= eye.high_95_um
    return inside / tests


TWENTY = np.arange(0.5, 10.01, 0.5)
EYES_TESTED = [
    (3.0, 0.7, 0.08, 0.02, 5, TWENTY),
    (3.0, 0.7, 0.0, 0.0, 5, TWENTY),
    (3.0, 0.7, 0.03, 0.05, 5, TWENTY),
    (2.2, 0.3, 0.08, 0.02, 5, TWENTY),
    (6.0, 1.2, 0.08, 0.02, 3, TWENTY),
    (2.2, 0.4, 0.08, 0.02, 20, TWENTY[:10]),
    (3.0, 0.7, 0.0, 0.0, 10, TWENTY[1:10]),
]


@pytest.mark.parametrize("case", EYES_TESTED[:2])
def test_the_threshold_lies_in_its_range_where_the_eye_guesses_and_misses_and_where_it_does_not(case):
    assert coverage(*case, 60) > 0.95 - 5 * np.sqrt(0.95 * 0.05 / 60)


@pytest.mark.long
@pytest.mark.parametrize("case", EYES_TESTED)
def test_the_threshold_lies_in_its_range_in_93_of_100_tests_at_least(case):
    assert coverage(*case, 2000) >= 0.93
