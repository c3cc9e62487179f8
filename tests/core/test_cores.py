"""Work shared out over cores: order, bound, refusals, and figures that do not depend on the cores."""

import os
import subprocess
import sys
import threading
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest

from simulate.bench.bending.moving_steel import Steel
from simulate.core import parallel as cores
from simulate.core.native_threads import NAMES
from simulate.core.parallel import processes, shared_out
from simulate.method.bars import three_bar_loop as bars
from simulate.method.bars.three_bar_loop import two_bars
from simulate.method.planning.plan import growing_plan, plan_job
from simulate.method.plates import three_plate_loop as plates
from simulate.surface.starting_bars import starting_bars
from simulate.surface.starting_plates import starting_plates


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


LEFT = """
import ctypes, sys, types
holder = sys.modules["holder"] = types.ModuleType("holder")
from simulate.core.parallel import shared_out
holder.left = shared_out(abs, range(9), ahead=2)
assert next(holder.left) == 0
for module in (holder, sys.modules["concurrent.futures.thread"]):  # still there when names are taken away
    ctypes.pythonapi.Py_IncRef(ctypes.py_object(module))
"""


def test_who_never_goes_on_listening_leaves_no_word_when_the_interpreter_ends():
    told = subprocess.run([sys.executable, "-c", LEFT], capture_output=True, text=True, check=False)
    assert (told.returncode, told.stdout, told.stderr) == (0, "", "")


@pytest.mark.parametrize("tasks, ahead", [([5], 3), ([5, 6, 7], 1)])
def test_one_task_or_one_core_needs_no_thread(tasks, ahead, monkeypatch):
    monkeypatch.setattr("concurrent.futures.ThreadPoolExecutor", None)  # as in a browser, where none can be begun
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


PLAN = {"start_um": 60, "wanted_um": 15, "workshops": 1200, "rounds": 2, "points": 31, "seed": 4}


def test_who_stops_listening_to_an_executor_takes_back_what_is_not_begun():
    class Waiting(Executor):
        begun = ()

        def submit(self, work, *arguments):
            self.begun = (*self.begun, Future())
            return self.begun[-1]

    pool = Waiting()
    results = shared_out(abs, range(100), ahead=5, executor=pool)
    pool_fills = threading.Thread(target=lambda: next(results))
    pool_fills.start()
    while len(pool.begun) < 5:
        pass
    pool.begun[0].set_result(0)
    pool_fills.join()
    results.close()
    assert len(pool.begun) == 5 and all(future.cancelled() for future in pool.begun[1:])


def everything(executor):
    """Every function that takes many workshops through a job, each in several blocks."""
    x, h = starting_bars(500, 120, points=31, workshops=7, seed=2)
    px, py, ph = starting_plates(200, 200, 60, points=7, workshops=5, seed=3)
    with pytest.MonkeyPatch.context() as small:
        small.setattr(bars, "STREAM_HEIGHTS", 3 * 31)
        small.setattr(plates, "STREAM_HEIGHTS", 2 * 3 * 7 * 7)
        found = [
            two_bars(x, h[:, :2], removal_um=20, seed=4, executor=executor),
            bars.three_bars(x, h, rounds=1, removal_um=20, seed=4, steel=Steel(hand_n=30.0), executor=executor),
            plates.three_plates(px, py, ph, removal_um=20, passes=7, seed=4, executor=executor),
        ]
    return [*found, plan_job(**PLAN, executor=executor)]


def same(one, other):
    """Whether two numbers, arrays or tuples are the same to the last bit."""
    return np.array_equal(one, other, equal_nan=True) if isinstance(one, np.ndarray) else one == other


def same_everything(one, other):
    assert len(one) == len(other) == 4
    return all(same(value, getattr(b, name)) for a, b in zip(one, other) for name, value in vars(a).items())


def test_many_workshops_come_out_the_same_on_one_core_on_threads_and_in_processes(monkeypatch):
    monkeypatch.setattr(cores, "cores", lambda: 1)
    one = everything(None)
    monkeypatch.setattr(cores, "cores", lambda: 3)
    assert same_everything(one, everything(None))
    with ThreadPoolExecutor(2) as threads, ProcessPoolExecutor(2, mp_context=get_context("spawn")) as processes:
        for pool in (threads, processes):
            assert same_everything(one, everything(pool))
            assert pool.submit(abs, -1).result() == 1


def test_a_run_that_is_recorded_stays_here_where_its_record_is():
    x, h = starting_bars(500, 120, points=31, seed=2)
    run = bars.three_bars(x, h, rounds=1, removal_um=20, seed=4, executor=Executor())
    assert len(run.steps) > 3


@pytest.mark.long
def test_a_cluster_of_processes_gives_the_same_figures():
    distributed = pytest.importorskip("distributed", reason="needs the extra cluster")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        with distributed.Client(cluster) as client:
            assert same_everything(everything(client.get_executor()), everything(None))


@pytest.mark.parametrize(("asked", "had"), [(None, "1"), ("3", "3")])
def test_libraries_below_numpy_start_one_thread_where_nobody_asked_for_more(asked, had):
    code = (
        "import os, simulate, numpy; numpy.ones((900, 900)) @ numpy.ones((900, 900));"
        "tasks = '/proc/self/task'; print(os.environ['OPENBLAS_NUM_THREADS'],"
        " len(os.listdir(tasks)) if os.path.isdir(tasks) else 0)"
    )
    surroundings = {name: value for name, value in os.environ.items() if name not in NAMES}
    surroundings |= {} if asked is None else {"OPENBLAS_NUM_THREADS": asked}
    run = subprocess.run([sys.executable, "-c", code], env=surroundings, capture_output=True, text=True, check=True)
    threads, running = run.stdout.split()
    assert threads == had and (asked is not None or int(running) <= 1)


def test_the_tests_ask_for_one_thread_before_any_of_them_loads_numpy(root):
    code = "import os, sys, conftest; print(os.environ.get('OPENBLAS_NUM_THREADS'), 'numpy' in sys.modules)"
    surroundings = {name: value for name, value in os.environ.items() if name not in NAMES}
    there = [sys.executable, "-c", code]
    run = subprocess.run(there, cwd=root / "tests", env=surroundings, capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["1", "False"]


def test_processes_do_the_work_elsewhere_and_one_task_is_done_here():
    with processes(2) as executor:
        if executor is None:
            pytest.skip("one core")
        there = list(shared_out(_whose, range(2), executor=executor))
    with processes(1) as executor:
        here = list(shared_out(_whose, range(2), 1, executor))
    assert os.getpid() not in there and here == [os.getpid()] * 2


def _whose(_task):
    return os.getpid()


@pytest.mark.skipif(cores.cores() < 2, reason="one core opens no processes")
def test_a_process_among_others_keeps_to_one_core():
    with processes(2) as executor:
        assert executor.submit(cores.cores).result() == 1
    assert cores.cores() > 1
