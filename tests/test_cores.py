"""Work shared out over cores: order, bound, refusals, and figures that do not depend on the cores."""

import threading

import numpy as np
import pytest

from simulate.method import bars
from simulate.method.planning import growing_plan, plan_job
from simulate.surface import cores
from simulate.surface.bars import starting_bars
from simulate.surface.cores import shared_out


def test_results_come_in_the_order_of_the_tasks_though_a_later_one_is_done_first():
    later = threading.Event()

    def work(task):
        if task == 0:
            assert later.wait(10)
        else:
            later.set()
        return task

    assert list(shared_out(work, [0, 1, 2], ahead=2)) == [0, 1, 2]
    assert list(shared_out(abs, [], ahead=2)) == []


def test_no_more_tasks_are_taken_up_than_may_be_in_hand():
    taken, most = [], 0
    results = shared_out(abs, (taken.append(k) or k for k in range(20)), ahead=3)
    for count, _ in enumerate(results, 1):
        most = max(most, len(taken) - count)
    assert count == 20 and len(taken) == 20 and most == 2


def test_who_stops_listening_begins_nothing_more():
    taken = []
    results = shared_out(abs, (taken.append(k) or k for k in range(20)), ahead=2)
    assert next(results) == 0
    results.close()
    assert taken == [0, 1]


@pytest.mark.parametrize("tasks, ahead", [([5], 3), ([5, 6, 7], 1)])
def test_one_task_or_one_core_needs_no_thread(tasks, ahead, monkeypatch):
    monkeypatch.setattr(cores, "ThreadPoolExecutor", None)  # as in a browser, where none can be begun
    assert list(shared_out(str, tasks, ahead)) == [str(t) for t in tasks]


def test_a_refusal_comes_when_the_turn_of_its_task_comes():
    results = shared_out(lambda k: 6 // k, [3, 2, 0, 1], ahead=4)
    assert [next(results), next(results)] == [2, 3]
    with pytest.raises(ZeroDivisionError):
        next(results)


@pytest.fixture(params=[2, 5])
def counted(request, monkeypatch):
    """Runs a call on one core, and on more."""
    def both(call):
        found = []
        for count in (1, request.param):
            monkeypatch.setattr(cores, "cores", lambda count=count: count)
            found.append(call())
        return found
    return both


def test_many_bars_come_out_the_same_on_one_core_and_on_more(counted, monkeypatch):
    monkeypatch.setattr(bars, "STREAM_HEIGHTS", 3 * 41)  # eleven workshops in four pieces
    x, h = starting_bars(500, 200, points=41, workshops=11, seed=2)
    one, more = counted(lambda: bars.three_bars(x, h, rounds=2, removal_um=20, seed=4))
    assert (one.height_um == more.height_um).all() and (one.passes == more.passes).all()
    assert (one.height_um[:, -1] != one.height_um[:, 0]).any(axis=(-2, -1)).all()


def test_a_plan_is_the_same_on_one_core_and_on_more(counted):
    one, more = counted(lambda: plan_job(60, 10, removal_um=20, rounds=2, points=11, workshops=1200, seed=1))
    assert one.workshops == more.workshops == 1200
    np.testing.assert_array_equal(one.worst_um, more.worst_um)
    np.testing.assert_array_equal(one.hours, more.hours)


def test_a_plan_of_which_nobody_wants_more_ends():
    plans = growing_plan(60, 10, removal_um=20, rounds=1, points=11, workshops=10_000, seed=1)
    assert next(plans).workshops == 200
    plans.close()
    assert next(plans, None) is None
