"""Answers kept from memory, within one lid of bytes for the whole session."""

from __future__ import annotations

import sys
from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import wraps
from threading import RLock
from types import ModuleType
from typing import Any, NamedTuple

import numpy as np

MOST_BYTES = 24_000_000
"""Of all that is kept in one session, whichever functions it comes from: a class has one session a student."""


class Info(NamedTuple):
    """How often a function was answered from memory, how often it was run, and what it holds."""

    hits: int
    misses: int
    held_bytes: int


class Pool:
    """Results by function and arguments, the longest unused thrown away first.

    >>> pool = Pool(1000)
    >>> @pool.remembered
    ... def line(points): return np.zeros(points)
    >>> line(100) is line(100), line(200) is line(200)
    (True, False)
    >>> line.cache_info()
    Info(hits=1, misses=3, held_bytes=800)
    """

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes, self.held_bytes = most_bytes, 0
        self._held: OrderedDict[tuple, tuple[Any, int]] = OrderedDict()
        self._lock = RLock()

    def remembered(self, function: Callable) -> Callable:
        """Have a pure function of hashable arguments answer from memory what it was asked before.

        Returns: with ``cache_info()`` and ``cache_clear()``. A result larger than the lid is given and not kept.
        """
        counts = {"hits": 0, "misses": 0}

        @wraps(function)
        def asked(*args: Hashable, **given: Hashable) -> Any:
            key = (function, args, tuple(sorted(given.items())))
            with self._lock:
                if key in self._held:
                    counts["hits"] += 1
                    self._held.move_to_end(key)
                    return self._held[key][0]
            result = function(*args, **given)
            with self._lock:
                counts["misses"] += 1
                self._keep(key, result)
            return result

        def info() -> Info:
            return Info(**counts, held_bytes=sum(size for key, (_, size) in self._held.items() if key[0] is function))

        vars(asked).update(cache_info=info, cache_clear=lambda: self._forget(lambda key: key[0] is function))
        return asked

    def _keep(self, key: tuple, result: Any) -> None:
        size = bytes_of(result)
        self.held_bytes -= self._held.pop(key, (None, 0))[1]
        if size > self.most_bytes:
            return
        self._held[key] = result, size
        self.held_bytes += size
        while self.held_bytes > self.most_bytes:
            self.held_bytes -= self._held.popitem(last=False)[1][1]

    def _forget(self, which: Callable[[tuple], bool]) -> None:
        with self._lock:
            for key in [key for key in self._held if which(key)]:
                self.held_bytes -= self._held.pop(key)[1]


def bytes_of(thing: Any) -> int:
    """Return the memory that a result holds on to.

    `thing`: arrays, texts, and containers, dataclasses and objects of them. Returns: each array once; a view counts as
    the whole array behind it, which it keeps alive, and a function as what it was made around.

    >>> rows = np.zeros((10, 100))
    >>> bytes_of((rows[0], rows[1], rows)) - bytes_of((rows,)) < 100
    True
    """
    seen: set[int] = set()
    todo, total = [thing], 0
    while todo:
        one = todo.pop()
        while isinstance(one, np.ndarray) and isinstance(one.base, np.ndarray):
            one = one.base
        if id(one) in seen:
            continue
        seen.add(id(one))
        if isinstance(one, np.ndarray):
            total += one.nbytes
        elif isinstance(one, dict):
            todo += [*one.keys(), *one.values()]
        elif isinstance(one, (tuple, list, set, frozenset)):
            todo += one
        else:
            total += sys.getsizeof(one)
            todo += [cell.cell_contents for cell in getattr(one, "__closure__", None) or ()]
            todo += [] if callable(one) or isinstance(one, ModuleType) else list(getattr(one, "__dict__", {}).values())
    return total


remembered = Pool(MOST_BYTES).remembered
"""The session's one memory."""
