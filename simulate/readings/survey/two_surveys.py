"""One plate surveyed two ways: with a straightedge and a dial along lines, and with slopes along eight lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal, shape_words
from simulate.method.plates.edge_survey import EdgeReadings, read_edge, survey_edge
from simulate.readings.survey.union_jack import union_jack
from simulate.readings.table.read import read_readings
from simulate.surface.flatness import flatness

ARCSEC_PER_UM_MM = 648.0 / np.pi
"""Seconds of arc in a slope of 1 um in 1 mm."""


@dataclass(frozen=True)
class TwoWays:
    """What two surveys of one plate say, and how far each is off.

    Attributes
    ----------
    flatness_um : tuple of float
        Minimum zone, as each survey has it.
    worst_um : tuple of float
        How far its worst station is off the plate, both beyond their own planes.
    sure_um : tuple of float
        Two standard deviations of its least sure station, as the survey itself says.
    apart_um : float
        How far the two differ at the worst of the stations that both read.
    true_um : float
        Flatness of the whole plate.
    """

    ways: tuple[str, str]
    stations: tuple[int, int]
    flatness_um: tuple[float, float]
    worst_um: tuple[float, float]
    sure_um: tuple[float, float]
    apart_um: float
    true_um: float

    def __str__(self) -> str:
        """Return a table in words."""
        rows = [
            (
                f"{way}: {n} stations, out of flat by {flat:.1f} µm; at most {off:.1f} µm from the plate itself, "
                f"uncertainty ± "
                f"{sure:.1f} µm"
            )
            for way, n, flat, off, sure in zip(self.ways, self.stations, self.flatness_um, self.worst_um, self.sure_um)
        ]
        return "\n".join(
            [*rows, f"the two differ by {self.apart_um:.1f} µm at most; the plate is out by {self.true_um:.1f} µm"]
        )


def slopes_of(
    x_mm: ArrayLike, y_mm: ArrayLike, height_um: ArrayLike, sd_arcsec: float = 0.5, seed: int | None = None
) -> bytes:
    """Read slopes along the eight lines of a plate, as a readings file.

    `x_mm`, `y_mm` (points,): evenly spaced, an odd number of each alike, so that diagonals and centre lines run over
    stations. `height_um` (points, points). `sd_arcsec`: scatter of one reading.

    >>> slopes_of([0, 50, 100], [0, 50, 100], [[0, 0, 0]] * 3, 0).decode().splitlines()[1:3]
    ['d1,0,0,0,', 'd1,1,50,50,0.000']
    """
    x, y, h = checks.positions(x_mm), checks.positions(y_mm, "y_mm"), checks.numbers(height_um, "height_um")
    n, sd = x.size, checks.number(sd_arcsec, "sd_arcsec", 0)
    if h.shape != (n, n) or y.size != n or n % 2 == 0:
        raise Refusal(
            "shape",
            where="height_um",
            found=f"{shape_words(h.shape)} over {n} by {y.size} stations",
            must_be="of an odd number of stations, the same both ways, for eight lines",
        )
    rng = generator(seed)
    up, still = np.arange(n), np.zeros(n, int)
    lines = {
        "d1": (up, up),
        "d2": (up[::-1], up),
        "front": (up, still),
        "back": (up, still + n - 1),
        "left": (still, up),
        "right": (still + n - 1, up),
        "along": (up, still + n // 2),
        "across": (still + n // 2, up),
    }
    rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    for name, (i, j) in lines.items():
        step = np.hypot(np.diff(x[i]), np.diff(y[j]))
        reading = np.diff(h[j, i]) / step * ARCSEC_PER_UM_MM + sd * rng.normal(size=n - 1)
        rows += [f"{name},{k},{x[i[k]]:g},{y[j[k]]:g},{f'{reading[k - 1]:.3f}' if k else ''}" for k in range(n)]
    return "\n".join(rows).encode()


def survey_two_ways(
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    height_um: ArrayLike,
    step_um: float = 5.0,
    sd_arcsec: float = 0.5,
    seed: int | None = None,
) -> TwoWays:
    """Survey one plate with a straightedge and a dial, and with slopes along eight lines.

    Parameters
    ----------
    x_mm, y_mm : array_like, shape (points,)
    height_um : array_like, shape (points, points)
        Square counts, odd.
    step_um : float
        What the dial is read to.
    sd_arcsec : float
        Scatter of one slope.
    seed : int, optional

    Returns
    -------
    TwoWays
        What neither sees: what lies between the stations; the slopes see nothing off their eight lines.

    Raises
    ------
    ValueError
        As `slopes_of` and ``survey_edge``.

    Examples
    --------
    >>> x = np.linspace(0, 200, 5)
    >>> found = survey_two_ways(x, x, 20 * np.outer(x, x) / 200**2, step_um=0, sd_arcsec=0)
    >>> found.stations, bool(max(found.worst_um) < 0.01)
    ((25, 25), True)
    """
    x, y, h = checks.positions(x_mm), checks.positions(y_mm, "y_mm"), checks.numbers(height_um, "height_um")
    table = read_readings(slopes_of(x, y, h, sd_arcsec, seed))
    jack = union_jack(table, max(sd_arcsec, 1e-6))
    read: EdgeReadings = read_edge(x, y, h, ("along", "across", "corners"), step_um)
    edge = survey_edge(x, y, read, max(step_um / np.sqrt(12), 1e-6))
    i, j = (np.abs(at[:, None] - on).argmin(axis=1) for at, on in ((jack.x_mm, x), (jack.y_mm, y)))
    across, along = np.meshgrid(x, y)
    off = [
        _beyond(across, along, edge.height_um - h),
        _beyond(jack.x_mm, jack.y_mm, jack.least_squares_height_um - h[j, i]),
    ]
    apart = _beyond(jack.x_mm, jack.y_mm, jack.least_squares_height_um - edge.height_um[j, i])
    flat = (flatness(x, y, edge.height_um), flatness(jack.x_mm, jack.y_mm, jack.least_squares_height_um))
    return TwoWays(
        ("straightedge and dial", "eight lines of slopes"),
        (h.size, jack.x_mm.size),
        (float(flat[0].value_um), float(flat[1].value_um)),
        (off[0], off[1]),
        (2 * float(edge.sd_um.max()), 2 * float(jack.least_squares_sd_um.max())),
        apart,
        float(flatness(x, y, h).value_um),
    )


def _beyond(x: np.ndarray, y: np.ndarray, height: np.ndarray) -> float:
    """How far from level the worst is, once a least-squares plane is taken out."""
    return float(np.abs(flatness(x.ravel(), y.ravel(), height.ravel(), "least squares").residual_um).max())
