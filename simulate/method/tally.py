"""Bands of many workshops: kept whole while they are few, counted into bins when they are very many."""

from __future__ import annotations

import numpy as np

QUANTILES = (0.1, 0.5, 0.9)
_LOW, _HIGH, _BINS = 1e-3, 1e7, 4600
"""Bins half a percent wide, a thousandth to ten millions."""


class Kept:
    """Every value, block after block.

    Examples
    --------
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

        Parameters
        ----------
        name : str
        values : ndarray, shape (workshops, ...)
        """
        self._parts.setdefault(name, []).append(values)

    def quantiles(self, name: str, at: tuple[float, ...] = QUANTILES) -> np.ndarray:
        """Give quantiles over all workshops.

        Parameters
        ----------
        name : str
        at : tuple of float

        Returns
        -------
        ndarray, shape (quantiles, ...)
        """
        return np.quantile(np.concatenate(self._parts[name]), at, axis=0)


class Binned:
    """Counts in narrow bins: the same memory for a thousand workshops and for a million.

    Notes
    -----
    A quantile is good to half a percent of itself; values under 0.001 count as
    0.001, values over ten millions as that.

    Examples
    --------
    >>> binned = Binned()
    >>> binned.add("hours", np.array([1.0, 2.0, 3.0]))
    >>> bool(abs(binned.quantiles("hours", (0.5,))[0] - 2) < 0.01)
    True
    """

    def __init__(self) -> None:
        self._counts: dict[str, np.ndarray] = {}
        self._edges = np.geomspace(_LOW, _HIGH, _BINS + 1)

    def add(self, name: str, values: np.ndarray) -> None:
        """Count the values of one block.

        Parameters
        ----------
        name : str
        values : ndarray, shape (workshops, ...)
        """
        columns = values.reshape(len(values), -1)
        place = np.clip(np.searchsorted(self._edges, columns, side="right") - 1, 0, _BINS - 1)
        flat = place + _BINS * np.arange(columns.shape[1])
        counts = np.bincount(flat.ravel(), minlength=_BINS * columns.shape[1])
        self._counts[name] = self._counts.get(name, 0) + counts.reshape(values.shape[1:] + (_BINS,))

    def quantiles(self, name: str, at: tuple[float, ...] = QUANTILES) -> np.ndarray:
        """Give quantiles over all workshops.

        Parameters
        ----------
        name : str
        at : tuple of float

        Returns
        -------
        ndarray, shape (quantiles, ...)
        """
        counts = self._counts[name]
        part = np.cumsum(counts, axis=-1) / counts.sum(axis=-1, keepdims=True)
        middle = np.sqrt(self._edges[1:] * self._edges[:-1])
        return np.stack([middle[np.argmax(part >= q, axis=-1)] for q in at])
