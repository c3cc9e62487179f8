"""Where to file each square, at the foot or at the top, and how much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class SquareCut:
    """Metal to take off each blade.

    Attributes
    ----------
    names : tuple of str
    height_mm : float
        The height that the metal is told for.
    remove_um, sd_um : numpy.ndarray, shape (squares,)
    at_foot : numpy.ndarray of bool, shape (squares,)
        True where it comes off at the foot, running out to nothing at `height_mm`; False the other way about.
    sure : numpy.ndarray of bool, shape (squares,)
    sentences : tuple of str
    """

    names: tuple[str, ...]
    height_mm: float
    remove_um: np.ndarray
    sd_um: np.ndarray
    at_foot: np.ndarray
    sure: np.ndarray
    sentences: tuple[str, ...]


def square_cut(names: tuple[str, ...], angle_urad: np.ndarray, sd_urad: np.ndarray, height_mm: float,
               factor_95: float = 1.96) -> SquareCut:
    """Say where metal has to come off each square.

    A blade that leans away from the other stands proud at its foot; one that leans towards it, at its top.

    Parameters
    ----------
    names : tuple of str
    angle_urad, sd_urad : numpy.ndarray, shape (squares,)
    height_mm : float
        Up to where the blade was read.
    factor_95 : float

    Returns
    -------
    SquareCut
        What it cannot see: whether the blade is straight.

    Examples
    --------
    >>> square_cut(("A",), np.array([50.0]), np.array([5.0]), 200.0).sentences[0]
    'A: take 10 um off at the foot, running out to nothing at 200 mm.'
    """
    lean = angle_urad * height_mm / 1000.0
    sd = sd_urad * height_mm / 1000.0
    foot, sure = lean > 0, np.abs(lean) > factor_95 * sd
    said = tuple(_sentence(name, abs(float(metal)), bool(at), bool(keep), height_mm)
                 for name, metal, at, keep in zip(names, lean, foot, sure))
    return SquareCut(names, height_mm, np.abs(lean), sd, foot, sure, said)


def _sentence(name: str, metal: float, at_foot: bool, sure: bool, height: float) -> str:
    if not sure:
        return f"{name}: leave it; it is out by no more than the readings may be wrong."
    if at_foot:
        return f"{name}: take {metal:.3g} um off at the foot, running out to nothing at {height:g} mm."
    return f"{name}: take {metal:.3g} um off at {height:g} mm, running out to nothing at the foot."
