"""Where to file each square, at the foot or at the top, and how much."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulate.core.number_format import three
from simulate.readings.squares.solve_squares import SolvedSquares


@dataclass(frozen=True)
class SquareCut:
    """Metal to take off each blade.

    `height_mm`: the height that the metal is told for. `remove_um`, `sd_um` (squares,). `at_foot` (squares,) of bool:
    true where it comes off at the bottom, running out to zero at `height_mm`; False the other way about. `sure`
    (squares,) of bool.
    """

    names: tuple[str, ...]
    height_mm: float
    remove_um: np.ndarray
    sd_um: np.ndarray
    at_foot: np.ndarray
    sure: np.ndarray
    sentences: tuple[str, ...]


def square_cut(
    names: tuple[str, ...], angle_urad: np.ndarray, sd_urad: np.ndarray, height_mm: float, factor_95: float = 1.96
) -> SquareCut:
    """Say where metal has to come off each square.

    A blade that leans away from the other stands proud at its foot; one that leans towards it, at its top.

    `angle_urad`, `sd_urad` (squares,). `height_mm`: up to where the blade was read, from its foot. Returns: what it
    cannot see: whether the blade is straight.

    >>> square_cut(("A",), np.array([50.0]), np.array([5.0]), 200.0).sentences[0]
    'A: take 10 um off at the bottom, running out to zero at 200 mm.'
    """
    lean = angle_urad * height_mm / 1000.0
    sd = sd_urad * height_mm / 1000.0
    foot, sure = lean > 0, np.abs(lean) > factor_95 * sd
    said = tuple(
        _sentence(name, abs(float(metal)), bool(at), bool(keep), height_mm)
        for name, metal, at, keep in zip(names, lean, foot, sure)
    )
    return SquareCut(names, height_mm, np.abs(lean), sd, foot, sure, said)


def cut_of(solution: SolvedSquares, height_mm: float | None = None) -> SquareCut:
    """Say where metal has to come off solved squares: by 95 % ranges, and by what is certain where an angle is not
    settled.

    `height_mm`: of the blades; up to where one was read if not given. Returns: where the spread of a reading is only
    assumed, nothing is sure; where an angle is not settled, `remove_um` is what comes off at least.
    """
    names, settled, low, high = solution.names, solution.settled, solution.low_95_urad, solution.high_95_urad
    if low is None:
        half = np.full(len(names), np.inf)
    else:
        half = np.maximum(solution.angle_urad - low, high - solution.angle_urad)
    angle, sd = solution.angle_urad.copy(), half / solution.factor_95
    for k in np.flatnonzero(~settled):
        least, most = (
            end[k] if end is not None else -np.inf * sign
            for end, sign in ((solution.low_urad, 1), (solution.high_urad, -1))
        )
        angle[k] = max(least, 0.0) + min(most, 0.0)
        sd[k] = 0.0 if angle[k] else np.inf
    tall = float(solution.tall_mm.max()) if height_mm is None else height_mm
    cut = square_cut(names, angle, sd, tall, solution.factor_95)
    said = tuple(
        _open_words(name, float(metal), bool(yes), low is None and solution.against is not None)
        if not keep and (low is None or not yes)
        else sentence
        for name, metal, yes, keep, sentence in zip(names, cut.remove_um, settled, cut.sure, cut.sentences)
    )
    return replace(cut, sentences=said)


def _open_words(name: str, metal: float, settled: bool, contradicted: bool) -> str:
    if not settled:
        return f"{name}: file nothing yet; which way it leans is not settled."
    why = "the readings contradict each other" if contradicted else "the repeatability of a reading is not known"
    return f"{name}: file nothing yet; it reads {three(metal)} um out, and {why}."


def _sentence(name: str, metal: float, at_foot: bool, sure: bool, height: float) -> str:
    if not sure:
        return f"{name}: leave it alone; its error is within the uncertainty of the readings."
    if at_foot:
        return f"{name}: take {three(metal)} um off at the bottom, running out to zero at {height:g} mm."
    return f"{name}: take {three(metal)} um off at {height:g} mm, running out to zero at the bottom."
