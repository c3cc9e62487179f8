"""What is seen of a gap, and what a pass takes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import maximum_filter1d

from simulate.bench.cutting.filing import hollow_um, take
from simulate.bench.cutting.tools import TOOLS, Hands
from simulate.bench.looking.sight import FEELERS_MM, Sight, look, wedge_gap_um

STEADY = Hands(rock_deg=0, scatter=0)


def test_light_tells_open_from_shut_but_not_how_wide():
    seen = look([0, 2.5, 2.6, 400])
    assert seen.open.tolist() == [False, False, True, True]
    assert seen.at_most_um.tolist() == [2.5, 2.5, np.inf, np.inf]
    assert "not how wide" in seen.cannot_tell


def test_the_usual_feelers_are_those_of_the_standard():
    # DIN 2275, from memory.
    assert FEELERS_MM == (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 1.00)


@settings(deadline=None, max_examples=40)
@given(st.floats(0, 2000))
def test_a_feeler_reading_is_the_thickest_blade_that_enters(gap):
    seen = look([gap], Sight("feeler", 50))
    entering = [b * 1000 for b in FEELERS_MM if b * 1000 <= gap]
    assert seen.at_least_um[0] == pytest.approx(max(entering, default=0))
    assert seen.at_least_um[0] <= gap <= seen.at_most_um[0]
    assert seen.open[0] == bool(entering)


def test_a_thick_film_prints_where_nothing_touches():
    # Compound spread too thick bridges 50 µm and prints falsely (published, craft text).
    assert not look([45.0], Sight("marking compound", 50)).open[0]
    assert look([45.0], Sight("marking compound", 2)).open[0]


def test_two_piles_make_a_wedge_that_calibrates_the_eye():
    # Piles of 10.0 and 10.1 mm, 200 mm apart: 0.004 mm for 8 mm of shift (published: course slides).
    assert wedge_gap_um(10.0, 10.1, 200, 8) == pytest.approx(4.0)


def test_the_scraper_takes_what_the_trade_says():
    # Scraping takes 2 to 10 µm a pass (published, weak).
    assert 2 <= TOOLS["scraper"].depth_um <= 10
    assert all("source" in t.source or "published" in t.source for t in TOOLS.values())


def test_a_tool_bridges_a_short_hollow_and_enters_a_long_one():
    x = np.linspace(0, 200, 201)
    short = -20.0 * (np.abs(x - 100) < 8)
    assert hollow_um(x, short, 60)[100] == pytest.approx(20)
    long_bow = 100 * ((x - 100) / 100) ** 2
    # A chord of 60 mm over a bow of 100 µm in 200 mm stands (60/200)² of it above the middle: 9 µm.
    assert hollow_um(x, long_bow, 60)[100] == pytest.approx(9)


def test_a_pass_takes_most_at_contact_and_nothing_where_light_is_wide():
    x = np.linspace(-50, 50, 101)
    gap = np.abs(x)
    left = take(x, np.zeros(101), gap, removal_um=10, sight_um=2.5, hands=STEADY)
    assert left[50] == -10
    assert (left[gap >= 10] == 0).all()


def test_hands_of_the_first_rules_take_a_part_more_at_the_ends():
    x = np.linspace(-50, 50, 101)
    left = take(x, np.zeros(101), np.zeros(101), removal_um=10, hands=Hands(rock_deg=0, crown=0.2, scatter=0))
    assert left[50] == pytest.approx(-10) and left[0] == pytest.approx(-12)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10**6), st.floats(0, 100), st.sampled_from(sorted(TOOLS)))
def test_metal_is_never_put_back(seed, removal, tool):
    rng = np.random.default_rng(seed)
    x = np.linspace(-100, 100, 81)
    h = rng.normal(0, 20, (3, 81)).cumsum(-1)
    left = take(
        x, h, np.abs(rng.normal(0, 10, (3, 81))), removal_um=removal, tool=tool, hands=Hands(0.3, 1.0), seed=rng
    )
    assert (left <= h).all()


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: Sight("echo"), "kind is 'echo'; it must be 'light'"),
        (lambda: Sight("light", -1), "threshold_um is -1; it must be 0 or more"),
        (lambda: Hands(crown=2), "crown is 2; it must be 0 to 1"),
        (lambda: look([-1]), r"gap_um is -1; it must be 0 or more\."),
        (
            lambda: look([1], Sight("feeler", 1100)),
            r"threshold_um is 1100; it must be at most 1000, the thickest blade\.",
        ),
        (lambda: take([0, 1, 2], [0, 0, 0], [0, 0, 0], tool="saw"), "tool is 'saw'; it must be 'bastard file'"),
        (lambda: take([0, 1, 2], [0, 0, 0], [0, 0, 0], removal_um=-3), "removal_um is -3"),
        (lambda: wedge_gap_um(1, 2, 0, 3), "apart_mm is 0; it must be more than 0"),
    ],
)
def test_bad_input_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_stroke_reaches_half_the_tool_from_a_seen_contact():
    # scipy's running maximum says the same of every place.
    rng = np.random.default_rng(3)
    x = np.linspace(-50, 50, 101)
    gap = np.where(rng.random((40, 101)) < 0.04, 0.0, 3.0)
    left = take(x, np.zeros((40, 101)), gap, removal_um=4, sight_um=2.5, tool="scraper", hands=STEADY)
    near = maximum_filter1d(gap == 0, 21, axis=-1, mode="constant")
    assert near.any() and not near.all()
    assert ((left < 0) == near).all()
