"""Bands of many workshops: kept whole while they are few, counted into bins when they are very many."""

from __future__ import annotations

import numpy as np

QUANTILES = (0.1, 0.5, 0.9)
_LOW, _HIGH, _BINS = 1e-3, 1e7, 4600
"""Bins half a percent wide, a thousandth to ten millions."""


class Kept:
    """Every value, block after block.

    >>> kept = Kept()
    >>> kept.add("hours", np.array([1.0, 2.0]))
    >>> kept.add("hours", np.array([3.0]))
    >>> kept.quantiles("hours", (0.5,)).tolist()
    [2.0]
    """

    def __init__(self) -> None:
        self._parts: dict[str, list[np.ndarray]] = {}

    def add(self, name: str, values: np.ndarray) -> None:
        """Take in the values of one block.

        `values` (workshops, ...).
        """
        self._parts.setdefault(name, []).append(values)

    def quantiles(self, name: str, at: tuple[float, ...] = QUANTILES) -> np.ndarray:
        """Give quantiles over all workshops.

        Returns (quantiles, ...).
        """
        return np.quantile(np.concatenate(self._parts[name]), at, axis=0)


class Binned:
    """Counts in narrow bins: the same memory for a thousand workshops and for a million.

    A quantile is the mean of the values in its bin: within half a percent of
    the exact one, and exact where all values of the bin are alike, as whole
    numbers of rounds are. Values under 0.001 share a bin, and so do those over
    ten millions. Where two neighbouring values are far apart, the quantile
    between them is the lower one.

    >>> binned = Binned()
    >>> binned.add("hours", np.array([1.0, 2.0, 3.0]))
    >>> bool(abs(binned.quantiles("hours", (0.5,))[0] - 2) < 0.01)
    True
    """

    def __init__(self) -> None:
        self._counts: dict[str, np.ndarray] = {}
        self._sums: dict[str, np.ndarray] = {}
        self._edges = np.geomspace(_LOW, _HIGH, _BINS + 1)

    def add(self, name: str, values: np.ndarray) -> None:
        """Count the values of one block.

        `values` (workshops, ...).
        """
        columns = values.reshape(len(values), -1)
        place = np.clip(np.searchsorted(self._edges, columns, side="right") - 1, 0, _BINS - 1)
        flat = (place + _BINS * np.arange(columns.shape[1])).ravel()
        shape, size = values.shape[1:] + (_BINS,), _BINS * columns.shape[1]
        for kept, weights in ((self._counts, None), (self._sums, columns.ravel())):
            kept[name] = kept.get(name, 0) + np.bincount(flat, weights, size).reshape(shape)

    def quantiles(self, name: str, at: tuple[float, ...] = QUANTILES) -> np.ndarray:
        """Give quantiles over all workshops.

        Returns (quantiles, ...).
        """
        counts = self._counts[name]
        part = np.cumsum(counts, axis=-1) / counts.sum(axis=-1, keepdims=True)
        mean = self._sums[name] / np.maximum(counts, 1)
        places = (np.argmax(part >= q, axis=-1)[..., None] for q in at)
        return np.stack([np.take_along_axis(mean, place, axis=-1)[..., 0] for place in places])
