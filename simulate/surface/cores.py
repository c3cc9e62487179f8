"""Work shared out over the cores of the machine, its results in the order of the tasks."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from itertools import chain, islice
from typing import TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")


def cores() -> int:
    """Count the cores that this process may use.

    Returns
    -------
    int

    Examples
    --------
    >>> cores() >= 1
    True
    """
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def shared_out(work: Callable[[Task], Result], tasks: Iterable[Task], ahead: int | None = None) -> Iterator[Result]:
    """Do `work` for each task, several at a time, and give the results in the order of the tasks.

    Parameters
    ----------
    work : callable
        Must not hang on what another task has left; numpy lets go of the
        interpreter while it computes, so that threads do run together.
    tasks : iterable
        Taken up one by one, so that chance drawn for them comes in order.
    ahead : int, optional
        Tasks in hand at once, which bounds the memory; the cores by default.

    Yields
    ------
    object
        What `work` returns. Whoever stops listening does not wait: tasks in
        hand run to their end unseen, and no others are begun.

    Raises
    ------
    Exception
        What `work` raises, when the turn of its task comes.

    Examples
    --------
    >>> list(shared_out(abs, [-3, 2, -1]))
    [3, 2, 1]
    """
    at_once, tasks = ahead or cores(), iter(tasks)
    first = list(islice(tasks, at_once))
    tasks = chain(first, tasks)
    if at_once == 1 or len(first) < 2:  # without a thread: a browser's Python has none
        yield from map(work, tasks)
        return
    pool, begun = ThreadPoolExecutor(at_once), deque()
    try:
        while True:
            begun.extend(pool.submit(work, task) for task in islice(tasks, at_once - len(begun)))
            if not begun:
                return
            yield begun.popleft().result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
