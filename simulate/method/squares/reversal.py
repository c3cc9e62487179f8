"""One square proved against itself: turned over about a scribed line, or about a line of light."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.number_format import three
from simulate.core.refusal import Refusal, shape_words


@dataclass(frozen=True)
class Reversed:
    """One square proved against itself.

    Attributes
    ----------
    angle_urad, sd_urad : float
        Positive leans over its own base, away from a blade that faces it.
    top_um : float
        How far the top is out, over the height between the two places that were read.
    """

    angle_urad: float
    sd_urad: float
    top_um: float
    sentence: str


@dataclass(frozen=True)
class ReversedByLight:
    """One square proved against itself on both sides of one upright strip.

    Attributes
    ----------
    angle_urad, sd_urad : float
        Of the square; positive leans over its own base, away from a blade that faces it.
    top_um : float
        How far the top is out, over the height between the two places that were read.
    strip_urad, strip_sd_urad : float
        How far the strip leans; positive away from the square in its first position.
    """

    angle_urad: float
    sd_urad: float
    top_um: float
    strip_urad: float
    strip_sd_urad: float
    sentence: str


def reverse_square(
    apart_top_um: float,
    height_mm: float,
    apart_foot_um: float = 0.0,
    *,
    reading_sd_um: float = 0.0,
    edge_sd_urad: float = 0.0,
) -> Reversed:
    """Prove one square by scribing a line, turning it over, and scribing again from the same place.

    Parameters
    ----------
    apart_top_um : float
        How far apart the two lines are; positive where each leans over the base that it was scribed from.
    height_mm : float
        Between the two places that are read.
    apart_foot_um : float
        The same at the foot.
    reading_sd_um : float
        Standard deviation of one such distance: the width of a scribed line, or of the light.
    edge_sd_urad : float
        Standard uncertainty that the edge under the base brings, see `edge_error_urad`.

    Returns
    -------
    Reversed
        What it cannot see: the shape of the blade between the two places, and an edge that is proud in its
        middle, which leans both lines the same way.

    Raises
    ------
    ValueError
        Where a figure is impossible.

    Notes
    -----
    Derived: each line is out by the angle, to either side, so the distance is twice the error: a = (top -
    foot) / (2 height). A slope of the edge takes part in both lines with opposite signs and drops out.

    Examples
    --------
    >>> reverse_square(60.0, 100.0, reading_sd_um=10.0).sentence
    'The square leans over its base by 300 µrad ± 71, that is 30 µm over 100 mm; the lines are apart by twice that.'
    """
    height = checks.number(height_mm, "height_mm", 0, above=True)
    apart = checks.number(apart_top_um, "apart_top_um") - checks.number(apart_foot_um, "apart_foot_um")
    read = checks.number(reading_sd_um, "reading_sd_um", 0) * np.sqrt(2) / 2 / height * 1000
    sd = float(np.hypot(read, checks.number(edge_sd_urad, "edge_sd_urad", 0)))
    angle = apart / (2 * height) * 1000
    sentence = f"{_spoken(apart / 2, height, sd)}; the lines are apart by twice that."
    return Reversed(angle, sd, apart / 2, sentence)


def reverse_by_light(
    first_um: ArrayLike,
    second_um: ArrayLike,
    height_mm: float,
    *,
    taper_um: float = 0.0,
    taper_sd_um: float = 0.0,
    reading_sd_um: float = 0.0,
    edge_sd_urad: float = 0.0,
) -> ReversedByLight:
    """Prove one square by the light between its blade and an upright strip, read from both sides of the strip.

    The strip stands still on the flat: a straight blade on end, a rod, a wire drawn tight. The square is pushed
    against it from one side, and then, turned round, from the other.

    Parameters
    ----------
    first_um, second_um : array_like, shape (2,)
        Gap at the foot and at the top, in the first place and in the second; one of the two may be shut.
    height_mm : float
        Between the two places that are read.
    taper_um, taper_sd_um : float
        Width of the strip at the foot less its width at the top, by micrometer, and how sure.
    reading_sd_um : float
        Standard deviation of one gap; a gap that only looks shut counts as the widest such gap over root three.
    edge_sd_urad : float
        Standard uncertainty that the flat under the base brings, see `edge_error_urad`.

    Returns
    -------
    ReversedByLight
        What it cannot see: the shape of the blade and of the strip between the two places, a strip that was
        knocked between the two looks, and a flat that is proud under the strip.

    Raises
    ------
    ValueError
        Where a place has not two gaps, a gap is below 0, or a figure is impossible.

    Notes
    -----
    m1 = M + S and m2 = M - S (C. Evans, R. Hocken and W. Estler, Self-calibration: reversal, redundancy, error
    separation, and absolute testing, CIRP Annals 45/2, 1996; from memory). Counted away from the blade each
    time, both openings hold the square with one sign and the strip's lean with two: a = (first + second) / 2 h
    less half the taper, strip = (first - second) / 2 h. Where all four gaps are read with one deviation s, both
    are sure to s / h.

    Examples
    --------
    >>> found = reverse_by_light([0.0, 42.0], [0.0, 18.0], 150.0, reading_sd_um=1.5)
    >>> print(found.sentence)  # doctest: +NORMALIZE_WHITESPACE
    The square leans over its base by 200 µrad ± 10, that is 30 µm over 150 mm; the strip leans by 80 µrad away from
    its first position.
    """
    height = checks.number(height_mm, "height_mm", 0, above=True)
    first, second = _opening(first_um, "first_um"), _opening(second_um, "second_um")
    taper = checks.number(taper_um, "taper_um")
    out = (first + second - taper) / 2
    read = checks.number(reading_sd_um, "reading_sd_um", 0) / height * 1000
    side = checks.number(taper_sd_um, "taper_sd_um", 0) / (2 * height) * 1000
    sd = float(np.sqrt(read**2 + side**2 + checks.number(edge_sd_urad, "edge_sd_urad", 0) ** 2))
    strip = (first - second) / (2 * height) * 1000
    leans = (
        f"leans by {abs(strip):.0f} µrad {'away from' if strip > 0 else 'towards'} its first position"
        if round(strip)
        else "is upright"
    )
    return ReversedByLight(out / height * 1000, sd, out, strip, read, f"{_spoken(out, height, sd)}; the strip {leans}.")


def _opening(gaps_um: ArrayLike, name: str) -> float:
    gaps = checks.numbers(gaps_um, name)
    if gaps.shape != (2,):
        raise Refusal(
            "shape",
            where=name,
            found=shape_words(gaps.shape),
            must_be="a row of 2, the gaps at the bottom and at the top",
        )
    if (gaps < 0).any():
        raise Refusal("range", where=name, found=f"{gaps.min():g}", must_be="0 or more")
    return float(gaps[1] - gaps[0])


def _spoken(out_um: float, height_mm: float, sd_urad: float) -> str:
    way = "leans over its base" if out_um >= 0 else "leans away from its base"
    return (
        f"The square {way} by {abs(out_um) / height_mm * 1000:.0f} µrad ± {sd_urad:.0f}, that is "
        f"{three(abs(out_um))} µm over {height_mm:g} mm"
    )
