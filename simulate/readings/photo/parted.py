"""Marks between which light shows are counted apart, and those that look grown together are told."""

from __future__ import annotations

import numpy as np
import scipy

LEVELS = (0.5, 0.6, 0.7)
"""From metal, 0, to a mark, 1: where the light between two marks is looked for (ours)."""
_ALL_ROUND = np.ones((3, 3))
_LEAST_PART = 0.85
"""Of the smallest mark that counts: so much of each must be left at the level that parts two."""
_NECK = 0.6
"""A neck thinner than this part of the mark's greatest width joins two (ours)."""


def parted(dark: np.ndarray, marked: np.ndarray, least: float) -> np.ndarray:
    """Take the lines of light between marks out of them.

    `dark` (rows, columns): 0 on metal, 1 on a mark. `marked` (rows, columns) of bool. `least`: places that the smallest
    mark has which counts. Returns (rows, columns) of bool: marks that touch nowhere.

    A lens fills a narrow gap with grey, so that two marks are one at the level that tells their size. At higher levels
    they are two, and if each is large enough there they are counted apart; every place goes to the nearer of them.

    >>> dark = np.zeros((9, 12))
    >>> dark[2:7, 1:11] = 1
    >>> dark[2:7, 5] = 0.55
    >>> apart = parted(dark, dark > 0.5, 9)
    >>> scipy.ndimage.label(dark > 0.5)[1], scipy.ndimage.label(apart, _ALL_ROUND)[1]
    (1, 2)
    """
    seeds, many = scipy.ndimage.label(marked, _ALL_ROUND)
    for level in LEVELS[1:]:
        inner, found = scipy.ndimage.label((dark > level) & (seeds > 0), _ALL_ROUND)
        size = np.bincount(inner.ravel(), minlength=found + 1)
        parent = np.zeros(found + 1, int)
        parent[inner[inner > 0]] = seeds[inner > 0]
        large = (size >= _LEAST_PART * least) & (parent > 0)
        several = np.bincount(parent[large], minlength=many + 1) >= 2
        number = np.where(large & several[parent], many + np.arange(found + 1), 0)
        seeds = np.where(number[inner] > 0, number[inner], np.where(several[seeds], 0, seeds))
        many += found
    at = scipy.ndimage.distance_transform_edt(seeds == 0, return_distances=False, return_indices=True)
    owner = np.where(marked, seeds[tuple(at)], 0)
    return marked & (scipy.ndimage.maximum_filter(owner, 3) == owner)


def grown_together(apart: np.ndarray, least: float) -> tuple[int, int]:
    """Count the marks that look like several by their shape, and what they would be apart.

    `apart` (rows, columns) of bool: marks that touch nowhere. `least`: places that the smallest mark has which counts.
    Returns `marks`, `spots`: marks with a neck, and the parts that their necks join.

    >>> two = np.zeros((30, 60), bool)
    >>> two[5:25, 5:25] = two[5:25, 35:55] = two[13:17, 20:40] = True
    >>> grown_together(two, 20)
    (1, 2)
    """
    marks, many = scipy.ndimage.label(apart, _ALL_ROUND)
    if not many:
        return 0, 0
    inside = scipy.ndimage.distance_transform_edt(np.pad(apart, 1))[1:-1, 1:-1]
    widest = np.zeros(many + 1)
    np.maximum.at(widest, marks.ravel(), inside.ravel())
    inner, found = scipy.ndimage.label(inside > np.maximum(_NECK * widest[marks], 0.5), _ALL_ROUND)
    parent = np.zeros(found + 1, int)
    parent[inner[inner > 0]] = marks[inner > 0]
    parts = np.bincount(parent[1:], minlength=many + 1)
    parts[np.bincount(marks.ravel(), minlength=many + 1) < least] = 0
    return int((parts > 1).sum()), int(parts[parts > 1].sum())
