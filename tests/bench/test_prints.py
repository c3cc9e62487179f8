"""Prints look like prints: marks that come and shrink by stages, told by the definitions of the trade."""

import numpy as np
import pytest

from simulate.bench.cutting.scrape_marks import Scraped, finer, grain, parts_of, pitch_mm
from simulate.bench.looking.spotting import BLUE, NONE, PALE, points_per_square_inch, rub
from simulate.method.plates.prints import print_at
from simulate.method.plates.three_plate_loop import three_plates
from simulate.method.practice.acts import lay, look, start_practice, work_seen
from simulate.surface.starting_plates import starting_plates

X = np.linspace(-120, 120, 25)
FLAT = np.zeros((25, 25))


def scraped_pair(depth_um, seed, passes=6):
    """Two faces that fit, each scraped by half of the depth, pass after pass."""
    cuts = [
        [Scraped(FLAT + depth_um / 2, pitch_mm(depth_um), (seed, k, face)) for k in range(passes)] for face in (0, 1)
    ]
    return [grain(each, FLAT.shape, X[1] - X[0]) for each in cuts]


@pytest.mark.parametrize(
    "depth_um, fewest, most",
    [(10, 2, 5), (5, 8, 15), (3, 15, 25), (2, 25, 40)],
    ids=["rough", "ways", "plate", "master"],
)
def test_points_and_bearing_of_faces_that_fit_are_those_that_the_trade_tells(depth_um, fewest, most):
    # Common practice, no source: roughing 2 to 5, machine ways 8 to 15, plates about 20, masters 25 to 40 points in a
    # square inch, with 20 to 50 % bearing; at least 20 % for grades 0 and 1 (BS 817:1988, 8.1).
    found = [rub(X, X, FLAT, *scraped_pair(depth_um, seed), film_um=depth_um) for seed in range(40, 46)]
    points = np.array([p.points.mean() for p in found])
    assert fewest <= points.min() and points.max() <= most, points
    bears = np.array([p.bearing for p in found])
    assert (0.2 if depth_um < 10 else 0.15) <= bears.min() and bears.max() <= 0.5, bears


def test_a_film_thicker_than_the_pockets_marks_them_too():
    lower, upper = scraped_pair(2.0, 3)
    bears = [rub(X, X, FLAT, lower, upper, film_um=film).bearing for film in (1.0, 2.0, 4.0, 20.0)]
    assert np.all(np.diff(bears) > 0) and bears[-1] == 1


def test_a_pass_takes_in_the_mean_over_its_marks_what_the_form_gives_up():
    wide = np.linspace(-400, 400, 81)
    pockets = grain([Scraped(np.full((81, 81), 3.0), 5.0, (4,))], (81, 81), wide[1] - wide[0])
    assert pockets.min() == 0 and pockets.mean() == pytest.approx(3.0, rel=0.01)
    # Derived: a second pass makes what is left of the first shallower by as much.
    nothing = Scraped(np.full((81, 81), 1.0), 5.0, (9,))
    deeper = grain([Scraped(np.full((81, 81), 3.0), 5.0, (4,)), nothing], (81, 81), 10.0)
    assert deeper.max() == pytest.approx(pockets.max() - 1.0, abs=1e-4)


def test_where_nothing_is_taken_the_marks_stay_as_they_were():
    left = np.where(X < 0, 2.0, 0.0) + FLAT
    first = Scraped(FLAT + 3.0, 6.0, (1,))
    before, after = grain([first], FLAT.shape, 10.0), grain([first, Scraped(left, 4.5, (2,))], FLAT.shape, 10.0)
    middle = before.shape[1] // 2 + 1
    assert (after[:, middle:] == before[:, middle:]).all() and (
        after[:, : middle - 10] != before[:, : middle - 10]
    ).any()


def test_the_fine_grid_keeps_every_plane_and_every_point_of_the_coarse_one():
    rng = np.random.default_rng(2)
    height = rng.normal(size=(5, 4))
    assert finer(height, 6)[::6, ::6] == pytest.approx(height, abs=1e-6)
    x, y = np.arange(4.0), np.arange(5.0)
    fine = finer(2 * x - 3 * y[:, None], 4)
    assert fine == pytest.approx(2 * np.arange(13) / 4 - 3 * np.arange(17)[:, None] / 4, abs=1e-5)
    assert (X[1] - X[0]) / parts_of(X[1] - X[0]) <= 4 / 3, "a spot of 4 mm is three points wide"


def test_the_highest_places_are_palest_and_low_ones_stay_clean():
    dome = (X**2 + X[:, None] ** 2) / 120**2 * 20.0
    none = np.zeros(grain([], FLAT.shape, 10.0).shape, np.float32)
    shades = rub(X, X, dome, none, none, film_um=10.0).lower
    middle = shades.shape[0] // 2
    line = shades[middle, middle:].astype(int)
    assert line[0] == PALE and line[-1] == NONE
    ends = np.flatnonzero(np.diff(line))
    assert line[ends].tolist() == [PALE, BLUE, BLUE - 1], "pale, blue, smeared, clean"
    # of the film of 10 µm rubbing leaves 4.4, and a mark is pale where the gap is under 0.12 of that (common practice)
    radii = 120 * np.sqrt(np.array([0.12 * 4.4, 4.4, 10.0]) / 20)
    assert ends * (240 / (shades.shape[0] - 1)) == pytest.approx(radii, abs=2.5)


def test_each_face_prints_its_own_marks_where_the_faces_met_however_they_lie():
    lower, upper = scraped_pair(8.0, 7)
    part = parts_of(10.0)
    for turned in (0, 90, 180, 270):
        gap = np.full(FLAT.shape, 0.0)
        gap[:, :4] = np.nan  # slid four steps to the right
        found = rub(X, X, gap, lower, upper, turned=turned, slide=(4, 0), film_um=8.0)
        assert (found.lower[:, : 4 * part] == NONE).all()
        for face, pockets in ((found.lower, lower), (found.upper, upper)):
            assert (
                pockets[face >= BLUE].max() < 0.4 * 8 + 0.5
                and pockets[face == NONE].mean() > pockets[face >= BLUE].mean()
            )


def test_a_run_goes_from_few_large_spots_to_many_small_ones_and_its_bearing_levels_off():
    x, y, h = starting_plates(400, 400, 60, points=61, seed=77)
    run = three_plates(x, y, h, removal_um=20, passes=150, seed=77)
    found = [print_at(run, place) for place in range(0, 150, 6)]
    points = np.array([p.points.mean() for p in found])
    assert points[0] < 1 and 2 <= np.median(points[3:12]) <= 8 and 18 <= points[-3:].mean() <= 40
    assert 0.2 <= np.mean([p.bearing for p in found[-3:]]) <= 0.5


def test_a_practised_eye_reads_stage_and_next_cut_from_the_print_of_the_practice_bench():
    state, points = start_practice(23, level="plates"), []
    for film, depth, spot in ((12, 10, 15), (10, 8, 12), (6, 4, 8), (3, 3, 6), (2, 2, 4.2), (1.5, 1.5, 3.6)):
        for pair in ((0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 90), (0, 2, 90), (1, 2, 90)):
            state = work_seen(lay(state, *pair), passes=4, film_um=film, depth_um=depth, spot_mm=spot, both=True)
        seen = look(state, film_um=film).answer.print
        points.append(seen.points.mean())
        assert 0.1 < seen.bearing < 0.6
    assert 2 <= points[0] <= 5 and 18 <= points[-1] <= 40 and points[-1] == max(points)


def test_a_go_of_the_third_rules_prints_as_it_did():
    old, new = (look(start_practice(3, level="plates", rules=rules)).answer for rules in (3, 4))
    assert old.print is None and new.print is not None
    assert (old.seen.open == new.seen.open).all()


def test_counting_stands_on_the_stated_square_and_area():
    x = np.arange(0.5, 101.6)  # four squares of 25.4 mm each way, on points 1 mm apart
    printed = np.zeros((102, 102), bool)
    printed[10:12, 10:12] = printed[20, 5] = True
    assert points_per_square_inch(x, x, printed, 4.0).sum() == pytest.approx((4 * 25.4 / 102) ** 2)
    assert points_per_square_inch(x, x, printed, 4.1).sum() == 0


def test_a_face_without_a_mark_has_no_point_in_any_square_inch():
    x = np.arange(0.0, 101.0, 2.0)
    assert not points_per_square_inch(x, x, np.zeros((51, 51), bool)).any()
