"""Work shared out over the cores of the machine, its results in the order of the tasks."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from itertools import chain, islice
from typing import TYPE_CHECKING, TypeVar

import numpy as np

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future

Task = TypeVar("Task")
Result = TypeVar("Result")
Chance = TypeVar("Chance")


_AMONG_OTHERS = False


def _work_among_others() -> None:
    """Let this process use one core, for there is one process a core."""
    global _AMONG_OTHERS  # noqa: PLW0603  (set once, as the process begins)
    _AMONG_OTHERS = True


def cores() -> int:
    """Count the cores that this process may use.

    >>> cores() >= 1
    True
    """
    if _AMONG_OTHERS:
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def processes(tasks: int) -> Iterator[Executor | None]:
    """Open one process a core for work that holds the interpreter, such as drawing; None for one task or on one core.

    Examples
    --------
    >>> with processes(1) as executor:
    ...     executor is None
    True
    """
    if min(tasks, cores()) < 2:
        yield None
        return
    from concurrent.futures import ProcessPoolExecutor  # a browser's Python has none
    from multiprocessing import get_context

    many, context = min(tasks, cores()), get_context("spawn")
    with ProcessPoolExecutor(many, mp_context=context, initializer=_work_among_others) as executor:
        yield executor


IN_HAND = 64
"""Tasks that are given to an executor of the caller's at once: enough for a cluster, and a bound for the memory."""


def shared_out(
    work: Callable[[Task], Result], tasks: Iterable[Task], ahead: int | None = None, executor: Executor | None = None
) -> Iterator[Result]:
    """Do `work` for each task, several at a time, and give the results in the order of the tasks.

    `work`: must not hang on what another task has left; numpy lets go of the interpreter while it computes, so that
    threads do run together. `tasks`: taken up one by one, so that chance drawn for them comes in order. `ahead`: tasks
    in hand at once, which bounds the memory; the cores by default, 64 with an executor. `executor`: whoever does the
    work: processes, or a cluster through its own executor. `work` and the tasks must then be such that they can be sent
    there. It stays open. Yields: what `work` returns. Whoever stops listening does not wait: tasks in hand run to their
    end unseen, and no others are begun.

    >>> list(shared_out(abs, [-3, 2, -1]))
    [3, 2, 1]
    """
    at_once, tasks = ahead or (cores() if executor is None else IN_HAND), iter(tasks)
    first = list(islice(tasks, at_once))
    tasks = chain(first, tasks)
    if executor is None and (at_once == 1 or len(first) < 2):  # without a thread: a browser's Python has none
        yield from map(work, tasks)
        return
    from concurrent.futures import ThreadPoolExecutor  # it brings logging, which costs an import as much as our checks

    pool = executor or ThreadPoolExecutor(at_once)
    begun: deque[Future] = deque()
    try:
        while True:
            begun.extend(pool.submit(work, task) for task in islice(tasks, at_once - len(begun)))
            if not begun:
                return
            yield begun.popleft().result()
    finally:
        for future in begun:
            future.cancel()
        if executor is None:
            pool.shutdown(wait=False)  # all is cancelled above; its own cancelling fails where the interpreter ends


def heaviest_first(
    work: Callable[[Task], Result], tasks: Sequence[Task], weights: Sequence[float], executor: Executor | None = None
) -> Iterator[tuple[int, Result]]:
    """Do `work` for each task, the heaviest first, so that at the end no core waits long for another.

    `weights`: one a task. `executor`: whoever does the work; without one, one task after the other. Yields: the place
    of a task, and what `work` returns.

    >>> list(heaviest_first(abs, [-3, 2, -1], [1, 3, 2]))
    [(1, 2), (2, 1), (0, 3)]
    """
    order = sorted(range(len(tasks)), key=lambda place: -weights[place])
    ahead = 1 if executor is None else None
    yield from zip(order, shared_out(work, [tasks[place] for place in order], ahead, executor))


def side_by_side(parts: int, most: int) -> list[range]:
    """Join parts so that fewer calls are made, each of which another thread may have to wait for.

    `most`: parts joined at most, which bounds the memory. Two parts stay two jobs. How they are
    joined does not hang on the machine: sums over more rows may round otherwise.

    >>> side_by_side(1, 3), side_by_side(7, 3)
    ([range(0, 1)], [range(0, 3), range(3, 6), range(6, 7)])
    """
    each = min(most, max(1, parts // 2))
    return [range(k, min(k + each, parts)) for k in range(0, parts, each)]


def fill_parts(
    work: Callable[[list[np.ndarray], Chance], object],
    arrays: Sequence[np.ndarray],
    parts: Sequence[slice],
    chances: Sequence[Chance],
    executor: Executor | None = None,
) -> None:
    """Have every part of some arrays filled with chance of its own, in place on this machine's cores or sent away.

    `work`: is given a part of each array, and fills them. `arrays`: alike in their first axis, which the parts are of.
    `chances`: one for each part, or a list of several, so that it does not matter who does it and when. `executor`:
    whoever does the work: processes, or a cluster through its own executor. It stays open.

    >>> found = np.zeros(2)
    >>> rng = np.random.default_rng(1)
    >>> fill_parts(lambda arrays, chance: arrays[0].fill(7), [found], [slice(0, 1), slice(1, 2)], [rng, rng])
    >>> found
    array([7., 7.])
    """
    if executor is None:
        for _ in shared_out(lambda task: work([a[task[0]] for a in arrays], task[1]), zip(parts, chances)):
            pass
        return
    tasks = (([a[part] for a in arrays], chance) for part, chance in zip(parts, chances))
    for part, filled in zip(parts, shared_out(partial(_filled, work), tasks, executor=executor)):
        for array, new in zip(arrays, filled):
            array[part] = new


def _filled(
    work: Callable[[list[np.ndarray], Chance], object], task: tuple[list[np.ndarray], Chance]
) -> list[np.ndarray]:
    arrays = [a.copy() for a in task[0]]  # what came over a wire may not be written to
    work(arrays, task[1])
    return arrays
