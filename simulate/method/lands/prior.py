"""What one level of land gauges hands on to the next: points with their covariance, and zeros that were learned."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.lands.design_matrix import row_of
from simulate.method.lands.land_fit import Fit, snapped


def learned(prior, fits: Sequence[Fit]) -> dict:
    """Give the gauges whose zero the level before has settled and that serve again.

    Returns: gauge to an endless deviation: what is known of it comes with the level before.

    >>> from simulate.method.lands.levelling import solve_network
    >>> fits = [Fit((0, 1, 2), 0.5)]
    >>> learned(solve_network(fits, zero_sd_um={"gauge": 1.0}), fits), learned(None, fits)
    ({'gauge': inf}, {})
    """
    serving = {f.gauge for f in fits}
    settled = [] if prior is None else [name for (name, _), (_, sd) in prior.zero_um.items() if np.isfinite(sd)]
    return {name: np.inf for name in settled if name in serving}


def carried(prior, zeros: dict, start: int) -> dict:
    """Give the zeros of a level together with those that the level before has settled.

    `zeros`: as from `reading_rows`. `start`: the first free column. Returns: as `zeros`; a zero that is known from
    before has an endless deviation of its own, so that what was known of it at first does not count twice.

    >>> from simulate.method.lands.levelling import solve_network
    >>> before = solve_network([Fit((0, 1, 2), 0.5)], zero_sd_um={"gauge": 1.0})
    >>> carried(before, {("gauge", 0): (1, 1.0)}, 2), carried(before, {}, 2)
    ({('gauge', 0): (1, inf)}, {('gauge', 0): (2, inf)})
    """
    out = dict(zeros)
    for name, (_, sd) in prior.zero_um.items():
        if np.isfinite(sd):
            out[name] = (out[name][0] if name in out else start + len(out) - len(zeros), np.inf)
    return out


def prior_rows(
    prior, trusted_mm: ArrayLike | None, x: np.ndarray, column: np.ndarray, columns: int, zeros: dict
) -> tuple[scipy.sparse.csr_matrix, np.ndarray]:
    """Rows that weigh in what was settled before, and their values.

    `trusted_mm`: none trusts all that it reached. `zeros`: as from `carried`. Returns `values` (..., rows).

    >>> from simulate.method.lands.levelling import solve_network
    >>> before = solve_network([Fit((0, 1, 2), 0.5)])
    >>> abs(prior_rows(before, [1], before.x_mm, np.array([-1, 0, -1]), 1, {})[0].toarray()).round(6).tolist()
    [[2.0]]
    """
    trusted = trusted_of(prior, trusted_mm)
    lost = ~np.isin(trusted, prior.x_mm[prior.reached])
    if lost.any():
        raise Refusal(
            "choice",
            where="trusted_mm",
            found=f"{trusted[lost][0]:g}, which the step before did not reach",
            must_be=f"one of {row_of(prior.x_mm[prior.reached])}",
        )
    before = np.searchsorted(prior.x_mm, trusted)
    at = column[np.searchsorted(x, trusted)]
    before, at = before[at >= 0], at[at >= 0]
    known = [(k, name) for k, name in enumerate(prior.zero_um) if name in zeros and np.isfinite(prior.zero_um[name][1])]
    before = np.concatenate([before, [len(prior.x_mm) + k for k, _ in known]]).astype(int)
    at = np.concatenate([at, [zeros[name][0] for _, name in known]]).astype(int)
    value, axis = np.linalg.eigh(prior.joint_um2[np.ix_(before, before)])
    white = (axis / np.sqrt(np.maximum(value, 1e-18))).T
    rows = np.zeros((len(at), columns))
    rows[:, at] = white
    if prior.height_um is None:
        return scipy.sparse.csr_matrix(rows), np.zeros(len(at))
    shape = prior.height_um.shape[:-1] + (1,)
    shifts = [np.broadcast_to(np.asarray(v)[..., None], shape) for v, _ in prior.zero_um.values()]
    return scipy.sparse.csr_matrix(rows), np.concatenate([prior.height_um, *shifts], axis=-1)[..., before] @ white.T


def trusted_of(prior, trusted_mm: ArrayLike | None) -> np.ndarray:
    """Give the points of a level that are trusted: all that it reached where nothing is said.

    >>> from simulate.method.lands.levelling import solve_network
    >>> trusted_of(solve_network([Fit((0, 1, 2), 0.5)]), None).tolist()
    [0.0, 1.0, 2.0]
    """
    return (
        prior.x_mm[prior.reached] if trusted_mm is None else snapped(checks.numbers(trusted_mm, "trusted_mm").ravel())
    )
