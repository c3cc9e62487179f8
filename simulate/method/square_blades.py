"""Three squares whose blades are not straight and whose bases do not stand alike: seen and filed along the whole blade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cut import Hands, Tool, depth_map, tool_of
from simulate.bench.sight import Sight
from simulate.method.fitting import LIGHTER, PROGRESS, STALE, floor_um
from simulate.surface import checks
from simulate.surface.form import straightness

STAGES = ("fit", "fit", "split", "remake")
"""What is done in a round, in its order."""


@dataclass(frozen=True)
class BladeLook:
    """The look at the start of a stage, for one workshop.

    Attributes
    ----------
    round : int
        Counted from 1.
    stage : str
        One of `STAGES`.
    lower, upper : int
        The two that stand blade to blade; in a fit the first is the gauge.
    filed : tuple of int
    face_um : numpy.ndarray, shape (3, points)
        The blades as they stand at this look; positive is proud, towards the other blade.
    gap_um : numpy.ndarray, shape (points,)
    passes : int
        Passes taken in the stage that this look begins.
    """

    round: int
    stage: str
    lower: int
    upper: int
    filed: tuple[int, ...]
    face_um: np.ndarray
    gap_um: np.ndarray
    passes: int


@dataclass(frozen=True)
class BladeHistory:
    """A run of three squares with blades of their own, the start first.

    Attributes
    ----------
    z_mm : numpy.ndarray, shape (points,)
        Height on the blade.
    face_um : numpy.ndarray, shape ([workshops,] rounds + 1, 3, points)
    angle_urad, straightness_um, passes : numpy.ndarray, shape ([workshops,] rounds + 1, 3)
        Angle of the least-squares line of each blade, straightness as minimum zone, passes since the start.
    floor_um : float
        About where sight, tool and hands stop the method.
    looks : tuple of BladeLook
        Of a single workshop; empty for many.
    """

    z_mm: np.ndarray
    face_um: np.ndarray
    angle_urad: np.ndarray
    straightness_um: np.ndarray
    passes: np.ndarray
    floor_um: float
    looks: tuple[BladeLook, ...] = ()


def blade_faces(z_mm: ArrayLike, angle_urad: ArrayLike, bow_um: ArrayLike = 0.0) -> np.ndarray:
    """Make blades from an angle and a bow.

    Parameters
    ----------
    z_mm : array_like, shape (points,)
    angle_urad : array_like
        Positive leans away from the other blade.
    bow_um : array_like
        How far the middle is proud of the line from foot to top.

    Returns
    -------
    numpy.ndarray, shape (..., points)
        Positive is proud, towards the other blade.

    Raises
    ------
    ValueError
        Where heights do not rise.

    Examples
    --------
    >>> blade_faces([0, 50, 100], [100.0, 0.0], [0.0, 8.0])
    array([[  0.,  -5., -10.],
           [  0.,   8.,   0.]])
    """
    z = checks.positions(z_mm, "z_mm")
    t = (z - z[0]) / (z[-1] - z[0])
    angle, bow = checks.numbers(angle_urad, "angle_urad"), checks.numbers(bow_um, "bow_um")
    return -angle[..., None] * (z - z[0]) / 1000 + 4 * bow[..., None] * t * (1 - t)


def blade_gap_um(z_mm: ArrayLike, lower_um: ArrayLike, upper_um: ArrayLike, tilt_urad: ArrayLike = 0.0) -> np.ndarray:
    """Give the gap between two blades that are pushed together on a flat until they touch.

    Parameters
    ----------
    z_mm : array_like, shape (points,)
    lower_um, upper_um : array_like, shape (..., points)
        Faces, positive towards the other blade.
    tilt_urad : array_like, shape (...)
        What the two bases add together.

    Returns
    -------
    numpy.ndarray, shape (..., points)
        Nowhere below 0. Squares slide and do not turn: that is what tells square from bar.

    Raises
    ------
    ValueError
        Where shapes do not fit.

    Examples
    --------
    >>> blade_gap_um([0, 100], [0.0, -30.0], [0.0, 10.0])
    array([ 0., 20.])
    """
    z = checks.positions(z_mm, "z_mm")
    both = checks.profiles(lower_um, z.size, "lower_um") + checks.profiles(upper_um, z.size, "upper_um")
    return _gap(z, both, checks.numbers(tilt_urad, "tilt_urad"))


def where_light(z_mm: ArrayLike, gap_um: ArrayLike, threshold_um: float = 2.5) -> str:
    """Say where light shows between two blades.

    Parameters
    ----------
    z_mm : array_like, shape (points,)
    gap_um : array_like, shape (points,)
    threshold_um : float

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Where shapes do not fit.

    Examples
    --------
    >>> where_light([0, 50, 100], [0, 10, 20])
    'light in the middle and at the top'
    """
    z = checks.positions(z_mm, "z_mm")
    seen = checks.profiles(gap_um, z.size, "gap_um") > checks.number(threshold_um, "threshold_um", 0)
    third = (z[-1] - z[0]) / 3
    places = (("at the foot", z < z[0] + third), ("in the middle", abs(z - z.mean()) <= third / 2),
              ("at the top", z > z[-1] - third))
    parts = [name for name, where in places if seen[where].any() and seen[where].mean() > 0.5]
    if not seen.any():
        return "dark from foot to top"
    if not parts:
        return "a thread of light in places"
    if len(parts) == 3:
        third_of = int(min(np.argmax(gap_um) * 3 // z.size, 2))
        return "light nearly all along, widest " + places[third_of][0]
    return "light " + " and ".join(parts)


def three_blades(z_mm: ArrayLike, face_um: ArrayLike, *, rounds: int, removal_um: float, share: float = 0.5,
                 stand_sd_urad: float = 0.0, sight: Sight = Sight(), tool: str | Tool = "smooth file",
                 hands: Hands = Hands(), seed: int | None = None) -> BladeHistory:
    """Make three squares true and their blades straight, against each other on a flat.

    Parameters
    ----------
    z_mm : array_like, shape (points,)
        Evenly spaced heights on the blade.
    face_um : array_like, shape ([workshops,] 3, points)
        As `blade_faces` makes them.
    rounds : int
    removal_um : float
        Metal that a pass takes at the contact.
    share : float
        Part of the split's metal that the first square gives up.
    stand_sd_urad : float
        How differently one base stands from look to look: a base that is not flat, a grain of dust under it.
    sight, tool, hands : Sight, str or Tool, Hands
    seed : int, optional

    Returns
    -------
    BladeHistory
        What it cannot see: a flat that is not flat under one of the two squares.

    Raises
    ------
    ValueError
        Where a figure is impossible.

    Notes
    -----
    As three bars, with one difference: squares on a flat cannot turn until they fit, so what goes to zero is the
    whole face against the upright, angle and bend alike (derived; three sums for three faces at every height).

    Examples
    --------
    >>> z = np.linspace(0, 100, 21)
    >>> run = three_blades(z, blade_faces(z, [400.0, -200.0, 300.0], [9.0, 0.0, -6.0]), rounds=3, removal_um=3.0, seed=1)
    >>> run.angle_urad.shape, bool(abs(run.angle_urad[-1]).max() < 60), len(run.looks)
    ((4, 3), True, 12)
    """
    z = checks.positions(z_mm, "z_mm", 3)
    face = checks.profiles(face_um, z.size, "face_um", bars=3)
    share = checks.number(share, "share", 0, 1)
    removal = checks.number(removal_um, "removal_um", 0, above=True)
    bench = _Bench(z, removal, checks.number(stand_sd_urad, "stand_sd_urad", 0), sight, tool_of(tool), hands,
                   np.random.default_rng(seed), floor_um(removal, sight, hands))
    now = face.reshape(-1, 3, z.size).copy()
    done = np.zeros(now.shape[:2])
    kept, passed, looks, gauge = [now.copy()], [done.copy()], [], 0
    for number in range(1, checks.whole(rounds, "rounds", 0) + 1):
        one, two = (gauge + 1) % 3, (gauge + 2) % 3
        pairs = ((gauge, one, 0.0), (gauge, two, 0.0), (one, two, share), (one, gauge, 0.0))
        for stage, (lower, upper, part) in zip(STAGES, pairs):
            before = now.copy()
            passes = _file(bench, now, lower, upper, part, done)
            if face.ndim == 2:
                gap = _gap(z, before[0, lower] + before[0, upper], np.zeros(()))
                filed = tuple(s for s, p in ((lower, part), (upper, 1 - part)) if p > 0 and passes[0])
                looks.append(BladeLook(number, stage, lower, upper, filed, before[0], gap, int(passes[0])))
        gauge = one
        kept.append(now.copy())
        passed.append(done.copy())
    faces = np.stack(kept, axis=1).reshape(face.shape[:-2] + (len(kept), 3, z.size))
    counts = np.stack(passed, axis=1).reshape(face.shape[:-2] + (len(kept), 3))
    return BladeHistory(z, faces, lean_urad(z, faces), straightness(z, faces).value_um, counts, bench.floor, tuple(looks))


def lean_urad(z_mm: ArrayLike, face_um: ArrayLike) -> np.ndarray:
    """Give the angle of the least-squares line of a blade.

    Parameters
    ----------
    z_mm : array_like, shape (points,)
    face_um : array_like, shape (..., points)

    Returns
    -------
    numpy.ndarray, shape (...)
        Positive leans away from the other blade.

    Raises
    ------
    ValueError
        Where shapes do not fit.

    Examples
    --------
    >>> lean_urad([0, 50, 100], [0.0, -5.0, -10.0]).round(6)
    np.float64(100.0)
    """
    z = checks.positions(z_mm, "z_mm")
    arm = z - z.mean()
    return -1000 * (checks.profiles(face_um, z.size, "face_um") @ arm) / (arm @ arm)


@dataclass(frozen=True)
class _Bench:
    z: np.ndarray
    removal: float
    stand_sd: float
    sight: Sight
    tool: Tool
    hands: Hands
    rng: np.random.Generator
    floor: float


def _gap(z: np.ndarray, both: np.ndarray, tilt: np.ndarray) -> np.ndarray:
    free = tilt[..., None] * (z - z[0]) / 1000 - both
    return free - free.min(axis=-1, keepdims=True)


def _file(bench: _Bench, faces: np.ndarray, lower: int, upper: int, part: float, done: np.ndarray) -> np.ndarray:
    """File pairs in place until no light is seen or filing no longer helps; return the passes of each workshop."""
    n = len(faces)
    give = np.array([part, 1 - part]) / max(part, 1 - part)
    stale, best, count = np.zeros(n, int), np.full(n, np.inf), np.zeros(n, int)
    rows, left = np.arange(n), np.full(n, 1)
    first = True
    while rows.size:
        tilt = bench.stand_sd * bench.rng.standard_normal((rows.size, 2)).sum(axis=1)
        gap = _gap(bench.z, faces[rows, lower] + faces[rows, upper], tilt)
        widest = gap.max(axis=1)
        if first:
            left, first = (10 * widest / bench.removal).astype(int) + 21, False
        stale[rows] = np.where(widest < best[rows] - PROGRESS * bench.removal, 0, stale[rows] + 1)
        best[rows] = np.minimum(best[rows], widest)
        going = (widest > bench.floor) & (stale[rows] < STALE) & (count[rows] < left[rows])
        rows, gap = rows[going], gap[going]
        lighter = 0.5 ** (stale[rows, None] // LIGHTER)
        for square, share, depth in zip((lower, upper), (part, 1 - part), give):
            if share > 0 and rows.size:
                faces[rows, square] -= depth_map(bench.z, faces[rows, square], gap, depth * bench.removal * lighter,
                                                 bench.sight.threshold_um, bench.tool, bench.hands, bench.rng, share)
                done[rows, square] += 1
        count[rows] += 1
    return count
