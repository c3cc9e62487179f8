"""What the panels of a bent bar share: its two size sliders, its outline, and how much larger than life it is drawn."""

from __future__ import annotations

import numpy as np

from simulate.show.drawing.bench_picture import nice_factor
from simulate.show.panel.panel import Panel

_TALL = 240.0
"""A bar is drawn so long that its length fills this part of the picture's height units."""


def size_sliders(panel: Panel, length_mm: float, depth_mm: float) -> None:
    """Give a panel the sliders `length_mm` and `depth_mm`, in the learner's unit.

    Parameters
    ----------
    length_mm, depth_mm : float
        Length 200 to 2000, depth 10 to 150.

    Raises
    ------
    ValueError
        Where a measure is out of its range.

    Examples
    --------
    >>> panel = Panel()
    >>> size_sliders(panel, 500, 40)
    >>> list(panel.controls)
    ['length_mm', 'depth_mm']
    """
    panel.place_slider("length_mm", "Length of the bar", length_mm, 200, 2000, 10)
    panel.place_slider("depth_mm", "Depth of the bar", depth_mm, 10, 150, 5)


def outline(u: np.ndarray, top: np.ndarray, under: np.ndarray) -> np.ndarray:
    """Corners of a bar between two lines.

    Parameters
    ----------
    u, top, under : ndarray, shape (points,)

    Returns
    -------
    ndarray, shape (2 * points, 2)

    Examples
    --------
    >>> outline(np.array([0., 1.]), np.array([2., 2.]), np.array([0., 0.])).tolist()
    [[0.0, 2.0], [1.0, 2.0], [1.0, 0.0], [0.0, 0.0]]
    """
    return np.column_stack([np.r_[u, u[::-1]], np.r_[top, under[::-1]]])


def larger(most_um: float, length_mm: float, room: float) -> tuple[float, str]:
    """How large heights are drawn, so that the largest fits into `room`.

    Parameters
    ----------
    most_um : float
        The largest height that is to be drawn.
    room : float
        In units of the picture's height.

    Returns
    -------
    unit : float
        Units of the picture for a micrometre.

    Examples
    --------
    >>> larger(2.0, 500, 15)[1]
    'Heights are drawn 10 000 times as large as lengths'
    """
    factor = nice_factor(room / max(most_um * 1e-3 / length_mm * _TALL, 1e-12))
    words = f"Heights are drawn {factor:,.0f} times as large as lengths".replace(",", " ")
    return factor * 1e-3 / length_mm * _TALL, words
