"""Uneven light on a photographed face taken out: what is left is how much darker a place is than clean metal."""

from __future__ import annotations

import numpy as np
import scipy

BLOCKS = 8
"""So many fields each way in which clean metal is looked for; more along a face that is longer than twice its depth."""
_TIMES = 2
"""The second time the slope of the light within a field is gone, which hides what is clean there."""
_CLEAN = 0.9
"""Part of a field's brightness below which clean metal lies: at most so much of a field may be marked but a tenth."""
_START = 0.85
"""Part of the fields that lie below the light it starts from: up to two thirds of them may be marks all over."""


def evened(face: np.ndarray) -> np.ndarray:
    """Say how much darker each place is than clean metal beside it.

    `face` (rows, columns): light, 0 to 1. Returns (rows, columns): natural logarithm of the brightness over that of
    clean metal in the same light: about 0 on metal, below it on a mark.

    Light that a window or the lens spreads changes slowly over the face. In each of 8 x 8 fields clean metal is taken
    to be what all but a tenth of the places stay below; a surface of the third order through those logarithms is the
    light. It starts from the surface that all but 15 % of the fields stay below (R. Koenker and G. Bassett, 1978), so
    that a stretch that is one mark does not draw it down, and gives little weight to fields that lie far off it
    (Cauchy's loss). What it cannot see: a shadow with a sharp edge, and glare.

    >>> light = np.exp(np.linspace(0, 1, 160))[None, :] * np.linspace(1, 2, 160)[:, None] * 0.1
    >>> bool(np.abs(evened(light)).max() < 0.15)
    True
    """
    logs = np.log(np.maximum(face, 1e-4))
    short = min(face.shape)
    fields = [np.array_split(np.arange(n), max(BLOCKS, int(BLOCKS * (n / short / 2) ** 0.5))) for n in face.shape]
    along = [2 * np.arange(many) / max(many - 1, 1) - 1 for many in face.shape]
    powers = [(i, j) for i in range(4) for j in range(4 - i)]
    v, u = (np.array([a[part].mean() for part in parts]) for a, parts in zip(along, fields))
    terms = np.stack([np.outer(v**i, u**j).ravel() for i, j in powers], axis=1)
    for _ in range(_TIMES):
        clean = np.array(
            [np.quantile(logs[r[0] : r[-1] + 1, c[0] : c[-1] + 1], _CLEAN) for r in fields[0] for c in fields[1]]
        )
        start = _below(terms, clean)
        found = scipy.optimize.least_squares(lambda k, at=clean: terms @ k - at, start, loss="cauchy", f_scale=0.05).x
        logs = logs - sum(k * np.outer(along[0] ** i, along[1] ** j) for k, (i, j) in zip(found, powers))
    return np.asarray(logs, dtype=np.float32)


def _below(terms: np.ndarray, clean: np.ndarray) -> np.ndarray:
    """Factors of the terms whose sum so many of the fields stay below."""
    fields, many = terms.shape
    each = scipy.sparse.identity(fields)
    cost = np.r_[np.zeros(many), np.full(fields, _START), np.full(fields, 1 - _START)]
    free = [(None, None)] * many + [(0, None)] * 2 * fields
    equal = scipy.sparse.hstack([scipy.sparse.csr_matrix(terms), each, -each], format="csc")
    return np.asarray(scipy.optimize.linprog(cost, A_eq=equal, b_eq=clean, bounds=free, method="highs").x[:many])
