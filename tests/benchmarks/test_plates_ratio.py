"""Speed as ratios, measured by processor time so that a busy machine tells the same; nothing here is a wall time."""

import time

import numpy as np

from simulate.method.plates import three_plates


def seconds(call, repeats=3):
    best = np.inf
    for _ in range(repeats):
        begun = time.process_time()
        call()
        best = min(best, time.process_time() - begun)
    return best


def workshops(count, points=31):
    rng = np.random.default_rng(8)
    u, v = np.meshgrid(*[np.linspace(-1, 1, points)] * 2)
    shapes = np.stack([u**2 + v**2, u**2 - v**2, u * v, u**3])
    h = np.tensordot(rng.normal(size=(count, 3, 4)), shapes, axes=1) + rng.normal(0, 0.01, (count, 3, points, points))
    return 150 * u[0], 100 * h


def test_many_workshops_in_one_call_beat_a_loop_over_them():
    x, h = workshops(1000)
    together = seconds(lambda: three_plates(x, x, h, removal_um=30, passes=30, seed=1), 1)
    alone = seconds(lambda: [three_plates(x, x, one, removal_um=30, passes=30, seed=1) for one in h[:10]], 2) * 100
    print(f"1000 workshops of 31 x 31, 30 passes: loop / one call = {alone / together:.1f}")
    assert alone > 5 * together
