"""What a session keeps from memory stays under one lid of bytes, and is the same as worked out anew."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from simulate.core.byte_cache import MOST_BYTES, Pool, bytes_of, remembered
from simulate.show import plates, run_panel


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 300)), max_size=60))
def test_however_it_is_asked_the_lid_holds_and_the_answers_are_right(asked):
    pool = Pool(4000)

    @pool.remembered
    def line(height, points):
        return np.full(points, height)

    for height, points in asked:
        assert (line(height, points) == height).all() and len(line(height, points)) == points
        assert pool.held_bytes <= 4000
        assert pool.held_bytes == sum(size for _, size in pool._held.values()) == line.cache_info().held_bytes
    line.cache_clear()
    assert pool.held_bytes == 0


def test_the_longest_unused_goes_first():
    pool, ran = Pool(3 * 800), []

    @pool.remembered
    def line(k):
        ran.append(k)
        return np.zeros(100) + k

    for k in (1, 2, 3, 1, 4, 1, 2):
        line(k)
    assert ran == [1, 2, 3, 4, 2]


def test_a_view_counts_as_what_it_keeps_alive():
    whole = np.zeros((100, 100))
    assert bytes_of(whole[0, :5]) == bytes_of([whole, whole.T, whole[1:]]) - bytes_of([]) == whole.nbytes


def test_runs_of_bars_and_plates_share_the_lid():
    before = remembered.__self__.held_bytes
    run_panel.run.cache_clear()
    plates.run.cache_clear()
    for seed in range(4):
        run_panel.run(3, 500.0, seed, 200, 10, 0.5, 2.5, "second-cut file", 6)
        history, unseen = plates.run(seed, 200, 80, 2, "quarter turns", 60)
        assert bytes_of((history, unseen)) > sum(s.height_um.nbytes for s in history.steps) / 2
        assert remembered.__self__.held_bytes <= MOST_BYTES
    held = run_panel.run.cache_info().held_bytes + plates.run.cache_info().held_bytes
    assert held > 1_000_000 or before
