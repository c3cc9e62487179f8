"""Threads of the libraries below numpy: one each, since the course shares its work out itself, and many kernels share a
machine."""

from __future__ import annotations

import os

NAMES = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")


def one_each() -> None:
    """Ask for one native thread, where nobody asked for another number; it counts for libraries loaded later.

    Threads of a small product of matrices wait for each other, by spinning: on two cores that other work shares they
    took four times the processor's time and five times the learner's.

    >>> one_each()
    >>> set(NAMES) <= set(os.environ)
    True
    """
    for name in NAMES:
        os.environ.setdefault(name, "1")
