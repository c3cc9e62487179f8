"""The learner's own wedge test: read in three ways, fitted, and used by the simulation."""

import numpy as np
import pytest
import statsmodels.api as sm

from simulate.bench.looking.eye import gap_seen_um
from simulate.bench.looking.sight import Sight
from simulate.method.planning.plan import plan_job
from simulate.show.own.eye.own_eye import LOOKS, OwnEyePanel

GAPS = np.array([1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0])
SEEN = np.array([0, 0, 1, 4, 5, 9, 9, 10])


def typed(seen=SEEN, looks=10, gaps=GAPS):
    return "gap_um,looks,seen\n" + "\n".join(f"{g},{looks},{s}" for g, s in zip(gaps, seen))


def give(panel, text):
    panel.typed.value = text
    panel.read_typed.click()
    return panel


def test_typed_counts_lie_near_the_binomial_family_of_statsmodels():
    """A logistic regression knows no guesses and no misses; where hardly any were made it lies inside the narrower
    range."""
    panel = give(OwnEyePanel(), typed())
    oracle = sm.GLM(np.column_stack([SEEN, 10 - SEEN]), sm.add_constant(GAPS), family=sm.families.Binomial()).fit(
        tol=1e-12
    )
    a, b = oracle.params
    assert panel.eye.known_95_um[0] < -a / b < panel.eye.known_95_um[1]
    assert panel.eye.threshold_um == pytest.approx(-a / b, abs=0.1) and panel.eye.spread_um == pytest.approx(
        1 / b, abs=0.05
    )
    assert (
        f"Your threshold is {panel.eye.threshold_um:.1f} µm (95 %: " in panel.sentence
        and "invented" not in panel.sentence
    )
    assert "You call a dark mark open in" in panel.sentence and "with both rates known" in panel.sentence


def test_the_simulation_is_run_with_the_eye_that_was_fitted():
    panel = give(OwnEyePanel(), typed())
    own = Sight("light", panel.eye.threshold_um, panel.eye.spread_um)
    assert panel.sight == panel.eye.sight() == own and "judged by your eye, trial by trial," in panel.sentence
    plan = plan_job(100, panel.eye.threshold_um, removal_um=4, rounds=3, sight=own, workshops=200, points=41, seed=1)
    np.testing.assert_array_equal(panel.plan.worst_um, plan.worst_um)
    pictures, looked = {panel.png}, 0
    for taken, chance in zip(LOOKS[1:], (0.5, 0.95)):
        panel.controls["taken"].value = taken
        assert panel.sight.threshold_um == pytest.approx(gap_seen_um(panel.eye, chance)) and panel.sight.spread_um == 0
        pictures.add(panel.png)
        looked += 1
    assert looked == 2 and len(pictures) == 3
    assert panel.plan.worst_um[1, -1] > plan.worst_um[1, -1]


def test_a_dull_eye_leaves_more_on_the_bars():
    panel = give(OwnEyePanel(), typed())
    sharp = panel.plan.worst_um[1, -1]
    give(panel, typed(gaps=16 * GAPS))  # duller than what hands that rock leave, or it would not be seen
    assert panel.plan.worst_um[1, -1] > 1.5 * sharp


def test_a_file_is_read_by_its_path_and_the_start_slider_answers_at_both_ends(tmp_path):
    (tmp_path / "eye.csv").write_text(typed())
    panel, pictures = OwnEyePanel(tmp_path / "eye.csv"), set()
    slider = panel.controls["start_um"]
    for value in (slider.min, slider.max):
        slider.value = value
        assert panel.message.value == ""
        pictures.add(panel.png)
    assert len(pictures) == 2
    assert "thou" in OwnEyePanel(tmp_path / "eye.csv", units="inch").sentence


@pytest.mark.parametrize(
    "text, words",
    [
        (typed(seen=[0] * 4 + [10] * 4), "seen: it jumps from never to always between 2.5 and 3 µm"),
        (typed(seen=SEEN[::-1]), "seen: wider gaps were seen less often"),
        (typed(looks=8), "what was typed, row 7, column seen is '9'"),
        ("lower,upper,turned,position_mm,gap_um\na,b,no,0,1\n", "holds readings of bars"),
    ],
)
def test_what_sets_no_curve_is_refused_and_what_was_there_stays(text, words):
    panel = give(OwnEyePanel(), typed())
    before = panel.sentence, panel.png, panel.eye
    give(panel, text)
    assert words in panel.message.value.replace("&#x27;", "'")
    assert (panel.sentence, panel.png, panel.eye) == before
