"""Unusual networks of land fits: drawn at random, loose, doubled, turned, with doubtful zeros; and plans by brute
force."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from simulate.method.lands.fewest_fits import fewest_fits, trade_plan, worst_of
from simulate.method.lands.land_fit import Fit, lay, snapped
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import Level, anchored_levels, chained_level, progression
from simulate.method.lands.stepping import step_lands

PLACES = np.arange(0, 650, 50.0)


def written_out(fits, points):
    """Rows, weights and the zero that each reading carries, with no help from the package."""
    rows, weights, owners = [], [], []
    for fit in fits:
        left, *inner, right = fit.lands_mm
        for place, land in enumerate(inner):
            row = np.zeros(len(points))
            row[points.index(land)] += 1
            row[points.index(left)] -= (right - land) / (right - left)
            row[points.index(right)] -= (land - left) / (right - left)
            rows.append(row)
            weights.append(1 / fit.sd_um)
            owners.append((fit.gauge, len(inner) - 1 - place if fit.turned else place))
    return np.array(rows), np.array(weights), owners


def with_zeros(fits, held, zero_sd, readings):
    """One dense weighted table of free points and zeros, and what it says."""
    points = sorted({land for fit in fits for land in fit.lands_mm})
    table, weights, owners = written_out(fits, points)
    free = [i for i, x in enumerate(points) if x not in held]
    names = sorted({o for o in owners if zero_sd.get(o[0], 0) > 0})
    zeros = np.array([[float(o == n) for n in names] for o in owners]).reshape(len(owners), len(names))
    known = [(k, zero_sd[n[0]]) for k, n in enumerate(names) if np.isfinite(zero_sd[n[0]])]
    prior = np.zeros((len(known), len(free) + len(names)))
    for row, (k, sd) in zip(prior, known):
        row[len(free) + k] = 1 / sd
    full = np.vstack([np.hstack([table[:, free], zeros]) * weights[:, None], prior])
    return points, free, full, np.r_[readings * weights, np.zeros(len(known))]


@st.composite
def networks(draw):
    places = draw(st.lists(st.sampled_from(PLACES.tolist()), min_size=3, max_size=8, unique=True))
    fits = []
    for _ in range(draw(st.integers(1, 9))):
        lands = draw(st.lists(st.sampled_from(places), min_size=3, max_size=5, unique=True))
        fits.append(
            Fit(
                tuple(sorted(lands)),
                draw(st.sampled_from([0.1, 1.0, 5.0])),
                draw(st.sampled_from("ab")),
                draw(st.booleans()),
            )
        )
    return fits + fits[: draw(st.integers(0, 1))]  # the first one perhaps laid twice


@settings(deadline=None, max_examples=80)
@given(networks(), st.sampled_from([{}, {"a": 0.5}, {"a": np.inf, "b": 2.0}]), st.integers(0, 9999))
def test_any_network_says_what_a_dense_singular_value_decomposition_says(fits, zero_sd, seed):
    """Oracle: the pseudoinverse of the table written out; a point is reached where no unseen movement moves it."""
    zero_sd = {g: s for g, s in zero_sd.items() if g in {f.gauge for f in fits}}
    ends = [min(f.lands_mm[0] for f in fits), max(f.lands_mm[-1] for f in fits)]
    readings = np.random.default_rng(seed).normal(0, 5, sum(len(f.lands_mm) - 2 for f in fits))
    points, free, full, right = with_zeros(fits, ends, zero_sd, readings)
    assume(free)
    back = np.linalg.pinv(full, rcond=1e-10)
    loose = np.abs(np.diag(np.eye(full.shape[1]) - back @ full)) > 1e-7
    found = solve_network(fits, readings_um=readings, zero_sd_um=zero_sd)
    assert found.x_mm.tolist() == points
    np.testing.assert_array_equal(found.reached[free], ~loose[: len(free)])
    firm = found.reached[free]
    np.testing.assert_allclose(found.height_um[free][firm], (back @ right)[: len(free)][firm], rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(
        found.sd_um[free][firm], np.sqrt(np.diag(back @ back.T))[: len(free)][firm], rtol=1e-6, atol=1e-9
    )
    checked = 1 - np.diag(full @ back)[: len(readings)]
    owner = np.repeat(np.arange(len(fits)), [len(f.lands_mm) - 2 for f in fits])
    np.testing.assert_allclose(found.redundancy, np.bincount(owner, checked), atol=1e-6)


def test_many_gauges_of_uneven_lands_agree_with_weighted_least_squares_of_a_statistics_library():
    """Oracle: statsmodels WLS with known variances; 40 fits at drawn places that lie on no grid."""
    rng = np.random.default_rng(6)
    places = np.sort(np.r_[0, rng.uniform(0, 600, 12).round(3), 600])
    fits = [
        Fit(tuple(np.sort(rng.choice(places, 3, replace=False))), float(rng.choice([0.3, 1, 4]))) for _ in range(26)
    ]
    fits += [Fit(tuple(places[i : i + 3]), 1.0) for i in range(12)]
    table, weights, _ = written_out(fits, places.tolist())
    readings = rng.normal(0, 3, len(fits))
    other = sm.WLS(readings, table[:, 1:-1], weights=weights**2).fit(cov_type="fixed scale")
    found = solve_network(fits, readings_um=readings)
    np.testing.assert_allclose(found.height_um[1:-1], other.params, rtol=1e-8)
    np.testing.assert_allclose(found.covariance_um2[1:-1, 1:-1], other.cov_params(), rtol=1e-7, atol=1e-12)


@pytest.mark.parametrize("n", list(range(2, 31)) + [64, 150])
def test_the_closed_form_holds_for_every_number_of_steps(n):
    """Derived: z k (n - k) and the rows of the inverse; the general solver knows neither."""
    found = solve_network(chained_level(n + 1, 37.0 * n, 0.6).fits, readings_um=np.full(n - 1, -0.4))
    closed = step_lands(n, zero_um=-0.4, sd_um=0.6)
    np.testing.assert_allclose(found.height_um, closed.bias_um, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(found.sd_um, closed.sd_um, rtol=1e-6)


def test_a_fit_laid_twice_counts_as_one_of_half_the_variance():
    once = Fit((0, 300, 600), 1.0)
    assert solve_network([once, once]).sd_um[1] == pytest.approx(np.sqrt(0.5))
    assert solve_network([once, once]).redundancy.tolist() == [0.5, 0.5]


def test_a_single_point_that_no_gauge_shares_stays_loose_while_the_rest_is_settled():
    found = solve_network([lay((0, 300, 600), 0, 1.0), lay((0, 100, 150), 400, 1.0)], [0, 600])
    assert found.reached.tolist() == [True, True, False, False, False, True]
    assert (
        found.words
        == "Determined: 0, 300, 600 mm; touched, but not yet fixed relative to the known points: 400, 500, 550 mm."
    )


def test_a_turned_uneven_gauge_with_a_doubtful_zero_cannot_tell_it_from_a_bow():
    """Derived: both layings carry the same zero z, so both points come out z too high."""
    both = [lay((0, 100, 300), 0, 1e-6, turned=t) for t in (False, True)]
    found = solve_network(both, zero_sd_um={"gauge": 2.0})
    np.testing.assert_allclose(found.covariance_um2[1:3, 1:3], 4.0, rtol=1e-6)
    assert not solve_network(both, zero_sd_um={"gauge": np.inf}).reached[1:3].any()


def test_a_zero_that_all_gauges_share_stays_whole_in_the_bar_until_a_bridge_tells_it():
    """Derived: the same z in every reading bends the bar by z times what readings of 1 give. A bow that all gauges take
    for straight would need four times the z at twice the spacing, so a fit across points that were there finds z
    out."""
    plain, bridged = (
        [replace(f, gauge="any", sd_um=1e-4) for level in anchored_levels((3, 7), 600, 1.0, across) for f in level.fits]
        for across in (False, True)
    )
    hidden = solve_network(plain, zero_sd_um={"any": 1.0})
    np.testing.assert_allclose(hidden.sd_um, np.abs(solve_network(plain, readings_um=np.ones(5)).height_um), rtol=1e-6)
    assert solve_network(bridged, zero_sd_um={"any": 1.0}).worst_um < 0.001


@pytest.mark.parametrize("trusted", [None, (0.0, 200.0, 300.0, 400.0, 600.0)])
def test_a_gauge_that_serves_on_two_levels_learns_its_zero_only_once(trusted):
    """Derived: with every point of the first level trusted, two levels are all fits at once."""
    first = (
        Fit((0, 300, 600), 1.0, "g"),
        Fit((0, 200, 300), 1.0, "g"),
        Fit((300, 400, 600), 1.0, "g"),
        Fit((200, 300, 400), 1.0, "g"),
    )
    second = tuple(replace(f, gauge="g") for f in chained_level(13, 600, 0.5).fits)
    once = solve_network(first + second, zero_sd_um={"g": 2.0})
    last = progression([Level(first), Level(second, trusted)], zero_sd_um={"g": 2.0})[-1]
    np.testing.assert_allclose(last.covariance_um2, once.covariance_um2, rtol=1e-7, atol=1e-10)
    assert last.zero_um["g", 0][1] == pytest.approx(once.zero_um["g", 0][1])


def test_heights_and_zeros_weigh_in_with_what_belongs_to_both():
    rng = np.random.default_rng(3)
    first = [
        Fit((0, 300, 600), 1.0, "g"),
        Fit((0, 150, 300), 1.0, "g"),
        Fit((150, 300, 450), 1.0, "g"),
        Fit((300, 450, 600), 1.0, "g"),
    ]
    second = [replace(f, gauge="g") for f in chained_level(13, 600, 0.5).fits]
    one, two = rng.normal(0, 2, (5, 4)), rng.normal(0, 2, (5, 11))
    before = solve_network(first, readings_um=one, zero_sd_um={"g": 2.0})
    after = solve_network(second, readings_um=two, prior=before)  # the zero that was learned comes with the points
    once = solve_network(first + second, readings_um=np.hstack([one, two]), zero_sd_um={"g": 2.0})
    np.testing.assert_allclose(after.height_um, once.height_um, rtol=1e-8)
    np.testing.assert_allclose(after.joint_um2, once.joint_um2, rtol=1e-8, atol=1e-12)


def test_what_a_level_left_loose_is_settled_by_a_later_one():
    long, short = anchored_levels((3, 7), 600, 1.0)
    after = progression([short, long], [0, 600])
    assert not after[0].reached[1:-1].any() and after[1].reached.all()


def test_points_that_are_not_trusted_are_forgotten_and_said_to_be_untied():
    long, short = anchored_levels((5, 9), 400, 1.0)
    last = progression([long, Level((Fit((0, 50, 200), 1.0, "s"),), (200.0,))])[-1]
    assert last.words == "Determined: 0, 50, 200, 400 mm; not touched: 100, 300 mm."
    assert len(short.fits) == 4


def test_places_worked_out_in_two_ways_are_one_place():
    """A scale of 1/128 inch falls on the edge between two roundings of a nanometre."""
    looked = 0
    for k in (1, 5, 11, 17):
        one, other = k * 25.4 / 128, k * 25.4 / 128 * (1 + 3e-16)
        for end in (np.nextafter(one, 0), other):
            found = solve_network([Fit((0.0, one, 9.0), 1.0), Fit((0.0, end, 9.0), 1.0)])
            assert len(found.x_mm) == 3 and found.sd_um[1] == pytest.approx(np.sqrt(0.5))
            looked += 1
    assert looked == 8
    assert snapped([0.0, 100.0, 25.4]).tolist() == [0.0, 100.0, 25.4]


def every_plan(least, most_fits, most_times):
    """All chains of even divisions, bridged or not, repeated or not, in this test's own words."""

    def chains(before, end):
        if before == end:
            yield ()
        for times in range(2, end // before + 1):
            for rest in chains(before * times, end) if end % (before * times) == 0 else ():
                yield (before * times, *rest)

    for spaces in range(max(least, 2), most_fits + 2):
        for chain in chains(1, spaces):
            for bridged in product(*[(False, True) if b > 1 else (False,) for b in (1, *chain[:-1])]):
                each = [b - 1 if across else b - a for a, b, across in zip((1, *chain[:-1]), chain, bridged)]
                for times in product(range(1, most_times + 1), repeat=len(chain)):
                    fits = sum(e * t for e, t in zip(each, times))
                    if fits <= most_fits:
                        yield fits, len(chain), worst_of(tuple(c + 1 for c in chain), bridged, times, 1.0)


def test_the_search_finds_what_brute_force_over_every_progression_finds():
    everything = list(every_plan(4, 10, 2))
    assert len(everything) > 50
    looked = 0
    for wanted in (2.5, 1.6, 1.31, 1.2, 1.0):
        enough = [p for p in everything if p[2] <= wanted * (1 + 1e-9)]
        if not enough:
            with pytest.raises(ValueError, match="no progression of 10 fits"):
                fewest_fits(400, 100, wanted, 1.0, most_fits=10, most_times=2)
            continue
        best = min(enough)
        found = fewest_fits(400, 100, wanted, 1.0, most_fits=10, most_times=2)
        assert (found.fits, found.gauges) == best[:2] and found.worst_um == pytest.approx(best[2])
        assert found.worst_um == pytest.approx(worst_of(found.counts, found.bridged, found.times, 1.0))
        looked += 1
    assert looked >= 3


def test_the_search_says_by_how_much_the_trade_is_beaten_or_not():
    """Three points, then seven, then halves: common practice, no source. As many fits as points, so only certainty
    differs."""
    looked = 0
    for spacing, fewer in ((100, 0), (75, 4), (50, 0), (40, 8)):
        trade = trade_plan(600, spacing, 1.0)
        found = fewest_fits(600, spacing, 2.0, 1.0)
        assert trade.fits - found.fits == fewer
        looked += 1
    assert looked == 4
