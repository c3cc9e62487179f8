"""Chance: a generator from a seed."""

from __future__ import annotations

import numpy as np

from simulate.core.values import whole


def generator(seed: int | np.random.Generator | None) -> np.random.Generator:
    """A source of chance from a seed, or a refusal in one sentence.

    `seed`: none draws fresh chance each time.

    >>> int(generator(1).integers(10)) == int(generator(1).integers(10))
    True
    """
    if isinstance(seed, (np.random.Generator, np.random.SeedSequence)) or seed is None:
        return np.random.default_rng(seed)
    return np.random.default_rng(whole(seed, "seed", 0))
