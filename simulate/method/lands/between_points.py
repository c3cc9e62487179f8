"""What a bar with straight points may still be: their scatter, and what lies between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.bending.materials import Material
from simulate.bench.bending.uniform_bar import sag
from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal
from simulate.core.spaces import symmetric_root
from simulate.method.lands.levelling import Network
from simulate.surface.straightness import straightness


@dataclass(frozen=True)
class Expected:
    """Straightness to expect of the points alone.

    `middle_um`: half of all bars come out better (minimum zone). `nineteen_in_twenty_um`: 19 bars of 20 come out
    better.
    """

    middle_um: float
    nineteen_in_twenty_um: float


def straightness_to_expect(network: Network, draws: int = 2000, seed: int | None = None) -> Expected:
    """Straightness (minimum zone) of the reached points, by drawing from their covariance.

    It sees the points, not what lies between them: see `hides_between_um`.

    >>> from simulate.method.lands.land_fit import Fit
    >>> from simulate.method.lands.levelling import solve_network
    >>> 0.6 < straightness_to_expect(solve_network([Fit((0, 1, 2), 1.0)]), seed=1).middle_um < 0.75
    True
    """
    checks.kind(network, "network", Network)
    x = network.x_mm[network.reached]
    if x.size < 3:
        raise Refusal(
            "count", where="network", found=f"{x.size} reached point{'s' if x.size != 1 else ''}", must_be="3 or more"
        )
    covariance = checks.numbers(network.covariance_um2[np.ix_(network.reached, network.reached)], "covariance_um2")
    drawn = generator(seed).standard_normal((checks.whole(draws, "draws", 10), x.size)) @ symmetric_root(covariance)
    middle, high = np.quantile(straightness(x, drawn).value_um, [0.5, 0.95])
    return Expected(float(middle), float(high))


def hides_between_um(spacing_mm: ArrayLike, wave_mm: ArrayLike, amplitude_um: ArrayLike) -> np.ndarray | float:
    """Most that a wave can stand out between two straight points.

    Parameters
    ----------
    spacing_mm, wave_mm, amplitude_um : array_like
        Points apart, length of a full wave, and its height over its own middle.
        They broadcast.

    Returns
    -------
    float or ndarray
        Micrometres over the line of the two neighbouring points.

    Raises
    ------
    ValueError
        Where a measure is not above 0.

    Notes
    -----
    Derived: a crest halfway between two points stands over their line by
    ``A (1 - cos(pi s / w))``. A wave of one spacing may have all points in its
    hollows and hides its whole height 2 A; no shorter one hides more, and 2 A is
    given for those as a bound. A long wave hides
    about ``A (pi s / w)^2 / 2``: half the spacing, a quarter of it.

    Examples
    --------
    >>> hides_between_um(100, [100, 200, 1000], 10).round(2).tolist()
    [20.0, 10.0, 0.49]
    """
    values = [
        checks.numbers(v, n)
        for v, n in ((spacing_mm, "spacing_mm"), (wave_mm, "wave_mm"), (amplitude_um, "amplitude_um"))
    ]
    for value, name in zip(values, ("spacing_mm", "wave_mm", "amplitude_um")):
        if (value <= 0).any():
            raise Refusal("range", where=name, found=f"{value.min():g}", must_be="more than 0")
    spacing, wave, amplitude = checks.together(spacing_mm=values[0], wave_mm=values[1], amplitude_um=values[2])
    return (amplitude * (1 - np.cos(np.pi * spacing / np.maximum(wave, spacing))))[()]


def bends_between_um(spacing_mm: float, depth_mm: float, material: str | Material = "steel") -> float:
    """Most that a bar hangs between two neighbouring lands that carry it.

    Parameters
    ----------
    spacing_mm, depth_mm : float
    material : str or Material

    Returns
    -------
    float
        Micrometres, for a span free to tilt on its lands: a bar that runs on
        over further lands hangs less, about a fifth of it in a middle span.

    Raises
    ------
    ValueError
        Where a measure is not above 0.

    Examples
    --------
    >>> bends_between_um(100, 40) < 0.005
    True
    """
    return float(-sag(spacing_mm, depth_mm, spacing_mm, material, points=3).height_um[1])
