"""All figures from outside, in one list, and a line of print for each."""

from __future__ import annotations

import numpy as np

from outside import bench, bending, chance, form
from outside.item import LOOKED_UP, MEMORY, Outside

ITEMS: tuple[Outside, ...] = (*form.ITEMS, *chance.ITEMS, *bending.ITEMS, *bench.ITEMS)

NOT_FOUND = (
    "A published set of points with its minimum-zone flatness was looked for in stored web pages, documentation and "
    "source code (flatness by linear programming, by convex hull, by data envelopment; the sets of Huang, Fan and Wu "
    "1993, of Samuel and Shunmugam 1999, of Cheraghi, Lim and Motavalli 1996): abstracts and titles only, no table of "
    "points. What stands in for it is the sheet of Moody 1955, whose flatness is that of his datum."
)
"""What was looked for and not found."""


def off_by(item: Outside) -> float:
    """Give how far the package is from the published figure, the worst of several.

    Parameters
    ----------
    item : Outside

    Returns
    -------
    float
    """
    value, found = np.asarray(item.value, float), np.asarray(item.found(), float)
    return float(np.abs(found - value).max())


def figures(value) -> str:
    """Write one figure, or the first and last of many.

    Parameters
    ----------
    value : float or sequence of float

    Returns
    -------
    str
    """
    each = [f"{v:.6g}" for v in np.atleast_1d(np.asarray(value, float))]
    return ", ".join(each) if len(each) < 6 else f"{each[0]} ... {each[-1]} ({len(each)} figures)"


def line_of(item: Outside) -> str:
    """Write one item: what, published, found, where in the code, source, how it was come by.

    Parameters
    ----------
    item : Outside

    Returns
    -------
    str
    """
    return (
        f"{item.name:40s} | {figures(item.value)} {item.unit} | package {figures(item.found())}, within "
        f"{item.within:.3g} | {item.where} | {item.source} | {item.seen}"
    )


def summary() -> str:
    """Count them, and say what was not found.

    Returns
    -------
    str
    """
    count = {seen: sum(item.seen == seen for item in ITEMS) for seen in (LOOKED_UP, MEMORY)}
    sources = len({item.source for item in ITEMS})
    return (
        f"{len(ITEMS)} figures from {sources} sources: {count[LOOKED_UP]} looked up, {count[MEMORY]} from "
        f"memory.\n{NOT_FOUND}"
    )
