"""Planning as ratios of two things that run one after the other, by processor time; no time on the clock is asserted.

The loop is 25 plans of one workshop each, scaled up. Run with `-s` to see the figures.
"""

import time

from simulate.method.planning import growing_plan, plan_job

JOB = {"start_um": 250, "wanted_um": 10, "removal_um": 10, "rounds": 5}


def seconds(call):
    begun = time.process_time()
    call()
    return time.process_time() - begun


def ratio(points):
    """A loop of single plans against ten thousand workshops in one call."""
    plan_job(**JOB, workshops=1, points=points, seed=1)
    alone = [seconds(lambda: plan_job(**JOB, workshops=1, points=points, seed=seed)) for seed in range(25)]
    assert len(alone) == 25
    plans = []
    many = seconds(lambda: plans.append(plan_job(**JOB, workshops=10_000, points=points, seed=1)))
    assert plans[0].workshops == 10_000 and plans[0].reached[-1] > 0.9
    return sum(alone) / 25 * 10_000 / many


def test_ten_thousand_workshops_planned_in_one_call_beat_a_loop_of_single_plans():
    # The best of six: what else runs on the machine must not decide.
    found = []
    while len(found) < 6 and max(found, default=0) < 50:
        found.append(ratio(points=31))
    print(f"\n10 000 workshops planned at 31 points: {max(found):.0f} times quicker than single plans")
    assert max(found) >= 45


def test_a_first_answer_takes_a_small_part_of_the_whole_plan():
    setting = dict(JOB, workshops=10_000, points=31, seed=1)
    plans = growing_plan(**setting)
    first = seconds(lambda: next(plans))
    rest = seconds(lambda: list(plans))
    print(f"\nfirst answer of 10 000 workshops after 1/{(first + rest) / first:.0f} of the time")
    assert first + rest > 12 * first
