"""Sag of a bar that is not the same depth all along, that carries another bar, or lies flat.

The moment is summed up from the weight as it is, divided by the stiffness
there and integrated twice. Three bars that fit each other share what the upper
one sags more than the lower one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.bench.bending.materials import Material, material_of
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2
from simulate.core import checks
from simulate.core.refusal import Refusal, counted

WAYS = ("edge up", "flat")
_FINE = 4001


def profile_sag(
    x_mm: ArrayLike,
    depth_mm: ArrayLike,
    supports_mm: ArrayLike,
    material: str | Material = "steel",
    *,
    way: str = "edge up",
    width_mm: float = 10.0,
    hole_mm: ArrayLike = 0.0,
    load_at_mm: ArrayLike = (),
    load_n: ArrayLike = (),
) -> np.ndarray:
    """Hang a bar of any depth profile on two supports.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Rising, the bar's two ends first and last.
    depth_mm : float or array_like, shape (points,)
        Depth there, straight between the points. With the edge up it is the
        upright measure; a flat bar shows it from above.
    supports_mm : array_like, shape (2,)
        Left first, with the centre of gravity between them.
    material : str or Material
    way : str
        ``"edge up"``, or ``"flat"``: on the wide side, `width_mm` upright.
    width_mm : float
        Thickness of the bar across its edge.
    hole_mm : float or array_like, shape (points,)
        Depth of a cut-out through the thickness there, in the middle of the
        depth; 0 where there is none.
    load_at_mm, load_n : array_like, shape (loads,)
        Weights that stand on the bar, pressing down.

    Returns
    -------
    ndarray, shape (points,)
        Micrometres, zero at the supports, negative where it hangs lower.

    Raises
    ------
    ValueError
        Where a measure is not above 0, a hole is not smaller than the bar, a
        support or load lies outside, or the bar would tip.

    Notes
    -----
    Slender bar (Euler-Bernoulli), summed on 4001 places: good to about one
    part in a million for a smooth profile and one in a thousand at steps. It
    does not see shear, the dent at a support, or how holes that are short and
    deep bend as frames. Derived; even bars agree with `sag_on`.

    Examples
    --------
    >>> x = np.linspace(-250, 250, 101)
    >>> bool(abs(profile_sag(x, 40, (-250, 250)).min() + 2.24) < 0.01)
    True
    """
    x = checks.positions(x_mm, at_least=3)
    depth, hole = _along(depth_mm, x, "depth_mm"), _along(hole_mm, x, "hole_mm")
    if (depth <= 0).any():
        raise Refusal("range", where="depth_mm", found=f"{depth.min():g}", must_be="more than 0")
    if (hole < 0).any() or (hole >= depth).any():
        raise Refusal(
            "range",
            where="hole_mm",
            found=f"{hole[~((hole >= 0) & (hole < depth))].ravel()[0]:g}",
            must_be="0 or more and less than depth_mm everywhere",
        )
    checks.choice(way, "way", WAYS)
    width = checks.number(width_mm, "width_mm", 0, above=True)
    supports = _inside(checks.positions(supports_mm, "supports_mm"), x, "supports_mm")
    if supports.size != 2:
        raise Refusal("count", where="supports_mm", found=f"{supports.size} places", must_be="two")
    at = _inside(checks.numbers(load_at_mm, "load_at_mm").ravel(), x, "load_at_mm")
    load = checks.numbers(load_n, "load_n").ravel()
    if load.size != at.size:
        raise Refusal(
            "count",
            where="load_n",
            found=f"{counted(load.size, 'weight')} for {counted(at.size, 'place')} in load_at_mm",
            must_be="one for each",
        )
    fine = np.unique(np.concatenate([np.linspace(x[0], x[-1], _FINE), x]))
    d, c = np.interp(fine, x, depth), np.interp(fine, x, hole)
    matter = material_of(material)
    weight = width * (d - c) * 1e-9 * matter.density_kg_m3 * GRAVITY_M_S2  # N/mm
    second = width * (d**3 - c**3) / 12 if way == "edge up" else (d - c) * width**3 / 12
    moment = _moment(fine, weight, supports, at, load)
    slope = scipy.integrate.cumulative_trapezoid(moment / (matter.young_gpa * 1e3 * second), fine, initial=0)
    height = 1e3 * scipy.integrate.cumulative_trapezoid(slope, fine, initial=0)
    low, high = np.interp(supports, fine, height)
    height -= low + (high - low) * (fine - supports[0]) / (supports[1] - supports[0])
    return np.interp(x, fine, height)


def _along(value: ArrayLike, x: np.ndarray, name: str) -> np.ndarray:
    found = checks.numbers(value, name)
    return np.full(x.size, float(found)) if found.ndim == 0 else checks.profiles(found, x.size, name)


def _inside(place: np.ndarray, x: np.ndarray, name: str) -> np.ndarray:
    slack = 1e-9 * (x[-1] - x[0])
    wrong = place[(place < x[0] - slack) | (place > x[-1] + slack)]
    if wrong.size:
        raise Refusal("range", where=name, found=f"{wrong[0]:g}", must_be=f"{x[0]:g} to {x[-1]:g}, the bar itself")
    return place


def _moment(fine: np.ndarray, weight: np.ndarray, supports: np.ndarray, at: np.ndarray, load: np.ndarray) -> np.ndarray:
    """Bending moment in N mm, positive where the bar hollows upwards."""
    shear = scipy.integrate.cumulative_trapezoid(weight, fine, initial=0)
    own = scipy.integrate.cumulative_trapezoid(shear, fine, initial=0)
    total = shear[-1] + load.sum()
    centre = (shear[-1] * fine[-1] - own[-1] + load @ at) / total
    left, right = supports
    centre = round(centre, 6) + 0.0
    if not left <= centre <= right:
        raise Refusal(
            "place",
            where="supports_mm",
            found=f"{left:g} and {right:g}",
            must_be=f"on both sides of the centre of gravity at {centre:g}, or the bar tips",
        )
    second = total * (centre - left) / (right - left)
    lever = np.maximum(fine - np.concatenate([supports, at])[:, None], 0)
    return np.concatenate([[total - second, second], -load]) @ lever - own


@dataclass(frozen=True)
class SharedSag:
    """What bars that fit each other without light still carry.

    Attributes
    ----------
    x_mm, lower_um, upper_um : ndarray, shape (points,)
        Sag of the lower bar with the upper one on it, and of the upper bar.
    left_um : ndarray, shape (points,)
        Free shape that each of three equal bars ends with when all fits are
        dark, zero at the upper bar's contacts: hollow is negative.
    """

    x_mm: np.ndarray
    lower_um: np.ndarray
    upper_um: np.ndarray
    left_um: np.ndarray


def shared_sag(
    length_mm: float,
    depth_mm: float,
    lower_supports_mm: ArrayLike | None,
    upper_contacts_mm: ArrayLike,
    material: str | Material = "steel",
    *,
    width_mm: float = 10.0,
    points: int = 201,
) -> SharedSag:
    """How far three equal bars that fit each other are all out, because the one on top sags.

    Parameters
    ----------
    length_mm, depth_mm : float
    lower_supports_mm : array_like, shape (2,), or None
        What the lower bar stands on; None where it is bedded and cannot bend.
    upper_contacts_mm : array_like, shape (2,)
        Where the upper bar touches the lower: its lands or its ends.
    material : str or Material
    width_mm : float
    points : int

    Returns
    -------
    SharedSag

    Raises
    ------
    ValueError
        As `profile_sag`.

    Notes
    -----
    A dark joint says lower shape + lower sag + upper shape = upper sag. Three
    bars that fit in every pair are then each out by half of what the upper one
    sags more than the lower one. The upper bar's weight also bends the lower
    one. Where both sag alike the difference cancels. Changing places or turning
    end for end brings the same sag again; turning a bar over, edge down, does
    not, and shows it. It does not see a joint that closes because the bars lie
    on each other all along. Derived.

    Examples
    --------
    >>> ends = (-250, 250)
    >>> bedded = shared_sag(500, 40, None, ends)
    >>> round(float(bedded.left_um.min()), 2)
    -1.12
    >>> bool(abs(shared_sag(500, 40, ends, ends).left_um).max() < 1e-6)
    True
    """
    length = checks.number(length_mm, "length_mm", 0, above=True)
    x = np.linspace(-length / 2, length / 2, checks.whole(points, "points", 3))
    upper = profile_sag(x, depth_mm, upper_contacts_mm, material, width_mm=width_mm)
    lower = np.zeros(x.size)
    contacts = checks.positions(upper_contacts_mm, "upper_contacts_mm")
    if lower_supports_mm is not None:
        weight = length * depth_mm * width_mm * 1e-9 * material_of(material).density_kg_m3 * GRAVITY_M_S2
        share = np.array([contacts[1], -contacts[0]]) / (contacts[1] - contacts[0])
        lower = profile_sag(
            x, depth_mm, lower_supports_mm, material, width_mm=width_mm, load_at_mm=contacts, load_n=weight * share
        )
    both = upper - lower
    at = np.interp(contacts, x, both)
    line = at[0] + (at[1] - at[0]) * (x - contacts[0]) / (contacts[1] - contacts[0])
    return SharedSag(x, lower, upper, (both - line) / 2)
