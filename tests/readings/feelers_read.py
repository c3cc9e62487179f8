"""Bars and plates of known truth that rest on each other as rigid bodies do, read by dark fits, blades and feel."""

from itertools import combinations

import numpy as np
import scipy
from workshops_read import BLADES_UM, table_of

from simulate.bench.seating.bar_seat import rest
from simulate.readings.adjustment.shape_prior import WORKED_LENGTHS, WORKED_ROUGH, fitted_patterns, smooth_shapes
from simulate.readings.bars.bar_network import line_free

STYLES = ("bow", "S", "waves", "rough", "smooth")
DARK_UM = np.array([0, 2.5, 50.0])
FEELERS_UM = np.concatenate([[0, 2.5], BLADES_UM[1:]])


def _along(rng, style, u, fine):
    """One bar's shape over a fine grid; a rough one is straight between the stations `u`."""
    if style == "bow":
        return 1 - np.abs(fine) ** rng.uniform(1.5, 3)
    if style == "S" and u.size > 3:  # at three stations an S is a straight line
        return np.sin(np.pi * fine * rng.uniform(0.8, 1.2))
    rough = np.interp(fine, u, rng.normal(size=u.size))
    if style == "rough":
        return rough
    if style == "waves":
        k = np.arange(1, 6)
        return np.cos(np.outer((fine + 1) * np.pi / 2, k)) @ (rng.normal(size=5) / k) + 0.15 * rough
    covariance = np.exp(-((fine[:, None] - fine) ** 2) / (2 * rng.choice([0.35, 0.7]) ** 2))
    smooth = np.linalg.cholesky(covariance + 1e-9 * np.eye(fine.size)) @ rng.normal(size=fine.size)
    return smooth + rng.choice([0.1, 0.3]) * smooth.std() * rough


def _scaled(rng, plane, at, shape, out_um):
    """Without a line or plane over the stations, and out by 0.5 to 1.5 times what is asked for, either way."""
    shape = shape - plane @ np.linalg.lstsq(plane[at], shape[at], rcond=None)[0]
    return shape * rng.choice([-1, 1]) * rng.uniform(0.5, 1.5) * out_um / np.ptp(shape[at])


def felt(rng, gap_um, cells_um, feel_um):
    """Between which two marks each gap was felt to lie; feel moves a mark by no more than a fifth of itself."""
    ends = []
    for gap, error in zip(np.maximum(gap_um, 0), rng.normal(size=gap_um.size), strict=True):
        marks = cells_um + error * np.minimum(feel_um, 0.2 * cells_um)
        k = max(int(np.searchsorted(marks, gap, side="right")) - 1, 0)
        ends.append(f"{cells_um[k]:g},{f'{cells_um[k + 1]:g}' if k + 1 < cells_um.size else ''}")
    return ends


def _read_bars(rng, u, fine, height, at, cells_um, turned, feel_um, place_mm):
    rows = []
    for way in (False, True)[: 1 + turned]:
        for a, b in combinations(range(3), 2):
            gap = rest(200 * fine, height[a] + (height[b][::-1] if way else height[b])).gap_um
            place = np.clip(u + place_mm * rng.normal(size=u.size) / 200, -1, 1)
            read = felt(rng, np.interp(place, fine, gap), cells_um, feel_um)
            rows += [f"{'ABC'[a]},{'ABC'[b]},{'yes' if way else 'no'},{200 + 200 * v:.4f},{g}" for v, g in zip(u, read)]
    return height[:, at], table_of("lower,upper,turned,position_mm,gap_at_least_um,gap_at_most_um", rows)


def bars_by_feelers(rng, style, out_um=20.0, cells_um=FEELERS_UM, stations=6, turned=False, feel_um=0.0, place_mm=0.0):
    """Return three bars' heights without their own lines, and their fits as felt; `stations` may be a range."""
    count = stations if isinstance(stations, int) else int(rng.integers(stations[0], stations[1] + 1))
    u, fine = np.linspace(-1, 1, count), np.linspace(-1, 1, 10 * count - 9)
    at, plane = np.arange(0, fine.size, 10), np.stack([np.ones_like(fine), fine], axis=1)
    height = np.stack([_scaled(rng, plane, at, _along(rng, style, u, fine), out_um) for _ in range(3)])
    return _read_bars(rng, u, fine, height, at, cells_um, turned, feel_um, place_mm)


def bars_of_the_prior(rng, lengths, rough, stations=6, feel_um=0.0):
    """Bars as the stated prior has them: one kind of shape and one size for all, read at the stations, six fits."""
    u = np.linspace(-1, 1, stations)
    free = line_free(u)
    kinds = smooth_shapes(u, free, lengths, rough)
    root = np.linalg.cholesky(kinds[rng.integers(len(kinds))])
    height = np.exp(rng.uniform(np.log(3), np.log(60))) * rng.normal(size=(3, free.shape[1])) @ root.T @ free.T
    return _read_bars(rng, u, u, height, np.arange(stations), FEELERS_UM, True, feel_um, 0.0)


def _lowest_plane(plane, summed):
    """The plane that stands on what is summed and lies lowest over the middle: a rigid plate at rest."""
    found = scipy.optimize.linprog([1.0, 0, 0], A_ub=-plane, b_ub=-summed, bounds=[(None, None)] * 3)
    return plane @ found.x


def plates_by_feelers(rng, style, out_um=20.0, cells_um=FEELERS_UM, side=3, feel_um=0.0):
    """Return three plates' heights without their own planes, and five fits of them as felt."""
    x, y = (part.ravel() for part in np.meshgrid(np.linspace(-1, 1, side), np.linspace(-1, 1, side)))
    plane, place = np.stack([np.ones_like(x), x, y], axis=1), np.stack([x, y], axis=1)
    every, truth = np.arange(x.size), []
    for _ in range(3):
        length = rng.choice([0.35, 0.7])
        covariance = np.exp(-((place[:, None] - place) ** 2).sum(-1) / (2 * length**2)) + 1e-9 * np.eye(x.size)
        rough = rng.normal(size=x.size)
        smooth = np.linalg.cholesky(covariance) @ rng.normal(size=x.size)
        shape = {"bowl": x**2 + rng.uniform(0.3, 1) * y**2, "twist": x * y + 0.05 * rough, "rough": rough}
        truth.append(_scaled(rng, plane, every, shape.get(style, smooth + 0.2 * rough), out_um))
    return read_plates(rng, np.stack(truth), cells_um, feel_um)


def read_plates(rng, truth, cells_um=FEELERS_UM, feel_um=0.0):
    """Lay three plates of known heights, row by row, on each other in five fits, and read these as felt."""
    side = round(truth.shape[1] ** 0.5)
    x, y = (part.ravel() for part in np.meshgrid(np.linspace(-1, 1, side), np.linspace(-1, 1, side)))
    plane, number, rows = np.stack([np.ones_like(x), x, y], axis=1), np.arange(x.size).reshape(side, side), []
    for a, b, turn in ((0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 90), (0, 2, 90)):
        over = np.rot90(number[:, ::-1], -turn // 90) if turn else number[:, ::-1]
        summed = truth[a] + truth[b][over.ravel()]
        read = felt(rng, _lowest_plane(plane, summed) - summed, cells_um, feel_um)
        rows += [f"{'ABC'[a]},{'ABC'[b]},{turn},{100 * u},{100 * v},{g}" for u, v, g in zip(x, y, read)]
    return truth, table_of("lower,upper,turned,x_mm,y_mm,gap_at_least_um,gap_at_most_um", rows)


def plates_of_the_prior(rng, side=3):
    """Plates as the stated prior has them: one kind of shape, one size and one pattern of fitting for all."""
    x, y = (part.ravel() for part in np.meshgrid(np.linspace(-1, 1, side), np.linspace(-1, 1, side)))
    free = np.linalg.svd(np.stack([np.ones_like(x), x, y], axis=1))[0][:, 3:]
    kinds = smooth_shapes(np.stack([x, y], axis=1), free, WORKED_LENGTHS, WORKED_ROUGH)
    kind, pattern = kinds[rng.integers(len(kinds))], fitted_patterns(3)[rng.integers(5)]
    drawn = np.linalg.cholesky(pattern) @ rng.normal(size=(3, len(kind))) @ np.linalg.cholesky(kind).T
    return read_plates(rng, np.exp(rng.uniform(np.log(3), np.log(60))) * drawn @ free.T)
