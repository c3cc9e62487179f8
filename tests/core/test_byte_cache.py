"""What a session keeps from memory stays under one lid of bytes, and is the same as worked out anew."""

from itertools import product

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulate.core.byte_cache import MOST_BYTES, Pool, bytes_of, remembered
from simulate.show.bars import run_panel
from simulate.show.bars.three_bars import ThreeBarsPanel
from simulate.show.bars.two_bars import TwoBarsPanel
from simulate.show.plates import three_plates as plates


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


def test_a_function_counts_as_what_it_was_made_around():
    heights = np.zeros(1000)
    assert bytes_of((lambda x: x + heights,)) - bytes_of((len,)) > heights.nbytes


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


def corners(panel, **fixed):
    """The settings at the ends of all sliders, with every choice of a menu."""
    ends = {}
    for name, control in panel.controls.items():
        lowest = getattr(control, "min", None)
        choices = [False, True] if isinstance(control, widgets.Checkbox) else getattr(control, "options", None)
        ends[name] = list(choices) if lowest is None else [lowest, control.max]
    return [dict(zip(ends, chosen)) for chosen in product(*(fixed.get(name, both) for name, both in ends.items()))]


def holds_little(panel, setting):
    """Put the sliders there, and count what the run holds: a bound on looks, passes and bytes."""
    panel._quiet = True
    for name, value in setting.items():
        panel.controls[name].value = value
    panel._quiet = False
    panel.refresh()
    history = panel.history
    arrays = {id(a): a for step in history.steps for a in vars(step).values() if isinstance(a, np.ndarray)}
    roots = {id(b): b.nbytes for b in (a.base if isinstance(a.base, np.ndarray) else a for a in arrays.values())}
    assert len(history.steps) <= run_panel.RECORD.most_looks and panel.position.max == max(len(history.steps) - 1, 1)
    assert sum(roots.values()) < 13_000_000 and bytes_of(history) < 14_000_000 < MOST_BYTES
    assert history.passes[-2].sum() < run_panel.RECORD.most_passes, "a further round was begun"
    return history


def test_the_longest_run_of_three_bars_is_kept_in_few_bytes_and_says_what_is_not_shown():
    panel = ThreeBarsPanel(error_um=60, removal_um=15, rounds=1)
    assert "is long" not in panel.sentence and "The run ends" not in panel.sentence
    history = holds_little(panel, {"error_um": 1000, "removal_um": 2, "share": 0, "sight_um": 0.5, "rounds": 8})
    made = len(history.passes) - 1
    assert history.looks_every > 1 and made < 8
    assert f"one step in {history.looks_every} is shown" in panel.sentence
    assert (
        f"The run ends after round {made} of 8, because it has taken {history.passes[-1].sum()} passes"
        in panel.sentence
    )
    assert {step.round for step in history.steps} == set(range(1, made + 1))
    assert [history.steps[k].stage for k in panel.starts()] == ["fit", "fit", "split", "remake"] * made


def test_two_bars_hold_little_at_every_end_of_their_sliders_with_a_file():
    panel = TwoBarsPanel()
    for setting in corners(panel, tool=["second-cut file"], sight_um=[0.5]):
        holds_little(panel, setting)


@pytest.mark.long
@pytest.mark.parametrize("make", [TwoBarsPanel, ThreeBarsPanel])
def test_a_run_holds_little_at_every_end_of_the_sliders(make):
    panel, tried = make(), 0
    for setting in corners(panel):
        holds_little(panel, setting)
        tried += 1
    assert tried == 5 * 2 ** (len(panel.controls) - 1)
